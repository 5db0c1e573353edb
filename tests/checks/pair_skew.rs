//! `pair-skew`: known mismatches, limits, missing inputs, and what must not alarm.

use crate::route_rules::{at, fast, findings, only, open, rule, run, run_group, run_on, sentence, value, with, word};
use crate::support::plant;
use crate::support::recorder::{self, BASE};
use crate::support::starters::{LEFT, N, N_Y, P, P_Y, RIGHT, WIDTH, bent_pair, planes, straight_pair, two_pad_pair};
use crate::support::{Board as Drawn, Pad, Part};
use throughline::checks::{Outcome, Verdict};
use throughline::rules::{Rule, Setting};
use throughline::units::{Length, Quantity};

const PAIR: &[(&str, &str)] = &[(P, N)];

fn skew(limit: f64) -> Rule {
    rule("pair-skew", None, limit)
}

fn with_peak(limit: f64, peak: f64) -> Rule {
    with(skew(limit), "peak", Setting::Quantity(Quantity::Length(Length::mm(peak))))
}

fn judged(mut drawn: Drawn, rule: &Rule) -> Verdict {
    drawn.fill_missing();
    only(run(&drawn, rule, &[], PAIR))
}

/// P bulges away from N between two x positions; each flank is 45 degrees and adds 2 (√2 − 1) times the swing.
fn bulge(from: f64, to: f64, swing: f64) -> Vec<(f64, f64)> {
    vec![(from, P_Y), (from + swing, P_Y - swing), (to - swing, P_Y - swing), (to, P_Y)]
}

const FLANKS: f64 = 2.0 * (std::f64::consts::SQRT_2 - 1.0);

#[test]
fn equal_legs_pass() {
    let verdict = judged(straight_pair("equal"), &skew(0.1));
    assert_eq!((word(&verdict), value(&verdict)), ("pass", 0.0));
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` and `LINK_N` are equally long");
    assert_eq!(verdict.subject.ends, ["J1.1", "J1.2", "U1.1", "U1.2"]);
}

#[test]
fn a_longer_leg_fails_where_it_becomes_longer() {
    let verdict = judged(bent_pair("longer", &bulge(8.0, 10.0, 0.5)), &skew(0.2));
    assert_eq!(word(&verdict), "error");
    assert!((value(&verdict) - 0.5 * FLANKS).abs() < 2e-6, "{}", value(&verdict));
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` is 0.414 mm longer than `LINK_N`");
    let place = verdict.place.unwrap().at.unwrap();
    let x = crate::support::from_nm(place.x);
    assert!((7.9..10.6).contains(&x), "{x}");
    assert!(verdict.help.is_some());
}

#[test]
fn exactly_the_limit_passes_and_a_nanometre_more_does_not() {
    // A square bulge: exactly twice its swing longer.
    let square = [(8.0, P_Y), (8.0, P_Y - 0.1), (10.0, P_Y - 0.1), (10.0, P_Y)];
    let mut drawn = bent_pair("limit", &square);
    drawn.fill_missing();
    let board = open(&drawn);
    for (limit, expected) in [(0.2, "pass"), (0.199_999, "error")] {
        assert_eq!(word(&only(run_on(&board, &skew(limit), &[], PAIR))), expected, "{limit}");
    }
    assert_eq!(word(&only(run_on(&board, &rule("pair-skew", Some(0.1), 0.3), &[], PAIR))), "warning");
}

#[test]
fn the_shorter_leg_may_be_p() {
    let mut drawn = two_pad_pair("n-longer");
    drawn.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (RIGHT, P_Y)]);
    drawn.track(
        N,
        "F.Cu",
        WIDTH,
        &[(LEFT, N_Y), (9.0, N_Y), (9.0, N_Y + 0.2), (11.0, N_Y + 0.2), (11.0, N_Y), (RIGHT, N_Y)],
    );
    let verdict = judged(drawn, &skew(0.1));
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_N` is 0.4 mm longer than `LINK_P`");
}

fn in_time(limit: f64) -> Rule {
    Rule { limit: Some(at(Quantity::Time(limit * 1e-12))), ..skew(0.1) }
}

#[track_caller]
fn ps(verdict: &Verdict) -> f64 {
    match verdict.value {
        Some(Quantity::Time(value)) => value * 1e12,
        other => panic!("{other:?} is no time: {}", sentence(verdict)),
    }
}

#[test]
fn a_skew_in_time_is_the_length_times_the_slowness_of_the_layer() {
    // 0.414 mm of uncoupled and coupled microstrip, 5.5 to 6 ps/mm.
    let verdict = judged(bent_pair("time", &bulge(8.0, 10.0, 0.5)), &in_time(1.0));
    assert_eq!(word(&verdict), "error");
    assert!((2.0..2.6).contains(&ps(&verdict)), "{}", ps(&verdict));
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` arrives 2.5 ps later than `LINK_N` (0.414 mm longer)");
    let x = crate::support::from_nm(verdict.place.unwrap().at.unwrap().x);
    assert!((7.9..10.6).contains(&x), "{x}");
    let verdict = judged(straight_pair("none"), &in_time(1.0));
    assert_eq!((word(&verdict), ps(&verdict)), ("pass", 0.0));
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` and `LINK_N` arrive together");
}

#[test]
fn a_limit_in_time_holds_to_the_method_s_digits() {
    let value = ps(&judged(bent_pair("value", &bulge(8.0, 10.0, 0.5)), &in_time(9.0)));
    let at_limit = |limit: f64| word(&judged(bent_pair("limit", &bulge(8.0, 10.0, 0.5)), &in_time(limit)));
    assert_eq!(at_limit(value - 0.1), "error");
    assert_eq!(at_limit(value), "unchecked", "the method's error decides");
    assert_eq!(at_limit(value + 0.3), "pass");
}

#[test]
fn a_skew_is_told_as_a_part_of_the_unit_interval() {
    let mut drawn = bent_pair("interval", &bulge(8.0, 10.0, 0.5));
    drawn.fill_missing();
    let verdict = only(run_group(&open(&drawn), &in_time(9.0), &[], PAIR, fast(16.0, "85 ohm")));
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` arrives 2.5 ps later than `LINK_N` (0.414 mm longer; 4 % of a unit interval)");
}

#[test]
fn a_skew_on_the_way_in_time_is_a_warning() {
    let mut drawn = bent_pair("late", &bulge(5.0, 6.6, 0.4));
    let index = drawn.tracks.iter().rposition(|track| track.net == N).unwrap();
    drawn.tracks.remove(index);
    drawn.track(
        N,
        "F.Cu",
        WIDTH,
        &[(LEFT, N_Y), (13.0, N_Y), (13.4, N_Y + 0.4), (14.2, N_Y + 0.4), (14.6, N_Y), (RIGHT, N_Y)],
    );
    let peak = |ps: f64| with(in_time(1.0), "peak", Setting::Quantity(Quantity::Time(ps * 1e-12)));
    let verdict = judged(drawn.clone(), &peak(1.0));
    assert_eq!(word(&verdict), "warning", "{}", sentence(&verdict));
    insta::assert_snapshot!(sentence(&verdict), @"seen from `J1.1`, `LINK_N` is up to 2 ps later than `LINK_P`, and beyond the limit for 6.4 mm of the way");
    assert_eq!(word(&judged(drawn, &peak(3.0))), "pass");
}

#[test]
fn what_a_time_needs_is_named() {
    let mut bald = straight_pair("bald");
    bald.stack = bald.stack.clone().unstated();
    let verdict = judged(bald, &in_time(1.0));
    assert_eq!(word(&verdict), "unchecked");
    insta::assert_snapshot!(sentence(&verdict), @"the board has no stackup: enter it in the board, or as `[stackup]` in the rule set");
    let mut drawn = straight_pair("package");
    drawn.parts[0].pads[0] = drawn.parts[0].pads[0].clone().package_length(0.25);
    let verdict = judged(drawn, &in_time(9.0));
    assert_eq!(word(&verdict), "unchecked");
    insta::assert_snapshot!(sentence(&verdict), @"the pads of `LINK` declare different lengths inside their packages, whose delay is not known");
}

#[test]
fn a_leg_without_copper_is_unchecked() {
    let mut drawn = two_pad_pair("open");
    drawn.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (RIGHT, P_Y)]);
    let verdict = judged(drawn, &skew(0.1));
    assert_eq!(word(&verdict), "unchecked");
    assert!(sentence(&verdict).contains("no copper of `LINK_N`"), "{}", sentence(&verdict));
}

/// Both legs go down to a layer at x = 6 and come up at x = 14; N's layer may be another.
fn through(name: &str, stated: bool, (p_layer, n_layer): (&str, &str)) -> Drawn {
    let mut drawn = two_pad_pair(name);
    if !stated {
        drawn.stack = drawn.stack.clone().unstated();
    }
    for (net, y, out, layer) in [(P, P_Y, -0.3, p_layer), (N, N_Y, 0.3, n_layer)] {
        drawn.track(net, "F.Cu", WIDTH, &[(LEFT, y), (5.7, y), (6.0, y + out)]);
        drawn.via(net, (6.0, y + out));
        drawn.track(net, layer, WIDTH, &[(6.0, y + out), (6.3, y), (13.7, y), (14.0, y + out)]);
        drawn.via(net, (14.0, y + out));
        drawn.track(net, "F.Cu", WIDTH, &[(14.0, y + out), (14.3, y), (RIGHT, y)]);
    }
    drawn
}

#[test]
fn equal_barrels_need_no_stackup_and_unequal_ones_do() {
    let verdict = judged(through("same", false, ("B.Cu", "B.Cu")), &with_peak(0.01, 0.01));
    assert_eq!((word(&verdict), value(&verdict) < 1e-6), ("pass", true), "{}", sentence(&verdict));
    let verdict = judged(through("unknown", false, ("In1.Cu", "B.Cu")), &skew(0.01));
    assert_eq!(word(&verdict), "unchecked");
    insta::assert_snapshot!(sentence(&verdict), @"the legs of `LINK` pass different barrels, and the stackup does not state their heights");
    // N's barrels go on from In1 to B.Cu, twice: 0.00875 + 0.465 + 0.0175 + 0.1 + 0.0175 mm.
    let verdict = judged(through("stated", true, ("In1.Cu", "B.Cu")), &skew(0.01));
    assert!((value(&verdict) - 2.0 * 0.60875).abs() < 1e-6, "{}", sentence(&verdict));
}

#[test]
fn a_mismatch_on_the_way_is_a_warning_if_asked_for() {
    // P swings out early, N late: equal at the end, 0.331 mm apart for 7 mm in between.
    let mut drawn = bent_pair("late", &bulge(5.0, 6.6, 0.4));
    let index = drawn.tracks.iter().rposition(|track| track.net == N).unwrap();
    drawn.tracks.remove(index);
    drawn.track(
        N,
        "F.Cu",
        WIDTH,
        &[(LEFT, N_Y), (13.0, N_Y), (13.4, N_Y + 0.4), (14.2, N_Y + 0.4), (14.6, N_Y), (RIGHT, N_Y)],
    );
    let quiet = judged(drawn.clone(), &skew(0.05));
    assert_eq!((word(&quiet), value(&quiet) < 1e-6), ("pass", true));
    let verdict = judged(drawn.clone(), &with_peak(0.05, 0.3));
    assert_eq!(word(&verdict), "warning");
    assert!((value(&verdict) - 0.4 * FLANKS).abs() < 2e-6);
    insta::assert_snapshot!(sentence(&verdict), @"seen from `J1.1`, `LINK_N` is up to 0.331 mm longer than `LINK_P`, and beyond the limit for 6.4 mm of the way");
    assert_eq!(word(&judged(drawn, &with_peak(0.05, 0.4 * FLANKS + 1e-6))), "pass", "at the limit");
}

#[test]
fn a_mismatch_between_two_near_turns_is_told_with_its_own_length() {
    // A right angle makes the outer leg twice the pitch longer, and the turn back 3 mm later makes up for it.
    let mut drawn = two_pad_pair("turns");
    for (net, y, lead) in [(P, P_Y, 0.15), (N, N_Y, -0.15)] {
        let (down, up) = (9.0 + lead, 13.0 - lead);
        let points = [(LEFT, y), (down, y), (down, y + 3.0), (up, y + 3.0), (up, y), (RIGHT, y)];
        drawn.track(net, "F.Cu", WIDTH, &points);
    }
    let verdict = judged(drawn, &with_peak(0.05, 0.15));
    insta::assert_snapshot!(sentence(&verdict), @"seen from `J1.1`, `LINK_P` is up to 0.6 mm longer than `LINK_N`, and beyond the limit for 3.15 mm of the way");
    let sides: Vec<String> =
        verdict.related.iter().map(|place| throughline::findings::sentence(&place.label)).collect();
    insta::assert_snapshot!(sides.join("\n"), @r"
    it is beyond the limit from here on
    from here on it is within the limit
    ");
}

#[test]
fn legs_that_meet_at_one_place_are_judged_there() {
    // Side by side for 3 micrometres in the middle of the way.
    let mut drawn = two_pad_pair("place");
    drawn.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (RIGHT, P_Y)]);
    let far = N_Y + 2.0;
    let points = [(LEFT, N_Y), (7.0, far), (8.998_5, N_Y), (9.001_5, N_Y), (13.0, far), (RIGHT, N_Y)];
    drawn.track(N, "F.Cu", WIDTH, &points);
    let verdict = judged(drawn, &with_peak(20.0, 0.15));
    insta::assert_snapshot!(sentence(&verdict), @"seen from `J1.1`, `LINK_N` is 0.944 mm longer than `LINK_P` at one place");
}

#[test]
fn bends_that_undo_each_other_are_no_mismatch_on_the_way() {
    let mut drawn = two_pad_pair("jog");
    let jog = |y: f64, lead: f64| vec![(LEFT, y), (9.0 - lead, y), (9.0 - lead, y + 1.0), (12.0, y + 1.0)];
    // A jog down and, 1 mm later, on again: the legs swap inside and outside within 2 mm.
    for (net, y, lead) in [(P, P_Y, -0.15), (N, N_Y, 0.15)] {
        let mut points = jog(y, lead);
        points.extend([(15.0 + lead, y + 1.0), (15.0 + lead, y), (RIGHT, y)]);
        drawn.track(net, "F.Cu", WIDTH, &points);
    }
    let verdict = judged(drawn, &with_peak(0.05, 0.1));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
}

#[test]
fn teardrops_and_duplicate_tracks_change_nothing() {
    let mut drawn = straight_pair("twice");
    drawn.track(P, "F.Cu", WIDTH, &[(8.0, P_Y), (10.0, P_Y)]);
    drawn.teardrop(N, "F.Cu", &[(3.1, N_Y - 0.09), (3.6, N_Y - 0.05), (3.6, N_Y + 0.05), (3.1, N_Y + 0.09)]);
    let verdict = judged(drawn, &skew(0.001));
    assert_eq!((word(&verdict), value(&verdict)), ("pass", 0.0), "{}", sentence(&verdict));
}

#[test]
fn stubs_and_test_points_on_one_leg_are_no_length() {
    let mut drawn = straight_pair("stub");
    drawn.track(P, "F.Cu", WIDTH, &[(8.0, P_Y), (8.0, P_Y - 2.0)]);
    drawn.part(Part::new("TP1", (12.0, P_Y)).pad(Pad::circle("1", (0.0, 0.0), 0.16).net(P)));
    let verdict = judged(drawn, &skew(0.001));
    assert_eq!((word(&verdict), value(&verdict)), ("pass", 0.0), "{}", sentence(&verdict));
}

#[test]
fn series_parts_make_two_pairs_each_judged_on_its_own() {
    let mut drawn = planes("series");
    let part = |reference: &str, x: f64, left: [&str; 2]| {
        Part::new(reference, (x, (P_Y + N_Y) / 2.0))
            .pad(Pad::rect("1", (0.0, P_Y - 5.0), (0.3, 0.2)).net(left[0]))
            .pad(Pad::rect("2", (0.0, N_Y - 5.0), (0.3, 0.2)).net(left[1]))
    };
    drawn.part(part("U1", 3.0, ["A_P", "A_N"]));
    drawn.part(part("J1", 17.0, ["B_P", "B_N"]));
    for (reference, y, nets) in [("C1", P_Y, ["A_P", "B_P"]), ("C2", N_Y, ["A_N", "B_N"])] {
        drawn.part(
            Part::new(reference, (10.0, y))
                .pad(Pad::rect("1", (-0.3, 0.0), (0.2, 0.2)).net(nets[0]))
                .pad(Pad::rect("2", (0.3, 0.0), (0.2, 0.2)).net(nets[1])),
        );
        drawn.track(nets[0], "F.Cu", WIDTH, &[(3.0, y), (9.7, y)]);
        drawn.track(nets[1], "F.Cu", WIDTH, &[(10.3, y), (17.0, y)]);
    }
    drawn.fill_missing();
    let verdicts = run(&drawn, &skew(0.001), &[], &[("A_P", "A_N"), ("B_P", "B_N")]);
    assert_eq!(verdicts.iter().map(word).collect::<Vec<_>>(), ["pass", "pass"]);
}

#[test]
fn declared_package_lengths_count() {
    let mut drawn = straight_pair("package");
    let pad = drawn.parts[0].pads[0].clone().package_length(0.25);
    drawn.parts[0].pads[0] = pad;
    let verdict = judged(drawn, &skew(0.2));
    assert_eq!(word(&verdict), "error");
    assert!((value(&verdict) - 0.25).abs() < 1e-9);
}

#[test]
fn swapping_the_legs_keeps_the_value_and_a_passing_neighbour_stays() {
    let mut drawn = bent_pair("swap", &bulge(8.0, 10.0, 0.3));
    drawn.fill_missing();
    let board = open(&drawn);
    let one = only(run_on(&board, &skew(0.1), &[], &[(P, N)]));
    let two = only(run_on(&board, &skew(0.1), &[], &[(N, P)]));
    assert_eq!(value(&one), value(&two));
    assert_eq!(sentence(&one), sentence(&two));
}

#[test]
fn a_longer_leg_on_the_demo_board_is_the_only_finding() {
    let pairs: Vec<(String, String)> =
        recorder::LANES.iter().map(|lane| (format!("{}_P", lane.name), format!("{}_N", lane.name))).collect();
    let pairs: Vec<(&str, &str)> = pairs.iter().map(|(p, n)| (p.as_str(), n.as_str())).collect();
    let mut drawn = recorder::draw(&BASE);
    let clean = run(&drawn, &skew(0.15), &[], &pairs);
    assert!(clean.iter().all(|verdict| verdict.outcome == Outcome::Pass), "{:?}", findings(&clean));
    assert_eq!(clean.len(), pairs.len());
    let lane = recorder::LANES[0].name;
    let track = drawn.tracks.iter().filter(|track| track.net == format!("{lane}_N"));
    let longest = track.max_by(|a, b| {
        let length = |track: &crate::support::board::Track| crate::support::pair::total(&[track.path]);
        length(a).total_cmp(&length(b))
    });
    let longest = longest.unwrap().clone();
    let (from, to) = (longest.path.start(), longest.path.end());
    let middle = ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
    let layer: &'static str = ["F.Cu", "In1.Cu", "In2.Cu", "In3.Cu", "In4.Cu", "B.Cu"]
        .into_iter()
        .find(|layer| *layer == longest.layer)
        .unwrap();
    let planted = plant::longer_leg(&mut drawn, lane, layer, middle, 0.3, false);
    let found = findings(&run(&drawn, &skew(0.15), &[], &pairs));
    assert_eq!(found.len(), 1, "{found:?}");
    let (name, level, at) = &found[0];
    assert!(name.starts_with(lane) && *level == "error", "{found:?}");
    let off = (at.0 - planted.at.0).hypot(at.1 - planted.at.1);
    assert!(off < planted.within, "{off} mm from the bump at {:?}: {at:?}", planted.at);
}
