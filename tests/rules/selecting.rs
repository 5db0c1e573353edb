//! Groups on a board: which nets and pairs patterns find, and how loudly they tell what they don't.

use crate::support::{file, read_text, show_all};
use proptest::prelude::*;
use throughline::board::{self, NetId, Nets};
use throughline::checks::{Facts, Outcome, Pair, Selected, Selection, nets_matching, run, select};
use throughline::copper::Copper;
use throughline::rules::{Glob, NetPattern};
use throughline::source::Span;

fn nets(names: &[&str]) -> Nets {
    let mut nets = Nets::new();
    for name in names {
        nets.intern(name, Span::default());
    }
    nets
}

fn proposed(nets: &Nets, pairs: &[(&str, &str, &str)]) -> Vec<Pair> {
    let id = |name: &str| nets.find(name).unwrap();
    pairs.iter().map(|(name, p, n)| Pair { name: (*name).into(), p: id(p), n: id(n), proposed: true }).collect()
}

/// Resolves one group with these keys.
fn selected(keys: &str, nets: &Nets, proposals: &[Pair]) -> Selected {
    let set = read_text(&format!("[groups.g]\n{keys}\n")).unwrap_or_else(|faults| panic!("{}", show_all(&faults)));
    select(&set, "base", nets, proposals)
}

fn net_names(nets: &Nets, ids: &[NetId]) -> Vec<String> {
    ids.iter().map(|&id| nets.name(id).to_owned()).collect()
}

fn pair_names(nets: &Nets, selected: &Selected) -> Vec<String> {
    let show = |pair: &Pair| {
        let mark = if pair.proposed { " (proposed)" } else { "" };
        format!("{}: {} {}{mark}", pair.name, nets.name(pair.p), nets.name(pair.n))
    };
    selected.selections[0].pairs.iter().map(show).collect()
}

fn found(keys: &str, names: &[&str]) -> Vec<String> {
    let nets = nets(names);
    let selected = selected(keys, &nets, &[]);
    assert!(selected.problems.is_empty(), "{}", show_all(&selected.problems));
    net_names(&nets, &selected.selections[0].nets)
}

fn found_pairs(keys: &str, names: &[&str]) -> Vec<String> {
    let nets = nets(names);
    let selected = selected(keys, &nets, &[]);
    assert!(selected.problems.is_empty(), "{}", show_all(&selected.problems));
    pair_names(&nets, &selected)
}

fn problems(keys: &str, names: &[&str]) -> String {
    show_all(&selected(keys, &nets(names), &[]).problems)
}

#[test]
fn net_patterns_look_at_whole_names_and_at_last_parts() {
    let board = ["GND", "VIO", "VIO_3V3", "/host/VIO", "/host/sub/CLK", "/CLK", "D[0]", "D[1]", "VCORE"];
    assert_eq!(found("nets=['VIO']", &board), ["/host/VIO", "VIO"]);
    assert_eq!(found("nets=['VIO*']", &board), ["/host/VIO", "VIO", "VIO_3V3"]);
    assert_eq!(found("nets=['/host/*']", &board), ["/host/VIO", "/host/sub/CLK"]);
    assert_eq!(found("nets=['/CLK']", &board), ["/CLK"], "a pattern with `/` means the whole name");
    assert_eq!(found("nets=['D[?]']", &board), ["D[0]", "D[1]"], "brackets are themselves");
    assert_eq!(found("nets=['V{CORE,IO}', 'GND', 'VIO']", &board), ["/host/VIO", "GND", "VCORE", "VIO"], "each once");
}

#[test]
fn names_are_found_with_and_without_their_markup() {
    let board = ["~{RST}", "~{CS}1", "/host/~{OE}", "A{slash}B", "/host/RD{slash}~{WR}", "~WE"];
    assert_eq!(found("nets=['RST']", &board), ["~{RST}"]);
    assert_eq!(found("nets=['~{RST}']", &board), ["~{RST}"]);
    assert_eq!(found("nets=['~{CS}?']", &board), ["~{CS}1"]);
    assert_eq!(found("nets=['CS*','OE','WE']", &board), ["/host/~{OE}", "~WE", "~{CS}1"]);
    assert_eq!(found("nets=['A/B']", &board), ["A{slash}B"]);
    assert_eq!(found("nets=['A{slash}B']", &board), ["A{slash}B"]);
    assert_eq!(found("nets=['/host/RD/WR']", &board), ["/host/RD{slash}~{WR}"]);
}

#[test]
fn the_unconnected_net_is_never_selected() {
    assert_eq!(found("nets=['*']", &["A", "B"]), ["A", "B"]);
}

#[test]
fn legs_make_pairs_wherever_they_stand() {
    let board = ["LANE0_TX_P", "LANE0_TX_N", "LANE0_RX_N", "LANE0_RX_P", "LANE1_TX_P", "LANE1_TX_N", "REF+", "REF-"];
    assert_eq!(
        found_pairs("pairs=['LANE?_{TX,RX}_{P,N}']", &board),
        ["LANE0_RX: LANE0_RX_P LANE0_RX_N", "LANE0_TX: LANE0_TX_P LANE0_TX_N", "LANE1_TX: LANE1_TX_P LANE1_TX_N",]
    );
    assert_eq!(found_pairs("pairs=['REF{+,-}']", &board), ["REF: REF+ REF-"]);
    assert_eq!(found_pairs("pairs=['LANE0_TX_{N,P}']", &board), ["LANE0_TX: LANE0_TX_N LANE0_TX_P"], "first is P");
    assert_eq!(found_pairs("pairs=['D{P,N}?']", &["DP0", "DN0", "DP1", "DN1"]), ["D0: DP0 DN0", "D1: DP1 DN1"]);
    assert_eq!(found_pairs("pairs=['CK{,_B}']", &["CK", "CK_B"]), ["CK: CK CK_B"]);
    assert_eq!(
        found_pairs("pairs=['*{P,N}*']", &["PCIN_TX_P", "PCIN_TX_N"]),
        ["PCIN_TX: PCIN_TX_P PCIN_TX_N"],
        "only the reading that has a mate counts"
    );
}

#[test]
fn mates_are_of_one_sheet() {
    let board = ["/host/CK_P", "/host/CK_N", "/card/CK_P", "/card/CK_N"];
    assert_eq!(
        found_pairs("pairs=['CK_{P,N}']", &board),
        ["/card/CK: /card/CK_P /card/CK_N", "/host/CK: /host/CK_P /host/CK_N"]
    );
    assert_eq!(found_pairs("pairs=['/host/CK_{P,N}']", &board), ["/host/CK: /host/CK_P /host/CK_N"]);
    insta::assert_snapshot!(problems("pairs=['CK_{P,N}']", &["/host/CK_P", "/card/CK_N"]), @r#"
        rules.toml:2:8: 2 nets have no mate
            'CK_{P,N}' <- on board `base`
            help: `/card/CK_N` lacks `/card/CK_P`, `/host/CK_P` lacks `/host/CK_N`
        "#);
}

#[test]
fn legs_are_found_in_plain_names_too() {
    assert_eq!(
        found_pairs("pairs=['RD/WR_{P,N}']", &["RD{slash}WR_P", "RD{slash}WR_N"]),
        ["RD{slash}WR: RD{slash}WR_P RD{slash}WR_N"]
    );
    assert_eq!(
        found_pairs("pairs=['STB_{P,N}']", &["/s/~{STB}_P", "/s/~{STB}_N", "/t/~{STB}_P", "/t/~{STB}_N"]).len(),
        2
    );
    // Names as the board has them come first; what is left over is told.
    insta::assert_snapshot!(problems("pairs=['STB_{P,N}']", &["STB_P", "STB_N", "~{STB}_N"]), @r#"
        rules.toml:2:8: `~{STB}_N` is in no pair
            'STB_{P,N}' <- on board `base`
            help: its mate `STB_P` makes a pair with another net; name the two nets: `["P", "N"]`
        "#);
}

#[test]
fn legs_are_not_looked_for_in_folders() {
    assert_eq!(
        found_pairs("pairs=['*{P,N}*']", &["/P/TX_P", "/P/TX_N", "/N/TX_P", "/N/TX_N"]),
        ["/N/TX: /N/TX_P /N/TX_N", "/P/TX: /P/TX_P /P/TX_N"]
    );
    let problems = problems("pairs=['*{P,N}*']", &["/P/A", "/N/A", "NAP"]);
    assert!(problems.contains("`NAP` has no mate"), "one half, told once: {problems}");
}

#[test]
fn a_net_with_two_mates_is_in_no_pair() {
    let board = nets(&["PP", "NP", "PN"]);
    let selected = selected("pairs=['*{P,N}*']", &board, &[]);
    assert!(selected.selections[0].pairs.is_empty());
    insta::assert_snapshot!(show_all(&selected.problems), @r#"
        rules.toml:2:8: `PP` has more than one mate
            '*{P,N}*' <- on board `base`
            help: it fits `NP`, `PN`; name the two nets: `["P", "N"]`
        rules.toml:2:8: 2 nets have no mate
            '*{P,N}*' <- on board `base`
            help: `NP` lacks `NN`, `PN` lacks `NN`
        "#);
}

#[test]
fn two_names_make_a_pair() {
    assert_eq!(
        found_pairs("pairs=[['CK_P','CK_N']]", &["/host/CK_P", "/host/CK_N"]),
        ["/host/CK: /host/CK_P /host/CK_N"]
    );
    assert_eq!(found_pairs("pairs=[['CLK','~{CLK}']]", &["CLK", "~{CLK}"]), ["CLK: CLK ~{CLK}"]);
    assert_eq!(found_pairs("pairs=[['HOT','COLD']]", &["HOT", "COLD"]), ["HOT|COLD: HOT COLD"]);
}

#[test]
fn proposed_pairs_are_chosen_by_name_or_all() {
    let board = nets(&["/a/TX_P", "/a/TX_N", "AUX_P", "AUX_N", "X", "Y"]);
    let pairs = proposed(&board, &[("/a/TX", "/a/TX_P", "/a/TX_N"), ("AUX", "AUX_P", "AUX_N")]);
    let of = |keys: &str| pair_names(&board, &selected(keys, &board, &pairs));
    assert_eq!(of("pairs=['TX']"), ["/a/TX: /a/TX_P /a/TX_N (proposed)"]);
    assert_eq!(of("proposed=true").len(), 2);
    assert_eq!(
        of("proposed=true\npairs=['AUX_{N,P}']"),
        ["/a/TX: /a/TX_P /a/TX_N (proposed)", "AUX: AUX_N AUX_P",],
        "what is declared stands above what is proposed"
    );
    assert_eq!(of("proposed=true\npairs=['AUX_{P,N}']"), ["/a/TX: /a/TX_P /a/TX_N (proposed)", "AUX: AUX_P AUX_N",]);
}

#[test]
fn what_is_not_found_is_told_with_the_nearest_names() {
    let board = [
        "LANE0_TX_P",
        "LANE0_TX_N",
        "LANE1_TX_P",
        "/sub/VCORE",
        "VIO",
        "GND",
        "B_P",
        "B_N",
        "A1_P",
        "A2_P",
        "A3_P",
        "A4_P",
        "A5_P",
        "A6_P",
        "X1_P",
        "~{X1_P}",
        "/s/DUP",
        "/t/DUP",
        "clk",
    ];
    insta::assert_snapshot!(
        problems(
            r#"
nets = ["VCOR", "/sub/VCOER", "WHATEVER", "GND", "CLK"]
pairs = [
  "LAEN?_TX_{P,N}", "LANE?_TX_{P,N}", "A?_{P,N}", "B", ["VIO", "VOI"], ["DUP", "GND"], ["V*", "GND"], "ZZZ_{P,N}",
  ["B_P", "B_N"], ["B_P", "GND"],
]
"#,
            &board
        ),
        @r#"
        rules.toml:3:9: no net matches `VCOR`
            "VCOR" <- on board `base`
            help: did you mean `/sub/VCORE`?
        rules.toml:3:17: no net matches `/sub/VCOER`
            "/sub/VCOER" <- on board `base`
            help: did you mean `/sub/VCORE`?
        rules.toml:3:31: no net matches `WHATEVER`
            "WHATEVER" <- on board `base`
            help: `throughline measure` lists the nets and pairs of a board
        rules.toml:3:50: no net matches `CLK`
            "CLK" <- on board `base`
            help: did you mean `clk`?
        rules.toml:5:3: no pair matches `LAEN?_TX_{P,N}`
            "LAEN?_TX_{P,N}" <- on board `base`
            help: nearest names: `LANE0_TX_N`, `LANE0_TX_P`, `LANE1_TX_P`
        rules.toml:5:21: `LANE1_TX_P` has no mate `LANE1_TX_N`
            "LANE?_TX_{P,N}" <- on board `base`
            help: nearest names: `LANE0_TX_N`, `LANE0_TX_P`
        rules.toml:5:39: 6 nets have no mate
            "A?_{P,N}" <- on board `base`
            help: `A1_P` lacks `A1_N`, `A2_P` lacks `A2_N`, `A3_P` lacks `A3_N`, `A4_P` lacks `A4_N`, `A5_P` lacks `A5_N`, and 1 more
        rules.toml:5:51: no proposed pair is called `B`
            "B" <- on board `base`
            help: `throughline measure` lists the nets and pairs of a board
        rules.toml:5:56: no net is called `VOI`
            ["VIO", "VOI"] <- on board `base`
            help: did you mean `VIO`?
        rules.toml:5:72: `DUP` is more than one net
            ["DUP", "GND"] <- on board `base`
            help: it fits `/s/DUP`, `/t/DUP`; name it in full
        rules.toml:5:88: no net is called `V*` (two names are taken as they are)
            ["V*", "GND"] <- on board `base`
            help: nearest names: `/sub/VCORE`, `VIO`
        rules.toml:5:103: no pair matches `ZZZ_{P,N}`
            "ZZZ_{P,N}" <- on board `base`
            help: `throughline measure` lists the nets and pairs of a board
        rules.toml:6:19: `B_P` is in two pairs of group `g`
            ["B_P", "GND"] <- on board `base`
            help: they are `B` and `B_P|GND`; a net is a leg of one pair
        "#
    );
    insta::assert_snapshot!(problems("proposed=true", &board), @r#"
        rules.toml:2:10: names and copper propose no pair
            true <- on board `base`
            help: name them in the rule set: `pairs = ["LANE?_{P,N}"]`
        "#);
}

#[test]
fn a_list_of_nets_in_a_check_may_miss_some_but_not_all() {
    let set = |nets: &str| {
        read_text(&format!(
            "[groups.g]\nnets=['A']\n[[check]]\nuse='plane-gap'\non=['g']\nlimit='1 mm'\nreference={nets}\n"
        ))
        .unwrap()
    };
    let board = nets(&["A", "GND"]);
    assert!(select(&set("['GND*','VSS*']"), "base", &board, &[]).problems.is_empty());
    insta::assert_snapshot!(show_all(&select(&set("['GDN','VSS']"), "base", &board, &[]).problems), @r#"
        rules.toml:7:11: no net matches any of these patterns
            ['GDN','VSS'] <- on board `base`
            help: did you mean `GND`?
        "#);
    assert_eq!(net_names(&board, &nets_matching(&board, &[NetPattern("G*".into()), NetPattern("X".into())])), ["GND"]);
}

#[test]
fn the_order_of_nets_in_the_file_changes_nothing() {
    let names = ["B_P", "B_N", "A_N", "A_P", "V2", "V1"];
    let mut turned = names;
    turned.reverse();
    let of = |names: &[&str]| {
        let board = nets(names);
        let selected = selected("nets=['V*']\npairs=['?_{P,N}']", &board, &[]);
        (net_names(&board, &selected.selections[0].nets), pair_names(&board, &selected))
    };
    assert_eq!(of(&names), of(&turned));
    assert_eq!(of(&names).0, ["V1", "V2"]);
}

#[test]
fn all_nets_of_a_group_are_its_nets_and_legs() {
    let board = nets(&["V", "A_P", "A_N"]);
    let selected = selected("nets=['V','A_P']\npairs=['A_{P,N}']", &board, &[]);
    assert_eq!(net_names(&board, &selected.selections[0].all_nets()), ["A_P", "V", "A_N"]);
}

#[test]
fn a_group_that_was_not_looked_up_is_unchecked() {
    let text = "(kicad_pcb (version 20171130) (layers (0 F.Cu signal) (31 B.Cu signal)) (net 0 \"\") (net 1 VIO))";
    let board = board::read("base", file("base.kicad_pcb", text)).unwrap();
    let copper = Copper::new(&board);
    let set = read_text("[groups.g]\nnets=['VIO']\n[[check]]\nuse='via-stub'\non=['g']\nlimit='1 mm'\n").unwrap();
    let unchecked = |selections: Vec<Selection>| {
        let runs = run(&Facts::new(&copper, selections), &set);
        let verdicts = runs.iter().flat_map(|run| &run.verdicts).filter(|verdict| verdict.subject.kind == "group");
        verdicts
            .filter_map(|verdict| match &verdict.outcome {
                Outcome::Unchecked { missing } => Some(throughline::findings::sentence(missing)),
                _ => None,
            })
            .collect::<Vec<_>>()
    };
    assert_eq!(unchecked(select(&set, "base", &board.nets, &[]).selections), [""; 0]);
    assert_eq!(unchecked(Vec::new()), ["the nets of group `g` have not been looked up"]);
}

proptest! {
    #[test]
    fn every_net_that_reads_as_a_leg_is_in_a_pair_or_told(
        names in prop::collection::vec("(/[st]/)?[APN~]{1,4}", 1..5),
        pattern in "[A?*]{0,2}\\{P,N\\}[A?*]{0,2}",
    ) {
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let board = nets(&names);
        let selected = selected(&format!("pairs=['{pattern}']"), &board, &[]);
        let legs = selected.selections[0].all_nets();
        let told = show_all(&selected.problems);
        let whole = Glob::parse(&pattern).unwrap();
        for name in names {
            if whole.matches(name.rsplit('/').next().unwrap()) {
                let is_leg = legs.contains(&board.find(name).unwrap());
                prop_assert!(is_leg || told.contains(&format!("`{name}`")), "{name} by {pattern}: {told}");
            }
        }
    }

    #[test]
    fn selecting_never_panics_and_legs_are_always_two_nets(
        names in prop::collection::vec("[AB/_PN+~{}]{1,6}", 0..12),
        pattern in "[AB/_?*]{0,4}\\{[PN+]{0,2},[PN-]{0,2}\\}[AB?*]{0,2}",
    ) {
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let board = nets(&names);
        if let Ok(set) = read_text(&format!("[groups.g]\npairs=['{pattern}']\n")) {
            for pair in &select(&set, "base", &board, &[]).selections[0].pairs {
                prop_assert!(pair.p != pair.n && pair.p.is_some() && pair.n.is_some());
            }
        }
    }
}
