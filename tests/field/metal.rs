//! Metal and dielectrics at a frequency.

use crate::lines::{centred, layer, lossy, mm, near, solved, solved_finely, trace};
use throughline::field::{
    Conductivity, Dielectric, Dispersion, Frequency, Metal, Mode, Roughness, Section, Solution, WidebandDebye,
    skin_depth, surface_resistance,
};

const COPPER: Conductivity = Conductivity::siemens_per_metre(5.8e7);

/// Mark F.
#[test]
fn skin() {
    for (ghz, micrometres, milliohms) in [(1.0, 2.089_81, 8.250_23), (8.0, 0.738_858, 23.335_16)] {
        let frequency = Frequency::ghz(ghz);
        near(skin_depth(COPPER, frequency).to_mm() * 1e3, micrometres, 1e-3);
        near(surface_resistance(COPPER, frequency) * 1e3, milliohms, 1e-3);
    }
}

/// Marks F of M: the published forms are from memory, their values exact.
#[test]
fn roughness() {
    let factor = |roughness: Roughness, ghz| roughness.factor(skin_depth(COPPER, Frequency::ghz(ghz)));
    near(factor(Roughness::Hammerstad(mm(1e-3)), 1.0), 1.197_49, 1e-3);
    near(factor(Roughness::Hammerstad(mm(1e-3)), 8.0), 1.763_30, 1e-3);
    near(factor(Roughness::Groiss(mm(1e-3)), 1.0), 1.342_05, 1e-3);
    near(factor(Roughness::Groiss(mm(1e-3)), 8.0), 1.816_07, 1e-3);
    near(factor(Roughness::Cannonball(mm(3e-3)), 1.0), 1.091_03, 1e-3);
    near(factor(Roughness::Cannonball(mm(3e-3)), 8.0), 1.538_83, 1e-3);
    near(factor(Roughness::Cannonball(mm(1.5e-3)), 8.0), 1.169_77, 1e-3);
    near(factor(Roughness::Cannonball(mm(6e-3)), 8.0), 2.414_88, 1e-3);
    for none in
        [Roughness::Smooth, Roughness::Cannonball(mm(0.0)), Roughness::Hammerstad(mm(0.0)), Roughness::Groiss(mm(0.0))]
    {
        assert_eq!(factor(none, 8.0), 1.0, "{none:?}");
    }
}

/// A rough surface's reactance is no less than its resistance, and both are the smooth ones' without roughness.
#[test]
fn rough_reactance() {
    let skin = skin_depth(COPPER, Frequency::ghz(8.0));
    for roughness in [Roughness::Cannonball(mm(3e-3)), Roughness::Hammerstad(mm(1e-3)), Roughness::Smooth] {
        let factor = roughness.complex_factor(skin);
        let (real, imaginary) = (factor.re - factor.im, factor.re + factor.im);
        near(real, roughness.factor(skin), 1e-9);
        assert!(imaginary >= 1.0 - 1e-12);
    }
}

/// Mark F.
#[test]
fn wideband_debye() {
    let model = WidebandDebye::fit(Dielectric::new(4.2, 0.02), Frequency::ghz(1.0));
    for (ghz, real, imaginary) in [(8.0, 4.088_73, 0.083_625), (0.1, 4.323_21, 0.084_048), (1.0, 4.2, 0.084)] {
        let here = model.at(Frequency::ghz(ghz));
        near(here.permittivity, real, 1e-3);
        near(here.permittivity * here.loss_tangent, imaginary, 2e-3);
    }
}

fn line_with(permittivity: f64, loss_tangent: f64) -> Solution {
    let section =
        Section { layers: vec![lossy(0.32, permittivity, loss_tangent)], ..centred(0.125, 0.0175, 0.32, 1.0) };
    solved_finely(&section)
}

/// Mark F: 2.31194 f √ε tan δ dB per inch.
#[test]
fn dielectric_loss() {
    let metal = Metal::copper(Roughness::Smooth);
    for (permittivity, tangent, db) in [(4.2, 0.02, 0.7581), (3.4, 0.004, 0.1364)] {
        let constants = line_with(permittivity, tangent)
            .constants(Mode::Line(0), Frequency::ghz(8.0), &metal, Dispersion::None)
            .unwrap();
        near(constants.dielectric_loss().to_db_per_inch(), db, 0.05);
    }
}

/// Mark F: from the exact R/Rs.
#[test]
fn conductor_loss() {
    let metal = Metal::copper(Roughness::Smooth);
    let constants =
        line_with(4.2, 0.02).constants(Mode::Line(0), Frequency::ghz(8.0), &metal, Dispersion::None).unwrap();
    near(constants.conductor_loss().to_db_per_inch(), 0.314, 0.5);
    // 139.96 ohm per metre is the surface's alone; the blend with direct current adds 0.1 % here.
    near(constants.resistance, 139.96, 0.5);
    // The whole, from the propagation constant: small losses add.
    near(constants.propagation().re, constants.loss().to_nepers_per_metre(), 0.3);
    near(constants.impedance().re, 49.2081, 1.0);
}

/// Mark P, a magnitude only (material and copper not stated): an FPGA board guide's table has about 0.5 dB per inch at 5 GHz
/// for a stripline of 7 mil.
#[test]
fn published_magnitude() {
    let width = 7.0 * 0.0254;
    let mut section = centred(width, 0.0175, 0.44, 1.0);
    section.layers = vec![lossy(0.44, 3.7, 0.009)];
    let constants = solved(&section)
        .constants(
            Mode::Line(0),
            Frequency::ghz(5.0),
            &Metal::copper(Roughness::Cannonball(mm(6e-3))),
            Dispersion::None,
        )
        .unwrap();
    let db = constants.loss().to_db_per_inch();
    assert!((0.35..0.75).contains(&db), "{db} dB per inch");
}

/// Loss of a mixed section is the sum of what each dielectric stores times its tangent: the derivative of the capacitance
/// by each permittivity, which a second and third solution give too.
#[test]
fn leakage_of_mixed_dielectrics() {
    let section = |low: f64, high: f64| Section {
        layers: vec![lossy(0.1, low, 0.02), lossy(0.13, high, 0.005)],
        plane_below: true,
        plane_above: true,
        conductors: vec![trace(-0.14, 0.1, 0.12, 0.018), trace(0.2, 0.1, 0.16, 0.018)],
        ..Section::default()
    };
    let solution = solved(&section(4.0, 3.6));
    let total = solution
        .filling()
        .iter()
        .fold(0.0, |sum, (dielectric, filling)| sum + dielectric.permittivity * filling.get(0, 0));
    near(total, solution.capacitance().get(0, 0), 0.05);
    let step = 0.1;
    let slope = |low: f64, high: f64| {
        (solved(&section(4.0 + low, 3.6 + high)).capacitance().get(0, 1)
            - solved(&section(4.0 - low, 3.6 - high)).capacitance().get(0, 1))
            / (2.0 * step)
    };
    let of = |permittivity: f64| {
        let (_, filling) = solution.filling().iter().find(|(d, _)| d.permittivity == permittivity).unwrap();
        filling.get(0, 1)
    };
    near(of(4.0), slope(step, 0.0), 0.5);
    near(of(3.6), slope(0.0, step), 0.5);
}

/// Two layers of equal permittivity and unequal loss are two dielectrics still.
#[test]
fn equal_permittivity_unequal_loss() {
    let section = Section {
        layers: vec![lossy(0.15, 4.0, 0.02), lossy(0.15, 4.0, 0.0)],
        plane_below: true,
        plane_above: true,
        conductors: vec![trace(0.0, 0.15, 0.1, 0.01)],
        ..Section::default()
    };
    let split = solved(&section);
    let whole = solved(&Section { layers: vec![layer(0.3, 4.0)], ..section.clone() });
    near(split.capacitance().get(0, 0), whole.capacitance().get(0, 0), 1e-4);
    let metal = Metal::copper(Roughness::Smooth);
    let constants = split.constants(Mode::Line(0), Frequency::ghz(8.0), &metal, Dispersion::None).unwrap();
    // The lower half of the space holds a little less than half of the energy: the trace stands in the upper one.
    let share = constants.conductance / (2.0 * std::f64::consts::PI * 8e9 * constants.capacitance * 0.02);
    assert!((0.42..0.5).contains(&share), "{share}");
}

/// Dispersion: the permittivity at 8 GHz is what a section with that permittivity has.
#[test]
fn dispersed_capacitance() {
    let section = |permittivity: f64, tangent: f64| Section {
        layers: vec![lossy(0.1, permittivity, tangent)],
        plane_below: true,
        conductors: vec![trace(0.0, 0.1, 0.18, 0.035)],
        ..Section::default()
    };
    let metal = Metal::copper(Roughness::Smooth);
    let at = Frequency::ghz(8.0);
    let constants = solved(&section(4.2, 0.02))
        .constants(Mode::Line(0), at, &metal, Dispersion::Debye(Frequency::ghz(1.0)))
        .unwrap();
    let direct = solved(&section(4.088_73, 0.02)).capacitance().get(0, 0);
    near(constants.capacitance, direct, 0.02);
}

/// Down to direct current: the resistance is that of the cross-section, and the inside's inductance stays small.
#[test]
fn direct_current_limit() {
    let metal = Metal::copper(Roughness::Cannonball(mm(3e-3)));
    let solution = line_with(4.2, 0.02);
    let constants = solution.constants(Mode::Line(0), Frequency::hertz(10.0), &metal, Dispersion::None).unwrap();
    near(constants.resistance, 1.0 / (5.8e7 * 0.125e-3 * 0.0175e-3), 1e-3);
    let inner = constants.inner_reactance / (2.0 * std::f64::consts::PI * 10.0);
    assert!(inner > 0.0 && inner < 0.2 * constants.inductance, "{inner} H/m inside");
}
