//! What must hold of any choice: order, limits, and no number without convergence.

use crate::stacks::{drawn, inner, near, outer, wanted};
use throughline::field::Frequency;
use throughline::signal::Doubt;
use throughline::units::Length;
use throughline::width::{Fixed, Unmet, choices};

fn mm(values: &[f64]) -> Vec<Length> {
    values.iter().map(|&value| Length::mm(value)).collect()
}

#[test]
fn wider_gaps_take_wider_traces_and_higher_impedances_narrower_ones() {
    for basis in [outer(0.1, 4.05, 0.0125), inner(0.12, 0.2, 4.2, 0.0175)] {
        let layer = u8::from(basis.foils.len() > 2);
        let widths = |ohms| -> Vec<f64> {
            let found = choices(&basis, &wanted(&basis, layer, ohms, Fixed::Gaps(mm(&[0.1, 0.15, 0.25]))));
            found.into_iter().map(|choice| choice.line.unwrap().trace.width.to_mm()).collect()
        };
        let (low, high) = (widths(85.0), widths(100.0));
        assert!(low.is_sorted() && high.is_sorted(), "{low:?} {high:?}");
        assert!(low.iter().zip(&high).all(|(low, high)| low > high), "{low:?} {high:?}");
    }
}

#[test]
fn every_line_meets_its_target_and_tells_an_error() {
    for ohms in [70.0, 85.0, 100.0] {
        for choice in
            choices(&outer(0.12, 3.9, 0.02), &wanted(&outer(0.12, 3.9, 0.02), 0, ohms, Fixed::Gaps(mm(&[0.1, 0.2]))))
        {
            let line = choice.line.unwrap();
            // A micrometre of width is less than half a percent of impedance here.
            near(line.impedance.to_ohms(), ohms, 0.005 * ohms);
            assert!(line.error > 0.0 && line.error <= 0.005);
            let [height, width, permittivity] = [0, 1, 2].map(|at: usize| line.spread[at]);
            let (less, more) =
                (|at: throughline::width::Spread| at.less.unwrap(), |at: throughline::width::Spread| at.more.unwrap());
            assert!(less(height) < line.impedance && line.impedance < more(height));
            assert!(less(width) > line.impedance && line.impedance > more(width));
            assert!(less(permittivity) > line.impedance && line.impedance > more(permittivity));
        }
    }
}

#[test]
fn exactly_the_fab_s_limit_is_within_it() {
    let basis = outer(0.1, 4.05, 0.0125);
    let gap = || Fixed::Gaps(mm(&[0.15]));
    let width = drawn(&basis, 0, 90.0, gap()).trace.width;
    let mut wanted = wanted(&basis, 0, 90.0, gap());
    wanted.least_width = width;
    assert_eq!(choices(&basis, &wanted)[0].line.as_ref().unwrap().trace.width, width);
    wanted.least_width = width + Length::nm(1000.0);
    assert_eq!(choices(&basis, &wanted)[0].line, Err(Unmet::TooNarrow(width)));
}

#[test]
fn loss_needs_a_loss_tangent_and_grows_with_frequency() {
    let basis = outer(0.1, 4.05, 0.0125);
    let loss = |ghz: f64| {
        let mut wanted = wanted(&basis, 0, 85.0, Fixed::Gaps(mm(&[0.15])));
        wanted.frequency = Some(Frequency::ghz(ghz));
        choices(&basis, &wanted)[0].line.as_ref().unwrap().loss.unwrap()
    };
    let (slow, fast) = (loss(4.0).unwrap().to_db_per_metre(), loss(8.0).unwrap().to_db_per_metre());
    // Planning totals of a module design guide (DG-10931-001) on mid-loss laminate: 34 and 59 dB/m; magnitude only.
    assert!(slow > 12.0 && fast < 90.0 && fast > 1.5 * slow, "{slow} {fast}");
    let unknown = crate::stacks::basis(vec![
        crate::stacks::mask(0.0125),
        crate::stacks::copper(0, 0.035),
        crate::stacks::dielectric(throughline::board::stackup::DielectricKind::Core, 0.1, 4.05, None),
        crate::stacks::copper(1, 0.035),
    ]);
    let mut asked = wanted(&unknown, 0, 85.0, Fixed::Gaps(mm(&[0.15])));
    asked.frequency = Some(Frequency::ghz(8.0));
    assert_eq!(choices(&unknown, &asked)[0].line.as_ref().unwrap().loss, Some(Err(Doubt::NoLossTangent)));
}
