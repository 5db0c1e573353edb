//! What holds for any section.

use crate::lines::{coated, layer, lossy, mm, near, paired, solved, try_solve};
use proptest::prelude::*;
use throughline::field::{Conductor, Mode, Section, Solution};
use throughline::units::Length;

/// A section in millimetres, described by what can be varied one by one.
#[derive(Debug, Clone)]
struct Shape {
    width: f64,
    gap: f64,
    thickness: f64,
    height: f64,
    above: f64,
    lower: f64,
    upper: f64,
    buried: bool,
    mask: bool,
}

impl Shape {
    fn single(&self) -> Section {
        let trace = Conductor::signal(mm(0.0), mm(self.height), mm(self.width), mm(self.thickness))
            .etched(mm(self.width - 0.4 * self.thickness));
        let mut section = Section {
            layers: vec![lossy(self.height, self.lower, 0.02)],
            plane_below: true,
            conductors: vec![trace],
            ..Section::default()
        };
        if self.buried {
            section.layers.push(layer(self.thickness + self.above, self.upper));
            section.plane_above = true;
        } else if self.mask {
            section = coated(section, 3.5, 0.02, 0.012, 0.012);
        }
        section
    }

    fn pair(&self) -> Section {
        paired(self.single(), self.gap)
    }

    fn odd(&self) -> f64 {
        solved(&self.pair()).pair(0, 1).unwrap().odd.impedance.to_ohms()
    }
}

fn shapes() -> impl Strategy<Value = Shape> {
    (0.08..0.4, 0.08..0.4, 0.012..0.05, 0.06..0.3, 0.06..0.3, 2.8..4.8, 2.8..4.8, any::<bool>(), any::<bool>())
        .prop_map(|(width, gap, thickness, height, above, lower, upper, buried, mask)| Shape {
            width,
            gap,
            thickness,
            height,
            above,
            lower,
            upper,
            buried,
            mask,
        })
}

fn scaled(section: &Section, factor: f64) -> Section {
    let mut section = section.clone();
    let grow = |length: &mut Length| *length = *length * factor;
    for layer in &mut section.layers {
        grow(&mut layer.thickness);
    }
    for mask in section.mask_above.iter_mut() {
        grow(&mut mask.on_board);
        grow(&mut mask.over_copper);
        grow(&mut mask.beside_copper);
    }
    for conductor in &mut section.conductors {
        grow(&mut conductor.centre);
        grow(&mut conductor.foot);
        grow(&mut conductor.foot_width);
        grow(&mut conductor.top_width);
        grow(&mut conductor.thickness);
    }
    section
}

fn resistance(solution: &Solution) -> f64 {
    crate::lines::crowding(solution, Mode::Line(0))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, failure_persistence: None, ..ProptestConfig::default() })]

    /// Impedance has no scale; resistance goes with one over it.
    #[test]
    fn size_does_not_matter(shape in shapes(), factor in 0.2..20.0f64) {
        let (small, large) = (solved(&shape.pair()), solved(&scaled(&shape.pair(), factor)));
        let pair = |s: &Solution| s.pair(0, 1).unwrap();
        near(pair(&large).odd.impedance.to_ohms(), pair(&small).odd.impedance.to_ohms(), 1e-4);
        near(pair(&large).odd.permittivity, pair(&small).odd.permittivity, 1e-4);
        near(resistance(&large) * factor, resistance(&small), 1e-3);
    }

    /// What one line does to another, the other does to it; matrices are those of a passive thing.
    #[test]
    fn reciprocity(shape in shapes(), shift in 0.0..0.5f64) {
        let mut section = shape.pair();
        section.conductors[0].foot_width = section.conductors[0].foot_width * (1.0 + shift);
        let solution = solved(&section);
        let (c, l) = (solution.capacitance(), solution.inductance().unwrap());
        prop_assert_eq!(c.get(0, 1), c.get(1, 0));
        prop_assert!(c.get(0, 1) < 0.0 && l.get(0, 1) > 0.0);
        prop_assert!(c.get(0, 0) > -c.get(0, 1) && l.get(0, 0) > l.get(0, 1));
        prop_assert!(c.cholesky().is_some() && l.cholesky().is_some());
        for (permittivity, _) in solution.modes() {
            prop_assert!(permittivity > 1.0 && permittivity < 4.8);
        }
    }

    /// The mirror image of a section is the same section.
    #[test]
    fn left_and_right(shape in shapes(), shift in 0.1..0.5f64) {
        let mut section = shape.pair();
        section.conductors[0].foot_width = section.conductors[0].foot_width * (1.0 + shift);
        let mut mirrored = section.clone();
        for conductor in &mut mirrored.conductors {
            conductor.centre = -conductor.centre;
        }
        let (one, two) = (solved(&section), solved(&mirrored));
        let told = 100.0 * (one.error() + two.error());
        near(two.pair(0, 1).unwrap().odd.impedance.to_ohms(), one.pair(0, 1).unwrap().odd.impedance.to_ohms(), told);
        // The order of conductors is only their numbering.
        mirrored.conductors.reverse();
        let three = solved(&mirrored);
        near(three.line(1).unwrap().impedance.to_ohms(), two.line(0).unwrap().impedance.to_ohms(), 1e-6);
    }

    /// Wider traces, nearer planes, nearer mates and denser dielectrics all lower the odd impedance.
    #[test]
    fn monotony(shape in shapes()) {
        let here = shape.odd();
        let width = Shape { width: 1.1 * shape.width, ..shape.clone() }.odd();
        prop_assert!(width < here, "width");
        let gap = Shape { gap: 1.15 * shape.gap, ..shape.clone() }.odd();
        prop_assert!(gap > here, "gap");
        let height = Shape { height: 1.15 * shape.height, ..shape.clone() }.odd();
        prop_assert!(height > here, "height");
        let lower = Shape { lower: 1.1 * shape.lower, ..shape.clone() }.odd();
        prop_assert!(lower < here, "lower");
        let thickness = Shape { thickness: 1.3 * shape.thickness, ..shape.clone() }.odd();
        prop_assert!(thickness < here, "thickness");
    }

    /// A pair far apart is two single lines.
    #[test]
    fn far_apart(shape in shapes()) {
        let line = solved(&shape.single()).line(0).unwrap();
        let far = Shape { gap: 12.0 * (shape.height + shape.above + shape.width), ..shape.clone() };
        let pair = solved(&far.pair()).pair(0, 1).unwrap();
        near(pair.odd.impedance.to_ohms(), line.impedance.to_ohms(), 0.5);
        near(pair.even.unwrap().impedance.to_ohms(), line.impedance.to_ohms(), 0.5);
    }

    /// One dielectric everywhere: the effective permittivity is its own.
    #[test]
    fn one_dielectric(shape in shapes()) {
        let shape = Shape { upper: shape.lower, buried: true, ..shape };
        let mut section = shape.pair();
        section.layers = vec![layer(shape.height + shape.thickness + shape.above, shape.lower)];
        for (permittivity, _) in solved(&section).modes() {
            near(permittivity, shape.lower, 1e-6);
        }
    }

    /// Any numbers at all: an answer or a reason, never a panic, never what is not a number.
    #[test]
    fn anything_goes(
        numbers in prop::collection::vec(prop_oneof![
            8 => -0.5..1.0f64,
            1 => Just(0.0), 1 => Just(f64::NAN), 1 => Just(f64::INFINITY), 1 => -1e9..1e9f64, 1 => 1e-9..1e-6f64
        ], 24),
        planes in (any::<bool>(), any::<bool>(), any::<bool>()),
    ) {
        let n = |at: usize| mm(numbers[at]);
        let mut section = Section {
            layers: vec![layer(numbers[0], 1.0 + 5.0 * numbers[1]), layer(numbers[2], 1.0 + 5.0 * numbers[3])],
            plane_below: planes.0,
            plane_above: planes.1,
            ..Section::default()
        };
        for at in [4, 9, 14] {
            section.conductors.push(Conductor {
                net: if at == 14 { throughline::field::Net::Ground } else { throughline::field::Net::Signal },
                centre: n(at),
                foot: n(at + 1),
                foot_width: n(at + 2),
                top_width: n(at + 3),
                thickness: n(at + 4),
            });
        }
        if planes.2 {
            section = coated(section, 3.0, numbers[20], numbers[21], numbers[22]);
        }
        if let Ok(solution) = try_solve(&section) {
            prop_assert!(solution.capacitance().is_finite() && solution.error() <= 0.01);
            if let Ok(line) = solution.line(0) {
                prop_assert!(line.impedance.to_ohms() > 0.0 && line.permittivity >= 0.99);
            }
        }
    }
}
