//! `stale-fill`: zones that are not filled, fills over foreign copper, vias left bare, and what is no sign of either.

use crate::guard_rules::{clean, places, run, said, unfilled};
use crate::support::part::Hole;
use crate::support::{Pad, PadShape, Part, rectangle};

#[test]
fn zones_without_fill_are_findings_one_each() {
    assert_eq!(
        said(&run("stale-fill", &unfilled())),
        [
            "error zone GND on In1.Cu: the zone of `GND` is not filled",
            "error zone GND on In2.Cu: the zone of `GND` is not filled"
        ]
    );
}

#[test]
fn a_layer_without_fill_is_a_warning() {
    let mut drawn = clean();
    drawn.zones.truncate(1);
    let zone = &mut drawn.zones[0];
    zone.layers.push("In2.Cu".into());
    zone.name = "PLANE".into();
    assert_eq!(
        said(&run("stale-fill", &drawn)),
        ["warning zone PLANE on In1.Cu, In2.Cu: the zone of `GND` has no fill on `In2.Cu`"]
    );
}

#[test]
fn foreign_copper_under_a_fill_is_one_finding_there() {
    let mut drawn = clean();
    drawn.via("SLOW", (10.0, 8.0)).span("F.Cu", "In1.Cu");
    let verdicts = run("stale-fill", &drawn);
    assert_eq!(said(&verdicts), ["error zone GND on In1.Cu: the fill of `GND` lies on foreign copper"]);
    assert_eq!(places(&verdicts), [((10.0, 8.0), 1)]);
    let finding = verdicts.iter().find(|verdict| verdict.place.is_some()).unwrap();
    assert!(finding.help.is_some() && !finding.related.is_empty());
}

/// A pad without net under a fill: fills keep off it too.
#[test]
fn a_pad_without_net_counts_as_foreign() {
    let mut drawn = clean();
    drawn.part(Part::new("H1", (10.0, 2.0)).pad(Pad::hole(
        "1",
        PadShape::Circle,
        (0.0, 0.0),
        (1.0, 1.0),
        Hole::Round(0.5),
    )));
    assert_eq!(said(&run("stale-fill", &drawn)).len(), 2);
    drawn.fill();
    assert_eq!(said(&run("stale-fill", &drawn)), Vec::<String>::new());
}

/// A via that changed to the plane's net in its old antipad: nothing explains why the fill keeps off it.
#[test]
fn a_via_of_the_net_left_bare_is_a_finding() {
    let mut drawn = unfilled();
    drawn.via("SLOW", (10.0, 2.0));
    drawn.fill();
    drawn.vias.last_mut().unwrap().net = "GND".into();
    let verdicts = run("stale-fill", &drawn);
    let line =
        |layer: &str| format!("error zone GND on {layer}: the fill of `GND` leaves a via or pad of its own net bare");
    assert_eq!(said(&verdicts), [line("In1.Cu"), line("In2.Cu")]);
    assert_eq!(places(&verdicts), [((10.0, 2.0), 1), ((10.0, 2.0), 2)]);
}

/// The same via beside foreign copper, which may have kept the fill off, is no sign.
#[test]
fn a_bare_via_with_a_reason_is_no_finding() {
    let mut drawn = unfilled();
    drawn.via("SLOW", (10.0, 2.0));
    drawn.track("SLOW", "In1.Cu", 0.2, &[(10.8, 1.5), (10.8, 2.5)]);
    drawn.track("SLOW", "In2.Cu", 0.2, &[(10.8, 1.5), (10.8, 2.5)]);
    drawn.fill();
    drawn.vias.last_mut().unwrap().net = "GND".into();
    assert_eq!(said(&run("stale-fill", &drawn)), Vec::<String>::new());
}

/// A zone of another net in the plane, a cut-out, a rule area: all explain a hole in a fill.
#[test]
fn other_zones_and_rule_areas_are_reasons() {
    let mut drawn = clean();
    drawn.zone("SLOW", &["In1.Cu"], &rectangle((9.0, 1.5), (11.0, 2.5))).priority = 5;
    drawn.via("SLOW", (10.0, 2.0));
    drawn.keepout(&["In2.Cu"], &rectangle((4.0, 1.0), (6.0, 2.5)));
    drawn.fill();
    assert_eq!(said(&run("stale-fill", &drawn)), Vec::<String>::new());
}
