//! `pair-impedance`: known cross-sections, limits and the solver's error at them, missing inputs, and what must not alarm.

use crate::route_rules::{at, fast, only, open, rule, run_group, sentence, with, word};
use crate::support::starters::{LEFT, N, N_Y, P, P_Y, RIGHT, WIDTH, straight_pair, two_pad_pair, two_pads};
use crate::support::{Board as Drawn, Sheet, Stack};
use throughline::checks::{Selection, Verdict};
use throughline::field::{self, Conductor, Dielectric, Layer, Mask, Section};
use throughline::rules::{Rule, Setting};
use throughline::units::{Length, Quantity};

const PAIR: &[(&str, &str)] = &[(P, N)];

/// A rule with a limit as a share of the target.
fn share(limit: f64) -> Rule {
    Rule { limit: Some(at(Quantity::Ratio(limit))), ..rule("pair-impedance", None, 1.0) }
}

/// A rule with a limit in ohms to either side of a target.
fn within(target: f64, limit: f64) -> Rule {
    let rule = Rule { limit: Some(at(Quantity::Impedance(limit))), ..rule("pair-impedance", None, 1.0) };
    with(rule, "target", Setting::Quantity(Quantity::Impedance(target)))
}

fn judged(mut drawn: Drawn, rule: &Rule) -> Verdict {
    drawn.fill_missing();
    only(run_group(&open(&drawn), rule, &[], PAIR, fast(16.0, "90 ohm ±10 %")))
}

#[track_caller]
fn ohms(verdict: &Verdict) -> f64 {
    match verdict.value {
        Some(Quantity::Impedance(ohms)) => ohms,
        other => panic!("{other:?} is no impedance: {}", sentence(verdict)),
    }
}

/// The pair's section drawn by hand: 0.1 mm of 4.05 over a plane, 15 µm of mask, tracks etched by their thickness.
fn by_hand(width: f64, gap: f64) -> f64 {
    let trace = |x: f64| {
        let drawn = Conductor::signal(Length::mm(x), Length::mm(0.1), Length::mm(width), Length::mm(0.035));
        drawn.etched(Length::mm(width - 0.035))
    };
    let mask = Length::mm(0.015);
    let section = Section {
        layers: vec![Layer { thickness: Length::mm(0.1), dielectric: Dielectric::new(4.05, 0.02) }],
        plane_below: true,
        mask_above: Some(Mask {
            on_board: mask,
            over_copper: mask,
            beside_copper: mask,
            dielectric: Dielectric::new(3.8, 0.025),
        }),
        conductors: vec![trace(-(width + gap) / 2.0), trace((width + gap) / 2.0)],
        ..Section::default()
    };
    let solution = field::solve(&section, &field::Options::default()).unwrap();
    solution.pair(0, 1).unwrap().differential().to_ohms()
}

#[test]
fn an_even_pair_has_the_impedance_of_its_section() {
    let verdict = judged(straight_pair("even"), &share(0.1));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
    assert!((ohms(&verdict) - by_hand(0.16, 0.14)).abs() < 0.15, "{} {}", ohms(&verdict), by_hand(0.16, 0.14));
    insta::assert_snapshot!(sentence(&verdict), @"the impedance of `LINK` is 89.3 ohm all along 9 mm");
    assert!(verdict.layers.len() >= 2, "it rests on the route's layer and the plane's");
}

#[test]
fn the_tolerance_of_the_group_is_the_limit_if_none_is_stated() {
    let rule = Rule { limit: None, ..rule("pair-impedance", None, 1.0) };
    let mut drawn = straight_pair("tolerance");
    drawn.fill_missing();
    let board = open(&drawn);
    let judged = |target: &str| only(run_group(&board, &rule, &[], PAIR, fast(16.0, target)));
    assert_eq!(word(&judged("90 ohm ±10 %")), "pass");
    assert_eq!(word(&judged("100 ohm ±10 %")), "error");
    assert_eq!(word(&judged("100 ohm ±15 ohm")), "pass");
}

/// Leg P has another width between two x positions.
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
fn a_stretch_of_another_width_is_found_with_its_impedance_and_length() {
    let verdict = judged(widened(8.0, 11.0, 0.1), &share(0.1));
    assert_eq!(word(&verdict), "error");
    let expected = by_hand(0.1, 0.2);
    assert!((ohms(&verdict) - expected).abs() < 0.3, "{} {expected}", ohms(&verdict));
    insta::assert_snapshot!(sentence(&verdict), @"the impedance of `LINK` is 115.7 ohm on `F.Cu`; 3 mm of 9 mm lie outside 81 ohm to 99 ohm: it is 89.3 ohm to 115.7 ohm, 89.3 ohm in the middle");
    let place = verdict.place.clone().unwrap();
    let x = crate::support::from_nm(place.at.unwrap().x);
    assert!((10.9..11.1).contains(&x), "routes are walked from J1: {x}");
    // Too low instead of too high.
    let verdict = judged(widened(8.0, 11.0, 0.25), &share(0.1));
    assert_eq!(word(&verdict), "error");
    insta::assert_snapshot!(sentence(&verdict), @"the impedance of `LINK` is 58.2 ohm on `F.Cu`; 3 mm of 9 mm lie outside 81 ohm to 99 ohm: it is 58.2 ohm to 89.3 ohm, 89.3 ohm in the middle");
}

#[test]
fn what_does_not_last_and_what_is_near_an_end_is_left_out() {
    assert_eq!(word(&judged(widened(8.0, 8.9, 0.1), &share(0.1))), "pass");
    assert_eq!(word(&judged(widened(LEFT, 5.4, 0.25), &share(0.1))), "pass");
    let persist = |mm| Setting::Quantity(Quantity::Length(Length::mm(mm)));
    assert_eq!(word(&judged(widened(8.0, 8.9, 0.1), &with(share(0.1), "persist", persist(0.5)))), "error");
    assert_eq!(word(&judged(widened(LEFT, 5.4, 0.25), &with(share(0.1), "ends", persist(0.5)))), "error");
}

#[test]
fn at_the_limit_the_method_s_error_decides() {
    let value = ohms(&judged(straight_pair("value"), &share(0.1)));
    let target = value - 5.0;
    assert_eq!(word(&judged(straight_pair("beyond"), &within(target, 4.9))), "error");
    let at_limit = judged(straight_pair("at"), &within(target, 5.0));
    assert_eq!(word(&at_limit), "unchecked");
    let text = sentence(&at_limit);
    assert!(text.contains("is within the limit of") && text.contains("method's error"), "{text}");
    assert_eq!(word(&judged(straight_pair("within"), &within(target, 6.5))), "pass");
    // At the warning's bound it is a warning.
    let warn = Rule { warn: Some(at(Quantity::Impedance(5.0))), ..within(target, 8.0) };
    let verdict = judged(straight_pair("warn"), &warn);
    assert_eq!(word(&verdict), "warning");
    assert!(sentence(&verdict).contains("which the method's error may carry outside"), "{}", sentence(&verdict));
}

#[test]
fn legs_that_run_apart_have_twice_their_single_impedance() {
    let mut drawn = two_pad_pair("apart");
    for (net, y, side) in [(P, P_Y, -1.0), (N, N_Y, 1.0)] {
        let out = y + side * 0.8;
        drawn.track(net, "F.Cu", WIDTH, &[(LEFT, y), (8.0, y), (8.0, out), (11.0, out), (11.0, y), (RIGHT, y)]);
    }
    let verdict = judged(drawn, &share(0.1));
    assert_eq!(word(&verdict), "error");
    assert!((ohms(&verdict) - by_hand(0.16, 3.0)).abs() < 1.0, "{}", ohms(&verdict));
}

#[test]
fn bends_bumps_and_vias_are_no_alarm() {
    let mut drawn = two_pad_pair("quiet");
    drawn.track(
        P,
        "F.Cu",
        WIDTH,
        &[(LEFT, P_Y), (7.0, P_Y), (8.0, P_Y - 1.0), (10.0, P_Y - 1.0), (11.0, P_Y), (RIGHT, P_Y)],
    );
    let shift = 0.3 * (22.5_f64).to_radians().tan();
    drawn.track(
        N,
        "F.Cu",
        WIDTH,
        &[
            (LEFT, N_Y),
            (7.0 + shift, N_Y),
            (8.0 + shift, N_Y - 1.0),
            (10.0 - shift, N_Y - 1.0),
            (11.0 - shift, N_Y),
            (12.0, N_Y),
            (12.13, N_Y + 0.13),
            (12.6, N_Y + 0.13),
            (12.73, N_Y),
            (RIGHT, N_Y),
        ],
    );
    let verdict = judged(drawn, &share(0.05));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
}

#[test]
fn a_net_is_held_against_its_single_target() {
    let mut drawn = two_pads("single", "CK");
    drawn.track("CK", "F.Cu", 0.16, &[(LEFT, 5.0), (RIGHT, 5.0)]);
    drawn.fill_missing();
    let verdict = only(run_group(&open(&drawn), &share(0.1), &["CK"], &[], fast(1.0, "50 ohm")));
    assert_eq!((word(&verdict), verdict.subject.kind), ("pass", "net"), "{}", sentence(&verdict));
    let verdict = only(run_group(&open(&drawn), &share(0.1), &["CK"], &[], fast(1.0, "60 ohm")));
    assert_eq!(word(&verdict), "error");
    insta::assert_snapshot!(sentence(&verdict), @"the impedance of `CK` is 51.7 ohm on `F.Cu`; 9 mm of 9 mm lie outside 54 ohm to 66 ohm: it is 51.7 ohm to 51.7 ohm, 51.7 ohm in the middle");
}

#[test]
fn what_is_missing_is_named() {
    let judge = |drawn: &mut Drawn, rule: &Rule, group: Selection| {
        drawn.fill_missing();
        let verdict = only(run_group(&open(drawn), rule, &[], PAIR, group));
        assert_eq!(word(&verdict), "unchecked", "{}", sentence(&verdict));
        sentence(&verdict)
    };
    let mut drawn = straight_pair("missing");
    let no_target = judge(&mut drawn, &share(0.1), Selection::default());
    insta::assert_snapshot!(no_target, @"neither the rule nor group `group` states a target: enter `impedance` in the group");
    let bare = Rule { limit: None, ..share(0.1) };
    let no_tolerance = judge(&mut drawn, &bare, fast(16.0, "85 ohm"));
    insta::assert_snapshot!(no_tolerance, @"neither the rule nor group `group` states how far off it may be: enter a tolerance");
    let mut bald = straight_pair("bald");
    bald.stack = bald.stack.clone().unstated();
    let no_stackup = judge(&mut bald, &share(0.1), fast(16.0, "85 ohm"));
    insta::assert_snapshot!(no_stackup, @"the board has no stackup: enter it in the board, or as `[stackup]` in the rule set");
    let mut half = straight_pair("half");
    half.stack.sheets[2].permittivity = 0.0;
    let text = judge(&mut half, &share(0.1), fast(16.0, "85 ohm"));
    assert!(text.contains("stackup"), "{text}");
    let mut unfilled = straight_pair("unfilled");
    unfilled.fill_missing();
    for zone in &mut unfilled.zones {
        zone.fills = Some(Vec::new());
    }
    let text = judge(&mut unfilled, &share(0.1), fast(16.0, "85 ohm"));
    insta::assert_snapshot!(text, @"the impedance of `LINK` is not known for 9 mm, the most of it on `F.Cu`: a zone that should be its plane is not filled: fill all zones");
}

#[test]
fn a_stackup_that_nobody_entered_is_used_and_said_to_be_one() {
    let mut drawn = straight_pair("made-up");
    let sheet = || Sheet::dielectric("prepreg", 0.48, "FR4", 4.5, 0.02);
    let copper = |layer| Sheet::copper(layer, 0.035);
    drawn.stack =
        Stack::of(vec![copper("F.Cu"), sheet(), copper("In1.Cu"), sheet(), copper("In2.Cu"), sheet(), copper("B.Cu")]);
    let verdict = judged(drawn, &share(0.1));
    assert_eq!(word(&verdict), "error");
    assert!(
        sentence(&verdict).ends_with("by a stackup that looks like one that nobody entered"),
        "{}",
        sentence(&verdict)
    );
}

#[test]
fn a_plane_that_ends_under_the_pair_changes_its_impedance() {
    let mut drawn = straight_pair("slot");
    let zone = drawn.zones.iter_mut().find(|zone| zone.layers == ["In1.Cu"]).unwrap();
    zone.cutouts.push(("In1.Cu".into(), crate::support::rectangle((8.0, 3.0), (11.0, 7.0))));
    let verdict = judged(drawn, &share(0.1));
    assert_eq!(word(&verdict), "error");
    assert!(ohms(&verdict) > 100.0, "{}", ohms(&verdict));
}

#[test]
fn swapping_the_legs_changes_no_number() {
    let mut drawn = widened(8.0, 11.0, 0.1);
    drawn.fill_missing();
    let board = open(&drawn);
    let of = |pairs| ohms(&only(run_group(&board, &share(0.1), &[], pairs, fast(16.0, "90 ohm"))));
    assert!((of(&[(P, N)]) - of(&[(N, P)])).abs() < 1e-9);
}
