//! What has no answer gets none, with a reason.

use crate::lines::{centred, coated, ground, layer, microstrip, mm, paired, repeated, solved, trace, try_solve};
use throughline::field::{
    Conductor, Dielectric, Dispersion, Frequency, Layer, Metal, Mode, Options, Roughness, Section, Undetermined, solve,
};
use throughline::units::Length;

#[track_caller]
fn refused(section: &Section) -> Undetermined {
    match try_solve(section) {
        Err(reason) => {
            assert!(!reason.to_string().is_empty());
            reason
        }
        Ok(solution) => panic!("solved: {solution:?}"),
    }
}

#[test]
fn bad_values() {
    let good = microstrip(0.2, 0.035, 0.1, 4.2);
    let with = |change: &dyn Fn(&mut Section)| {
        let mut section = good.clone();
        change(&mut section);
        refused(&section)
    };
    for bad in [0.0, -0.1, f64::NAN, f64::INFINITY] {
        let length = mm(bad);
        assert!(matches!(with(&|s| s.conductors[0].foot_width = length), Undetermined::BadValue(_)));
        assert!(matches!(with(&|s| s.conductors[0].top_width = length), Undetermined::BadValue(_)));
        assert!(matches!(with(&|s| s.layers[0].thickness = length), Undetermined::BadValue(_)));
    }
    assert!(matches!(with(&|s| s.conductors[0].thickness = mm(-0.01)), Undetermined::BadValue(_)));
    assert!(matches!(with(&|s| s.conductors[0].centre = mm(f64::NAN)), Undetermined::BadValue(_)));
    assert!(matches!(with(&|s| s.conductors[0].foot = mm(f64::NAN)), Undetermined::BadValue(_)));
    for dielectric in [Dielectric::new(0.5, 0.0), Dielectric::new(f64::NAN, 0.0), Dielectric::new(4.0, -0.1)] {
        assert!(matches!(with(&|s| s.layers[0].dielectric = dielectric), Undetermined::BadValue(_)));
    }
    assert!(matches!(
        refused(&coated(good.clone(), 3.5, 0.02, 0.0, 0.012)),
        Undetermined::BadValue("the mask's thickness")
    ));
}

#[test]
fn impossible_sections() {
    let none = Section { layers: vec![layer(0.1, 4.0)], plane_below: true, ..Section::default() };
    assert_eq!(refused(&none), Undetermined::NoSignal);
    assert_eq!(refused(&Section::default()), Undetermined::NoSignal);
    let nine = repeated(microstrip(0.1, 0.02, 0.1, 4.0), 9, 0.1);
    assert_eq!(refused(&nine), Undetermined::TooManySignals(9));
    let alone = Section { conductors: vec![trace(0.0, 0.0, 0.1, 0.02)], ..Section::default() };
    assert_eq!(refused(&alone), Undetermined::NoReturn);
    let mut covered = coated(microstrip(0.1, 0.02, 0.1, 4.0), 3.5, 0.02, 0.012, 0.012);
    covered.plane_above = true;
    assert_eq!(refused(&covered), Undetermined::MaskedPlane);
    let mut hanging = coated(microstrip(0.1, 0.02, 0.1, 4.0), 3.5, 0.02, 0.012, 0.012);
    hanging.conductors[0].foot = mm(0.2);
    assert_eq!(refused(&hanging), Undetermined::OffSurface(0));
    let no_room = Section {
        plane_below: true,
        plane_above: true,
        conductors: vec![trace(0.0, 0.1, 0.1, 0.02)],
        ..Section::default()
    };
    assert!(matches!(refused(&no_room), Undetermined::BadValue(_)));
}

#[test]
fn touching_metal() {
    let touching = paired(microstrip(0.1, 0.02, 0.1, 4.0), 0.0);
    assert_eq!(refused(&touching), Undetermined::Overlap(0, 1));
    let mut inside = microstrip(0.1, 0.02, 0.1, 4.0);
    inside.conductors.push(ground(0.0, 0.11, 0.02, 0.005));
    assert_eq!(refused(&inside), Undetermined::Overlap(0, 1));
    for foot in [-0.01, 0.0, 0.285, 0.3] {
        let section = Section {
            layers: vec![layer(0.3, 4.0)],
            plane_below: true,
            plane_above: true,
            conductors: vec![trace(0.0, foot, 0.1, 0.015)],
            ..Section::default()
        };
        assert_eq!(refused(&section), Undetermined::BeyondPlane(0), "foot at {foot}");
    }
}

#[test]
fn too_much() {
    let mut wide = centred(0.1, 0.02, 0.3, 4.0);
    wide.conductors.push(trace(100.0, 0.14, 0.1, 0.02));
    assert_eq!(refused(&wide), Undetermined::TooWide);
    let mut many = microstrip(0.1, 0.02, 0.1, 4.0);
    for number in 1..60 {
        many.conductors.push(ground(0.3 * f64::from(number), 0.1, 0.1, 0.02));
    }
    assert_eq!(refused(&many), Undetermined::TooIntricate);
    let thin = Layer { thickness: Length::nm(1e-3), dielectric: Dielectric::new(4.0, 0.0) };
    let mut slivers = microstrip(0.1, 0.02, 0.1, 4.0);
    slivers.layers.extend([thin; 50]);
    assert_eq!(refused(&slivers), Undetermined::TooIntricate);
}

/// Nothing is as accurate as this, so there is no answer rather than a worse one.
#[test]
fn unconverged() {
    let section = microstrip(0.2, 0.035, 0.1, 4.2);
    let result = solve(&section, &Options { accuracy: 1e-9, ..Options::default() });
    assert!(matches!(result, Err(Undetermined::Unconverged { .. })), "{result:?}");
    let result = solve(&section, &Options { accuracy: f64::NAN, ..Options::default() });
    assert!(result.is_err());
}

#[test]
fn loss_that_is_not_known() {
    let metal = Metal::copper(Roughness::Smooth);
    let at = Frequency::ghz(1.0);
    let strip = solved(&microstrip(0.2, 0.0, 0.1, 4.2));
    assert_eq!(strip.constants(Mode::Line(0), at, &metal, Dispersion::None), Err(Undetermined::NoThickness));
    let quick = solve(&microstrip(0.2, 0.035, 0.1, 4.2), &Options { resistance: false, ..Options::default() }).unwrap();
    assert_eq!(quick.constants(Mode::Line(0), at, &metal, Dispersion::None), Err(Undetermined::NoThickness));
    let line = solved(&microstrip(0.2, 0.035, 0.1, 4.2));
    for mode in [Mode::Line(1), Mode::Odd(0, 0), Mode::Even(0, 1)] {
        assert!(matches!(line.constants(mode, at, &metal, Dispersion::None), Err(Undetermined::BadValue(_))));
    }
    for bad in [0.0, -1.0, f64::NAN] {
        let result = line.constants(Mode::Line(0), Frequency::hertz(bad), &metal, Dispersion::None);
        assert!(matches!(result, Err(Undetermined::BadValue(_))));
    }
    assert!(line.pair(0, 1).is_err() && line.coupling(0, 0).is_err() && line.line(3).is_err());
}

/// A trace that lies so close to a face that the two can't be told apart is on it; one nearly on it is solved as drawn.
#[test]
fn slivers_are_snapped_or_solved() {
    let section = |foot: f64| Section {
        layers: vec![layer(0.1, 4.2)],
        plane_below: true,
        conductors: vec![Conductor::signal(mm(0.0), mm(foot), mm(0.18), mm(0.035))],
        ..Section::default()
    };
    let exact = solved(&section(0.1)).line(0).unwrap().impedance.to_ohms();
    let snapped = solved(&section(0.1 + 1e-7)).line(0).unwrap().impedance.to_ohms();
    assert!((exact / snapped - 1.0).abs() < 1e-6, "{exact} {snapped}");
    let lifted = try_solve(&section(0.1 + 2e-4));
    let ohms = lifted.unwrap().line(0).unwrap().impedance.to_ohms();
    assert!(ohms > exact && ohms < 1.01 * exact, "{ohms} against {exact}");
}
