//! Widths that published and independent values ask for.

use crate::stacks::{inner, outer, wanted};
use throughline::signal::Basis;
use throughline::units::Length;
use throughline::width::{Choice, Fixed, choices};

/// The only choice, which must be a line.
fn drawn(basis: &Basis, layer: u8, ohms: f64, fixed: Fixed) -> throughline::width::Drawn {
    let found: Vec<Choice> = choices(basis, &wanted(basis, layer, ohms, fixed));
    assert_eq!(found.len(), 1);
    found.into_iter().next().unwrap().line.unwrap()
}

#[test]
fn eleven() {
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
        let basis = outer(height, permittivity, 0.0125);
        let line = drawn(&basis, 0, ohms, Fixed::Gaps(vec![Length::mm(gap)]));
        println!("{width} {} {:.2} %", line.trace.width, (line.trace.width.to_mm() / width - 1.0) * 100.0);
    }
    for (width, gap, below, above, permittivity, ohms) in [
        (0.10, 0.15, 0.10, 0.20, 4.10, 93.6),
        (0.09, 0.13, 0.10, 0.10, 4.10, 87.4),
        (0.12, 0.15, 0.12, 0.20, 4.20, 89.8),
    ] {
        let basis = inner(below, above, permittivity, 0.015);
        let line = drawn(&basis, 1, ohms, Fixed::Gaps(vec![Length::mm(gap)]));
        println!("{width} {} {:.2} %", line.trace.width, (line.trace.width.to_mm() / width - 1.0) * 100.0);
    }
}
