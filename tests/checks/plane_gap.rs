//! `plane-gap`: gaps of known length, limits, missing inputs, and what must not alarm.

use crate::route_rules::{at, findings, only, open, rule, run, run_on, sentence, value, with, word};
use crate::support::plant;
use crate::support::recorder::{self, BASE};
use crate::support::starters::{LEFT, N, N_Y, P, P_Y, PITCH, RIGHT, WIDTH, straight_pair, two_pad_pair};
use crate::support::{Board as Drawn, Pad, Part, Stack, rectangle};
use throughline::checks::{Outcome, Verdict};
use throughline::rules::{NetPattern, Rule, Setting};
use throughline::units::{Length, Quantity};

const PAIR: &[(&str, &str)] = &[(P, N)];

fn gap(limit: f64) -> Rule {
    rule("plane-gap", None, limit)
}

fn set(rule: Rule, key: &'static str, mm: f64) -> Rule {
    with(rule, key, Setting::Quantity(Quantity::Length(Length::mm(mm))))
}

fn judged(mut drawn: Drawn, rule: &Rule) -> Verdict {
    drawn.fill_missing();
    only(run(&drawn, rule, &[], PAIR))
}

fn cut(drawn: &mut Drawn, layer: &str, min: (f64, f64), max: (f64, f64)) {
    let zone = drawn.zones.iter_mut().find(|zone| zone.layers.iter().any(|on| on == layer)).unwrap();
    zone.cutouts.push((layer.into(), rectangle(min, max)));
}

/// A straight pair on F.Cu over a slot of a width right across both legs.
fn slotted(width: f64) -> Drawn {
    let mut drawn = straight_pair("slotted");
    cut(&mut drawn, "In1.Cu", (9.0, 3.0), (9.0 + width, 7.0));
    drawn
}

#[test]
fn a_whole_plane_passes() {
    let verdict = judged(straight_pair("whole"), &gap(0.1));
    assert_eq!((word(&verdict), value(&verdict)), ("pass", 0.0));
    insta::assert_snapshot!(sentence(&verdict), @"planes accompany `LINK` all the way");
    assert!(verdict.layers.len() >= 2, "it rests on the route's layer and the plane's");
}

#[test]
fn a_slot_is_as_long_as_it_is_drawn() {
    let verdict = judged(slotted(0.8), &gap(0.6));
    assert_eq!(word(&verdict), "error");
    assert!((value(&verdict) - 0.8).abs() < 2e-6, "{}", value(&verdict));
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` has no plane on `In1.Cu` for 0.8 mm, the worst of 2 places");
    let place = verdict.place.as_ref().unwrap();
    assert!((crate::support::from_nm(place.at.unwrap().x) - 9.4).abs() < 1e-3);
    assert_eq!(verdict.related.len(), 1, "the other leg");
    assert!(verdict.help.is_some());
}

#[test]
fn exactly_the_limit_passes_and_more_does_not() {
    let mut drawn = slotted(0.8);
    drawn.fill_missing();
    let board = open(&drawn);
    let found = value(&only(run_on(&board, &gap(0.1), &[], PAIR)));
    for (limit, expected) in [(found, "pass"), (found - 1e-6, "error")] {
        assert_eq!(word(&only(run_on(&board, &gap(limit), &[], PAIR))), expected, "{limit}");
    }
    assert_eq!(word(&only(run_on(&board, &rule("plane-gap", Some(0.5), 1.0), &[], PAIR))), "warning");
}

#[test]
fn a_slot_under_one_leg_alone_is_found() {
    let mut drawn = straight_pair("one-leg");
    cut(&mut drawn, "In1.Cu", (9.0, P_Y - 0.5), (9.7, P_Y + 0.1));
    let verdict = judged(drawn, &gap(0.5));
    assert_eq!(word(&verdict), "error");
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` has no plane on `In1.Cu` for 0.7 mm");
}

#[test]
fn a_slot_along_a_leg_counts_by_the_width_it_takes() {
    let mut drawn = straight_pair("along");
    // Half of leg P's width, for 3 mm.
    cut(&mut drawn, "In1.Cu", (8.0, P_Y - 0.5), (11.0, P_Y));
    let verdict = judged(drawn, &gap(1.0));
    assert_eq!(word(&verdict), "error");
    assert!((value(&verdict) - 1.5).abs() < 0.01, "{}", value(&verdict));
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` runs over the edge of `In1.Cu` for 3 mm, which counts as 1.5 mm without it");
    let place = verdict.place.unwrap();
    insta::assert_snapshot!(throughline::findings::sentence(&place.label), @"`LINK_P` runs over the edge of `In1.Cu` here, for 3 mm");
}

#[test]
fn a_slot_beside_the_track_counts_only_with_a_margin() {
    let mut drawn = straight_pair("beside");
    cut(&mut drawn, "In1.Cu", (8.0, 3.0), (11.0, P_Y - WIDTH / 2.0 - 0.01));
    assert_eq!(word(&judged(drawn.clone(), &gap(0.1))), "pass");
    assert_eq!(word(&judged(drawn, &set(gap(0.1), "margin", 0.1))), "error");
}

/// The plane under the pair is split into two nets with a gap between.
fn split(gap: f64, other: &str) -> Drawn {
    let mut drawn = straight_pair("split");
    drawn.zones.retain(|zone| zone.layers != ["In1.Cu"]);
    drawn.zone("GND", &["In1.Cu"], &rectangle((0.3, 0.3), (10.0, 9.7)));
    drawn.zone(other, &["In1.Cu"], &rectangle((10.0 + gap, 0.3), (19.7, 9.7)));
    drawn.via(other, (19.0, 5.0));
    drawn
}

#[test]
fn a_plane_that_changes_its_net_under_the_pair_fails_whatever_the_gap() {
    let verdict = judged(split(0.2, "VCC"), &gap(0.6));
    assert_eq!(word(&verdict), "error");
    assert!((value(&verdict) - 0.2).abs() < 1e-3);
    insta::assert_snapshot!(sentence(&verdict), @"`LINK_P` passes from `VCC` to `GND` across a gap of 0.2 mm in `In1.Cu`, the worst of 2 places");
    // The limit that a warning would have had is not the one that an error breaks.
    let limit = |warn, limit| judged(split(0.2, "VCC"), &rule("plane-gap", Some(warn), limit)).limit.map(|at| at.value);
    assert_eq!(limit(0.1, 0.6), None);
    assert_eq!(limit(0.05, 0.1), Some(Quantity::Length(Length::mm(0.1))));
    assert_eq!(word(&judged(split(0.2, "GND"), &gap(0.6))), "pass", "the same net behind a gap within the limit");
}

#[test]
fn only_planes_of_the_stated_nets_count() {
    let mut drawn = straight_pair("vcc");
    for zone in &mut drawn.zones {
        zone.net = if zone.layers == ["In1.Cu"] { "VCC".into() } else { "GND".into() };
    }
    drawn.via("VCC", (10.0, 8.0));
    let verdict = judged(drawn.clone(), &gap(0.6));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
    let ground = || Setting::Nets(vec![at(NetPattern("GND*".into()))]);
    // In2 is ground and there: it is the plane, however far away.
    let verdict = judged(drawn.clone(), &with(gap(0.6), "reference", ground()));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
    drawn.zones.retain(|zone| zone.net == "VCC");
    assert_eq!(word(&judged(drawn, &with(gap(0.6), "reference", ground()))), "error");
}

#[test]
fn no_plane_at_all_is_one_finding() {
    let mut drawn = straight_pair("none");
    drawn.zones.clear();
    let verdict = judged(drawn, &gap(0.6));
    assert_eq!(word(&verdict), "error");
    // 14 mm from anchor to anchor, without the breakouts.
    assert!((value(&verdict) - (14.0 - 2.0 * 1.27)).abs() < 1e-6, "{}", value(&verdict));
    insta::assert_snapshot!(sentence(&verdict), @"no plane lies above or below `LINK_P` for 11.46 mm on `F.Cu`");
}

#[test]
fn the_nearest_plane_that_is_there_counts_not_the_next_layer() {
    // In1 has no copper at all: the plane is In2, farther down.
    let mut drawn = straight_pair("deeper");
    drawn.zones.retain(|zone| zone.layers != ["In1.Cu"]);
    assert_eq!(word(&judged(drawn.clone(), &gap(0.1))), "pass");
    // A slot in In2 is a gap then, a slot in In1 is not.
    cut(&mut drawn, "In2.Cu", (9.0, 3.0), (9.8, 7.0));
    let verdict = judged(drawn, &gap(0.1));
    assert!(sentence(&verdict).contains("`In2.Cu`"), "{}", sentence(&verdict));
    // With both whole, a slot in the far plane is none.
    let mut drawn = straight_pair("shielded");
    cut(&mut drawn, "In2.Cu", (9.0, 3.0), (9.8, 7.0));
    assert_eq!(word(&judged(drawn, &gap(0.1))), "pass");
}

#[test]
fn a_small_pour_on_the_way_is_no_plane() {
    let mut drawn = straight_pair("island");
    drawn.zones.retain(|zone| zone.layers != ["In1.Cu"]);
    drawn.zone("VCC", &["In1.Cu"], &rectangle((8.0, 3.0), (11.0, 7.0)));
    drawn.via("VCC", (8.5, 6.5));
    assert_eq!(word(&judged(drawn, &gap(0.1))), "pass");
}

#[test]
fn the_gap_names_the_plane_behind_it() {
    let verdict = judged(slotted(0.8), &gap(0.6));
    let help = verdict.help.unwrap();
    assert!(help.template.contains("nearest plane"), "{help:?}");
    assert!(help.values.iter().any(|(_, value)| format!("{value:?}").contains("In2.Cu")), "{help:?}");
}

#[test]
fn a_zone_without_fill_is_unchecked_never_a_gap() {
    let mut drawn = slotted(0.8);
    drawn.zones.retain(|zone| zone.layers != ["In1.Cu"]);
    let index = drawn.zones.len();
    drawn.fill_missing();
    drawn.zone("GND", &["In1.Cu"], &rectangle((0.3, 0.3), (19.7, 9.7)));
    drawn.zones[index].fills = Some(Vec::new());
    // In2 is a plane too, farther away: passing over In1 would be a guess.
    let verdict = only(run(&drawn, &gap(0.6), &[], PAIR));
    assert_eq!(word(&verdict), "unchecked", "{}", sentence(&verdict));
    insta::assert_snapshot!(sentence(&verdict), @"a zone of `GND` under or over `LINK` is not filled");
}

#[test]
fn a_fill_that_lies_on_foreign_copper_is_unchecked() {
    let mut drawn = straight_pair("stale");
    drawn.fill_missing();
    plant::stale_fill(&mut drawn, "X", "GND", "In1.Cu", (10.0, 8.0));
    let verdict = only(run(&drawn, &gap(0.6), &[], PAIR));
    assert_eq!(word(&verdict), "unchecked");
    assert!(sentence(&verdict).contains("out of date"), "{}", sentence(&verdict));
}

#[test]
fn a_net_without_copper_is_unchecked() {
    let mut drawn = two_pad_pair("open");
    drawn.track(P, "F.Cu", WIDTH, &[(LEFT, P_Y), (RIGHT, P_Y)]);
    assert_eq!(word(&judged(drawn, &gap(0.6))), "unchecked");
}

/// Both legs go through vias of a spacing to B.Cu and back, with antipads of a clearance in both planes.
fn through_vias(spacing: f64, clearance: f64) -> Drawn {
    let mut drawn = two_pad_pair("vias");
    for (net, y, side) in [(P, P_Y, -1.0), (N, N_Y, 1.0)] {
        let out = y + side * (spacing - PITCH) / 2.0;
        let ramp = (spacing - PITCH) / 2.0;
        drawn.track(net, "F.Cu", WIDTH, &[(LEFT, y), (7.0 - ramp, y), (7.0, out)]);
        drawn.via(net, (7.0, out));
        drawn.track(net, "B.Cu", WIDTH, &[(7.0, out), (7.0 + ramp, y), (13.0 - ramp, y), (13.0, out)]);
        drawn.via(net, (13.0, out));
        drawn.track(net, "F.Cu", WIDTH, &[(13.0, out), (13.0 + ramp, y), (RIGHT, y)]);
    }
    for zone in &mut drawn.zones {
        zone.clearance = clearance;
    }
    drawn
}

#[test]
fn own_antipads_are_no_gaps_single_or_merged() {
    for (spacing, clearance) in [(1.4, 0.2), (0.7, 0.2), (0.7, 0.35), (0.7, 0.6)] {
        let verdict = judged(through_vias(spacing, clearance), &gap(0.01));
        assert_eq!(word(&verdict), "pass", "spacing {spacing}, clearance {clearance}: {}", sentence(&verdict));
    }
}

#[test]
fn an_opening_far_beyond_the_antipad_is_a_gap() {
    let mut drawn = through_vias(0.7, 0.2);
    cut(&mut drawn, "In1.Cu", (4.0, 3.5), (8.5, 6.5));
    let verdict = judged(drawn, &gap(0.6));
    assert_eq!(word(&verdict), "error");
    assert!(value(&verdict) > 1.5, "{}", value(&verdict));
}

#[test]
fn antipads_of_other_vias_beside_the_track_are_no_gaps_and_across_it_they_are() {
    // Through vias of another net keep their clearance on F.Cu, so their antipads only touch the corridor.
    let mut drawn = straight_pair("field");
    for column in 0..8 {
        let x = 7.0 + 0.8 * f64::from(column);
        drawn.via("X", (x, P_Y - WIDTH / 2.0 - 0.2 - 0.225));
        drawn.via("X", (x, N_Y + WIDTH / 2.0 + 0.2 + 0.225));
    }
    assert_eq!(word(&judged(drawn, &gap(0.05))), "pass");
    // Buried vias right under the track take the plane away.
    let mut drawn = straight_pair("buried");
    drawn.via("X", (10.0, P_Y)).span("In1.Cu", "In2.Cu");
    let verdict = judged(drawn, &gap(0.5));
    assert_eq!(word(&verdict), "error");
    assert!((value(&verdict) - (0.45 + 0.4)).abs() < 0.03, "{}", value(&verdict));
}

#[test]
fn keyhole_slits_are_no_gaps() {
    // Holes on both sides: the fill's ring is joined to each by a slit, some of which pass under the pair.
    let mut drawn = straight_pair("slits");
    for x in [6.0, 8.0, 10.0, 12.0, 14.0] {
        cut(&mut drawn, "In1.Cu", (x, 2.0), (x + 0.5, 3.0));
        cut(&mut drawn, "In1.Cu", (x, 7.0), (x + 0.5, 8.0));
    }
    assert_eq!(word(&judged(drawn, &gap(0.001))), "pass");
}

#[test]
fn thermal_reliefs_are_no_gaps() {
    let mut drawn = straight_pair("relief");
    // A ground pin's relief beside the pair: a ring 0.3 mm wide around a 1 mm pad, with four spokes.
    let (x, y) = (10.0, P_Y - 0.75);
    let hole = crate::support::part::Hole::Round(0.6);
    drawn.part(Part::new("H1", (x, y)).pad(
        Pad::hole("1", crate::support::PadShape::Circle, (0.0, 0.0), (1.0, 1.0), hole).net("GND").layers(&["In1.Cu"]),
    ));
    for quadrant in 0..4 {
        // Quarter rings between spokes of 0.2 mm along the axes.
        let at = |radius: f64, degrees: f64| {
            let angle = (f64::from(quadrant) * 90.0 + degrees).to_radians();
            (x + radius * angle.cos(), y + radius * angle.sin())
        };
        let mut ring: Vec<(f64, f64)> = (0..=8).map(|step| at(0.8, 8.0 + 74.0 * f64::from(step) / 8.0)).collect();
        ring.extend((0..=8).rev().map(|step| at(0.5, 12.0 + 66.0 * f64::from(step) / 8.0)));
        let zone = drawn.zones.iter_mut().find(|zone| zone.layers == ["In1.Cu"]).unwrap();
        zone.cutouts.push(("In1.Cu".into(), ring));
    }
    let verdict = judged(drawn, &gap(0.01));
    assert_eq!(word(&verdict), "pass", "{}", sentence(&verdict));
}

#[test]
fn voids_under_own_pads_and_the_breakout_are_allowed() {
    let mut drawn = straight_pair("void");
    // 0.15 mm around U1's pads, as under a connector.
    cut(&mut drawn, "In1.Cu", (LEFT - 0.3, P_Y - 0.25), (LEFT + 0.3, N_Y + 0.25));
    let strict = set(gap(0.001), "breakout", 0.0);
    assert_eq!(word(&judged(drawn, &strict)), "pass");
    // A larger one within the breakout is allowed there, and counts where it goes on.
    let mut drawn = straight_pair("breakout");
    cut(&mut drawn, "In1.Cu", (LEFT - 0.5, 3.0), (LEFT + 1.2, 7.0));
    assert_eq!(word(&judged(drawn.clone(), &gap(0.001))), "pass");
    assert_eq!(word(&judged(drawn.clone(), &set(gap(0.5), "breakout", 0.3))), "error");
    cut(&mut drawn, "In1.Cu", (LEFT + 1.2, 3.0), (LEFT + 2.0, 7.0));
    let verdict = judged(drawn, &gap(0.5));
    assert!((value(&verdict) - 0.73).abs() < 1e-3, "{}", value(&verdict));
}

#[test]
fn tracks_and_teardrops_are_no_planes() {
    let mut drawn = straight_pair("tracks");
    drawn.zones.retain(|zone| zone.layers != ["In1.Cu"]);
    drawn.zones.retain(|zone| zone.layers != ["In2.Cu"]);
    drawn.track("GND", "In1.Cu", 1.0, &[(1.0, 5.0), (19.0, 5.0)]);
    drawn.teardrop("GND", "In1.Cu", &rectangle((2.0, 3.0), (18.0, 7.0)));
    let verdict = judged(drawn, &gap(0.6));
    assert_eq!(word(&verdict), "error");
    assert!(sentence(&verdict).contains("no plane lies above or below"), "{}", sentence(&verdict));
}

#[test]
fn both_planes_of_a_stripline_count_if_equally_near() {
    let stripline = |slot: &str| {
        let mut drawn = crate::support::starters::planes_on("stripline", Stack::six());
        drawn.zones.clear();
        for layer in ["In1.Cu", "In3.Cu"] {
            drawn.zone("GND", &[layer], &rectangle((0.3, 0.3), (19.7, 9.7)));
        }
        for (reference, x) in [("U1", LEFT), ("J1", RIGHT)] {
            drawn.part(
                Part::new(reference, (x, 5.0))
                    .pad(Pad::rect("1", (0.0, -PITCH / 2.0), (0.3, 0.2)).net(P).layers(&["In2.Cu"]))
                    .pad(Pad::rect("2", (0.0, PITCH / 2.0), (0.3, 0.2)).net(N).layers(&["In2.Cu"])),
            );
        }
        drawn.track(P, "In2.Cu", WIDTH, &[(LEFT, P_Y), (RIGHT, P_Y)]);
        drawn.track(N, "In2.Cu", WIDTH, &[(LEFT, N_Y), (RIGHT, N_Y)]);
        if !slot.is_empty() {
            cut(&mut drawn, slot, (9.0, 3.0), (9.8, 7.0));
        }
        drawn.stack = drawn.stack.clone().unstated();
        judged(drawn, &gap(0.6))
    };
    assert_eq!(word(&stripline("")), "pass");
    assert_eq!(word(&stripline("In1.Cu")), "error");
    assert_eq!(word(&stripline("In3.Cu")), "error");
}

#[test]
fn a_net_is_judged_like_a_pair() {
    let mut drawn = slotted(0.8);
    drawn.fill_missing();
    let verdicts = run(&drawn, &gap(0.6), &[P], &[]);
    let verdict = only(verdicts);
    assert_eq!((word(&verdict), verdict.subject.kind), ("error", "net"));
    assert_eq!(verdict.subject.ends, ["J1.1", "U1.1"]);
}

#[test]
fn moving_turning_and_mirroring_changes_no_number() {
    let reference = value(&judged(slotted(0.8), &gap(0.1)));
    for turn in 0..4 {
        let place = |(x, y): (f64, f64)| {
            let (x, y) = (x - 10.0, y - 5.0);
            let (x, y) = [(x, y), (-y, x), (-x, y), (y, x)][turn];
            (x + 31.25, y + 17.125)
        };
        let mut drawn = slotted(0.8);
        drawn.fill_missing();
        for track in &mut drawn.tracks {
            let (start, end) = (track.path.start(), track.path.end());
            track.path = crate::support::board::Path::Line(place(start), place(end));
        }
        for via in &mut drawn.vias {
            via.at = place(via.at);
        }
        for part in &mut drawn.parts {
            let ends: Vec<(f64, f64)> = part.pads.iter().map(|pad| part.pad_at(&pad.number)).collect();
            part.at = (0.0, 0.0);
            for (pad, at) in part.pads.iter_mut().zip(ends) {
                pad.at = place(at);
                pad.size = (0.2, 0.2);
            }
        }
        for zone in &mut drawn.zones {
            zone.outline = zone.outline.iter().copied().map(place).collect();
            for (_, ring) in zone.fills.iter_mut().flatten() {
                for point in ring.iter_mut() {
                    let (x, y) = place((crate::support::from_nm(point.0), crate::support::from_nm(point.1)));
                    *point = (crate::support::nm(x), crate::support::nm(y));
                }
            }
        }
        drawn.edges.clear();
        let verdict = only(run(&drawn, &gap(0.1), &[], PAIR));
        assert!((value(&verdict) - reference).abs() < 2e-6, "turn {turn}: {}", sentence(&verdict));
    }
}

#[test]
fn a_slot_under_a_lane_of_the_demo_board_is_the_only_finding() {
    let pairs: Vec<(String, String)> =
        recorder::LANES.iter().map(|lane| (format!("{}_P", lane.name), format!("{}_N", lane.name))).collect();
    let pairs: Vec<(&str, &str)> = pairs.iter().map(|(p, n)| (p.as_str(), n.as_str())).collect();
    let rule = rule("plane-gap", Some(0.3), 0.6);
    let clean = run(&recorder::draw(&BASE), &rule, &[], &pairs);
    assert!(clean.iter().all(|verdict| verdict.outcome == Outcome::Pass), "{:#?}", findings(&clean));
    assert_eq!(clean.len(), pairs.len());
    // A slot across the longest straight track of a lane, in the plane next to it.
    let mut drawn = recorder::unfilled(&BASE);
    let lane = recorder::LANES[2].name;
    let straight = drawn.tracks.iter().filter(|track| track.net == format!("{lane}_P"));
    let length = |track: &crate::support::board::Track| crate::support::pair::total(&[track.path]);
    let longest = straight.max_by(|a, b| length(a).total_cmp(&length(b))).unwrap().clone();
    let (from, to) = (longest.path.start(), longest.path.end());
    let middle = ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
    // Lanes run on the inner signal layer, next to the upper ground plane.
    assert_eq!(longest.layer, BASE.inner());
    let (plane, on) = (BASE.planes()[0], BASE.inner());
    let slot = ((middle.0 - 0.6, middle.1 - 0.6), (middle.0 + 0.6, middle.1 + 0.6));
    let planted = plant::slot(&mut drawn, lane, plane, slot, on);
    drawn.fill();
    let found = findings(&run(&drawn, &rule, &[], &pairs));
    assert_eq!(found.len(), 1, "{found:?}");
    let (name, level, at) = &found[0];
    assert!(name.starts_with(lane) && *level == "error", "{found:?}");
    let off = (at.0 - planted.at.0).hypot(at.1 - planted.at.1);
    assert!(off < planted.within, "{off} mm from {:?}: {at:?}", planted.at);
}
