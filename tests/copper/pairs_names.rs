//! Pairs by name: every spelling that boards use, and the names that only look like pairs.

use throughline::copper::pair_match::{Difference, candidates, leftovers};
use throughline::copper::pair_name::{Leg, Marking, pair_name, readings};

/// The one candidate that two names make.
#[track_caller]
fn pair(p: &str, n: &str) -> (Marking, String) {
    let found = candidates(&[p, n]);
    let best = found.first().unwrap_or_else(|| panic!("`{p}` and `{n}` make no pair"));
    assert_eq!((best.p, best.n), (0, 1), "legs of `{p}` and `{n}`");
    let swapped = candidates(&[n, p]);
    assert_eq!((swapped[0].p, swapped[0].n), (1, 0), "the order of names must not matter");
    (best.marking, best.name.clone())
}

#[track_caller]
fn no_pair(names: &[&str]) {
    let found = candidates(names);
    assert!(found.is_empty(), "{names:?} read as {found:?}");
}

#[test]
fn spellings_of_boards() {
    let spelled = [
        ("CAM1_CSI_D0_P", "CAM1_CSI_D0_N", Marking::Letter, "CAM1_CSI_D0"),
        ("/ice/CORE_CLK_P", "/ice/CORE_CLK_N", Marking::Letter, "/ice/CORE_CLK"),
        ("clk_p", "clk_n", Marking::Letter, "clk"),
        ("CLK_P0", "CLK_N0", Marking::Letter, "CLK_0"),
        ("CORE_CLK_P_C", "CORE_CLK_N_C", Marking::Letter, "CORE_CLK_C"),
        ("HDMI_OUT_D0_P_SHIFTED", "HDMI_OUT_D0_M_SHIFTED", Marking::Letter, "HDMI_OUT_D0_SHIFTED"),
        ("/x/CH0/P", "/x/CH0/N", Marking::Letter, "/x/CH0/"),
        ("D+", "D-", Marking::Sign, "D"),
        ("/OCuLink/PCIe_{x4}.RX0+", "/OCuLink/PCIe_{x4}.RX0-", Marking::Sign, "/OCuLink/PCIe_{x4}.RX0"),
        ("D+_L", "D-_L", Marking::Sign, "D_L"),
        ("CLK+1", "CLK-1", Marking::Sign, "CLK1"),
        ("TXP", "TXN", Marking::Glued, "TX"),
        ("SSTXP", "SSTXM", Marking::Glued, "SSTX"),
        ("SSTXP_C", "SSTXM_C", Marking::Glued, "SSTX_C"),
        ("USB_DP", "USB_DM", Marking::Glued, "USB_D"),
        ("USB1_DP", "USB1_DN", Marking::Glued, "USB1_D"),
        ("txp", "txn", Marking::Glued, "tx"),
        ("TXp", "TXn", Marking::Glued, "TX"),
        ("RXP0", "RXN0", Marking::Glued, "RX0"),
        ("IO_L3P_T0_35", "IO_L3N_T0_35", Marking::Glued, "IO_L3_T0_35"),
        ("Net-(U1-TXP)", "Net-(U1-TXN)", Marking::Glued, "Net-(U1-TX)"),
        ("Net-(J3-D+)", "Net-(J3-D-)", Marking::Sign, "Net-(J3-D)"),
        ("Net-(U2-GPIO1{slash}LP)", "Net-(U2-GPIO1{slash}LN)", Marking::Glued, "Net-(U2-GPIO1{slash}L)"),
        ("DQS0_T", "DQS0_C", Marking::TrueComplement, "DQS0"),
        ("dqs0_t", "dqs0_c", Marking::TrueComplement, "dqs0"),
        ("CK_TA", "CK_CA", Marking::TrueComplement, "CK_A"),
        ("CK_T_A", "CK_C_A", Marking::TrueComplement, "CK_A"),
        ("CKt", "CKc", Marking::TrueComplement, "CK"),
        ("CK0", "CK#0", Marking::Complement, "CK0"),
        ("CK", "CK#", Marking::Complement, "CK"),
        ("CK", "~{CK}", Marking::Complement, "CK"),
        ("CK", "~CK", Marking::Complement, "CK"),
        ("/ddr/DQS1", "/ddr/DQS1_N", Marking::Complement, "/ddr/DQS1"),
        ("SIG_POS", "SIG_NEG", Marking::Word, "SIG"),
    ];
    for (p, n, marking, name) in spelled {
        let (found, title) = pair(p, n);
        assert_eq!((found, title.as_str()), (marking, name), "`{p}` and `{n}`");
    }
}

#[test]
fn names_that_only_look_like_pairs() {
    no_pair(&["RESET_N", "PERST_N", "CS_N"]);
    no_pair(&["Net-(U1-PadP3)", "Net-(U1-PadN3)"]); // balls of a grid
    no_pair(&["unconnected-(U1-TXP-PadA1)", "unconnected-(U1-TXN-PadA2)"]);
    no_pair(&["Net-(U5-+)", "Net-(U5--)"]); // inputs of an amplifier
    no_pair(&["+3V3", "-3V3"]);
    no_pair(&["+12V", "-12V"]);
    no_pair(&["SCK", "SCT"]); // no word of its own
    no_pair(&["USB-DATA", "USB+DATA"]); // a dash between words
    no_pair(&["TX_P", "RX_N"]);
    no_pair(&["TX0_P", "TX1_N"]);
    no_pair(&["A_P0", "A0_N"]);
    no_pair(&["P", "N"]); // nothing shared
    no_pair(&["P2", "N2"]);
    no_pair(&["Net-(J11-P2)", "Net-(J11-N2)"]); // pins of a header
    no_pair(&["N-000012", "N-000013", "P-000012"]); // running numbers
    no_pair(&["", "_"]);
    no_pair(&["TX_P", "TX_n"]); // another case: a near miss
    no_pair(&["/a/TX_P", "/b/TX_N"]); // another sheet
}

#[test]
fn a_name_can_suggest_two_mates_and_the_clearer_mark_comes_first() {
    let names = ["CK", "CK_N", "CK_P"];
    let found = candidates(&names);
    assert_eq!(found.len(), 2);
    assert_eq!((found[0].marking, found[0].p, found[0].n), (Marking::Letter, 2, 1));
    assert_eq!((found[1].marking, found[1].p, found[1].n), (Marking::Complement, 0, 1));
}

#[test]
fn halves_and_near_misses_are_listed() {
    let names = [
        "LANE0_TX_P", // paired
        "LANE0_TX_N", // paired
        "LANE1_TX_N", // of a paired family, without mate
        "LANE2_RX_P", // near miss by spelling with the next
        "LANE2_RXN",
        "LANE3_TY_P", // near miss by one character
        "LANE3_TX_N",
        "RESET_N",    // active low
        "VIDEO+",     // a half
        "P3_CLK_REQ", // a port
    ];
    let (halves, near) = leftovers(&names, &[0, 1]);
    let listed: Vec<&str> = halves.iter().map(|half| names[half.at]).collect();
    assert_eq!(listed, ["LANE1_TX_N", "LANE2_RX_P", "LANE3_TY_P", "LANE3_TX_N", "VIDEO+"]);
    let misses: Vec<(&str, &str, Difference)> =
        near.iter().map(|miss| (names[miss.p], names[miss.n], miss.difference)).collect();
    assert!(misses.contains(&("LANE2_RX_P", "LANE2_RXN", Difference::Spelling)), "{misses:?}");
    assert!(misses.contains(&("LANE3_TY_P", "LANE3_TX_N", Difference::OneCharacter)), "{misses:?}");
}

#[test]
fn other_sheet_and_other_case_are_near_misses() {
    for (p, n) in [("/a/TX_P", "/b/TX_N"), ("TX_P", "TX_n"), ("TX_P", "TX-"), ("CK_T", "CK_N")] {
        let names = [p, n];
        let (_, near) = leftovers(&names, &[]);
        assert!(
            near.iter().any(|miss| (miss.p, miss.n, miss.difference) == (0, 1, Difference::Spelling)),
            "`{p}` and `{n}`: {near:?}"
        );
    }
}

#[test]
fn a_reading_never_panics_on_odd_names() {
    for name in ["", "~", "~{", "}", "Net-(", "Net-(-)", "Net-(U1-)", "/", "//", "+", "#", "µP", "Ω+", "~{~{P}}_N"] {
        let _ = readings(name);
        let _ = pair_name(name, name);
    }
}

#[test]
fn legs_know_their_mates() {
    assert_eq!((Leg::P.mate(), Leg::N.mate()), (Leg::N, Leg::P));
}
