//! `uncoupled-run`: known stretches, limits, missing inputs, and what must not alarm.

use crate::route_rules::{only, rule, run, sentence, value, with, word};
use crate::support::starters::{LEFT, N, N_Y, P, P_Y, RIGHT, WIDTH, straight_pair, two_pad_pair};
use crate::support::{Board as Drawn, Point};
use throughline::checks::Verdict;
use throughline::rules::{Rule, Setting};
use throughline::units::Quantity;

const PAIR: &[(&str, &str)] = &[(P, N)];

fn alone(limit: f64) -> Rule {
    rule("uncoupled-run", None, limit)
}

fn with_share(limit: f64, share: f64) -> Rule {
    with(alone(limit), "share", Setting::Quantity(Quantity::Ratio(share)))
}

fn judged(mut drawn: Drawn, rule: &Rule) -> Verdict {
    drawn.fill_missing();
    only(run(&drawn, rule, &[], PAIR))
}

/// The legs run 3 mm apart up to an x, and side by side from there on.
fn apart_until(x: f64) -> Drawn {
    let mut drawn = two_pad_pair("apart");
    for (net, y, side) in [(P, P_Y, -1.0), (N, N_Y, 1.0)] {
        let out = y + side * 1.5;
        drawn.track(net, "F.Cu", WIDTH, &[(LEFT, y), (LEFT, out), (x, out), (x, y), (RIGHT, y)]);
    }
    drawn
}

#[test]
fn legs_side_by_side_pass() {
    let verdict = judged(straight_pair("straight"), &alone(0.5));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
    // What is left is the inside of the pads.
    assert!(value(&verdict) < 0.2, "{}", value(&verdict));
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` runs without its mate for 0.15 mm at `J1.1`");
}

#[test]
fn a_long_way_to_the_mate_is_told_with_its_pad() {
    let verdict = judged(apart_until(9.0), &alone(6.5));
    assert_eq!(word(&verdict), "error");
    // Out, along and back: 1.5 + 6 + 1.5 mm.
    assert!((value(&verdict) - 9.0).abs() < 1e-6, "{}", value(&verdict));
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` runs without its mate for 9 mm at `U1.1`");
    let at = verdict.place.unwrap().at.unwrap();
    assert_eq!(crate::support::from_nm(at.x), 9.0, "where the legs meet");
}

#[test]
fn exactly_the_limit_passes_and_a_nanometre_more_does_not() {
    for (limit, expected) in [(9.0, "pass"), (8.999_999, "error")] {
        assert_eq!(word(&judged(apart_until(9.0), &alone(limit))), expected, "{limit}");
    }
    assert_eq!(word(&judged(apart_until(9.0), &rule("uncoupled-run", Some(5.0), 10.0))), "warning");
}

/// The legs part and meet again, as around a hole.
fn around(from: f64, to: f64) -> Drawn {
    let mut drawn = two_pad_pair("around");
    for (net, y, side) in [(P, P_Y, -1.0), (N, N_Y, 1.0)] {
        let out = y + side * 0.8;
        drawn.track(net, "F.Cu", WIDTH, &[(LEFT, y), (from, y), (from, out), (to, out), (to, y), (RIGHT, y)]);
    }
    drawn
}

#[test]
fn a_stretch_on_the_way_counts_by_itself() {
    let verdict = judged(around(8.0, 11.0), &alone(4.0));
    assert_eq!(word(&verdict), "error");
    assert!((value(&verdict) - 4.6).abs() < 1e-6, "{}", value(&verdict));
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` runs without its mate for 4.6 mm on the way");
    // Two such stretches are not added.
    assert_eq!(word(&judged(around(8.0, 11.0), &alone(4.6))), "pass");
}

#[test]
fn the_share_is_a_warning_and_leaves_out_the_ends() {
    let verdict = judged(around(8.0, 11.0), &with_share(6.5, 0.15));
    assert_eq!(word(&verdict), "warning");
    insta::assert_snapshot!(sentence(&verdict), @"apart from its ends `LINK_P` runs without its mate for 29.5 % of its way, 4.6 mm in all");
    assert_eq!(word(&judged(around(8.0, 11.0), &with_share(6.5, 0.3))), "pass");
    // 2.5 mm at the end are a fan-out.
    let verdict = judged(apart_until(4.0), &with_share(6.5, 0.1));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
}

#[test]
fn bends_and_bumps_have_no_part_in_the_share() {
    let mut drawn = two_pad_pair("bumps");
    drawn.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (RIGHT, P_Y)]);
    let mut points: Vec<Point> = vec![(LEFT, N_Y)];
    for bump in 0..8 {
        let x = 5.0 + 1.3 * f64::from(bump);
        points.extend([(x, N_Y), (x + 0.25, N_Y + 0.25), (x + 0.5, N_Y + 0.25), (x + 0.75, N_Y)]);
    }
    points.push((RIGHT, N_Y));
    drawn.track(N, "F.Cu", WIDTH, &points);
    let verdict = judged(drawn, &with_share(1.0, 0.05));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
}

#[test]
fn legs_that_never_meet_fail_over_their_whole_length() {
    let verdict = judged(apart_until(RIGHT), &alone(6.5));
    assert_eq!(word(&verdict), "error");
    insta::assert_snapshot!(sentence(&verdict), @"the legs of `LINK` run side by side nowhere: `LINK_P` runs alone for 17 mm");
}

#[test]
fn legs_above_each_other_are_not_side_by_side() {
    let mut drawn = two_pad_pair("layers");
    drawn.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (RIGHT, P_Y)]);
    drawn.track(N, "F.Cu", WIDTH, &[(LEFT, N_Y), (4.0, N_Y + 0.4)]);
    drawn.via(N, (4.0, N_Y + 0.4));
    drawn.track(N, "B.Cu", WIDTH, &[(4.0, N_Y + 0.4), (4.3, N_Y), (15.7, N_Y), (16.0, N_Y + 0.4)]);
    drawn.via(N, (16.0, N_Y + 0.4));
    drawn.track(N, "F.Cu", WIDTH, &[(16.0, N_Y + 0.4), (RIGHT, N_Y)]);
    assert_eq!(word(&judged(drawn, &alone(6.5))), "error");
}

#[test]
fn a_leg_without_copper_is_unchecked() {
    let mut drawn = two_pad_pair("open");
    drawn.track(N, "F.Cu", WIDTH, &[(LEFT, N_Y), (RIGHT, N_Y)]);
    let verdict = judged(drawn, &alone(6.5));
    assert_eq!(word(&verdict), "unchecked");
    assert!(sentence(&verdict).contains("no copper of `LINK_P`"), "{}", sentence(&verdict));
}

#[test]
fn a_leg_through_a_fill_is_unchecked() {
    let mut drawn = two_pad_pair("area");
    drawn.track(N, "F.Cu", WIDTH, &[(LEFT, N_Y), (RIGHT, N_Y)]);
    drawn.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (8.0, P_Y)]);
    drawn.track(P, "F.Cu", WIDTH, &[(12.0, P_Y), (RIGHT, P_Y)]);
    drawn.fill_missing();
    drawn.zone(P, &["F.Cu"], &crate::support::rectangle((7.5, P_Y - 0.4), (12.5, P_Y + 0.05)));
    let verdict = judged(drawn, &alone(6.5));
    assert_eq!(word(&verdict), "unchecked", "{}", sentence(&verdict));
}
