//! `net-short`: planted shorts, ties, outdated fills.

use crate::guard_rules::{clean, places, run, said};
use crate::support::{Board as Drawn, Pad, Part, Stack, rectangle};

#[test]
fn a_crossing_is_one_finding_there() {
    let mut drawn = clean();
    drawn.track("SLOW", "F.Cu", 0.15, &[(4.0, 8.0), (4.0, 5.15)]);
    let verdicts = run("net-short", &drawn);
    assert_eq!(said(&verdicts), ["error nets LINK_N, SLOW: copper of `LINK_N` and `SLOW` touches"]);
    let [((x, y), layer)] = places(&verdicts)[..] else { panic!() };
    assert!((x - 4.0).abs() < 0.1 && (5.0..5.3).contains(&y) && layer == 0, "({x}, {y}) on {layer}");
    let finding = verdicts.iter().find(|verdict| verdict.subject.kind == "nets").unwrap();
    assert_eq!(finding.related.len(), 1, "the other item");
    // The two nets are one subject; the others are judged by themselves.
    assert_eq!(verdicts.len(), 3);
}

#[test]
fn two_crossings_are_one_finding_with_their_number() {
    let mut drawn = clean();
    for x in [5.0, 6.5] {
        drawn.track("SLOW", "F.Cu", 0.15, &[(x, 6.0), (x, 5.15)]);
    }
    assert_eq!(
        said(&run("net-short", &drawn)),
        ["error nets LINK_N, SLOW: copper of `LINK_N` and `SLOW` touches in 2 places"]
    );
}

/// Exactly a micrometre apart is a touch, as it is for joining; a little more is not.
#[test]
fn touching_begins_at_a_micrometre() {
    for (gap, count) in [(0.001, 1), (0.0011, 0)] {
        let mut drawn = Drawn::new("near", Stack::two());
        drawn.track("A", "F.Cu", 0.2, &[(1.0, 1.0), (5.0, 1.0)]);
        drawn.track("B", "F.Cu", 0.2, &[(1.0, 1.2 + gap), (5.0, 1.2 + gap)]);
        assert_eq!(said(&run("net-short", &drawn)).len(), count, "{gap}");
    }
}

#[test]
fn a_barrel_shorts_on_inner_layers() {
    let mut drawn = Drawn::new("barrel", Stack::four());
    drawn.track("A", "In1.Cu", 0.2, &[(1.0, 1.0), (5.0, 1.0)]);
    drawn.via("B", (3.0, 1.0));
    assert_eq!(said(&run("net-short", &drawn)), ["error nets A, B: copper of `A` and `B` touches"]);
    assert_eq!(places(&run("net-short", &drawn))[0].1, 1);
    // A blind via that ends above it does not.
    drawn.vias[0].bottom = "F.Cu".into();
    drawn.vias[0].top = "F.Cu".into();
    assert_eq!(said(&run("net-short", &drawn)), Vec::<String>::new());
}

#[test]
fn copper_without_net_between_two_nets_is_a_short() {
    let mut drawn = clean();
    drawn.track("", "F.Cu", 0.15, &[(4.0, 8.0), (4.0, 5.15)]);
    assert_eq!(
        said(&run("net-short", &drawn)),
        ["error nets LINK_N, SLOW: copper without net joins `LINK_N` and `SLOW`"]
    );
}

/// Copper of a footprint between its pads: no finding if declared, a warning if not.
#[test]
fn net_ties() {
    for (ties, expected) in [
        (vec!["1, 2".to_owned()], vec![]),
        (vec![], vec!["warning nets A, B: `NT1` joins `A` and `B` with its own copper and declares no net tie"]),
    ] {
        let mut drawn = Drawn::new("tie", Stack::two());
        let mut part = Part::new("NT1", (10.0, 5.0))
            .pad(Pad::rect("1", (-1.0, 0.0), (0.5, 0.5)).net("A"))
            .pad(Pad::rect("2", (1.0, 0.0), (0.5, 0.5)).net("B"));
        part.strokes.push(("F.Cu".into(), (-1.0, 0.0), (1.0, 0.0), 0.3));
        part.net_ties = ties;
        drawn.part(part);
        assert_eq!(said(&run("net-short", &drawn)), expected);
    }
}

/// As the file stands the planes are shorted; filled anew they are not. Nothing can be said until then.
#[test]
fn outdated_fills_make_it_unchecked() {
    let mut drawn = clean();
    drawn.via("SLOW", (10.0, 8.0));
    let missing = "an up-to-date fill: a fill lies on copper of another net";
    let unchecked = |net: &str| {
        format!(
            "unchecked net {net}: as the file stands, a fill joins `{net}` to other copper; the fill is outdated | {missing}"
        )
    };
    assert_eq!(said(&run("net-short", &drawn)), [unchecked("SLOW"), unchecked("GND")]);
    drawn.fill();
    assert_eq!(said(&run("net-short", &drawn)), Vec::<String>::new());
}

/// Two zones of different nets whose fills overlap.
#[test]
fn overlapping_fills_make_it_unchecked() {
    let mut drawn = clean();
    drawn.via("SLOW", (10.0, 2.0));
    drawn.fill();
    let mut other = Drawn::new("other", Stack::four());
    other.via("SLOW", (10.0, 2.0));
    other.zone("SLOW", &["In1.Cu"], &rectangle((9.0, 1.5), (11.0, 2.5)));
    other.fill();
    drawn.zones.extend(other.zones);
    assert_eq!(said(&run("net-short", &drawn)).len(), 2);
}
