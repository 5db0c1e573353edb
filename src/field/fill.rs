//! Fills the system's matrix: potential rows at Gauss points of the conductors, flux rows along faces between dielectrics.
//!
//! Unknowns are `q_k`, the Legendre coefficient of total charge times the panel's half-length; a panel's charge is `2 q_0`.
//! They stand in order: for each k the conductors' panels, then the unknown constant of an open section, then for
//! each k the faces' panels. All rows are multiplied by -2π (potential) or 2π (flux), so that entries are of order one.

use super::complex::Complex;
use super::gauss;
use super::kernel::{Kernel, Node, Row, Sources, flux_row};
use super::lanes::WIDTH;
use super::matrix::Matrix;
use super::mesh::{Mesh, Placed};
use super::outline::Kind;
use super::steep::exponent;
use std::f64::consts::PI;

/// Which symmetry a half section stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parity {
    /// No symmetry: the section is whole.
    Whole,
    /// Both halves carry the same charge.
    Even,
    /// The left half carries the opposite charge.
    Odd,
}

impl Parity {
    /// The sign of the mirror image's charge; `None` for a whole section.
    fn sign(self) -> Option<f64> {
        match self {
            Self::Whole => None,
            Self::Even => Some(1.0),
            Self::Odd => Some(-1.0),
        }
    }
}

/// Where the unknowns stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Layout {
    /// Unknowns per panel.
    pub degree: usize,
    /// Panels on conductors.
    pub metal: usize,
    /// Panels on faces.
    pub film: usize,
    /// Whether the section is open, so that a constant is unknown and all charge adds to nothing.
    pub open: bool,
}

impl Layout {
    /// Unknowns of the conductors and the constant: those of the section in air.
    pub fn leading(&self) -> usize {
        self.degree * self.metal + usize::from(self.open)
    }

    /// All unknowns.
    pub fn size(&self) -> usize {
        self.leading() + self.degree * self.film
    }

    /// Where coefficient `k` of a conductor's panel stands.
    pub fn metal(&self, panel: usize, k: usize) -> usize {
        k * self.metal + panel
    }

    /// Where coefficient `k` of a face's panel stands.
    pub fn film(&self, panel: usize, k: usize) -> usize {
        self.leading() + k * self.film + panel
    }
}

/// The flux through a strip to its right, times 2π, for each unknown.
#[derive(Debug, Clone)]
pub struct StripFlux {
    /// Place of the panel among the conductors' panels.
    pub panel: usize,
    /// One number for each unknown.
    pub row: Vec<f64>,
}

/// A filled system.
#[derive(Debug)]
pub struct Filled {
    /// Which symmetry.
    pub parity: Parity,
    /// The matrix.
    pub matrix: Matrix,
    /// Fluxes through strips that lie between different dielectrics.
    pub strips: Vec<StripFlux>,
}

/// Two rows of the same target: the section's own sources, and their mirror images.
struct Rows<const P: usize> {
    own: Row<P>,
    mirrored: Row<P>,
}

/// The contrast λ of a face: half its charge plus λ times the field across it is nought.
pub fn contrast(left: f64, right: f64) -> f64 {
    let value = (right - left) / (right + left);
    // The charge of a face without contrast is nought, but how it would answer a contrast is wanted too: see `energy`.
    if value.abs() < 1e-9 { 1e-9 } else { value }
}

/// Writes a row's numbers where the layout wants them.
fn scatter<const P: usize>(rows: &Rows<P>, sign: Option<f64>, factor: f64, count: usize, out: &mut [f64]) {
    if count == 0 {
        return;
    }
    for (k, out) in out.chunks_exact_mut(count).enumerate() {
        for ((out, own), mirrored) in out.chunks_mut(WIDTH).zip(&rows.own).zip(&rows.mirrored) {
            let (Some(own), Some(mirrored)) = (own.get(k), mirrored.get(k)) else { continue };
            for ((out, own), mirrored) in out.iter_mut().zip(own.0).zip(mirrored.0) {
                *out = factor * sign.map_or(own, |sign| own + sign * mirrored);
            }
        }
    }
}

/// Everything that stays the same while rows are filled.
struct Filler<'a, K: Kernel, const P: usize> {
    kernel: &'a K,
    layout: Layout,
    metal: Sources<K, P>,
    film: Sources<K, P>,
}

/// The nodes of a target and of its mirror image, for both groups of sources.
struct Ends<const P: usize> {
    at: Complex,
    metal: Vec<Node<P>>,
    film: Vec<Node<P>>,
    mirrored_metal: Vec<Node<P>>,
    mirrored_film: Vec<Node<P>>,
}

impl<const P: usize> Ends<P> {
    fn new() -> Self {
        let nowhere = Complex::new(f64::NAN, f64::NAN);
        Self { at: nowhere, metal: Vec::new(), film: Vec::new(), mirrored_metal: Vec::new(), mirrored_film: Vec::new() }
    }
}

/// A point's mirror image about x = 0.
fn mirror(z: Complex) -> Complex {
    Complex::new(-z.re, z.im)
}

impl<K: Kernel, const P: usize> Filler<'_, K, P> {
    fn ends(&self, z: Complex, mirrored: bool, ends: &mut Ends<P>) {
        ends.at = z;
        self.metal.nodes(self.kernel, z, &mut ends.metal);
        self.film.nodes(self.kernel, z, &mut ends.film);
        if mirrored {
            self.metal.nodes(self.kernel, mirror(z), &mut ends.mirrored_metal);
            self.film.nodes(self.kernel, mirror(z), &mut ends.mirrored_film);
        }
    }

    /// The flux rows between two ends. The image's way runs the other way round, hence its sign.
    fn fluxes(&self, from: &Ends<P>, to: &Ends<P>, metal: &mut Rows<P>, film: &mut Rows<P>) {
        flux_row(&from.metal, &to.metal, &mut metal.own);
        flux_row(&from.film, &to.film, &mut film.own);
        flux_row(&from.mirrored_metal, &to.mirrored_metal, &mut metal.mirrored);
        flux_row(&from.mirrored_film, &to.mirrored_film, &mut film.mirrored);
        for rows in [metal, film] {
            for entry in &mut rows.mirrored {
                for lanes in entry {
                    *lanes = lanes.negated();
                }
            }
        }
    }

    fn rows(&self) -> (Rows<P>, Rows<P>) {
        (
            Rows { own: self.metal.row(), mirrored: self.metal.row() },
            Rows { own: self.film.row(), mirrored: self.film.row() },
        )
    }

    /// Splits a matrix row by groups of unknowns and fills it; the constant's entry, if there is one, is `constant`.
    fn write(
        &self,
        (metal, film): (&Rows<P>, &Rows<P>),
        sign: Option<f64>,
        factor: f64,
        constant: f64,
        row: &mut [f64],
    ) {
        let (leading, rest) = row.split_at_mut(self.layout.leading().min(row.len()));
        let (charges, last) = leading.split_at_mut((P * self.layout.metal).min(leading.len()));
        scatter(metal, sign, factor, self.layout.metal, charges);
        last.fill(constant);
        scatter(film, sign, factor, self.layout.film, rest);
    }

    fn potential_rows(&self, mesh: &Mesh, filled: &mut [Filled]) {
        let (mut metal, mut film) = self.rows();
        for (number, placed) in mesh.metal.iter().enumerate() {
            for (point, t) in collocation::<P>(placed).into_iter().enumerate() {
                let z = placed.panel.at(t);
                self.metal.potential_row(self.kernel, z, &mut metal.own);
                self.film.potential_row(self.kernel, z, &mut film.own);
                if filled.iter().any(|system| system.parity != Parity::Whole) {
                    self.metal.potential_row(self.kernel, mirror(z), &mut metal.mirrored);
                    self.film.potential_row(self.kernel, mirror(z), &mut film.mirrored);
                }
                for system in filled.iter_mut() {
                    let row = system.matrix.row_mut(number * P + point);
                    self.write((&metal, &film), system.parity.sign(), 1.0, 1.0, row);
                }
            }
        }
    }

    /// The row that says that an open section's charges add to nothing; in an odd half they do by themselves.
    fn closing_row(&self, filled: &mut [Filled]) {
        if !self.layout.open {
            return;
        }
        let (metal, film) = (self.layout.metal, self.layout.film);
        for system in filled {
            let odd = system.parity == Parity::Odd;
            let row = system.matrix.row_mut(P * metal);
            for (place, value) in row.iter_mut().enumerate() {
                let is_charge = place < metal || (place > P * metal && place < P * metal + 1 + film);
                let is_constant = place == P * metal;
                *value = f64::from(u8::from(if odd { is_constant } else { is_charge }));
            }
        }
    }

    fn flux_rows(&self, mesh: &Mesh, contrasts: &[f64], filled: &mut [Filled]) {
        let mirrored = filled.iter().any(|system| system.parity != Parity::Whole);
        let (mut metal, mut film) = self.rows();
        let (mut from, mut to) = (Ends::new(), Ends::new());
        for (number, (placed, &contrast)) in mesh.film.iter().zip(contrasts).enumerate() {
            if from.at != placed.panel.start {
                self.ends(placed.panel.start, mirrored, &mut from);
            }
            for (part, cut) in gauss::cuts(P).windows(2).enumerate() {
                let [start, end] = cut else { continue };
                let z = if part + 1 == P { placed.panel.end } else { placed.panel.at(*end) };
                self.ends(z, mirrored, &mut to);
                self.fluxes(&from, &to, &mut metal, &mut film);
                self.film.own_flux(self.kernel, number, (from.at, to.at), (&from.film, &to.film), &mut film.own);
                for system in filled.iter_mut() {
                    let row = system.matrix.row_mut(self.layout.leading() + number * P + part);
                    self.write((&metal, &film), system.parity.sign(), contrast, 0.0, row);
                    for k in 0..P {
                        let area = gauss::legendre_area(k, *end) - gauss::legendre_area(k, *start);
                        if let Some(entry) = row.get_mut(self.layout.film(number, k)) {
                            *entry += PI * area;
                        }
                    }
                }
                std::mem::swap(&mut from, &mut to);
            }
        }
    }

    fn strip_rows(&self, mesh: &Mesh, filled: &mut [Filled]) {
        let mirrored = filled.iter().any(|system| system.parity != Parity::Whole);
        let (mut metal, mut film) = self.rows();
        let (mut from, mut to) = (Ends::new(), Ends::new());
        for (panel, placed) in mesh.metal.iter().enumerate() {
            if !is_split_strip(placed) {
                continue;
            }
            self.ends(placed.panel.start, mirrored, &mut from);
            self.ends(placed.panel.end, mirrored, &mut to);
            self.fluxes(&from, &to, &mut metal, &mut film);
            self.metal.own_flux(self.kernel, panel, (from.at, to.at), (&from.metal, &to.metal), &mut metal.own);
            for system in filled.iter_mut() {
                let mut row = vec![0.0; self.layout.size()];
                self.write((&metal, &film), system.parity.sign(), 1.0, 0.0, &mut row);
                system.strips.push(StripFlux { panel, row });
            }
        }
    }
}

/// Where on its panel a conductor's potential is held: Gauss points for the weight that its charge has. The error of a
/// capacitance is the potential's error weighted by the charge, so these points make it vanish to high order; on the
/// panel that touches a corner the weight is the corner's power of the distance.
fn collocation<const P: usize>(placed: &Placed) -> [f64; P] {
    let plain = || {
        let mut rule = gauss::rule(P).iter();
        std::array::from_fn(|_| rule.next().map_or(0.0, |point| point.0))
    };
    let Some(corner) = placed.corner.filter(|corner| corner.gap <= 0.0) else { return plain() };
    let mut nodes = gauss::jacobi(P, exponent(corner.angle) - 1.0).into_iter();
    std::array::from_fn(|_| {
        let u = nodes.next().unwrap_or(0.5);
        if corner.at_start { 2.0 * u - 1.0 } else { 1.0 - 2.0 * u }
    })
}

fn is_split_strip(placed: &Placed) -> bool {
    matches!(placed.kind, Kind::Strip { left, right, .. } if left != right)
}

/// Fills the systems of a mesh for the wanted symmetries. `permittivities` are the dielectrics', by number.
pub fn fill<K: Kernel, const P: usize>(
    kernel: &K,
    mesh: &Mesh,
    open: bool,
    permittivities: &[f64],
    parities: &[Parity],
) -> (Layout, Vec<Filled>) {
    let layout = Layout { degree: P, metal: mesh.metal.len(), film: mesh.film.len(), open };
    let filler = Filler::<K, P> {
        kernel,
        layout,
        metal: Sources::new(kernel, mesh.metal.iter().map(|placed| placed.panel)),
        film: Sources::new(kernel, mesh.film.iter().map(|placed| placed.panel)),
    };
    let size = layout.size();
    let mut filled: Vec<Filled> = parities
        .iter()
        .map(|&parity| Filled { parity, matrix: Matrix::zero(size, size), strips: Vec::new() })
        .collect();
    let permittivity = |number: usize| permittivities.get(number).copied().unwrap_or(1.0);
    let contrasts: Vec<f64> = mesh
        .film
        .iter()
        .map(|placed| match placed.kind {
            Kind::Film { left, right } => contrast(permittivity(left), permittivity(right)),
            _ => 0.0,
        })
        .collect();
    filler.potential_rows(mesh, &mut filled);
    filler.closing_row(&mut filled);
    filler.flux_rows(mesh, &contrasts, &mut filled);
    filler.strip_rows(mesh, &mut filled);
    (layout, filled)
}
