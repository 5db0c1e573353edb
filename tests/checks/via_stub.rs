//! `via-stub`: stubs of known height, limits, missing stackups, and what must not alarm.

use crate::route_rules::{findings, only, open, rule, run, run_on, sentence, two_lands, value, with, word};
use crate::support::part::Hole;
use crate::support::recorder::{self, BASE};
use crate::support::{Board as Drawn, Pad, PadShape, Part, Stack};
use throughline::copper::Copper;
use throughline::rules::Setting;

const W: f64 = 0.15;

/// From U1 down a via to a layer, along it, and up another via to J1.
fn through(stack: Stack, inner: &str) -> Drawn {
    let mut drawn = two_lands(stack);
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (7.0, 5.0)]);
    drawn.via("A", (7.0, 5.0));
    drawn.track("A", inner, W, &[(7.0, 5.0), (13.0, 5.0)]);
    drawn.via("A", (13.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(13.0, 5.0), (15.0, 5.0)]);
    drawn
}

/// Middle of In1 to the lower face of B.Cu: 0.00875 + 0.465 + 0.0175 + 0.1 + 0.035.
const BELOW_IN1: f64 = 0.62625;
/// Middle of In2 to the lower face of B.Cu: 0.00875 + 0.1 + 0.035.
const BELOW_IN2: f64 = 0.14375;

#[test]
fn a_stub_is_as_long_as_the_stackup_makes_it() {
    for (inner, expected) in [("In1.Cu", BELOW_IN1), ("In2.Cu", BELOW_IN2), ("B.Cu", 0.0)] {
        let verdicts = run(&through(Stack::four(), inner), &rule("via-stub", None, 0.5), &["A"], &[]);
        assert_eq!(verdicts.len(), 2, "one for each via");
        for verdict in &verdicts {
            assert!((value(verdict) - expected).abs() < 1e-9, "{inner}: {}", value(verdict));
            assert_eq!(word(verdict), if expected > 0.5 { "error" } else { "pass" });
        }
    }
}

#[test]
fn exactly_the_limit_passes_and_a_nanometre_more_does_not() {
    let board = open(&through(Stack::four(), "In1.Cu"));
    for (limit, expected) in [(BELOW_IN1, "pass"), (BELOW_IN1 - 1e-6, "error")] {
        assert_eq!(word(&run_on(&board, &rule("via-stub", None, limit), &["A"], &[])[0]), expected);
    }
    let warned = run_on(&board, &rule("via-stub", Some(0.5), 1.0), &["A"], &[]);
    assert_eq!(word(&warned[0]), "warning");
}

#[test]
fn a_finding_says_where_the_barrel_ends() {
    let verdicts = run(&through(Stack::four(), "In1.Cu"), &rule("via-stub", None, 0.5), &["A"], &[]);
    insta::assert_snapshot!(sentence(&verdicts[0]), @"the via of `A` is used from `F.Cu` to `In1.Cu`; its barrel goes on to `B.Cu`");
    assert_eq!(findings(&verdicts), [("A ".into(), "error", (7.0, 5.0)), ("A ".into(), "error", (13.0, 5.0))]);
    assert!(verdicts[0].help.is_some());
}

#[test]
fn the_longer_side_counts() {
    let mut drawn = two_lands(Stack::four());
    // Between In1 and In2 only: 0.035 + 0.1 + 0.00875 above, the same below.
    for x in [6.0, 14.0] {
        drawn.via("A", (x, 5.0)).span("F.Cu", "In1.Cu");
    }
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (6.0, 5.0)]);
    drawn.track("A", "In1.Cu", W, &[(6.0, 5.0), (8.0, 5.0)]);
    drawn.via("A", (8.0, 5.0));
    drawn.track("A", "In2.Cu", W, &[(8.0, 5.0), (12.0, 5.0)]);
    drawn.via("A", (12.0, 5.0));
    drawn.track("A", "In1.Cu", W, &[(12.0, 5.0), (14.0, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(14.0, 5.0), (15.0, 5.0)]);
    let verdicts = run(&drawn, &rule("via-stub", None, 0.5), &["A"], &[]);
    let mut values: Vec<f64> = verdicts.iter().map(value).collect();
    values.sort_by(f64::total_cmp);
    assert_eq!(values.len(), 4);
    for (found, expected) in values.iter().zip([0.0, 0.0, BELOW_IN2, BELOW_IN2]) {
        assert!((found - expected).abs() < 1e-9);
    }
}

#[test]
fn without_a_stackup_a_stub_is_unchecked_and_a_full_barrel_passes() {
    let verdicts = run(&through(Stack::four().unstated(), "In1.Cu"), &rule("via-stub", None, 0.5), &["A"], &[]);
    assert!(verdicts.iter().all(|verdict| word(verdict) == "unchecked"));
    // It is less than the board's 0.8 mm, whatever it is.
    let verdicts = run(&through(Stack::four().unstated(), "In1.Cu"), &rule("via-stub", None, 0.8), &["A"], &[]);
    assert!(verdicts.iter().all(|verdict| word(verdict) == "pass"));
    insta::assert_snapshot!(sentence(&verdicts[0]), @"a barrel of `A` goes on from `In1.Cu` to `B.Cu`: how far is not known, but less than the board is thick");
    for stack in [Stack::four().unstated(), Stack::two().unstated()] {
        let verdicts = run(&through(stack, "B.Cu"), &rule("via-stub", None, 0.1), &["A"], &[]);
        assert_eq!(verdicts.iter().map(word).collect::<Vec<_>>(), ["pass", "pass"]);
    }
}

#[test]
fn a_blind_via_has_the_stub_of_its_own_span() {
    let mut drawn = through(Stack::four(), "In1.Cu");
    for via in &mut drawn.vias {
        via.bottom = "In1.Cu".into();
    }
    let verdicts = run(&drawn, &rule("via-stub", None, 0.001), &["A"], &[]);
    assert!(verdicts.iter().all(|verdict| word(verdict) == "pass" && value(verdict) == 0.0));
}

#[test]
fn a_back_drill_shortens_the_stub_and_is_named_as_an_assumption() {
    let mut drawn = through(Stack::four(), "In1.Cu");
    drawn.vias[0].back_drill = Some((0.4, "B.Cu".into(), "In2.Cu".into()));
    drawn.vias[1].back_drill = Some((0.4, "B.Cu".into(), "In1.Cu".into()));
    let verdicts = run(&drawn, &rule("via-stub", None, 0.6), &["A"], &[]);
    // Middle of In1 to the lower face of In2: 0.00875 + 0.465 + 0.0175.
    assert!((value(&verdicts[0]) - 0.49125).abs() < 1e-9);
    assert_eq!(value(&verdicts[1]), 0.0);
    insta::assert_snapshot!(sentence(&verdicts[0]), @"the via of `A` is used from `F.Cu` to `In1.Cu`; its barrel goes on to `In2.Cu`, where its back-drill is taken to end");
    insta::assert_snapshot!(sentence(&verdicts[1]), @"the via of `A` is used from `F.Cu` to `In1.Cu`; its back-drill is taken to leave the layer it reaches");
}

#[test]
fn a_connector_pin_uses_its_hole_from_its_part_on() {
    let pin = |layer: &str| {
        let mut drawn = Drawn::new("pin", Stack::four());
        drawn.outline((0.0, 0.0), (20.0, 12.0));
        let hole = Pad::hole("1", PadShape::Circle, (0.0, 0.0), (1.0, 1.0), Hole::Round(0.6)).net("A");
        drawn.part(Part::new("J2", (5.0, 5.0)).pad(hole.clone()));
        drawn.part(Part::new("J3", (15.0, 5.0)).bottom().pad(hole));
        drawn.track("A", layer, W, &[(5.0, 5.0), (15.0, 5.0)]);
        drawn
    };
    // J2 sits on top, J3 below: on B.Cu only J3 has a tail, the whole barrel.
    let all = rule("via-stub", None, 0.5);
    let verdicts = run(&pin("B.Cu"), &all, &["A"], &[]);
    assert_eq!(findings(&verdicts), [("A J3.1".into(), "error", (15.0, 5.0))]);
    assert_eq!(sentence(&verdicts[1]), "the plated pin of `A` is used on `B.Cu` alone; its tail goes on to `F.Cu`");
    let verdicts = run(&pin("F.Cu"), &all, &["A"], &[]);
    assert_eq!(findings(&verdicts), [("A J2.1".into(), "error", (5.0, 5.0))]);
    let without = with(all, "tails", Setting::Switch(false));
    assert_eq!(word(&only(run(&pin("F.Cu"), &without, &["A"], &[]))), "pass");
}

#[test]
fn a_plane_or_a_test_pad_at_the_far_end_uses_the_barrel() {
    let mut drawn = two_lands(Stack::four());
    drawn.part(Part::new("TP1", (10.0, 5.0)).bottom().pad(Pad::circle("1", (0.0, 0.0), 0.5).net("A")));
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (15.0, 5.0)]);
    drawn.via("A", (10.0, 5.0));
    let verdict = only(run(&drawn, &rule("via-stub", None, 0.001), &["A"], &[]));
    assert_eq!((word(&verdict), value(&verdict)), ("pass", 0.0));
}

#[test]
fn a_via_on_a_dead_branch_is_no_via_stub() {
    let mut drawn = two_lands(Stack::four());
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (15.0, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(10.0, 5.0), (10.0, 7.0)]);
    drawn.via("A", (10.0, 7.0));
    let verdict = only(run(&drawn, &rule("via-stub", None, 0.001), &["A"], &[]));
    assert_eq!(sentence(&verdict), "`A` passes through no barrel");
    // It is a branch, with its barrel: the via is at its end.
    let board = open(&drawn);
    let copper = Copper::new(&board);
    let stubs = copper.stubs(board.nets.find("A").unwrap());
    assert_eq!(stubs.branches.len(), 1);
    assert!((stubs.branches[0].length.to_mm() - 2.0).abs() < 1e-9);
    assert!((stubs.branches[0].height.unwrap().to_mm() - 0.735).abs() < 1e-9);
}

#[test]
fn a_net_that_is_open_is_unchecked() {
    let mut drawn = two_lands(Stack::four());
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (7.0, 5.0)]);
    drawn.via("A", (7.0, 5.0));
    let verdict = only(run(&drawn, &rule("via-stub", None, 0.5), &["A"], &[]));
    assert_eq!(word(&verdict), "unchecked");
    assert_eq!(sentence(&verdict), "no copper of `A` joins `J1.1` to `U1.1`");
}

#[test]
fn a_planted_stub_on_the_demo_is_found_there_and_nowhere_else() {
    let names: Vec<[String; 2]> =
        recorder::LANES.iter().map(|lane| ["P", "N"].map(|leg| format!("{}_{leg}", lane.name))).collect();
    let pairs: Vec<(&str, &str)> = names.iter().map(|[p, n]| (p.as_str(), n.as_str())).collect();
    let limit = rule("via-stub", Some(0.4), 0.48);
    let mut drawn = recorder::unfilled(&BASE);
    let clean = run(&drawn, &limit, &[], &pairs);
    assert!(clean.len() > pairs.len());
    assert_eq!(findings(&clean), []);
    // A blind via becomes a through via.
    let via = drawn.vias.iter_mut().find(|via| via.net == "GEO_CLK_P" && via.bottom == "In2.Cu").unwrap();
    via.bottom = "B.Cu".into();
    let at = via.at;
    assert_eq!(findings(&run(&drawn, &limit, &[], &pairs)), [("GEO_CLK_P ".into(), "error", at)]);
}
