//! Exact values: conformal maps of the true, thick outlines (Schwarz-Christoffel, solved to 1e-12), and classical
//! elliptic-integral forms for strips without thickness. Mark F. Tolerance 0.1 %, of resistance 0.5 %.

use crate::lines::{
    centred, crowding, etched, even_odd, ground, layer, microstrip, mm, near, paired, solved, stripline, trace, z0,
};
use throughline::field::{Conductor, Mode, Section};

const THICK: f64 = 0.1;

#[test]
fn centred_striplines() {
    for (width, thickness, between, permittivity, ohms) in [
        (0.125, 0.0175, 0.32, 4.2, 49.2081),
        (0.1, 0.0175, 0.25, 3.6, 51.145),
        (0.2, 0.035, 0.5, 4.0, 48.5204),
        (0.5, 0.05, 1.0, 1.0, 90.2755),
        (1.0, 0.1, 1.0, 1.0, 55.6999),
    ] {
        near(z0(&centred(width, thickness, between, permittivity)), ohms, THICK);
    }
}

/// Cohn 1954.
#[test]
fn stripline_without_thickness() {
    near(z0(&centred(1.0, 0.0, 1.0, 1.0)), 65.3536, 0.15);
}

#[test]
fn offset_striplines() {
    near(z0(&stripline(0.12, 0.0175, 0.1, 0.3175, 4.0)), 47.5991, THICK);
    near(z0(&stripline(0.15, 0.03, 0.1, 0.43, 3.8)), 44.4343, THICK);
}

#[test]
fn edge_coupled_striplines() {
    for (width, gap, thickness, between, permittivity, even, differential, near_end) in [
        (0.12, 0.15, 0.0175, 0.36, 4.0, 61.0933, 95.503, 0.061_288),
        (0.1, 0.1, 0.0175, 0.3, 3.6, 65.2501, 93.6611, 0.082_170_9),
        (0.15, 0.2, 0.03, 0.5, 4.2, 61.6249, 93.5721, 0.068_437_8),
    ] {
        let solution = solved(&paired(centred(width, thickness, between, permittivity), gap));
        let pair = solution.pair(0, 1).unwrap();
        near(pair.even.unwrap().impedance.to_ohms(), even, THICK);
        near(pair.differential().to_ohms(), differential, THICK);
        near(pair.near().unwrap(), near_end, THICK);
        near(pair.common().unwrap().to_ohms(), 0.5 * even, THICK);
        near(pair.odd.permittivity, permittivity, 1e-6);
    }
}

/// Two traces one above the other.
fn broadside(width: f64, thickness: f64, gap: f64, between: f64, permittivity: f64) -> Section {
    let below = 0.5 * (between - gap) - thickness;
    let mut section = stripline(width, thickness, below, between, permittivity);
    section.conductors.push(trace(0.0, below + thickness + gap, width, thickness));
    section
}

#[test]
fn broadside_striplines() {
    for (width, thickness, gap, between, permittivity, even, differential) in
        [(0.12, 0.0175, 0.1, 0.4, 4.0, 75.1585, 65.6958), (0.15, 0.02, 0.12, 0.5, 3.8, 79.0254, 66.6956)]
    {
        let (found, odd) = even_odd(&broadside(width, thickness, gap, between, permittivity));
        near(found, even, THICK);
        near(2.0 * odd, differential, THICK);
    }
}

#[test]
fn microstrips_in_air() {
    near(z0(&microstrip(0.2, 0.035, 0.1, 1.0)), 80.5645, THICK);
    near(z0(&microstrip(0.18, 0.018, 0.1, 1.0)), 88.2588, THICK);
    near(z0(&microstrip(0.1, 0.05, 0.1, 1.0)), 104.384, THICK);
}

#[test]
fn etched_traces() {
    near(z0(&etched(microstrip(0.18, 0.035, 0.1, 1.0), 0.15)), 87.0337, THICK);
    near(z0(&etched(stripline(0.12, 0.0175, 0.12, 0.3, 4.0), 0.105)), 50.0206, THICK);
}

/// A strip between two grounds so wide that they are half planes.
fn coplanar(width: f64, gap: f64) -> Section {
    let wide = 4000.0 * width;
    let place = 0.5 * width + gap + 0.5 * wide;
    Section {
        conductors: vec![trace(0.0, 0.0, width, 0.0), ground(-place, 0.0, wide, 0.0), ground(place, 0.0, wide, 0.0)],
        ..Section::default()
    }
}

/// In air and without any plane: the section is open.
#[test]
fn coplanar_strips_in_air() {
    near(z0(&coplanar(0.2, 0.1)), 120.484, 0.15);
    near(z0(&coplanar(0.5, 0.1)), 93.3083, 0.15);
}

/// Cohn 1955.
#[test]
fn coupled_striplines_without_thickness() {
    let (even, odd) = even_odd(&paired(centred(0.3, 0.0, 0.5, 1.0), 0.1));
    near(even, 104.0959, 0.15);
    near(odd, 73.6018, 0.15);
}

/// The derivative of the exact inductance by a shift of all surfaces (incremental-inductance rule).
#[test]
fn crowding_of_single_lines() {
    for (section, per_mm) in [
        (centred(0.125, 0.0175, 0.32, 4.2), 5.9977),
        (centred(0.2, 0.035, 0.5, 4.0), 3.576_94),
        (microstrip(0.18, 0.035, 0.1, 1.0), 4.588_12),
    ] {
        near(crowding(&solved(&section), Mode::Line(0)), per_mm, 0.5);
    }
}

#[test]
fn crowding_of_pairs() {
    for (section, even, odd) in [
        (paired(centred(0.12, 0.0175, 0.36, 4.0), 0.15), 6.405_03, 5.974_67),
        (paired(centred(0.3, 0.05, 1.0, 1.0), 0.1), 2.630_50, 2.984_43),
    ] {
        let solution = solved(&section);
        near(crowding(&solution, Mode::Even(0, 1)), even, 0.5);
        near(crowding(&solution, Mode::Odd(0, 1)), odd, 0.5);
    }
}

#[test]
fn an_upper_plane_alone_is_a_lower_one_turned_over() {
    let below = Section {
        layers: vec![layer(0.1, 4.2), layer(0.05, 3.5)],
        plane_below: true,
        conductors: vec![Conductor::signal(mm(0.3), mm(0.1), mm(0.18), mm(0.035)).etched(mm(0.15))],
        ..Section::default()
    };
    let above = Section {
        layers: vec![layer(0.05, 3.5), layer(0.1, 4.2)],
        plane_above: true,
        conductors: vec![Conductor::signal(mm(0.3), mm(0.015), mm(0.15), mm(0.035)).etched(mm(0.18))],
        ..Section::default()
    };
    near(z0(&above), z0(&below), 1e-9);
}
