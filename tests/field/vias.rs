//! Vias and stubs.

use crate::lines::{mm, near};
use throughline::field::{
    Barrel, Capacitance, Chain, Element, Frequency, Impedance, LIGHT, Medium, Returns, Slowness,
    grounded_via_inductance, quarter_wave, rule_of_thumb_capacitance, rule_of_thumb_inductance, stub_notch,
};

fn slowness(permittivity: f64) -> Slowness {
    Slowness::seconds_per_metre(permittivity.sqrt() / LIGHT)
}

/// Mark F.
#[test]
fn bare_stubs() {
    for (length, permittivity, ghz) in [(1.5, 4.0, 24.9827), (1.0, 3.6, 39.5011), (0.8, 4.2, 45.7137)] {
        near(quarter_wave(mm(length), permittivity).to_ghz(), ghz, 1e-3);
        let notch =
            stub_notch(Impedance::ohms(50.0), slowness(permittivity), mm(length), Capacitance::pf(0.0)).unwrap();
        near(notch.to_ghz(), ghz, 1e-3);
    }
}

/// Mark F.
#[test]
fn loaded_stubs() {
    for (length, permittivity, ohms, pf, ghz) in
        [(1.5, 4.0, 50.0, 0.05, 20.1153), (1.5, 4.0, 50.0, 0.1, 17.1304), (1.0, 3.6, 45.0, 0.08, 26.0929)]
    {
        let notch = stub_notch(Impedance::ohms(ohms), slowness(permittivity), mm(length), Capacitance::pf(pf)).unwrap();
        near(notch.to_ghz(), ghz, 1e-3);
    }
}

fn with_stub(end: f64) -> Chain {
    let mut chain = Chain::new();
    let medium = chain.medium(Medium::Ideal { impedance: Impedance::ohms(50.0), slowness: slowness(4.0) });
    chain.push(Element::Stub { medium, length: mm(1.5), end: Capacitance::pf(end) });
    chain
}

/// Mark F: -0.9691 dB at half the notch, -0.1824 dB at a quarter.
#[test]
fn loss_below_the_notch() {
    let chain = with_stub(0.0);
    let at = |part: f64| {
        let frequency = Frequency::ghz(24.982_7 * part);
        chain.scattering(frequency, Impedance::ohms(50.0)).unwrap().insertion_loss()
    };
    near(at(0.5), 0.9691, 0.01);
    near(at(0.25), 0.1824, 0.02);
    assert!(at(1.0) > 60.0);
}

/// The notch of `stub_notch` is where the chain lets nothing through.
#[test]
fn the_notch_is_where_nothing_passes() {
    let chain = with_stub(0.1);
    let loss = |ghz| chain.scattering(Frequency::ghz(ghz), Impedance::ohms(50.0)).unwrap().insertion_loss();
    assert!(loss(17.1304) > 60.0 && loss(17.1304) > loss(17.0) && loss(17.1304) > loss(17.3));
}

fn barrel() -> Barrel {
    Barrel { radius: mm(0.125), antipad: mm(0.35), permittivity: 4.0, gap: mm(0.2), plane: mm(0.0175) }
}

/// Mark F.
#[test]
fn coaxial_barrel() {
    let barrel = barrel();
    near(barrel.coaxial_impedance().unwrap().to_ohms(), 30.867, 2e-3);
    near(barrel.coaxial_capacitance().unwrap() * 1e9, 0.216_13, 3e-3);
    near(barrel.coaxial_inductance().unwrap() * 1e6, 0.205_92, 3e-3);
}

/// Mark V: an axisymmetric finite-volume solution has 0.0429 pF per cell, 0.9127 of the coaxial line's; the fit is 0.5 % high.
#[test]
fn plane_pitch() {
    let barrel = barrel();
    let cell = (barrel.gap + barrel.plane).to_metres();
    near(barrel.capacitance().unwrap() * cell * 1e12, 0.0429, 1.1);
    near(barrel.capacitance().unwrap() / barrel.coaxial_capacitance().unwrap(), 0.9127, 1.1);
    assert!(Barrel { gap: mm(2.0), ..barrel }.capacitance().is_err(), "beyond what was checked");
}

/// Mark V: an axisymmetric finite-volume solution.
#[test]
fn pads() {
    let barrel = Barrel { plane: mm(0.035), ..barrel() };
    for (radius, pf) in [(0.20, 0.0187), (0.25, 0.0482), (0.30, 0.1130)] {
        near(barrel.pad_capacitance(mm(radius)).unwrap().to_pf(), pf, 5.0);
    }
    // Other gaps, planes and antipads: another axisymmetric finite-volume solution, which also has the values above.
    for (radius, antipad, gap, plane, pad, pf) in [
        (0.125, 0.35, 0.1, 0.035, 0.2375, 0.034_19),
        (0.125, 0.35, 0.5, 0.035, 0.305, 0.123_51),
        (0.125, 0.35, 0.2, 0.0175, 0.2375, 0.032_37),
        (0.1, 0.3, 0.2, 0.035, 0.23, 0.061_69),
        (0.15, 0.45, 0.2, 0.035, 0.345, 0.077_56),
        (0.1, 0.45, 0.15, 0.0175, 0.3275, 0.057_78),
        (0.15, 0.4, 0.8, 0.035, 0.35, 0.132_34),
    ] {
        let barrel =
            Barrel { radius: mm(radius), antipad: mm(antipad), permittivity: 4.0, gap: mm(gap), plane: mm(plane) };
        near(barrel.pad_capacitance(mm(pad)).unwrap().to_pf(), pf, 13.5);
    }
    assert!(barrel.pad_capacitance(mm(0.125)).unwrap().to_pf() < 1e-12);
    assert!(barrel.pad_capacitance(mm(0.35)).is_err() && barrel.pad_capacitance(mm(0.1)).is_err());
}

/// Own figures of the same formulas, for the record: the inductance was not checked against a full wave.
#[test]
fn barrel_with_returns() {
    let barrel = barrel();
    for (count, ohms, ps, notch) in [(1, 61.2, 12.13, 13.7), (2, 49.6, 9.83, 17.0), (4, 44.6, 8.85, 18.8)] {
        let returns = Returns { count, circle: mm(0.8), radius: mm(0.125) };
        let Medium::Ideal { impedance, slowness } = barrel.medium(&returns).unwrap() else { panic!("ideal") };
        near(impedance.to_ohms(), ohms, 1.0);
        near(slowness.to_ps_per_mm(), ps, 1.0);
        near(stub_notch(impedance, slowness, mm(1.5), Capacitance::pf(0.0)).unwrap().to_ghz(), notch, 1.0);
    }
    assert!(barrel.medium(&Returns { count: 0, circle: mm(0.8), radius: mm(0.125) }).is_err());
    assert!(barrel.medium(&Returns { count: 1, circle: mm(0.2), radius: mm(0.125) }).is_err());
}

/// Marks F of M.
#[test]
fn published_rules() {
    near(grounded_via_inductance(mm(1.6), mm(0.125)).to_nh(), 0.594_15, 2e-3);
    near(rule_of_thumb_inductance(mm(1.6), mm(0.25)).to_nh(), 1.357_63, 2e-3);
    let mil = 0.0254;
    let c = rule_of_thumb_capacitance(mm(63.0 * mil), 4.4, mm(20.0 * mil), mm(32.0 * mil));
    near(c.to_pf(), 0.651_42, 2e-3);
}
