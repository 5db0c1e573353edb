//! `return-via`: return vias at known distances, limits, missing inputs, and what must not alarm or be believed.

use crate::route_rules::{findings, only, open, rule, run, run_on, sentence, two_lands, value, with, word};
use crate::support::part::Hole;
use crate::support::plant;
use crate::support::recorder::{self, BASE};
use crate::support::{Board as Drawn, Pad, PadShape, Part, Stack, rectangle};
use throughline::checks::Verdict;
use throughline::rules::{Rule, Setting};
use throughline::units::Quantity;

const W: f64 = 0.15;
const VIA: (f64, f64) = (10.0, 5.0);

/// From U1 on F.Cu, down a via at (10, 5), along B.Cu and up a plated pin of J2 at (15, 5) whose part sits below.
fn down() -> Drawn {
    let mut drawn = Drawn::new("down", Stack::four());
    drawn.outline((0.0, 0.0), (20.0, 12.0));
    drawn.part(crate::route_rules::land("U1", "A", (5.0, 5.0)));
    drawn.part(Part::new("J2", (15.0, 5.0)).bottom().pad(Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net("A")));
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), VIA]);
    drawn.via("A", VIA);
    drawn.track("A", "B.Cu", W, &[VIA, (15.0, 5.0)]);
    plane(&mut drawn, "GND", "In1.Cu", ("F.Cu", "In1.Cu"));
    plane(&mut drawn, "GND", "In2.Cu", ("In2.Cu", "B.Cu"));
    drawn
}

/// A plane with a blind via in the corner, so that it has copper to fill.
fn plane(drawn: &mut Drawn, net: &str, layer: &str, (top, bottom): (&str, &str)) {
    drawn.via(net, (1.0, 1.0)).span(top, bottom);
    drawn.zone(net, &[layer], &rectangle((0.3, 0.3), (19.7, 11.7)));
}

/// The same with a ground via at a distance.
fn with_return(distance: f64) -> Drawn {
    let mut drawn = down();
    drawn.via("GND", (VIA.0, VIA.1 + distance));
    drawn
}

fn judged(mut drawn: Drawn, rule: &Rule) -> Vec<Verdict> {
    drawn.fill_missing();
    run(&drawn, rule, &["A"], &[])
}

fn limit(limit: f64) -> Rule {
    rule("return-via", None, limit)
}

#[test]
fn the_distance_is_that_of_the_centres() {
    let verdict = only(judged(with_return(0.8), &limit(1.0)));
    assert_eq!((word(&verdict), value(&verdict)), ("pass", 0.8));
    insta::assert_snapshot!(sentence(&verdict), @"the nearest via of `GND` that joins `In2.Cu` and `In1.Cu` is 0.8 mm from the via of `A`");
}

#[test]
fn exactly_the_limit_passes_and_a_nanometre_more_does_not() {
    let mut drawn = with_return(0.8);
    drawn.fill_missing();
    let board = open(&drawn);
    for (bound, expected) in [(0.8, "pass"), (0.799_999, "error")] {
        assert_eq!(word(&only(run_on(&board, &limit(bound), &["A"], &[]))), expected);
    }
    assert_eq!(word(&only(run_on(&board, &rule("return-via", Some(0.6), 1.0), &["A"], &[]))), "warning");
}

#[test]
fn a_finding_stands_at_the_signal_s_via_and_shows_what_was_found() {
    let verdicts = judged(with_return(1.5), &limit(1.0));
    assert_eq!(findings(&verdicts), [("A ".into(), "error", VIA)]);
    assert_eq!(verdicts[0].related.len(), 1);
    assert!(verdicts[0].help.is_some());
}

#[test]
fn no_return_via_at_all_fails() {
    let verdicts = judged(down(), &limit(1.0));
    assert_eq!(findings(&verdicts), [("A ".into(), "error", VIA)]);
    insta::assert_snapshot!(sentence(&verdicts[0]), @"no via of `GND` within 20 mm of the via of `A` joins `In2.Cu` and `In1.Cu`");
}

#[test]
fn a_blind_via_that_reaches_one_plane_does_not_count() {
    let mut drawn = with_return(0.5);
    drawn.vias.last_mut().unwrap().bottom = "In1.Cu".into();
    drawn.via("GND", (VIA.0 - 2.0, VIA.1 + 0.5));
    let verdict = only(judged(drawn, &limit(1.0)));
    assert!(word(&verdict) == "error" && value(&verdict) > 2.0, "{}", sentence(&verdict));
}

#[test]
fn a_ground_via_that_a_plane_keeps_away_from_does_not_count() {
    let mut drawn = with_return(0.5);
    let zone = drawn.zones.iter_mut().find(|zone| zone.layers == ["In2.Cu"]).unwrap();
    zone.cutouts.push(("In2.Cu".into(), rectangle((9.0, 5.1), (11.0, 6.5))));
    let verdict = only(judged(drawn, &limit(1.0)));
    assert_eq!(word(&verdict), "error", "{}", sentence(&verdict));
}

#[test]
fn a_ground_pin_counts_like_a_via() {
    let mut drawn = down();
    let pin = Pad::hole("2", PadShape::Circle, (0.0, 0.0), (0.6, 0.6), Hole::Round(0.3)).net("GND");
    drawn.part(Part::new("J3", (VIA.0, VIA.1 + 0.9)).pad(pin));
    let verdict = only(judged(drawn, &limit(1.0)));
    assert_eq!((word(&verdict), value(&verdict)), ("pass", 0.9));
}

#[test]
fn with_a_count_the_nth_nearest_counts() {
    let two = with(limit(1.0), "count", Setting::Quantity(Quantity::Count(2)));
    let mut drawn = with_return(0.5);
    let alone = only(judged(drawn.clone(), &two));
    assert_eq!(word(&alone), "error");
    insta::assert_snapshot!(sentence(&alone), @"fewer than 2 vias of `GND` within 20 mm of the via of `A` join `In2.Cu` and `In1.Cu`");
    drawn.via("GND", (VIA.0 + 0.9, VIA.1));
    let verdict = only(judged(drawn, &two));
    assert_eq!((word(&verdict), value(&verdict)), ("pass", 0.9));
}

#[test]
fn a_route_that_keeps_its_plane_needs_no_return_via() {
    let mut drawn = two_lands(Stack::four());
    drawn.track("A", "F.Cu", W, &[(5.0, 5.0), (8.0, 5.0)]);
    drawn.via("A", (8.0, 5.0));
    drawn.track("A", "In2.Cu", W, &[(8.0, 5.0), (12.0, 5.0)]);
    drawn.via("A", (12.0, 5.0));
    drawn.track("A", "F.Cu", W, &[(12.0, 5.0), (15.0, 5.0)]);
    plane(&mut drawn, "GND", "In1.Cu", ("F.Cu", "In1.Cu"));
    let verdicts = judged(drawn, &limit(0.1));
    assert_eq!(verdicts.iter().map(word).collect::<Vec<_>>(), ["pass", "pass"]);
    insta::assert_snapshot!(sentence(&verdicts[0]), @"the via of `A` keeps its plane, `GND` on `In1.Cu`");
}

#[test]
fn planes_of_two_nets_are_left_to_reference_change() {
    let mut drawn = down();
    drawn.zones.retain(|zone| zone.layers != ["In2.Cu"]);
    plane(&mut drawn, "VCC", "In2.Cu", ("In2.Cu", "B.Cu"));
    let verdict = only(judged(drawn, &limit(0.1)));
    assert_eq!(word(&verdict), "pass");
    insta::assert_snapshot!(sentence(&verdict), @"the via of `A` keeps its plane, `GND` on `In1.Cu`");
}

#[test]
fn what_can_not_be_told_is_unchecked() {
    let mut bare = with_return(0.5);
    bare.zones.retain(|zone| zone.layers != ["In2.Cu"]);
    // The plane on In1 serves B.Cu too: it is kept.
    assert_eq!(word(&only(judged(bare.clone(), &limit(1.0)))), "pass");
    bare.zones.clear();
    let verdict = only(judged(bare, &limit(1.0)));
    assert_eq!(word(&verdict), "unchecked");
    insta::assert_snapshot!(sentence(&verdict), @"no plane accompanies `A` on `B.Cu`, so its return current has no known way");
    let unfilled = with_return(0.5);
    let verdict = only(run(&unfilled, &limit(1.0), &["A"], &[]));
    assert_eq!(word(&verdict), "unchecked", "{}", sentence(&verdict));
    let mut stale = with_return(0.5);
    stale.fill();
    stale.track("B", "In2.Cu", W, &[(12.0, 8.0), (13.0, 8.0)]);
    let verdict = only(run(&stale, &limit(1.0), &["A"], &[]));
    assert_eq!(word(&verdict), "unchecked", "{}", sentence(&verdict));
    let mut torn = with_return(0.5);
    torn.tracks.pop();
    assert_eq!(word(&only(judged(torn, &limit(1.0)))), "unchecked");
}

#[test]
fn a_planted_blind_return_via_on_the_demo_is_found_there_and_nowhere_else() {
    let pairs = recorder::pair_names();
    let pairs: Vec<(&str, &str)> = pairs.iter().map(|[p, n]| (p.as_str(), n.as_str())).collect();
    let bounds = rule("return-via", Some(0.6), 1.0);
    let clean = run(&recorder::draw(&BASE), &bounds, &[], &pairs);
    assert!(clean.len() > pairs.len());
    assert_eq!(findings(&clean), []);
    let mut drawn = recorder::unfilled(&BASE);
    let planted = plant::blind_return_via(&mut drawn, "MEM_TX0_P", ("In4.Cu", "B.Cu"));
    drawn.fill();
    let found = findings(&run(&drawn, &bounds, &[], &pairs));
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0.trim(), planted.subject);
    assert!(planted.is_near(found[0].2), "{found:?}");
}
