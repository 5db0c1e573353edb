//! Against a general radio-frequency library (`reference.py` writes `reference.csv`). Mark L. Its bare microstrips are a
//! closed form good to 0.2 %.

use crate::lines::{ground, layer, microstrip, near, solved, trace};
use crate::touchstone::rows;
use throughline::field::{Constants, Frequency, Section};

/// Values of the method's own table, from the same library.
#[test]
fn bare_microstrips() {
    for (width, thickness, height, permittivity, ohms, effective) in [
        (0.18, 0.035, 0.10, 4.2, 48.8874, 2.9951),
        (0.30, 0.018, 0.15, 4.2, 48.0491, 3.1228),
        (0.25, 0.035, 0.12, 3.5, 49.1927, 2.621_46),
    ] {
        let line = solved(&microstrip(width, thickness, height, permittivity)).line(0).unwrap();
        near(line.impedance.to_ohms(), ohms, 0.3);
        near(line.permittivity, effective, 0.3);
    }
}

#[test]
fn more_bare_microstrips() {
    for row in rows("microstrip") {
        let line = solved(&microstrip(row[0], row[1], row[2], row[3])).line(0).unwrap();
        near(line.impedance.to_ohms(), row[4], 0.4);
        near(line.permittivity, row[5], 0.4);
    }
}

/// Ghione and Naldi's closed form; a partial-capacitance model, so its own error is of the order of 1 %.
#[test]
fn coplanar_waveguides_without_back_metal() {
    for row in rows("coplanar") {
        let (width, gap, height) = (row[0], row[1], row[2]);
        let wide = 60.0 * (width + gap + height);
        let place = 0.5 * width + gap + 0.5 * wide;
        let section = Section {
            layers: vec![layer(height, row[3])],
            conductors: vec![
                trace(0.0, height, width, 0.0),
                ground(-place, height, wide, 0.0),
                ground(place, height, wide, 0.0),
            ],
            ..Section::default()
        };
        let line = solved(&section).line(0).unwrap();
        near(line.impedance.to_ohms(), row[4], 1.5);
        near(line.permittivity, row[5], 3.0);
    }
}

#[test]
fn impedance_and_propagation_from_constants() {
    for row in rows("constants") {
        let constants = Constants {
            frequency: Frequency::hertz(row[5]),
            resistance: row[0],
            inner_reactance: row[1],
            inductance: row[2],
            conductance: row[3],
            capacitance: row[4],
        };
        let (z, p) = (constants.impedance(), constants.propagation());
        for (value, wanted) in [z.re, z.im, p.re, p.im].into_iter().zip(&row[6..]) {
            near(value, *wanted, 1e-6);
        }
    }
}
