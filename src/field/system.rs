//! Solves the filled systems of one mesh: charges, capacitances, and how they change with each dielectric.

use super::between::Between;
use super::doubt::Undetermined;
use super::fill::{self, Filled, Layout, Parity, contrast};
use super::flat::Flat;
use super::gauss;
use super::matrix::{Factors, dot};
use super::mesh::{Grading, Mesh};
use super::outline::{Kind, Outline, Planes};
use super::square::Square;
use std::f64::consts::PI;

/// At most this many unknowns, so that no section takes more than about a second.
const MOST_UNKNOWNS: usize = 2000;

/// How fine a solution is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Unknowns per panel: 2 or 3.
    pub degree: usize,
    /// The mesh.
    pub grading: Grading,
}

/// A signal of the half (or whole) section that is solved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reduced {
    /// The conductor.
    pub conductor: usize,
    /// Its mirror image, if that is another one.
    pub partner: Option<usize>,
}

/// The answer for one symmetry. Charges are over ε0; those of a conductor that the mirror cuts are of its right half.
#[derive(Debug)]
pub struct Part {
    /// Which symmetry.
    pub parity: Parity,
    /// What rows and columns stand for.
    pub signals: Vec<Reduced>,
    /// Charge per volt.
    pub capacitance: Square,
    /// Charge per volt without dielectrics.
    pub air: Square,
    /// For each dielectric, the capacitance's derivative by its permittivity.
    pub filling: Vec<Square>,
    /// For each signal at 1 V, the air problem's unknowns.
    pub charges: Vec<Vec<f64>>,
}

/// The answer of one mesh.
#[derive(Debug)]
pub struct Answer {
    /// The mesh.
    pub mesh: Mesh,
    /// Where unknowns stand.
    pub layout: Layout,
    /// One part for a whole section; even, and odd if there are partners, for a half.
    pub parts: Vec<Part>,
}

/// The signals that are solved: all, or those of the right half.
pub fn reduced(outline: &Outline) -> Vec<Reduced> {
    let signals = outline.conductors.iter().enumerate().filter(|(_, conductor)| !conductor.ground);
    match &outline.mirror {
        None => signals.map(|(conductor, _)| Reduced { conductor, partner: None }).collect(),
        Some(mirror) => signals
            .filter_map(|(conductor, shape)| {
                let partner = mirror.get(conductor).copied().filter(|partner| *partner != conductor);
                let on_the_right = shape.foot_span.0 + shape.foot_span.1 > 0.0;
                (partner.is_none() || on_the_right).then_some(Reduced { conductor, partner })
            })
            .collect(),
    }
}

/// Solves a section's outline at one level.
pub fn solve(outline: &Outline, level: Level) -> Result<Answer, Undetermined> {
    let mesh = Mesh::new(outline, level.grading).ok_or(Undetermined::TooIntricate)?;
    if (mesh.metal.len() + mesh.film.len()) * level.degree > MOST_UNKNOWNS {
        return Err(Undetermined::TooIntricate);
    }
    match level.degree {
        0..=2 => with_degree::<2>(outline, mesh),
        _ => with_degree::<3>(outline, mesh),
    }
}

fn with_degree<const P: usize>(outline: &Outline, mesh: Mesh) -> Result<Answer, Undetermined> {
    let signals = reduced(outline);
    let parities: &[Parity] = if outline.mirror.is_none() {
        &[Parity::Whole]
    } else if outline.is_floating() && signals.len() == 1 {
        // Equal voltages on the only pair carry no charge.
        &[Parity::Odd]
    } else if signals.iter().any(|signal| signal.partner.is_some()) {
        &[Parity::Even, Parity::Odd]
    } else {
        &[Parity::Even]
    };
    let permittivities: Vec<f64> = outline.dielectrics.iter().map(|dielectric| dielectric.permittivity).collect();
    let open = outline.planes == Planes::None;
    let (layout, filled) = match outline.planes {
        Planes::None => fill::fill::<_, P>(&Flat::<false>, &mesh, open, &permittivities, parities),
        Planes::One => fill::fill::<_, P>(&Flat::<true>, &mesh, open, &permittivities, parities),
        Planes::Two(height) => fill::fill::<_, P>(&Between::new(height), &mesh, open, &permittivities, parities),
    };
    let parts = filled
        .into_iter()
        .map(|system| {
            let kept = match system.parity {
                Parity::Odd => signals.iter().copied().filter(|signal| signal.partner.is_some()).collect(),
                Parity::Even | Parity::Whole => signals.clone(),
            };
            part(&mesh, layout, system, kept, &permittivities)
        })
        .collect::<Result<_, _>>()?;
    Ok(Answer { mesh, layout, parts })
}

/// What collects a conductor's charge behind each dielectric from the unknowns.
fn collectors(mesh: &Mesh, layout: Layout, system: &Filled, conductor: usize, dielectrics: usize) -> Vec<Vec<f64>> {
    let mut collectors = vec![Vec::new(); dielectrics];
    let mut collect = |dielectric: usize, add: &dyn Fn(&mut [f64])| {
        if let Some(row) = collectors.get_mut(dielectric) {
            if row.is_empty() {
                row.resize(layout.size(), 0.0);
            }
            add(row);
        }
    };
    for (panel, placed) in mesh.metal.iter().enumerate() {
        let own = layout.metal(panel, 0);
        let charge = |row: &mut [f64], part: f64| {
            if let Some(entry) = row.get_mut(own) {
                *entry += part;
            }
        };
        match placed.kind {
            Kind::Side { conductor: of, outside, .. } if of == conductor => {
                collect(outside, &|row| charge(row, 2.0));
            }
            Kind::Strip { conductor: of, left, right } if of == conductor => {
                collect(left, &|row| charge(row, 1.0));
                collect(right, &|row| charge(row, 1.0));
                // What passes through the strip to its right leaves on that side and enters on the other.
                let flux = system.strips.iter().find(|strip| strip.panel == panel);
                for (dielectric, sign) in [(left, -1.0), (right, 1.0)] {
                    collect(dielectric, &|row| {
                        for (entry, flux) in row.iter_mut().zip(flux.iter().flat_map(|strip| &strip.row)) {
                            *entry += sign / (2.0 * PI) * flux;
                        }
                    });
                }
            }
            _ => {}
        }
    }
    collectors
}

/// The sum of a conductor's collectors, each times a number.
fn weighted(collectors: &[Vec<f64>], weights: impl Iterator<Item = f64>, size: usize) -> Vec<f64> {
    let mut sum = vec![0.0; size];
    for (row, weight) in collectors.iter().zip(weights) {
        for (sum, value) in sum.iter_mut().zip(row) {
            *sum += weight * value;
        }
    }
    sum
}

fn part(
    mesh: &Mesh,
    layout: Layout,
    system: Filled,
    signals: Vec<Reduced>,
    permittivities: &[f64],
) -> Result<Part, Undetermined> {
    let size = layout.size();
    let collectors: Vec<Vec<Vec<f64>>> = signals
        .iter()
        .map(|signal| collectors(mesh, layout, &system, signal.conductor, permittivities.len()))
        .collect();
    let parity = system.parity;
    let factors = Factors::new(system.matrix, layout.leading()).map_err(|_| Undetermined::Singular)?;
    let drives: Vec<Vec<f64>> = signals.iter().map(|signal| drive(mesh, layout, signal.conductor)).collect();
    let charges: Vec<Vec<f64>> = drives.iter().map(|drive| factors.solve(drive, layout.leading())).collect();
    let full: Vec<Vec<f64>> = if mesh.film.is_empty() {
        charges.clone()
    } else {
        drives.iter().map(|drive| factors.solve(drive, size)).collect()
    };
    let weights: Vec<Vec<f64>> =
        collectors.iter().map(|rows| weighted(rows, permittivities.iter().copied(), size)).collect();
    let bare: Vec<Vec<f64>> =
        collectors.iter().map(|rows| weighted(rows, permittivities.iter().map(|_| 1.0), size)).collect();
    let product = |rows: &[Vec<f64>], solutions: &[Vec<f64>]| {
        Square::from_fn(signals.len(), |row, column| match (rows.get(row), solutions.get(column)) {
            (Some(row), Some(solution)) => dot(row, solution),
            _ => 0.0,
        })
    };
    let capacitance = product(&weights, &full);
    let air = product(&bare, &charges);
    if !capacitance.is_finite() || !air.is_finite() {
        return Err(Undetermined::Singular);
    }
    let filling = filling(mesh, layout, &factors, &collectors, (&weights, &full), permittivities);
    Ok(Part { parity, signals, capacitance, air, filling, charges })
}

/// The right side with one conductor at 1 V.
fn drive(mesh: &Mesh, layout: Layout, conductor: usize) -> Vec<f64> {
    let mut right = vec![0.0; layout.size()];
    for (placed, rows) in mesh.metal.iter().zip(right.chunks_mut(layout.degree)) {
        let (Kind::Side { conductor: of, .. } | Kind::Strip { conductor: of, .. }) = placed.kind else { continue };
        if of == conductor {
            rows.fill(-2.0 * PI);
        }
    }
    right
}

/// The capacitance's derivative by each dielectric's permittivity: what its charge counts there, plus how the charges
/// answer as the contrasts of its faces change, found with the transposed system so that one solution per signal is
/// enough for all dielectrics.
fn filling(
    mesh: &Mesh,
    layout: Layout,
    factors: &Factors,
    collectors: &[Vec<Vec<f64>>],
    (weights, full): (&[Vec<f64>], &[Vec<f64>]),
    permittivities: &[f64],
) -> Vec<Square> {
    let count = full.len();
    let adjoints: Vec<Vec<f64>> = if mesh.film.is_empty() {
        Vec::new()
    } else {
        weights.iter().map(|weights| factors.solve_transposed(weights)).collect()
    };
    let mut filling: Vec<Square> = (0..permittivities.len())
        .map(|dielectric| {
            Square::from_fn(count, |row, column| {
                let collector = collectors.get(row).and_then(|rows| rows.get(dielectric));
                match (collector, full.get(column)) {
                    (Some(collector), Some(solution)) => dot(collector, solution),
                    _ => 0.0,
                }
            })
        })
        .collect();
    for (panel, placed) in mesh.film.iter().enumerate() {
        let Kind::Film { left, right } = placed.kind else { continue };
        let of = |number: usize| permittivities.get(number).copied().unwrap_or(1.0);
        let (low, high) = (of(left), of(right));
        let slope = 2.0 / ((low + high) * (low + high));
        for (part, cut) in gauss::cuts(layout.degree).windows(2).enumerate() {
            let [start, end] = cut else { continue };
            let row = layout.leading() + panel * layout.degree + part;
            for column in 0..count {
                // Half the charge of this part; minus the contrast times the field across it.
                let charge: f64 = (0..layout.degree)
                    .map(|k| {
                        let q = full.get(column).and_then(|x| x.get(layout.film(panel, k))).copied().unwrap_or(0.0);
                        q * PI * (gauss::legendre_area(k, *end) - gauss::legendre_area(k, *start))
                    })
                    .sum();
                let field = -charge / contrast(low, high);
                for line in 0..count {
                    let adjoint = adjoints.get(line).and_then(|a| a.get(row)).copied().unwrap_or(0.0);
                    let push = -adjoint * field * slope;
                    for (dielectric, change) in [(right, push * low), (left, -push * high)] {
                        if let Some(matrix) = filling.get_mut(dielectric) {
                            matrix.set(line, column, matrix.get(line, column) + change);
                        }
                    }
                }
            }
        }
    }
    filling
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::complex::Complex;
    use crate::field::corner::{Corner, Sharp};
    use crate::field::outline::{Face, Piece};
    use crate::field::trapezoid::Trapezoid;

    /// A round wire over a plane, h/a = 2: C/ε0 = 2π/acosh 2, exact. Drawn as an inscribed polygon, whose area and
    /// perimeter are a little small. No section of a board has such an outline, so it is not made from one.
    #[test]
    fn round_wire_over_a_plane() {
        let sides = 64;
        let step = 2.0 * PI / f64::from(sides);
        let at = |number: i32| Complex::new(0.0, 2.0) + Complex::new(0.0, step * f64::from(number)).exp();
        let inner = PI - step;
        let piece = |number: i32| Piece {
            start: at(number),
            end: at(number + 1),
            kind: Kind::Side { conductor: 0, outside: 0, face: Face::Rest },
            start_angle: Some(inner),
            end_angle: Some(inner),
        };
        let corner =
            |number: i32| Corner { at: at(number), length: 2.0 * (0.5 * step).sin(), sharp: Sharp::Metal(1.0) };
        let outline = Outline {
            scale: 1.0,
            planes: Planes::One,
            conductors: vec![Trapezoid {
                ground: false,
                foot: 1.0,
                top: 3.0,
                foot_span: (-1.0, 1.0),
                top_span: (-1.0, 1.0),
            }],
            mirror: None,
            dielectrics: vec![crate::field::Dielectric::AIR],
            pieces: (0..sides).map(piece).collect(),
            corners: (0..sides).map(corner).collect(),
        };
        let level = Level { degree: 2, grading: Grading { corner: 0.5, soft: 1.0, slope: 1.5 } };
        let answer = solve(&outline, level).unwrap();
        let found = answer.parts[0].capacitance.get(0, 0);
        let exact = 2.0 * PI / 2f64.acosh();
        assert!((4.770_984 - exact).abs() < 1e-6);
        assert!((found / exact - 1.0).abs() < 0.001, "{found} against {exact}");
    }
}
