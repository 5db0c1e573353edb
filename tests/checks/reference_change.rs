//! `reference-change`: planes of two nets with capacitors at known distances, and what must not alarm.

use crate::route_rules::{findings, land, only, open, rule, run, run_on, sentence, value, word};
use crate::support::plant;
use crate::support::recorder::{self, BASE};
use crate::support::{Board as Drawn, Pad, Part, Stack, rectangle};
use throughline::checks::Verdict;
use throughline::rules::Rule;

const W: f64 = 0.15;
const VIA: (f64, f64) = (10.0, 5.0);

/// From U1 on F.Cu over one net's plane, down a via at (10, 5), to J2 on B.Cu next to another's.
fn between(upper: &str, lower: &str) -> Drawn {
    let mut drawn = Drawn::new("between", Stack::four());
    drawn.outline((0.0, 0.0), (20.0, 12.0));
    drawn.part(land("U1", "A", (5.0, 5.0)));
    drawn.part(Part::new("J2", (15.0, 5.0)).bottom().pad(Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net("A")));
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), VIA]);
    drawn.via("A", VIA);
    drawn.track("A", "B.Cu", W, &[VIA, (15.0, 5.0)]);
    for (net, layer, ends) in [(upper, "In1.Cu", ("F.Cu", "In1.Cu")), (lower, "In2.Cu", ("In2.Cu", "B.Cu"))] {
        // A blind via in the corner, so that the plane has copper to fill.
        drawn.via(net, (1.0, 1.0)).span(ends.0, ends.1);
        drawn.zone(net, &[layer], &rectangle((0.3, 0.3), (19.7, 11.7)));
    }
    drawn
}

/// A two-pad part below the via, its middle at a distance.
fn part(reference: &str, distance: f64) -> Part {
    Part::new(reference, (VIA.0, VIA.1 + distance))
        .pad(Pad::rect("1", (-0.5, 0.0), (0.5, 0.5)).net("GND"))
        .pad(Pad::rect("2", (0.5, 0.0), (0.5, 0.5)).net("VCC"))
}

fn judged(mut drawn: Drawn, limit: f64) -> Vec<Verdict> {
    drawn.fill_missing();
    run(&drawn, &bound(limit), &["A"], &[])
}

fn bound(limit: f64) -> Rule {
    rule("reference-change", None, limit)
}

#[test]
fn planes_of_one_net_pass() {
    let verdict = only(judged(between("GND", "GND"), 2.5));
    assert_eq!(word(&verdict), "pass");
    insta::assert_snapshot!(sentence(&verdict), @"the planes before and after the via of `A` are both `GND`");
}

#[test]
fn two_nets_without_a_capacitor_fail_at_the_via() {
    let verdicts = judged(between("GND", "VCC"), 2.5);
    assert_eq!(findings(&verdicts), [("A ".into(), "error", VIA)]);
    insta::assert_snapshot!(sentence(&verdicts[0]), @"the via of `A` passes from `VCC` on `In2.Cu` to `GND` on `In1.Cu`, and no capacitor joins the two");
    assert!(verdicts[0].help.is_some());
}

#[test]
fn a_capacitor_counts_by_its_middle_and_exactly_the_limit_passes() {
    let mut drawn = between("GND", "VCC");
    drawn.part(part("C1", 2.0));
    drawn.part(part("C2", 4.0));
    drawn.fill();
    let board = open(&drawn);
    for (limit, expected) in [(2.0, "pass"), (1.999_999, "error")] {
        let verdict = only(run_on(&board, &bound(limit), &["A"], &[]));
        assert_eq!((word(&verdict), value(&verdict)), (expected, 2.0));
    }
    let verdict = only(run_on(&board, &bound(1.0), &["A"], &[]));
    insta::assert_snapshot!(sentence(&verdict), @"the via of `A` passes from `VCC` on `In2.Cu` to `GND` on `In1.Cu`; the nearest capacitor between them is `C1`, 2 mm away");
    assert_eq!(verdict.related.len(), 1);
}

#[test]
fn only_fitted_capacitors_between_the_two_nets_count() {
    for wrong in ["R1", "CN1", "D1", "FB1", ""] {
        let mut drawn = between("GND", "VCC");
        drawn.part(part(wrong, 1.0));
        assert_eq!(word(&only(judged(drawn, 2.5))), "error", "{wrong}");
    }
    let mut other = between("GND", "VCC");
    let mut elsewhere = part("C1", 1.0);
    elsewhere.pads[1].net = "VIO".into();
    other.part(elsewhere);
    assert_eq!(word(&only(judged(other, 2.5))), "error");
}

#[test]
fn a_route_without_via_passes() {
    let mut drawn = between("GND", "VCC");
    drawn.vias.clear();
    drawn.tracks.clear();
    drawn.parts.pop();
    drawn.part(land("J2", "A", (15.0, 5.0)));
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (15.0, 5.0)]);
    let verdict = only(judged(drawn, 2.5));
    assert_eq!(word(&verdict), "pass");
    insta::assert_snapshot!(sentence(&verdict), @"`A` passes through no via");
}

#[test]
fn what_can_not_be_told_is_unchecked() {
    let mut bare = between("GND", "VCC");
    bare.zones.clear();
    assert_eq!(word(&only(judged(bare, 2.5))), "unchecked");
    let unfilled = between("GND", "VCC");
    assert_eq!(word(&only(run(&unfilled, &bound(2.5), &["A"], &[]))), "unchecked");
    let mut torn = between("GND", "GND");
    torn.vias.clear();
    assert_eq!(word(&only(judged(torn, 2.5))), "unchecked");
}

#[test]
fn a_planted_supply_patch_on_the_demo_is_found_there_and_nowhere_else() {
    let pairs = recorder::pair_names();
    let pairs: Vec<(&str, &str)> = pairs.iter().map(|[p, n]| (p.as_str(), n.as_str())).collect();
    let clean = run(&recorder::draw(&BASE), &bound(2.5), &[], &pairs);
    assert!(clean.len() > pairs.len());
    assert_eq!(findings(&clean), []);
    let mut drawn = recorder::unfilled(&BASE);
    let planted = plant::supply_patch(&mut drawn, "MEM_TX2_P", "VNAND_2V5", "In4.Cu");
    drawn.fill();
    let found = findings(&run(&drawn, &bound(2.5), &[], &pairs));
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0.trim(), planted.subject);
    assert!(planted.is_near(found[0].2), "{found:?}");
}
