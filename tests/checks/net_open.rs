//! `net-open`: planted breaks, what may be open on purpose, and what can't be decided.

use crate::guard_rules::{clean, places, run, run_on, said, unfilled};
use crate::route_rules::open;
use crate::support::{Board as Drawn, Generation, Pad, Part, Path, Stack, rectangle};
use std::sync::Arc;
use throughline::board::read;
use throughline::source::SourceFile;

#[test]
fn a_missing_via_is_one_finding_there() {
    let mut drawn = clean();
    let via = drawn.vias.iter().position(|via| via.net == "SLOW" && via.at == (14.0, 8.0)).unwrap();
    drawn.vias.remove(via);
    let verdicts = run("net-open", &drawn);
    assert_eq!(said(&verdicts), ["error net SLOW: `SLOW` is open: 2 parts that lie above each other without a via"]);
    assert!(verdicts.iter().any(|verdict| verdict.help.is_some()));
    let [((x, y), _)] = places(&verdicts)[..] else { panic!() };
    assert!((x - 14.0).abs() < 0.08 && (y - 8.0).abs() < 0.08, "({x}, {y})");
}

#[test]
fn a_cut_track_is_one_finding_with_its_gap() {
    let mut drawn = clean();
    let track = drawn.tracks.iter_mut().find(|track| track.net == "SLOW" && track.layer == "B.Cu").unwrap();
    track.path = Path::Line((6.0, 8.0), (10.0, 8.0));
    drawn.track("SLOW", "B.Cu", 0.15, &[(10.45, 8.0), (14.0, 8.0)]);
    let verdicts = run("net-open", &drawn);
    assert_eq!(said(&verdicts), ["error net SLOW: `SLOW` is open: 2 parts, apart by 0.3 mm where they come nearest"]);
    let [((x, y), layer)] = places(&verdicts)[..] else { panic!() };
    assert!((10.0..10.5).contains(&x) && (y - 8.0).abs() < 0.08 && layer == 3, "({x}, {y}) on {layer}");
    let finding = verdicts.iter().find(|verdict| verdict.subject.name == "SLOW").unwrap();
    assert_eq!(finding.related.len(), 1, "the other side of the gap");
}

/// A part that is not fitted needs no route yet; the same open on a fitted one is an error.
#[test]
fn parts_that_are_not_fitted_are_a_warning() {
    for (unfitted, level) in [(false, "error"), (true, "warning")] {
        let mut drawn = clean();
        let mut part = Part::new("R9", (10.0, 2.0)).pad(Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net("SLOW"));
        part.unfitted = unfitted;
        drawn.part(part);
        let said = said(&run("net-open", &drawn));
        assert_eq!(said.len(), 1);
        assert!(said[0].starts_with(level), "{said:?}");
    }
}

/// Pads of one number may be one piece of metal inside the part.
#[test]
fn pads_of_one_number_are_a_warning() {
    for (numbers, level) in [(["S", "S"], "warning"), (["1", "2"], "error")] {
        let mut drawn = Drawn::new("shield", Stack::two());
        let pad = |number: &str, x| Pad::rect(number, (x, 0.0), (0.5, 0.5)).net("SHIELD");
        drawn.part(Part::new("J1", (10.0, 5.0)).pad(pad(numbers[0], -2.0)).pad(pad(numbers[1], 2.0)));
        let said = said(&run("net-open", &drawn));
        assert!(said[0].starts_with(level), "{said:?}");
    }
}

/// Nets that the schematic marks as unconnected have nothing to join, and nets of one pad are no subject.
#[test]
fn unconnected_nets_pass() {
    let mut drawn = Drawn::new("unconnected", Stack::two());
    let pad = |x| Pad::rect("S", (x, 0.0), (0.5, 0.5)).net("unconnected-(J1-SHIELD-PadS)");
    drawn.part(Part::new("J1", (10.0, 5.0)).pad(pad(-2.0)).pad(pad(2.0)));
    drawn.part(Part::new("J2", (10.0, 8.0)).pad(Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net("LONE")));
    let verdicts = run("net-open", &drawn);
    assert_eq!(verdicts.len(), 1);
    assert_eq!(said(&verdicts), Vec::<String>::new());
}

/// Vias in unfilled planes: only a fill could join them, so nothing can be said. With a pad outside of every zone the
/// net is open whatever the fills will be.
#[test]
fn what_an_unfilled_zone_could_join_is_unchecked() {
    let mut drawn = unfilled();
    let land = |name: &str, at| Part::new(name, at).pad(Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net("GND"));
    drawn.part(land("C1", (1.0, 1.0)));
    drawn.part(land("C2", (19.0, 9.0)));
    let verdicts = run("net-open", &drawn);
    assert_eq!(
        said(&verdicts),
        ["unchecked net GND: `GND` is in 2 parts; a zone that could join them is not filled or outdated \
          | an up-to-date fill: a zone that could join the net is not filled, or is outdated"]
    );
    let finding = verdicts.iter().find(|verdict| verdict.subject.name == "GND").unwrap();
    assert!(finding.place.is_some(), "the zone");
    drawn.part(land("C3", (10.0, 1.5)));
    assert_eq!(
        said(&run("net-open", &drawn)),
        ["error net GND: `GND` is open: 3 parts, and 2 would be left if its zones were filled anew"]
    );
    // Two lands that no outline reaches.
    let mut outside = unfilled();
    outside.part(land("C1", (10.0, 1.0)));
    outside.part(land("C2", (10.0, 1.8)));
    assert_eq!(
        said(&run("net-open", &outside)),
        ["error net GND: `GND` is open: 2 parts, and filling its zones anew would join none of them"]
    );
    let mut filled = drawn.clone();
    filled.fill();
    assert_eq!(
        said(&run("net-open", &filled)),
        ["error net GND: `GND` is open: 2 parts, apart by 8.5 mm where they come nearest"]
    );
}

/// A net that only an outdated fill joins may come apart when it is filled anew.
#[test]
fn what_an_outdated_fill_joins_is_unchecked() {
    let mut drawn = clean();
    let land = |name: &str, at| Part::new(name, at).pad(Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net("GND"));
    drawn.part(land("C1", (1.0, 1.0)));
    drawn.part(land("C2", (19.0, 9.0)));
    assert_eq!(said(&run("net-open", &drawn)), Vec::<String>::new());
    // A via of another net drawn later, through both planes.
    drawn.via("SLOW", (10.0, 8.0));
    assert_eq!(
        said(&run("net-open", &drawn)),
        ["unchecked net GND: `GND` hangs together only through an outdated fill \
          | an up-to-date fill: the net hangs together only through an outdated one"]
    );
}

/// A zone that a part of the net does not reach makes no excuse.
#[test]
fn a_zone_elsewhere_is_no_excuse() {
    let mut drawn = clean();
    drawn.zone("SLOW", &["F.Cu"], &rectangle((1.0, 1.0), (3.0, 2.0)));
    drawn.vias.retain(|via| via.net != "SLOW" || via.at != (14.0, 8.0));
    assert!(said(&run("net-open", &drawn))[0].starts_with("error"));
}

/// Copper of the net that reaches no pad is left over from an edit.
#[test]
fn copper_that_reaches_no_pad_is_a_note() {
    let mut drawn = clean();
    drawn.track("SLOW", "B.Cu", 0.15, &[(10.0, 2.0), (11.0, 2.0)]);
    let verdicts = run("net-open", &drawn);
    assert_eq!(said(&verdicts), ["note net SLOW: copper joins all pads of `SLOW`, but a piece of it reaches none"]);
    assert_eq!(places(&verdicts), [((10.0, 2.0), 3)]);
}

#[test]
fn a_graze_is_a_warning() {
    let mut drawn = Drawn::new("graze", Stack::two());
    for (name, at) in [("R1", (4.0, 8.0)), ("R2", (16.0, 8.0))] {
        drawn.part(Part::new(name, at).pad(Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net("SLOW")));
    }
    // The upper edge of the track laps over the pad's lower edge by 30 µm.
    drawn.track("SLOW", "F.Cu", 0.15, &[(3.5, 8.295), (15.0, 8.295), (16.0, 8.0)]);
    let verdicts = run("net-open", &drawn);
    assert_eq!(said(&verdicts), ["warning net SLOW: `SLOW` hangs together only by a graze"]);
    let [((_, y), _)] = places(&verdicts)[..] else { panic!() };
    assert!((8.2..8.3).contains(&y), "{y}");
}

/// Each generation states tracks, vias and pads in its own way; the same break is found in all.
#[test]
fn every_generation_says_the_same() {
    let mut broken = clean();
    broken.vias.retain(|via| via.net != "SLOW" || via.at != (14.0, 8.0));
    let expected = said(&run("net-open", &broken));
    for generation in Generation::ALL {
        let text = broken.text(generation);
        let board = read("clean", Arc::new(SourceFile::new("clean.kicad_pcb", text))).unwrap();
        assert_eq!(said(&run_on("net-open", &board)), expected, "{generation:?}");
    }
    assert_eq!(said(&run_on("net-open", &open(&clean()))), Vec::<String>::new());
}
