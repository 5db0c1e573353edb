//! A pair as a chain: stretches where both legs run side by side, and links of one leg alone. It keeps what a chain of
//! differential waves can't: legs of unequal length, and what they turn from one mode into the other.

use super::chain::{Element, Medium, MediumId, Scattering, Transfer, Travels, known, line_delay, reference_at};
use super::complex::Complex;
use super::doubt::Undetermined;
use super::quantity::{Frequency, Impedance, Time};
use super::reflection::{Edge, Waveform, record};
use crate::units::Length;

/// A link of a pair's chain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CoupledElement {
    /// Both legs side by side. The legs are taken as alike.
    Coupled {
        /// Medium of the differential wave.
        differential: MediumId,
        /// Medium of the common wave.
        common: MediumId,
        /// How long.
        length: Length,
    },
    /// A link of the first leg.
    First(Element),
    /// A link of the second leg.
    Second(Element),
}

/// Stretches and lumps of both legs in order. Links of one leg may stand before or after those of the other, as long as
/// no coupled stretch lies between.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CoupledChain {
    media: Vec<Medium>,
    elements: Vec<CoupledElement>,
}

/// What a pair reflects and lets through, port by port against equal reference impedances: ports 1 and 2 are the near ends
/// of the first and second leg, 3 and 4 their far ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FourPort(
    /// Row by row: the wave that leaves the row's port for the one that enters the column's.
    pub [[Complex; 4]; 4],
);

impl FourPort {
    /// From differential to differential waves, against twice the reference impedance.
    #[must_use]
    pub fn differential(&self) -> Scattering {
        self.mixed(-1.0, -1.0)
    }

    /// From common to common waves, against half the reference impedance.
    #[must_use]
    pub fn common(&self) -> Scattering {
        self.mixed(1.0, 1.0)
    }

    /// From differential waves that enter to common ones that leave: what legs that differ make of the signal.
    #[must_use]
    pub fn conversion(&self) -> Scattering {
        self.mixed(1.0, -1.0)
    }

    /// Waves of the legs' sum (1) or difference (-1) that leave, for those that enter.
    fn mixed(&self, leaving: f64, entering: f64) -> Scattering {
        let [near, far] = [[0, 1], [2, 3]];
        let wave = |[out_one, out_two]: [usize; 2], [in_one, in_two]: [usize; 2]| {
            let at = |row: usize, column: usize| {
                self.0.get(row).and_then(|row| row.get(column)).copied().unwrap_or(Complex::ZERO)
            };
            let first = at(out_one, in_one) + at(out_one, in_two) * entering;
            let second = at(out_two, in_one) + at(out_two, in_two) * entering;
            (first + second * leaving) * 0.5
        };
        Scattering { s11: wave(near, near), s12: wave(near, far), s21: wave(far, near), s22: wave(far, far) }
    }
}

impl CoupledChain {
    /// A chain without links.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Makes a medium known to the chain.
    pub fn medium(&mut self, medium: Medium) -> MediumId {
        known(&mut self.media, medium)
    }

    /// Adds a link at the far end.
    pub fn push(&mut self, element: CoupledElement) {
        self.elements.push(element);
    }

    /// The links.
    #[must_use]
    pub fn elements(&self) -> &[CoupledElement] {
        &self.elements
    }

    /// The delay of the differential wave, and of the slower leg where they run alone; at high frequency and without
    /// lumps.
    ///
    /// # Errors
    /// As the sections' waves.
    pub fn delay(&self) -> Result<Time, Undetermined> {
        let (mut first, mut second) = (0.0, 0.0);
        for element in &self.elements {
            match *element {
                CoupledElement::Coupled { differential, length, .. } => {
                    let delay = line_delay(&self.media, differential, length)?;
                    (first, second) = (first + delay, second + delay);
                }
                CoupledElement::First(Element::Line { medium, length }) => {
                    first += line_delay(&self.media, medium, length)?;
                }
                CoupledElement::Second(Element::Line { medium, length }) => {
                    second += line_delay(&self.media, medium, length)?;
                }
                CoupledElement::First(_) | CoupledElement::Second(_) => {}
            }
        }
        Ok(Time::seconds(f64::max(first, second)))
    }

    /// The scattering parameters at a frequency, every port against `reference`.
    ///
    /// # Errors
    /// As the sections' constants; `Unphysical` if the numbers are not finite.
    pub fn scattering(&self, frequency: Frequency, reference: Impedance) -> Result<FourPort, Undetermined> {
        let z = reference_at(reference, frequency)?;
        let travels = Travels::at(&self.media, frequency)?;
        let mut whole = Legs::THROUGH;
        for element in &self.elements {
            whole = whole.then(&Legs::of(element, &travels)?);
        }
        let result = whole.scattering(z);
        let finite = result.0.iter().flatten().all(|value| value.is_finite());
        if finite { Ok(result) } else { Err(Undetermined::Unphysical) }
    }

    /// The differential wave that comes back for a differential unit step. Both ends are terminated leg by leg with half
    /// the source's impedance, so that neither mode comes back from there.
    ///
    /// # Errors
    /// As `Chain::reflected_step`.
    pub fn reflected_step(&self, source: Impedance, edge: Edge) -> Result<Waveform, Undetermined> {
        record(self.delay()?, source, edge, |frequency| {
            Ok(self.scattering(frequency, source * 0.5)?.differential().s11)
        })
    }
}

/// Two by two complex numbers.
type Block = [[Complex; 2]; 2];

fn zip(one: &Block, two: &Block, with: impl Fn(Complex, Complex) -> Complex) -> Block {
    let [[a, b], [c, d]] = *one;
    let [[e, f], [g, h]] = *two;
    [[with(a, e), with(b, f)], [with(c, g), with(d, h)]]
}

fn product(one: &Block, two: &Block) -> Block {
    let [[a, b], [c, d]] = *one;
    let [[e, f], [g, h]] = *two;
    [[a * e + b * g, a * f + b * h], [c * e + d * g, c * f + d * h]]
}

fn inverse(block: &Block) -> Block {
    let [[a, b], [c, d]] = *block;
    let scale = (a * d - b * c).inv();
    [[d * scale, -b * scale], [-c * scale, a * scale]]
}

/// The chain matrix of two legs: voltage and current at each one's input from those at both outputs.
struct Legs {
    /// First leg from the first.
    one_one: Transfer,
    one_two: Transfer,
    two_one: Transfer,
    two_two: Transfer,
}

const NOTHING: Transfer = Transfer { a: Complex::ZERO, b: Complex::ZERO, c: Complex::ZERO, d: Complex::ZERO };

impl Legs {
    const THROUGH: Self =
        Self { one_one: Transfer::THROUGH, one_two: NOTHING, two_one: NOTHING, two_two: Transfer::THROUGH };

    fn of(element: &CoupledElement, travels: &Travels) -> Result<Self, Undetermined> {
        Ok(match element {
            CoupledElement::First(element) => Self { one_one: travels.link(element)?, ..Self::THROUGH },
            CoupledElement::Second(element) => Self { two_two: travels.link(element)?, ..Self::THROUGH },
            CoupledElement::Coupled { differential, common, length } => {
                // As a line of its own, a leg has half the differential impedance for opposite voltages and twice the
                // common one for equal voltages.
                let odd = travels.line(*differential, *length, 0.5)?;
                let even = travels.line(*common, *length, 2.0)?;
                let (same, cross) = (mean(even, odd, 1.0), mean(even, odd, -1.0));
                Self { one_one: same, one_two: cross, two_one: cross, two_two: same }
            }
        })
    }

    fn then(&self, next: &Self) -> Self {
        let through = |a: Transfer, b: Transfer, c: Transfer, d: Transfer| {
            let (one, other) = (a.then(b), c.then(d));
            Transfer { a: one.a + other.a, b: one.b + other.b, c: one.c + other.c, d: one.d + other.d }
        };
        Self {
            one_one: through(self.one_one, next.one_one, self.one_two, next.two_one),
            one_two: through(self.one_one, next.one_two, self.one_two, next.two_two),
            two_one: through(self.two_one, next.one_one, self.two_two, next.two_one),
            two_two: through(self.two_one, next.one_two, self.two_two, next.two_two),
        }
    }

    /// With the chain matrix in blocks, near voltages V1 = A V2 + B I2 and currents I1 = C V2 + D I2, and with waves a in
    /// and b out of each port: V = a + b, zI = ±(a - b). Solved for b.
    fn scattering(&self, z: f64) -> FourPort {
        let block = |pick: fn(&Transfer) -> Complex, scale: f64| -> Block {
            [
                [pick(&self.one_one) * scale, pick(&self.one_two) * scale],
                [pick(&self.two_one) * scale, pick(&self.two_two) * scale],
            ]
        };
        let (a, b) = (block(|t| t.a, 1.0), block(|t| t.b, 1.0 / z));
        let (c, d) = (block(|t| t.c, z), block(|t| t.d, 1.0));
        let (sum, difference) = (
            |one: &Block, two: &Block| zip(one, two, |x, y| x + y),
            |one: &Block, two: &Block| zip(one, two, |x, y| x - y),
        );
        let (volt_out, volt_back) = (sum(&a, &b), difference(&a, &b));
        let (current_out, current_back) = (sum(&c, &d), difference(&c, &d));
        // 2 a1 = into b2 + back a2; 2 b1 = turned b2 + straight a2.
        let (into, back) = (sum(&volt_out, &current_out), sum(&volt_back, &current_back));
        let (turned, straight) = (difference(&volt_out, &current_out), difference(&volt_back, &current_back));
        let across = inverse(&into);
        let s11 = product(&turned, &across);
        let s12 = zip(&straight, &product(&s11, &back), |x, y| (x - y) * 0.5);
        let s21 = across.map(|row| row.map(|value| value * 2.0));
        let s22 = product(&across, &back).map(|row| row.map(|value| -value));
        let rows = |left: Block, right: Block| {
            let ([[a, b], [c, d]], [[e, f], [g, h]]) = (left, right);
            [[a, b, e, f], [c, d, g, h]]
        };
        let ([one, two], [three, four]) = (rows(s11, s12), rows(s21, s22));
        FourPort([one, two, three, four])
    }
}

/// Half of the one and of the other, or of its negative.
fn mean(one: Transfer, other: Transfer, sign: f64) -> Transfer {
    let half = |one: Complex, other: Complex| (one + other * sign) * 0.5;
    Transfer { a: half(one.a, other.a), b: half(one.b, other.b), c: half(one.c, other.c), d: half(one.d, other.d) }
}
