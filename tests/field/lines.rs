//! Sections for the tests, in millimetres, and what is asked of them.

use throughline::field::{
    Conductor, Dielectric, EPS0, Layer, Mask, Mode, Options, Section, Solution, Square, Undetermined, solve,
};
use throughline::units::Length;

pub fn mm(value: f64) -> Length {
    Length::mm(value)
}

pub fn layer(thickness: f64, permittivity: f64) -> Layer {
    lossy(thickness, permittivity, 0.0)
}

pub fn lossy(thickness: f64, permittivity: f64, loss_tangent: f64) -> Layer {
    Layer { thickness: mm(thickness), dielectric: Dielectric::new(permittivity, loss_tangent) }
}

/// A rectangular trace: middle, foot, width, thickness.
pub fn trace(centre: f64, foot: f64, width: f64, thickness: f64) -> Conductor {
    Conductor::signal(mm(centre), mm(foot), mm(width), mm(thickness))
}

pub fn ground(centre: f64, foot: f64, width: f64, thickness: f64) -> Conductor {
    Conductor::ground(mm(centre), mm(foot), mm(width), mm(thickness))
}

/// A trace on one layer over a plane.
pub fn microstrip(width: f64, thickness: f64, height: f64, permittivity: f64) -> Section {
    Section {
        layers: vec![layer(height, permittivity)],
        plane_below: true,
        conductors: vec![trace(0.0, height, width, thickness)],
        ..Section::default()
    }
}

/// A trace between two planes in one dielectric: its foot is `below` over the lower plane.
pub fn stripline(width: f64, thickness: f64, below: f64, between: f64, permittivity: f64) -> Section {
    Section {
        layers: vec![layer(between, permittivity)],
        plane_below: true,
        plane_above: true,
        conductors: vec![trace(0.0, below, width, thickness)],
        ..Section::default()
    }
}

/// A trace in the middle between two planes.
pub fn centred(width: f64, thickness: f64, between: f64, permittivity: f64) -> Section {
    stripline(width, thickness, 0.5 * (between - thickness), between, permittivity)
}

/// The section's only trace as two, side by side with a gap.
pub fn paired(section: Section, gap: f64) -> Section {
    repeated(section, 2, gap)
}

/// The section's only trace several times, side by side with gaps.
pub fn repeated(mut section: Section, count: u32, gap: f64) -> Section {
    let one = section.conductors[0];
    let pitch = one.foot_width.to_mm() + gap;
    section.conductors = (0..count)
        .map(|number| Conductor { centre: mm(pitch * (f64::from(number) - 0.5 * f64::from(count - 1))), ..one })
        .collect();
    section
}

/// The section's traces etched to a narrower top.
pub fn etched(mut section: Section, top: f64) -> Section {
    for conductor in &mut section.conductors {
        conductor.top_width = mm(top);
    }
    section
}

/// The section with a mask on its upper face.
pub fn coated(mut section: Section, permittivity: f64, on_board: f64, over: f64, beside: f64) -> Section {
    section.mask_above = Some(Mask {
        on_board: mm(on_board),
        over_copper: mm(over),
        beside_copper: mm(beside),
        dielectric: Dielectric::new(permittivity, 0.0),
    });
    section
}

pub fn solved(section: &Section) -> Solution {
    solve(section, &Options::default()).unwrap()
}

/// As `solved`, so fine that the answer's own error hardly counts.
pub fn solved_finely(section: &Section) -> Solution {
    solve(section, &Options { accuracy: 6e-4, ..Options::default() }).unwrap()
}

pub fn try_solve(section: &Section) -> Result<Solution, Undetermined> {
    solve(section, &Options::default())
}

pub fn z0(section: &Section) -> f64 {
    solved(section).line(0).unwrap().impedance.to_ohms()
}

pub fn permittivity(section: &Section) -> f64 {
    solved(section).line(0).unwrap().permittivity
}

/// Even and odd impedance.
pub fn even_odd(section: &Section) -> (f64, f64) {
    let pair = solved(section).pair(0, 1).unwrap();
    (pair.even.unwrap().impedance.to_ohms(), pair.odd.impedance.to_ohms())
}

/// The capacitance matrix over ε0.
pub fn relative(solution: &Solution) -> Square {
    solution.capacitance().scaled(1.0 / EPS0)
}

/// R/Rs per millimetre: at a frequency so high that the smooth surface is all that counts.
pub fn crowding(solution: &Solution, mode: Mode) -> f64 {
    use throughline::field::{Dispersion, Frequency, Metal, Roughness, surface_resistance};
    let metal = Metal::copper(Roughness::Smooth);
    let frequency = Frequency::ghz(1e6);
    let constants = solution.constants(mode, frequency, &metal, Dispersion::None).unwrap();
    constants.resistance / surface_resistance(metal.conductivity, frequency) / 1e3
}

/// Fails unless a value is within so many per cent of what is wanted.
#[track_caller]
pub fn near(value: f64, wanted: f64, per_cent: f64) {
    let off = (value / wanted - 1.0) * 100.0;
    assert!(off.abs() <= per_cent, "{value} is {off:+.4} % off {wanted}; allowed is {per_cent} %");
}
