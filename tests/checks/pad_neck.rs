//! `pad-neck`: necks of known length, each end by itself, and what must not alarm.

use crate::route_rules::{findings, open, rule, run, sentence, two_lands, value, word};
use crate::support::recorder::{self, BASE};
use crate::support::{Board as Drawn, Stack};
use throughline::copper::Copper;

const W: f64 = 0.2;

/// A way on F.Cu whose tracks narrow to 0.1 for these lengths behind J1 and U1, measured from the pads' outlines.
fn necked(behind_u1: f64, behind_j1: f64) -> Drawn {
    let mut drawn = two_lands(Stack::four());
    let (left, right) = (5.25 + behind_u1, 14.75 - behind_j1);
    drawn.track("A", "F.Cu", 0.1, &[(5.0, 5.0), (left, 5.0)]);
    drawn.track("A", "F.Cu", W, &[(left, 5.0), (right, 5.0)]);
    drawn.track("A", "F.Cu", 0.1, &[(right, 5.0), (15.0, 5.0)]);
    drawn
}

/// Values by pad, J1.1 first.
fn values(drawn: &Drawn) -> Vec<f64> {
    let verdicts = run(drawn, &rule("pad-neck", None, 100.0), &["A"], &[]);
    assert_eq!(verdicts.iter().map(|verdict| verdict.subject.ends[0].as_str()).collect::<Vec<_>>(), ["J1.1", "U1.1"]);
    verdicts.iter().map(value).collect()
}

#[track_caller]
fn same(found: &[f64], expected: &[f64]) {
    assert!(found.iter().zip(expected).all(|(one, two)| (one - two).abs() < 2e-6), "{found:?}");
}

#[test]
fn each_end_counts_by_itself() {
    same(&values(&necked(2.0, 1.5)), &[1.5, 2.0]);
    let verdicts = run(&necked(2.0, 1.5), &rule("pad-neck", None, 2.0), &["A"], &[]);
    assert_eq!(findings(&verdicts), [], "3.5 mm together, but 2 mm at most for each");
}

#[test]
fn exactly_the_limit_passes_and_a_nanometre_more_does_not() {
    for (limit, expected) in [(2.0, "pass"), (1.999_999, "error")] {
        let verdicts = run(&necked(2.0, 0.0), &rule("pad-neck", None, limit), &["A"], &[]);
        assert_eq!(verdicts.iter().map(word).collect::<Vec<_>>(), ["pass", expected]);
    }
}

#[test]
fn a_finding_names_widths_and_place() {
    let verdicts = run(&necked(2.0, 0.0), &rule("pad-neck", Some(1.0), 6.5), &["A"], &[]);
    assert_eq!(findings(&verdicts), [("A U1.1".into(), "warning", (5.25, 5.0))]);
    insta::assert_snapshot!(sentence(&verdicts[1]), @"the way from `U1.1` (0.5 mm wide) narrows to 0.1 mm before it is 0.2 mm wide");
    insta::assert_snapshot!(sentence(&verdicts[0]), @"the way from `J1.1` (0.5 mm wide) keeps its main width; the track at the pad is 0.2 mm");
}

#[test]
fn a_via_on_the_way_does_not_end_a_neck_and_a_wide_track_does() {
    let mut drawn = two_lands(Stack::four());
    drawn.track("A", "F.Cu", 0.1, &[(5.0, 5.0), (6.25, 5.0)]);
    drawn.via("A", (6.25, 5.0));
    drawn.track("A", "B.Cu", 0.1, &[(6.25, 5.0), (7.0, 5.0)]);
    drawn.track("A", "B.Cu", W, &[(7.0, 5.0), (10.0, 5.0)]);
    drawn.track("A", "B.Cu", 0.1, &[(10.0, 5.0), (11.0, 5.0)]);
    drawn.track("A", "B.Cu", W, &[(11.0, 5.0), (13.0, 5.0)]);
    drawn.via("A", (13.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(13.0, 5.0), (15.0, 5.0)]);
    same(&values(&drawn), &[0.0, 1.75]);
    let board = open(&drawn);
    let copper = Copper::new(&board);
    let necks = copper.necks(&copper.routes(board.nets.find("A").unwrap()).routes[0]);
    assert_eq!(necks.between.len(), 1);
    assert!((necks.between[0].length.to_mm() - 1.0).abs() < 1e-6);
}

#[test]
fn a_layer_with_its_own_width_is_no_neck() {
    // Microstrip 0.2, stripline 0.12: both are the main width of their layer.
    let mut drawn = two_lands(Stack::four());
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (9.0, 5.0)]);
    drawn.via("A", (9.0, 5.0));
    drawn.track("A", "In1.Cu", 0.12, &[(9.0, 5.0), (14.0, 5.0)]);
    drawn.via("A", (14.0, 5.0));
    drawn.track("A", "F.Cu", 0.12, &[(14.0, 5.0), (15.0, 5.0)]);
    same(&values(&drawn), &[0.75, 0.0]);
}

#[test]
fn widths_within_the_fab_s_tolerance_are_one_width() {
    let mut drawn = two_lands(Stack::four());
    drawn.track("A", "F.Cu", 0.18, &[(5.0, 5.0), (9.0, 5.0)]);
    drawn.track("A", "F.Cu", 0.2, &[(9.0, 5.0), (15.0, 5.0)]);
    same(&values(&drawn), &[0.0, 0.0]);
}

#[test]
fn a_teardrop_is_no_violation_and_shortens_the_neck() {
    let mut drawn = necked(2.0, 0.0);
    // From 0.4 wide inside the pad to 0.1 wide 1.5 mm on: at least 0.2 wide for two thirds of it, up to 6.15.
    drawn.teardrop("A", "F.Cu", &[(5.15, 4.8), (6.65, 4.95), (6.65, 5.05), (5.15, 5.2)]);
    let left = values(&drawn)[1];
    // Found by halving, to a micrometre.
    assert!((left - 1.1).abs() < 0.001_1, "{left}");
    let verdicts = run(&drawn, &rule("pad-neck", None, 1.2), &["A"], &[]);
    assert_eq!(findings(&verdicts), []);
    assert!(sentence(&verdicts[1]).contains("with a teardrop"));
}

#[test]
fn what_can_not_be_measured_is_unchecked() {
    let mut open_net = two_lands(Stack::four());
    open_net.track("A", "F.Cu", W, &[(5.0, 5.0), (9.0, 5.0)]);
    let verdicts = run(&open_net, &rule("pad-neck", None, 1.0), &["A"], &[]);
    assert_eq!(verdicts.iter().map(word).collect::<Vec<_>>(), ["unchecked"]);
    let mut poured = two_lands(Stack::four());
    poured.zone("A", &["F.Cu"], &crate::support::rectangle((4.0, 4.0), (16.0, 6.0)));
    poured.fill();
    let verdicts = run(&poured, &rule("pad-neck", None, 1.0), &["A"], &[]);
    assert_eq!(verdicts.iter().map(word).collect::<Vec<_>>(), ["unchecked", "unchecked"]);
}

#[test]
fn a_planted_neck_on_the_demo_is_found_there_and_nowhere_else() {
    let names: Vec<[String; 2]> =
        recorder::LANES.iter().map(|lane| ["P", "N"].map(|leg| format!("{}_{leg}", lane.name))).collect();
    let pairs: Vec<(&str, &str)> = names.iter().map(|[p, n]| (p.as_str(), n.as_str())).collect();
    let limit = rule("pad-neck", Some(2.5), 6.5);
    let mut drawn = recorder::unfilled(&BASE);
    assert_eq!(findings(&run(&drawn, &limit, &[], &pairs)), []);
    // The first half of a lane's long way from its ball is drawn thin.
    let leg = "MEM_TX0_P";
    let until = drawn.tracks.iter().position(|track| track.net == leg && track.path.end().0 > 20.0).unwrap();
    for track in &mut drawn.tracks[..until] {
        if track.net == leg {
            track.width = 0.1;
        }
    }
    let found = findings(&run(&drawn, &limit, &[], &pairs));
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!((found[0].0.starts_with("MEM_TX0_P U1."), found[0].1), (true, "warning"));
}
