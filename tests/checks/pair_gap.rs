//! `pair-gap`: gaps and widths of known size, limits, missing inputs, and what must not alarm.

use crate::route_rules::{at, only, rule, run, sentence, with, word};
use crate::support::starters::{LEFT, N, N_Y, P, P_Y, RIGHT, WIDTH, straight_pair, two_pad_pair};
use crate::support::{Board as Drawn, Part, Point};
use throughline::checks::Verdict;
use throughline::rules::{Rule, Setting};
use throughline::units::{Length, Quantity};

const PAIR: &[(&str, &str)] = &[(P, N)];
/// The gap of a started pair, mm.
const GAP: f64 = 0.14;

fn limits(warn: Option<f64>, limit: f64) -> Rule {
    let ratio = |share| Some(at(Quantity::Ratio(share)));
    Rule { warn: warn.and_then(ratio), limit: ratio(limit), ..rule("pair-gap", None, 1.0) }
}

fn set(rule: Rule, key: &'static str, mm: f64) -> Rule {
    with(rule, key, Setting::Quantity(Quantity::Length(Length::mm(mm))))
}

fn judged(mut drawn: Drawn, rule: &Rule) -> Verdict {
    drawn.fill_missing();
    only(run(&drawn, rule, &[], PAIR))
}

#[track_caller]
fn share(verdict: &Verdict) -> f64 {
    match verdict.value {
        Some(Quantity::Ratio(share)) => share,
        other => panic!("{other:?} is no share: {}", sentence(verdict)),
    }
}

/// Leg N steps away from P by `out` (towards it if negative) between two x positions.
fn stepped(from: f64, to: f64, out: f64) -> Drawn {
    let mut drawn = two_pad_pair("stepped");
    drawn.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (RIGHT, P_Y)]);
    let away = N_Y + out;
    let points: [Point; 6] =
        [(LEFT, N_Y), (from - out.abs(), N_Y), (from, away), (to, away), (to + out.abs(), N_Y), (RIGHT, N_Y)];
    drawn.track(N, "F.Cu", WIDTH, &points);
    drawn
}

#[test]
fn an_even_pair_passes() {
    let verdict = judged(straight_pair("even"), &limits(Some(0.1), 0.25));
    assert_eq!((word(&verdict), share(&verdict)), ("pass", 0.0));
    insta::assert_snapshot!(sentence(&verdict), @"gap and widths of `LINK` are the same all along each layer");
    assert_eq!(verdict.subject.ends, ["J1.1", "J1.2", "U1.1", "U1.2"]);
}

#[test]
fn a_wider_stretch_is_told_with_its_gap_and_length() {
    let verdict = judged(stepped(8.0, 11.0, 0.07), &limits(Some(0.1), 0.25));
    assert_eq!(word(&verdict), "error");
    assert!((share(&verdict) - 0.5).abs() < 1e-6, "{}", share(&verdict));
    insta::assert_snapshot!(sentence(&verdict), @"the legs of `LINK` are 0.21 mm apart on `F.Cu` for 3 mm, 50 % more than the usual 0.14 mm");
    let place = verdict.place.unwrap();
    let x = crate::support::from_nm(place.at.unwrap().x);
    // Routes are walked from J1.
    assert!((10.9..11.1).contains(&x), "{x}");
}

#[test]
fn a_narrower_stretch_counts_though_it_is_short() {
    let verdict = judged(stepped(8.0, 8.6, -0.035), &limits(None, 0.2));
    assert_eq!(word(&verdict), "error");
    insta::assert_snapshot!(sentence(&verdict), @"the legs of `LINK` are 0.105 mm apart on `F.Cu` for 0.6 mm, 25 % less than the usual 0.14 mm");
    assert_eq!(word(&judged(stepped(8.0, 8.3, -0.035), &limits(None, 0.2))), "pass", "too short to do anything");
}

#[test]
fn exactly_the_limit_passes_and_a_little_more_does_not() {
    let wider = 0.25 * GAP;
    for (limit, expected) in [(0.25, "pass"), (0.249_99, "error")] {
        assert_eq!(word(&judged(stepped(8.0, 11.0, wider), &limits(None, limit))), expected, "{limit}");
    }
    assert_eq!(word(&judged(stepped(8.0, 11.0, wider), &limits(Some(0.2), 0.3))), "warning");
}

/// Leg P has another width between two x positions.
fn widened(from: f64, to: f64, width: f64) -> Drawn {
    let mut drawn = two_pad_pair("widened");
    drawn.track(N, "F.Cu", WIDTH, &[(LEFT, N_Y), (RIGHT, N_Y)]);
    drawn.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (from, P_Y)]);
    drawn.track(P, "F.Cu", width, &[(from, P_Y), (to, P_Y)]);
    drawn.track(P, "F.Cu", WIDTH, &[(to, P_Y), (RIGHT, P_Y)]);
    drawn
}

#[test]
fn a_leg_of_another_width_is_found() {
    let verdict = judged(widened(9.0, 10.0, 0.2), &limits(None, 0.2));
    assert_eq!(word(&verdict), "error");
    assert!((share(&verdict) - 0.25).abs() < 1e-9);
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` is 0.2 mm wide on `F.Cu` for 1 mm, 25 % more than the usual 0.16 mm");
    // Narrower, its gap is wider for a millimetre only: the width speaks.
    let verdict = judged(widened(9.0, 10.0, 0.12), &limits(None, 0.2));
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` is 0.12 mm wide on `F.Cu` for 1 mm, 25 % less than the usual 0.16 mm");
}

#[test]
fn ends_and_vias_are_not_judged() {
    // 1 mm from the pad's anchor on, and at the end.
    assert_eq!(word(&judged(widened(LEFT, 5.5, 0.24), &limits(None, 0.1))), "pass");
    assert_eq!(word(&judged(widened(LEFT, 5.5, 0.24), &set(limits(None, 0.1), "ends", 1.0))), "error");
    let mut drawn = two_pad_pair("vias");
    for (net, y, side) in [(P, P_Y, -1.0), (N, N_Y, 1.0)] {
        // The legs part by 0.4 mm to make room for the vias.
        let out = y + side * 0.2;
        drawn.track(net, "F.Cu", WIDTH, &[(LEFT, y), (9.0, y), (9.2, out), (9.7, out)]);
        drawn.via(net, (9.7, out));
        drawn.track(net, "B.Cu", WIDTH, &[(9.7, out), (10.2, out), (10.4, y), (13.0, y), (13.2, out)]);
        drawn.via(net, (13.2, out));
        drawn.track(net, "F.Cu", WIDTH, &[(13.2, out), (13.4, y), (RIGHT, y)]);
    }
    let verdict = judged(drawn, &limits(None, 0.1));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
}

#[test]
fn a_neck_from_a_pad_on_is_left_to_its_own_check() {
    assert_eq!(word(&judged(widened(LEFT, 7.0, 0.1), &limits(None, 0.1))), "pass");
    assert_eq!(word(&judged(widened(6.0, 7.0, 0.1), &limits(None, 0.1))), "error", "no neck: it is wide at the pad");
    assert_eq!(word(&judged(widened(LEFT, 7.0, 0.24), &limits(None, 0.1))), "error", "no neck: it is too wide");
}

#[test]
fn each_layer_has_its_own_usual_gap() {
    let mut drawn = two_pad_pair("layers");
    for (net, y, side) in [(P, P_Y, -1.0), (N, N_Y, 1.0)] {
        let out = y + side * 0.04;
        drawn.track(net, "F.Cu", WIDTH, &[(LEFT, y), (9.0, y), (9.0, out)]);
        drawn.via(net, (9.0, out)).sized(0.3, 0.15);
        drawn.track(net, "B.Cu", 0.2, &[(9.0, out), (15.0, out)]);
        drawn.via(net, (15.0, out)).sized(0.3, 0.15);
        drawn.track(net, "F.Cu", WIDTH, &[(15.0, out), (15.0, y), (RIGHT, y)]);
    }
    let verdict = judged(drawn, &limits(None, 0.01));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
}

#[test]
fn bumps_that_make_up_length_are_no_other_gap() {
    let mut drawn = two_pad_pair("bumps");
    drawn.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (RIGHT, P_Y)]);
    let mut points = vec![(LEFT, N_Y)];
    for bump in 0..4 {
        let x = 6.0 + 2.0 * f64::from(bump);
        points.extend([(x, N_Y), (x + 0.13, N_Y + 0.13), (x + 0.6, N_Y + 0.13), (x + 0.73, N_Y)]);
    }
    points.push((RIGHT, N_Y));
    drawn.track(N, "F.Cu", WIDTH, &points);
    let verdict = judged(drawn.clone(), &limits(None, 0.1));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
    assert_eq!(word(&judged(drawn, &set(limits(None, 0.1), "bump", 0.3))), "error");
}

#[test]
fn bends_and_chorded_arcs_keep_their_gap() {
    let mut drawn = two_pad_pair("bends");
    // A step of 2 mm to the side; corners of 45 degrees lie on the bisector, so the gap stays.
    let shift = (crate::support::starters::PITCH) * (22.5_f64).to_radians().tan();
    for (net, y, turn) in [(P, P_Y, shift / 2.0), (N, N_Y, -shift / 2.0)] {
        drawn.track(
            net,
            "F.Cu",
            WIDTH,
            &[(LEFT, y), (8.0 + turn, y), (10.0 + turn, y + 2.0), (12.0 - turn, y + 2.0), (14.0 - turn, y), (RIGHT, y)],
        );
    }
    let verdict = judged(drawn, &limits(None, 0.01));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
    // A quarter circle of 24 chords.
    let mut drawn = two_pad_pair("chords");
    for (net, y, radius) in [(P, P_Y, 2.15), (N, N_Y, 1.85)] {
        let arc = |steps: std::ops::RangeInclusive<i32>| {
            steps.map(move |step| {
                let turn = (f64::from(step) * 90.0 / 24.0).to_radians();
                (10.0 + radius * turn.sin(), 7.0 - radius * turn.cos())
            })
        };
        let mut points = vec![(LEFT, y)];
        points.extend(arc(0..=24));
        points.extend([(10.0 + radius, 9.0)]);
        drawn.track(net, "F.Cu", WIDTH, &points);
        let number = if net == P { "1" } else { "2" };
        let pad = drawn.parts[1].pads.iter_mut().find(|pad| pad.number == number).unwrap();
        pad.at = (10.0 + radius - 17.0, 9.0 - 5.0);
    }
    let verdict = judged(drawn, &limits(None, 0.05));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
}

#[test]
fn teardrops_are_no_width() {
    let mut drawn = straight_pair("teardrop");
    drawn.part(Part::new("TP1", (10.0, P_Y)).pad(crate::support::Pad::circle("1", (0.0, 0.0), 0.2).net(P)));
    drawn.teardrop(P, "F.Cu", &[(9.0, P_Y - 0.08), (9.9, P_Y - 0.1), (9.9, P_Y + 0.1), (9.0, P_Y + 0.08)]);
    let verdict = judged(drawn, &limits(None, 0.01));
    assert_eq!((word(&verdict), share(&verdict)), ("pass", 0.0), "{}", sentence(&verdict));
}

#[test]
fn legs_that_never_run_side_by_side_are_unchecked() {
    let mut drawn = two_pad_pair("apart");
    drawn.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (4.0, 3.85), (4.0, 1.5), (16.0, 1.5), (16.0, 3.85), (RIGHT, P_Y)]);
    drawn.track(N, "F.Cu", WIDTH, &[(LEFT, N_Y), (4.0, 6.15), (4.0, 8.5), (16.0, 8.5), (16.0, 6.15), (RIGHT, N_Y)]);
    let verdict = judged(drawn, &limits(None, 0.25));
    assert_eq!(word(&verdict), "unchecked");
    insta::assert_snapshot!(sentence(&verdict), @"the legs of `LINK` run side by side nowhere, so there is no gap to compare");
}

#[test]
fn a_pair_within_its_ends_passes_and_says_why() {
    let verdict = judged(straight_pair("short"), &set(limits(None, 0.25), "ends", 8.0));
    assert_eq!(word(&verdict), "pass");
    insta::assert_snapshot!(sentence(&verdict), @"`LINK` is so short that all of it lies near its ends and vias, where nothing is judged");
}

#[test]
fn a_leg_without_copper_is_unchecked() {
    let mut drawn = two_pad_pair("open");
    drawn.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (RIGHT, P_Y)]);
    let verdict = judged(drawn, &limits(None, 0.25));
    assert_eq!(word(&verdict), "unchecked");
    assert!(sentence(&verdict).contains("no copper of `LINK_N`"), "{}", sentence(&verdict));
}

#[test]
fn swapping_the_legs_changes_no_number() {
    let mut drawn = stepped(8.0, 11.0, 0.07);
    drawn.fill_missing();
    let one = only(run(&drawn, &limits(None, 0.25), &[], &[(P, N)]));
    let two = only(run(&drawn, &limits(None, 0.25), &[], &[(N, P)]));
    assert!((share(&one) - share(&two)).abs() < 1e-9);
}
