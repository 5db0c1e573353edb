//! `length-match`: nets and pairs against each other or a target, limits, missing heights, and what must not alarm.

use crate::route_rules::{at, findings, land, only, rule, run, sentence, two_lands, value, with, word};
use crate::support::recorder::{self, BASE};
use crate::support::{Board as Drawn, Pad, Part, Stack, rectangle};
use throughline::rules::{Rule, Setting};
use throughline::units::{Length, Quantity};

const W: f64 = 0.15;

/// Nets D0, D1, … between U0 and J0, U1 and J1, …, each 10 mm and as much longer as told.
fn bus(extra: &[f64]) -> Drawn {
    let mut drawn = Drawn::new("bus", Stack::four());
    drawn.outline((0.0, 0.0), (20.0, 40.0));
    for (at, extra) in (0u8..).zip(extra) {
        let (net, y) = (format!("D{at}"), 2.0 + 3.0 * f64::from(at));
        drawn.part(land(&format!("U{at}"), &net, (5.0, y)));
        drawn.part(land(&format!("J{at}"), &net, (15.0, y)));
        let up = y + extra / 2.0;
        drawn.track(&net, "F.Cu", W, &[(5.0, y), (8.0, y), (8.0, up), (9.0, up), (9.0, y), (15.0, y)]);
    }
    drawn
}

#[test]
fn nets_are_held_against_the_longest() {
    let verdicts = run(&bus(&[0.0, 1.0, 0.4]), &rule("length-match", Some(0.6), 1.0), &["D0", "D1", "D2"], &[]);
    let found: Vec<(f64, &str)> = verdicts.iter().map(|v| ((value(v) * 1e6).round() / 1e6, word(v))).collect();
    assert_eq!(found, [(1.0, "warning"), (0.0, "pass"), (0.6, "pass")]);
    insta::assert_snapshot!(sentence(&verdicts[0]), @"`D0` is 1 mm shorter than `D1`, the longest of `group`");
    insta::assert_snapshot!(sentence(&verdicts[1]), @"`D1` is the longest of `group`");
}

#[test]
fn exactly_the_limit_passes_and_a_nanometre_more_does_not() {
    for (extra, expected) in [(0.640_000, "pass"), (0.640_002, "error")] {
        let verdicts = run(&bus(&[0.0, extra]), &rule("length-match", None, 0.64), &["D0", "D1"], &[]);
        assert_eq!(word(&verdicts[0]), expected);
    }
}

#[test]
fn the_median_the_shortest_and_a_target_can_be_the_measure() {
    let values = |rule| -> Vec<f64> {
        let verdicts = run(&bus(&[0.0, 1.0, 0.4]), &rule, &["D0", "D1", "D2"], &[]);
        verdicts.iter().map(|verdict| (value(verdict) * 1e6).round() / 1e6).collect()
    };
    let against = |word: &str| with(rule("length-match", None, 9.0), "against", Setting::Word(word.into()));
    assert_eq!(values(against("longest")), [1.0, 0.0, 0.6]);
    assert_eq!(values(against("shortest")), [0.0, 1.0, 0.4]);
    assert_eq!(values(against("median")), [0.4, 0.6, 0.0]);
    let target = Setting::Quantity(Quantity::Length(Length::mm(10.5)));
    assert_eq!(values(with(rule("length-match", None, 9.0), "target", target)), [0.5, 0.5, 0.1]);
}

#[test]
fn a_group_of_pairs_alone_is_checked_by_the_mean_of_the_legs() {
    let drawn = bus(&[0.0, 1.0, 2.0, 2.0]);
    let pairs = [("D0", "D1"), ("D2", "D3")];
    let verdicts = run(&drawn, &rule("length-match", None, 1.0), &[], &pairs);
    assert_eq!(verdicts.iter().map(word).collect::<Vec<_>>(), ["error", "pass"]);
    assert!((value(&verdicts[0]) - 1.5).abs() < 1e-6);
    assert_eq!(verdicts[0].subject.kind, "pair");
    assert_eq!(findings(&verdicts), [("D0 J0.1 J1.1 U0.1 U1.1".into(), "error", (15.0, 2.0))]);
}

#[test]
fn a_pair_among_nets_counts_as_one_member() {
    let verdicts = run(&bus(&[0.0, 1.0, 0.5]), &rule("length-match", None, 0.001), &["D2"], &[("D0", "D1")]);
    assert_eq!(verdicts.iter().map(word).collect::<Vec<_>>(), ["pass", "pass"]);
}

#[test]
fn a_lone_member_has_nothing_to_match() {
    let verdict = only(run(&bus(&[0.0]), &rule("length-match", None, 0.1), &["D0"], &[]));
    assert_eq!((word(&verdict), sentence(&verdict).as_str()), ("pass", "`D0` is the only member of `group`"));
}

#[test]
fn equal_barrels_need_no_stackup_and_different_ones_do() {
    let through = |layers: [&str; 2], stack: Stack| {
        let mut drawn = Drawn::new("barrels", stack);
        drawn.outline((0.0, 0.0), (20.0, 12.0));
        for (at, layer) in (0u8..).zip(layers) {
            let (net, y) = (format!("D{at}"), 3.0 + 4.0 * f64::from(at));
            drawn.part(land(&format!("U{at}"), &net, (5.0, y)));
            drawn.part(land(&format!("J{at}"), &net, (15.0, y)));
            drawn.track(&net, "F.Cu", W, &[(5.0, y), (8.0, y)]);
            drawn.via(&net, (8.0, y));
            drawn.track(&net, layer, W, &[(8.0, y), (12.0, y)]);
            drawn.via(&net, (12.0, y));
            drawn.track(&net, "F.Cu", W, &[(12.0, y), (15.0, y)]);
        }
        let verdicts = run(&drawn, &rule("length-match", None, 0.1), &["D0", "D1"], &[]);
        verdicts.iter().map(word).collect::<Vec<_>>()
    };
    assert_eq!(through(["In1.Cu", "In1.Cu"], Stack::four().unstated()), ["pass", "pass"]);
    // The barrels differ by at most twice the board's 0.8 mm, which is beyond the limit.
    assert_eq!(through(["In1.Cu", "B.Cu"], Stack::four().unstated()), ["unchecked", "unchecked"]);
    // Twice 0.00875 + 0.465 + 0.0175 + 0.1 + 0.0175 deeper.
    assert_eq!(through(["In1.Cu", "B.Cu"], Stack::four()), ["error", "pass"]);
}

#[test]
fn the_board_s_thickness_bounds_what_unknown_barrels_can_do() {
    let through = |extra: f64, limit: f64, against: &str| {
        let mut drawn = Drawn::new("barrels", Stack::four().unstated());
        drawn.outline((0.0, 0.0), (20.0, 12.0));
        for (net, y, layer, extra) in [("D0", 3.0, "In1.Cu", 0.0), ("D1", 7.0, "B.Cu", extra)] {
            drawn.part(land(&format!("U{net}"), net, (5.0, y)));
            drawn.part(land(&format!("J{net}"), net, (15.0, y)));
            drawn.track(net, "F.Cu", W, &[(5.0, y), (8.0, y)]);
            drawn.via(net, (8.0, y));
            let up = y + extra / 2.0;
            drawn.track(net, layer, W, &[(8.0, y), (8.0, up), (9.0, up), (9.0, y), (12.0, y)]);
            drawn.via(net, (12.0, y));
            drawn.track(net, "F.Cu", W, &[(12.0, y), (15.0, y)]);
        }
        let rule = with(rule("length-match", None, limit), "against", Setting::Word(against.into()));
        let verdicts = run(&drawn, &rule, &["D0", "D1"], &[]);
        verdicts.iter().map(|v| (word(v), sentence(v))).collect::<Vec<_>>()
    };
    // Two barrels each, F to In1 and F to B: each within 0.8 mm, so at most 1.6 mm apart either way.
    let words = |found: Vec<(&'static str, String)>| found.into_iter().map(|(word, _)| word).collect::<Vec<_>>();
    assert_eq!(words(through(0.0, 1.6, "longest")), ["pass", "pass"]);
    assert_eq!(words(through(0.0, 1.599, "longest")), ["unchecked", "unchecked"]);
    assert_eq!(words(through(0.0, 1.6, "shortest")), ["pass", "pass"]);
    assert_eq!(words(through(0.0, 1.6, "median")), ["unchecked", "unchecked"]);
    let failed = through(4.0, 2.0, "longest");
    assert_eq!(failed[0].0, "error");
    insta::assert_snapshot!(failed[0].1, @"`D0` is at least 2.4 mm shorter than the longest of `group`, whatever heights its barrels have within the board");
    assert_eq!(failed[1].0, "pass", "it may be no shorter at all");
    // It is between 2.4 and 5.6 mm.
    assert_eq!(through(4.0, 3.0, "longest")[0].0, "unchecked");
}

#[test]
fn members_by_link_are_matched_with_those_that_join_the_same_parts() {
    let mut drawn = Drawn::new("links", Stack::four());
    drawn.outline((0.0, 0.0), (60.0, 30.0));
    // Lanes L0 and L1 from U1 to J1, L2 from U1 to J2, and L3 from U1 to a capacitor for each leg.
    let chip = |reference: &str, x: f64, nets: &[&str]| {
        let pads = (0u8..)
            .zip(nets)
            .map(|(at, net)| Pad::rect(&at.to_string(), (0.0, 2.0 * f64::from(at)), (0.5, 0.3)).net(net));
        Part::new(reference, (x, 2.0)).pads(pads)
    };
    let lanes = ["L0_P", "L0_N", "L1_P", "L1_N", "L2_P", "L2_N", "L3_P", "L3_N"];
    drawn.part(chip("U1", 5.0, &lanes));
    drawn.part(chip("J1", 15.0, &lanes[..4]));
    drawn.part(chip("J2", 40.0, &["", "", "", "", "L2_P", "L2_N"]));
    for (at, net) in (0u8..).zip(&lanes[6..]) {
        drawn.part(land(&format!("C{at}"), net, (50.0, 14.0 + 2.0 * f64::from(at))));
    }
    for (at, net) in (0u8..).zip(lanes) {
        let y = 2.0 + 2.0 * f64::from(at);
        let far = [15.0, 15.0, 15.0, 15.0, 40.0, 40.0, 50.0, 50.0][usize::from(at)];
        drawn.track(net, "F.Cu", W, &[(5.0, y), (far, y)]);
    }
    // Leg L1_P makes a detour of 2 mm.
    drawn.tracks.retain(|track| track.net != "L1_P");
    drawn.track("L1_P", "F.Cu", W, &[(5.0, 6.0), (8.0, 6.0), (8.0, 5.0), (9.0, 5.0), (9.0, 6.0), (15.0, 6.0)]);
    let pairs = [("L0_P", "L0_N"), ("L1_P", "L1_N"), ("L2_P", "L2_N"), ("L3_P", "L3_N")];
    let by_link = with(rule("length-match", None, 0.5), "per", Setting::Word("link".into()));
    let verdicts = run(&drawn, &by_link, &[], &pairs);
    let words: Vec<(&str, &str)> = verdicts.iter().map(|v| (v.subject.name.as_str(), word(v))).collect();
    assert_eq!(words, [("L3", "unchecked"), ("L0", "error"), ("L1", "pass"), ("L2", "pass")]);
    assert_eq!(sentence(&verdicts[3]), "`L2` is the only member of `group` on its link");
    let whole = run(&drawn, &rule("length-match", None, 0.5), &[], &pairs);
    assert_eq!(findings(&whole).len(), 3, "all are shorter than L3");
}

#[test]
fn a_member_without_a_measurable_way_is_unchecked_and_the_others_are_not() {
    let mut drawn = bus(&[0.0, 0.0, 0.0, 0.0]);
    drawn.tracks.retain(|track| track.net != "D1" && track.net != "D2");
    drawn.zone("D2", &["F.Cu"], &rectangle((4.0, 7.4), (16.0, 8.6)));
    drawn.fill();
    let verdicts = run(&drawn, &rule("length-match", None, 0.1), &["D0", "D1", "D2", "D3"], &[]);
    let mut found: Vec<(String, &str)> = verdicts.iter().map(|v| (v.subject.name.clone(), word(v))).collect();
    found.sort();
    let expected = [("D0", "pass"), ("D1", "unchecked"), ("D2", "unchecked"), ("D3", "pass")];
    assert_eq!(found, expected.map(|(name, word)| (name.to_owned(), word)));
}

#[test]
fn test_pads_and_terminators_do_not_hide_the_ways_that_all_members_share() {
    let mut drawn = Drawn::new("bus", Stack::four());
    drawn.outline((0.0, 0.0), (20.0, 12.0));
    let bank = |reference: &str, x: f64| {
        let pad = |number: &str, y: f64, net: &str| Pad::rect(number, (0.0, y), (0.5, 0.3)).net(net);
        Part::new(reference, (x, 5.0)).pads([pad("1", 0.0, "D0"), pad("2", 2.0, "D1")])
    };
    drawn.part(bank("U1", 5.0));
    drawn.part(bank("U2", 15.0));
    drawn.part(land("TP1", "D0", (9.0, 3.0)));
    drawn.track("D0", "F.Cu", W, &[(5.0, 5.0), (15.0, 5.0)]);
    drawn.track("D0", "F.Cu", W, &[(9.0, 5.0), (9.0, 3.0)]);
    drawn.track("D1", "F.Cu", W, &[(5.0, 7.0), (15.0, 7.0)]);
    let verdicts = run(&drawn, &rule("length-match", None, 0.001), &["D0", "D1"], &[]);
    assert_eq!(
        verdicts.iter().map(|v| (v.subject.ends.join(" "), word(v))).collect::<Vec<_>>(),
        [("U1.1 U2.1".to_owned(), "pass"), ("U1.2 U2.2".to_owned(), "pass")]
    );
    // A third bank: a second set.
    drawn.part(bank("U3", 18.0));
    drawn.track("D0", "F.Cu", W, &[(15.0, 5.0), (18.0, 5.0)]);
    drawn.track("D1", "F.Cu", W, &[(15.0, 7.0), (16.0, 7.0), (16.0, 8.0), (18.0, 8.0), (18.0, 7.0)]);
    let verdicts = run(&drawn, &rule("length-match", None, 0.001), &["D0", "D1"], &[]);
    assert_eq!(verdicts.iter().map(word).collect::<Vec<_>>(), ["pass", "pass", "error", "pass"]);
}

#[test]
fn nets_without_common_parts_and_with_many_pads_are_unchecked() {
    let mut drawn = bus(&[0.0, 0.0]);
    drawn.part(land("R9", "D0", (10.0, 4.0)));
    drawn.track("D0", "F.Cu", W, &[(10.0, 2.0), (10.0, 4.0)]);
    let verdicts = run(&drawn, &rule("length-match", None, 0.1), &["D0", "D1"], &[]);
    let mut words: Vec<&str> = verdicts.iter().map(word).collect();
    words.sort_unstable();
    assert_eq!(words, ["pass", "unchecked"]);
}

#[test]
fn lengths_inside_packages_count() {
    let mut drawn = bus(&[0.0, 1.0]);
    drawn.parts[0].pads[0].package_length = Some(1.0);
    let verdicts = run(&drawn, &rule("length-match", None, 0.001), &["D0", "D1"], &[]);
    assert_eq!(verdicts.iter().map(word).collect::<Vec<_>>(), ["pass", "pass"]);
}

#[test]
fn a_second_way_is_named_beside_the_member() {
    let mut drawn = two_lands(Stack::four());
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (15.0, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (5.0, 7.0), (15.0, 7.0), (15.0, 5.0)]);
    let verdict = only(run(&drawn, &rule("length-match", None, 0.1), &["A"], &[]));
    assert_eq!(verdict.related.len(), 1);
    assert_eq!(verdict.related[0].label.template, "{net} has a second way; the shorter one counts");
}

#[test]
fn a_planted_mismatch_on_the_demo_is_found_there_and_nowhere_else() {
    let names: Vec<[String; 2]> = recorder::LANES
        .iter()
        .filter(|lane| lane.name.starts_with("MEM_TX"))
        .map(|lane| ["P", "N"].map(|leg| format!("{}_{leg}", lane.name)))
        .collect();
    let pairs: Vec<(&str, &str)> = names.iter().map(|[p, n]| (p.as_str(), n.as_str())).collect();
    assert!(pairs.len() > 1);
    let limit = with(rule("length-match", None, 4.0), "against", Setting::Word("median".into()));
    let mut drawn = recorder::unfilled(&BASE);
    assert_eq!(findings(&run(&drawn, &limit, &[], &pairs)), []);
    // One leg makes a detour of over 16 mm: the mean of the legs grows by half of that.
    let across = |track: &crate::support::Track| (track.path.end().0 - track.path.start().0).abs();
    let row = drawn.tracks.iter().position(|track| track.net == "MEM_TX1_P" && across(track) > 2.0).unwrap();
    let track = drawn.tracks.remove(row);
    let (start, end) = (track.path.start(), track.path.end());
    drawn.track("MEM_TX1_P", &track.layer, track.width, &[start, (start.0, start.1 + 10.0), end]);
    let found = findings(&run(&drawn, &limit, &[], &pairs));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].0.starts_with("MEM_TX1 J1.") && found[0].1 == "error", "{found:?}");
}

/// A rule in picoseconds.
fn in_time(limit: f64) -> Rule {
    Rule { limit: Some(at(Quantity::Time(limit * 1e-12))), ..rule("length-match", None, 1.0) }
}

/// A net of 14 mm on F.Cu and one of 14 mm on the stripline layer of six, both over whole planes.
fn two_layers() -> Drawn {
    let mut drawn = crate::support::starters::planes_on("layers", Stack::six());
    for (net, layer, y) in [("TOP", "F.Cu", 4.0), ("INNER", "In2.Cu", 6.0)] {
        for (reference, x) in [("U1", 3.0), ("J1", 17.0)] {
            let name = format!("{reference}{net}");
            drawn.part(Part::new(&name, (x, y)).pad(Pad::rect("1", (0.0, 0.0), (0.3, 0.3)).net(net).layers(&[layer])));
        }
        drawn.track(net, layer, 0.15, &[(3.0, y), (17.0, y)]);
    }
    drawn.fill_missing();
    drawn
}

#[test]
fn equal_lengths_on_unlike_layers_differ_in_time() {
    let drawn = two_layers();
    assert!(run(&drawn, &rule("length-match", None, 0.001), &["TOP", "INNER"], &[]).iter().all(|v| word(v) == "pass"));
    let verdicts = run(&drawn, &in_time(5.0), &["TOP", "INNER"], &[]);
    let late = verdicts.iter().find(|verdict| verdict.subject.name == "TOP").unwrap();
    assert_eq!(word(late), "error");
    // Stripline in 4.15 to 4.4 is 6.8 to 7 ps/mm, microstrip about 5.9.
    let Some(Quantity::Time(value)) = late.value else { panic!("{late:?}") };
    assert!((9e-12..16e-12).contains(&value), "{value}");
    assert!(sentence(late).contains("before `INNER`, the latest of `group`"), "{}", sentence(late));
    assert!(run(&drawn, &in_time(20.0), &["TOP", "INNER"], &[]).iter().all(|verdict| word(verdict) == "pass"));
}

#[test]
fn a_delay_is_held_against_a_target_in_time() {
    let target = with(in_time(30.0), "target", Setting::Quantity(Quantity::Time(100e-12)));
    let verdicts = run(&two_layers(), &target, &["TOP", "INNER"], &[]);
    let words: Vec<&str> = verdicts.iter().map(word).collect();
    assert_eq!(words, ["pass", "pass"], "{verdicts:?}");
    assert!(verdicts.iter().any(|verdict| sentence(verdict).contains("before the target of 100 ps")));
}

#[test]
fn a_delay_that_is_not_known_lets_no_other_member_pass() {
    let mut drawn = two_layers();
    for zone in &mut drawn.zones {
        if zone.layers == ["In1.Cu"] {
            zone.fills = Some(Vec::new());
        }
    }
    let verdicts = run(&drawn, &in_time(50.0), &["TOP", "INNER"], &[]);
    assert!(verdicts.iter().all(|verdict| word(verdict) == "unchecked"), "{verdicts:?}");
    let mut bald = two_layers();
    bald.stack = bald.stack.clone().unstated();
    let verdicts = run(&bald, &in_time(50.0), &["TOP", "INNER"], &[]);
    assert!(verdicts.iter().all(|verdict| word(verdict) == "unchecked" && sentence(verdict).contains("no stackup")));
}
