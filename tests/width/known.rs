//! Widths and gaps that known values ask for.

use crate::stacks::{basis, copper, drawn, inner, near, outer, sheet, wanted};
use throughline::board::LayerId;
use throughline::units::Length;
use throughline::width::{Fixed, Planes, choices};

/// Widths come in whole micrometres.
const GRID: f64 = 0.0005;

/// Differential impedances from an independent finite-difference program (rectangular copper, 2.5 µm grid; its own error
/// about ±1 %, mark V): asking for the impedance at the gap gives the width back within 1 %.
#[test]
fn the_widths_of_an_independent_table_come_back() {
    for (width, gap, height, permittivity, ohms) in [
        (0.10, 0.13, 0.10, 4.05, 102.7),
        (0.13, 0.13, 0.10, 4.05, 93.1),
        (0.15, 0.15, 0.10, 4.05, 90.2),
        (0.16, 0.13, 0.10, 4.05, 85.3),
        (0.17, 0.15, 0.10, 4.05, 85.2),
        (0.25, 0.15, 0.21, 4.40, 90.3),
        (0.28, 0.15, 0.21, 4.40, 86.3),
        (0.115, 0.10, 0.075, 3.85, 84.7),
    ] {
        let line = drawn(&outer(height, permittivity, 0.0125), 0, ohms, Fixed::Gaps(vec![Length::mm(gap)]));
        near(line.trace.width.to_mm(), width, 0.01 * width + GRID);
    }
    for (width, gap, below, above, permittivity, ohms) in [
        (0.10, 0.15, 0.10, 0.20, 4.10, 93.6),
        (0.09, 0.13, 0.10, 0.10, 4.10, 87.4),
        (0.12, 0.15, 0.12, 0.20, 4.20, 89.8),
    ] {
        let line = drawn(&inner(below, above, permittivity, 0.015), 1, ohms, Fixed::Gaps(vec![Length::mm(gap)]));
        near(line.trace.width.to_mm(), width, 0.01 * width + GRID);
    }
}

/// Exact conformal maps of striplines (mark F): impedances to six digits, so widths to a micrometre.
#[test]
fn the_widths_of_exact_striplines_come_back() {
    for (width, foil, below, above, permittivity, ohms) in [
        (0.125, 0.0175, 0.15125, 0.15125, 4.2, 49.2081),
        (0.1, 0.0175, 0.11625, 0.11625, 3.6, 51.145),
        (0.2, 0.035, 0.2325, 0.2325, 4.0, 48.5204),
        (0.12, 0.0175, 0.1, 0.2, 4.0, 47.5991),
        (0.15, 0.03, 0.1, 0.3, 3.8, 44.4343),
    ] {
        let line = drawn(&inner(below, above, permittivity, foil), 1, ohms, Fixed::Single);
        near(line.trace.width.to_mm(), width, 0.001 * width + GRID);
        near(line.delay.to_ps_per_mm(), 3.335_641 * f64::sqrt(permittivity), 1e-3);
    }
}

/// Exact conformal maps of pairs between planes (mark F): width at the gap, and gap at the width.
#[test]
fn widths_and_gaps_of_exact_pairs_come_back() {
    for (width, gap, foil, between, permittivity, ohms, even) in [
        (0.12, 0.15, 0.0175, 0.36, 4.0, 95.503, 61.0933),
        (0.1, 0.1, 0.0175, 0.3, 3.6, 93.6611, 65.2501),
        (0.15, 0.2, 0.03, 0.5, 4.2, 93.5721, 61.6249),
    ] {
        let half = (between - foil) / 2.0;
        let basis = inner(half, half, permittivity, foil);
        let line = drawn(&basis, 1, ohms, Fixed::Gaps(vec![Length::mm(gap)]));
        near(line.trace.width.to_mm(), width, 0.001 * width + GRID);
        near(line.even.unwrap().to_ohms(), even, 0.005 * even);
        let line = drawn(&basis, 1, ohms, Fixed::Width(Length::mm(width)));
        // The gap moves the impedance less than the width does.
        near(line.trace.gap.unwrap().to_mm(), gap, 0.005 * gap + GRID);
    }
}

/// A trapezoid between planes, exact (mark F): foot 0.12, top 0.105, 0.0175 thick, 0.12 above the lower of two planes
/// 0.3 apart, permittivity 4.
#[test]
fn an_etched_stripline_comes_back() {
    let basis = inner(0.12, 0.1625, 4.0, 0.0175);
    let mut wanted = wanted(&basis, 1, 50.0206, Fixed::Single);
    wanted.etch = 0.015 / 0.0175;
    let found = choices(&basis, &wanted);
    near(found[0].line.as_ref().unwrap().trace.width.to_mm(), 0.12, 0.001 * 0.12 + GRID);
}

/// In one dielectric the impedance goes with the root of its permittivity, exactly.
#[test]
fn a_tenth_of_permittivity_is_its_root() {
    let line = drawn(&inner(0.1, 0.2, 4.0, 0.0175), 1, 90.0, Fixed::Gaps(vec![Length::mm(0.15)]));
    let spread = line.spread[2];
    near(spread.less.unwrap().to_ohms() / line.impedance.to_ohms(), 1.0 / f64::sqrt(0.9), 1e-4);
    near(spread.more.unwrap().to_ohms() / line.impedance.to_ohms(), 1.0 / f64::sqrt(1.1), 1e-4);
}

/// A tenth of height is what a stackup with that height gives; so is a tenth of width with the middles kept.
#[test]
fn a_tenth_of_height_or_width_is_another_line() {
    let gap = vec![Length::mm(0.15)];
    let line = drawn(&outer(0.1, 4.05, 0.0125), 0, 90.0, Fixed::Gaps(gap));
    for (height, changed) in [(0.09, line.spread[0].less), (0.11, line.spread[0].more)] {
        let both = Fixed::Both(line.trace.width, vec![line.trace.gap.unwrap()]);
        let other = drawn(&outer(height, 4.05, 0.0125), 0, 90.0, both);
        near(changed.unwrap().to_ohms(), other.impedance.to_ohms(), 0.02);
    }
    let wider = line.trace.width * 1.1;
    let both = Fixed::Both(wider, vec![line.trace.gap.unwrap() + line.trace.width - wider]);
    let other = drawn(&outer(0.1, 4.05, 0.0125), 0, 90.0, both);
    near(line.spread[1].more.unwrap().to_ohms(), other.impedance.to_ohms(), 0.02);
}

/// The same line on the lower face: the stackup turned over.
#[test]
fn the_lower_face_is_the_upper_one_turned_over() {
    let six = |turned: bool| {
        let mut entries = vec![
            crate::stacks::mask(0.015),
            copper(0, 0.035),
            sheet(0.1, 4.05),
            copper(1, 0.0175),
            sheet(0.4, 4.4),
            copper(2, 0.0175),
            sheet(0.2, 4.2),
            copper(3, 0.035),
            crate::stacks::mask(0.025),
        ];
        if turned {
            entries.reverse();
            let mut at = 0;
            for entry in &mut entries {
                if let throughline::board::StackupEntry::Copper { layer, .. } = entry {
                    *layer = LayerId(at);
                    at += 1;
                }
            }
        }
        basis(entries)
    };
    let gaps = || Fixed::Gaps(vec![Length::mm(0.15)]);
    for (layer, turned) in [(0, 3), (3, 0)] {
        let (one, other) = (drawn(&six(false), layer, 90.0, gaps()), drawn(&six(true), turned, 90.0, gaps()));
        assert_eq!(one.trace, other.trace);
        near(one.impedance.to_ohms(), other.impedance.to_ohms(), 1e-6);
    }
}

/// Where a plane is left out, all dielectric up to the face of the board counts, and the mask on it.
#[test]
fn a_line_under_more_dielectric_is_slower() {
    let basis = inner(0.1, 0.2, 4.0, 0.0175);
    let mut wanted = wanted(&basis, 1, 90.0, Fixed::Gaps(vec![Length::mm(0.15)]));
    wanted.planes = Planes { above: None, below: Some(LayerId(2)) };
    let buried = choices(&basis, &wanted)[0].line.clone().unwrap();
    let open = drawn(&outer(0.1, 4.0, 0.0125), 0, 90.0, Fixed::Gaps(vec![Length::mm(0.15)]));
    let delays = (open.delay.to_ps_per_mm(), buried.delay.to_ps_per_mm());
    assert!(delays.0 < delays.1 - 0.4 && delays.1 < 3.335_641 * 2.0, "{delays:?}");
}
