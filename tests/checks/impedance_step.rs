//! `impedance-step`: steps between long pieces in full, short pieces by their share, missing inputs, quiet ones.

use crate::route_rules::{at, fast, only, open, rule, run_group, sentence, with, word};
use crate::support::Board as Drawn;
use crate::support::starters::{LEFT, N, N_Y, P, P_Y, RIGHT, WIDTH, straight_pair, two_pad_pair, two_pads};
use throughline::checks::{Selection, Verdict};
use throughline::rules::{Rule, Setting};
use throughline::units::Quantity;

const PAIR: &[(&str, &str)] = &[(P, N)];

fn step(limit: f64) -> Rule {
    Rule { limit: Some(at(Quantity::Ratio(limit))), ..rule("impedance-step", None, 1.0) }
}

fn judged(mut drawn: Drawn, rule: &Rule) -> Verdict {
    drawn.fill_missing();
    only(run_group(&open(&drawn), rule, &[], PAIR, fast(16.0, "85 ohm")))
}

#[track_caller]
fn share(verdict: &Verdict) -> f64 {
    match verdict.value {
        Some(Quantity::Ratio(share)) => share,
        other => panic!("{other:?} is no share: {}", sentence(verdict)),
    }
}

/// Both legs have another width between two x positions.
fn widened(from: f64, to: f64, width: f64) -> Drawn {
    let mut drawn = two_pad_pair("widened");
    for (net, y) in [(P, P_Y), (N, N_Y)] {
        drawn.track(net, "F.Cu", WIDTH, &[(LEFT, y), (from, y)]);
        drawn.track(net, "F.Cu", width, &[(from, y), (to, y)]);
        drawn.track(net, "F.Cu", WIDTH, &[(to, y), (RIGHT, y)]);
    }
    drawn
}

#[test]
fn an_even_pair_has_no_step() {
    let verdict = judged(straight_pair("even"), &step(0.1));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
    assert!(share(&verdict) < 0.03, "{}", share(&verdict));
}

#[test]
fn a_step_between_long_pieces_counts_in_full() {
    let verdict = judged(widened(8.0, 13.0, 0.1), &step(0.1));
    assert_eq!(word(&verdict), "error");
    insta::assert_snapshot!(sentence(&verdict), @"the impedance of `LINK` changes by 29.5 % on `F.Cu`, from 115.7 ohm to 89.3 ohm, for an edge of 25 ps");
    let x = crate::support::from_nm(verdict.place.as_ref().unwrap().at.unwrap().x);
    assert!((7.9..8.1).contains(&x) || (12.9..13.1).contains(&x), "{x}");
}

#[test]
fn a_short_piece_counts_by_its_share_of_the_edge() {
    let long = share(&judged(widened(8.0, 13.0, 0.1), &step(0.1)));
    // 12.5 ps at 5.6 ps/mm are 2.2 mm.
    for (length, part) in [(0.5, 0.5 / 2.2), (1.1, 0.5)] {
        let short = share(&judged(widened(8.0, 8.0 + length, 0.1), &step(0.1)));
        let expected = (1.0 + long).powf(part) - 1.0;
        assert!((short - expected).abs() < 0.015, "{length} mm: {short}, expected {expected}");
    }
    // For a faster edge it is long.
    let fast = with(step(0.1), "rise", Setting::Quantity(Quantity::Time(5e-12)));
    assert!((share(&judged(widened(8.0, 9.1, 0.1), &fast)) - long).abs() < 0.015);
}

#[test]
fn exactly_the_limit_is_decided_by_the_error() {
    let value = share(&judged(widened(8.0, 13.0, 0.1), &step(0.1)));
    assert_eq!(word(&judged(widened(8.0, 13.0, 0.1), &step(value - 0.001))), "error");
    assert_eq!(word(&judged(widened(8.0, 13.0, 0.1), &step(value))), "unchecked");
    assert_eq!(word(&judged(widened(8.0, 13.0, 0.1), &step(value + 0.03))), "pass");
    let warn = Rule { warn: Some(at(Quantity::Ratio(value))), ..step(value + 0.03) };
    assert_eq!(word(&judged(widened(8.0, 13.0, 0.1), &warn)), "warning");
}

#[test]
fn a_step_across_vias_is_seen() {
    let mut drawn = two_pad_pair("layers");
    for (net, y, side) in [(P, P_Y, -1.0), (N, N_Y, 1.0)] {
        let out = y + side * 0.15;
        drawn.track(net, "F.Cu", WIDTH, &[(LEFT, y), (9.8, y), (9.95, out), (10.0, out)]);
        drawn.via(net, (10.0, out)).sized(0.4, 0.2);
        drawn.track(net, "B.Cu", 0.1, &[(10.0, out), (10.05, out), (10.2, y), (RIGHT, y)]);
    }
    for part in &mut drawn.parts {
        if part.reference == "J1" {
            for pad in &mut part.pads {
                *pad = pad.clone().layers(&["B.Cu"]);
            }
        }
    }
    let verdict = judged(drawn, &step(0.1));
    assert_eq!(word(&verdict), "error", "{}", sentence(&verdict));
}

#[test]
fn what_is_missing_is_named() {
    let judge = |drawn: &mut Drawn, rule: &Rule, group: Selection| {
        drawn.fill_missing();
        let verdict = only(run_group(&open(drawn), rule, &[], PAIR, group));
        assert_eq!(word(&verdict), "unchecked", "{}", sentence(&verdict));
        sentence(&verdict)
    };
    let text = judge(&mut straight_pair("rate"), &step(0.1), Selection::default());
    insta::assert_snapshot!(text, @"group `group` states no rate: enter `rate` in the group");
    let mut bald = straight_pair("bald");
    bald.stack = bald.stack.clone().unstated();
    assert!(judge(&mut bald, &step(0.1), fast(16.0, "85 ohm")).contains("no stackup"));
    let mut unfilled = straight_pair("unfilled");
    unfilled.fill_missing();
    for zone in &mut unfilled.zones {
        zone.fills = Some(Vec::new());
    }
    assert!(judge(&mut unfilled, &step(0.1), fast(16.0, "85 ohm")).contains("not filled"));
}

#[test]
fn a_net_is_seen_like_a_pair() {
    let mut drawn = two_pads("single", "CK");
    drawn.track("CK", "F.Cu", 0.16, &[(LEFT, 5.0), (10.0, 5.0)]);
    drawn.track("CK", "F.Cu", 0.3, &[(10.0, 5.0), (RIGHT, 5.0)]);
    drawn.fill_missing();
    let verdict = only(run_group(&open(&drawn), &step(0.2), &["CK"], &[], fast(16.0, "50 ohm")));
    assert_eq!((word(&verdict), verdict.subject.kind), ("error", "net"), "{}", sentence(&verdict));
}
