//! Direct current: exact values (mark F), and a published fit from memory (F of M).

use crate::lines::{mm, near};
use throughline::field::{
    COPPER, CORNER_SQUARES, Cooling, carried_current, carrying_width, disc_squares, ring_squares, sheet_resistance,
    trace_resistance, via_resistance,
};

const MIL: f64 = 0.0254;

#[test]
fn carried_by_a_trace() {
    let foil = mm(1.378 * MIL);
    for (mils, thickness, kelvin, cooling, amperes) in [
        (10.0, foil, 10.0, Cooling::Outer, 0.8855),
        (10.0, foil, 10.0, Cooling::Inner, 0.4428),
        (10.0, foil, 20.0, Cooling::Outer, 1.2013),
        (50.0, foil, 10.0, Cooling::Outer, 2.8441),
        (100.0, mm(2.756 * MIL), 20.0, Cooling::Outer, 10.5414),
    ] {
        near(carried_current(mm(mils * MIL), thickness, kelvin, cooling), amperes, 0.02);
    }
    near(carrying_width(1.0, foil, 10.0, Cooling::Outer).to_mm() / MIL, 11.826, 0.02);
    near(carrying_width(1.0, foil, 10.0, Cooling::Inner).to_mm() / MIL, 30.764, 0.02);
}

#[test]
fn resistances() {
    near(sheet_resistance(COPPER, mm(0.035)).to_ohms() * 1e3, 0.4926, 0.01);
    near(sheet_resistance(COPPER, mm(0.0175)).to_ohms() * 1e3, 0.9852, 0.01);
    let trace = |celsius| trace_resistance(mm(10.0), mm(0.1), mm(0.035), celsius).to_ohms() * 1e3;
    near(trace(20.0), 49.260, 0.01);
    near(trace(85.0), 61.843, 0.01);
    near(via_resistance(mm(0.2), mm(0.025), mm(1.6)).to_ohms() * 1e3, 1.5610, 0.05);
    near(via_resistance(mm(0.3), mm(0.020), mm(1.0)).to_ohms() * 1e3, 0.8575, 0.05);
}

#[test]
fn squares() {
    near(CORNER_SQUARES, 0.558_728_8, 1e-4);
    near(disc_squares(mm(1.0), mm(0.1)), 0.729_704, 1e-3);
    near(ring_squares(mm(1.0), mm(10.0)), 0.366_468, 1e-3);
}
