//! What a reflectometer shows.

use crate::lines::{mm, near, solved};
use crate::volume::coated_trapezoid_pair;
use std::sync::Arc;
use throughline::field::{
    Capacitance, Chain, Dispersion, Edge, Element, Frequency, Impedance, Inductance, Load, Medium, Metal, Mode,
    Roughness, Slowness, Time, Undetermined, Waveform,
};

const FIFTY: Impedance = Impedance::ohms(50.0);

/// 60 ohm, 500 ps, so that a metre's delay is a nanosecond.
fn mismatched() -> Chain {
    let mut chain = Chain::new();
    let medium =
        chain.medium(Medium::Ideal { impedance: Impedance::ohms(60.0), slowness: Slowness::seconds_per_metre(1e-9) });
    chain.push(Element::Line { medium, length: mm(500.0) });
    chain
}

fn level(waveform: &Waveform, nanoseconds: f64) -> f64 {
    1.0 + waveform.at(Time::seconds(nanoseconds * 1e-9)).unwrap()
}

/// Mark F.
#[test]
fn mismatched_line() {
    let edge = Edge::Gaussian(Time::ps(30.0));
    let matched = mismatched().reflected_step(FIFTY, Load::Resistance(FIFTY), edge).unwrap();
    for (at, wanted) in [(0.5, 1.090_909_1), (1.5, 1.000_751_3), (2.5, 1.000_006_2)] {
        near(level(&matched, at), wanted, 1e-3);
    }
    let open = mismatched().reflected_step(FIFTY, Load::Open, edge).unwrap();
    for (at, wanted) in [(0.5, 1.090_909_1), (1.5, 2.082_644_6), (2.5, 1.992_486_9)] {
        near(level(&open, at), wanted, 1e-3);
    }
    near(matched.apparent_impedance(matched.at(Time::ps(500.0)).unwrap()).to_ohms(), 60.0, 1e-3);
}

fn peak(element: Element, ramp: f64) -> f64 {
    let mut chain = Chain::new();
    chain.push(element);
    let waveform = chain.reflected_step(FIFTY, Load::Resistance(FIFTY), Edge::Linear(Time::ps(ramp))).unwrap();
    waveform.values().iter().fold(0.0, |most: f64, value| most.max(value.abs()))
}

/// Mark F: (τ/tr)(1 - exp(-tr/τ)).
#[test]
fn lumps() {
    near(peak(Element::Shunt(Capacitance::pf(0.2)), 50.0), 0.099_995_5, 0.3);
    near(peak(Element::Shunt(Capacitance::pf(0.05)), 20.0), 0.062_500_0, 0.5);
    near(peak(Element::Series(Inductance::nh(0.3)), 30.0), 0.099_995_5, 0.3);
}

/// A lump's area is its size whatever the edge: C = 2∫(-ρ)dt/Z.
#[test]
fn a_lump_keeps_its_area() {
    let mut chain = Chain::new();
    chain.push(Element::Shunt(Capacitance::pf(0.1)));
    for rise in [20.0, 60.0] {
        let waveform = chain.reflected_step(FIFTY, Load::Resistance(FIFTY), Edge::Gaussian(Time::ps(rise))).unwrap();
        let area: f64 = waveform.values().iter().sum::<f64>() * waveform.step().to_seconds();
        near(-2.0 * area / 50.0 * 1e12, 0.1, 0.01);
    }
}

/// What goes in comes out, where nothing is lost.
#[test]
fn through_and_back_add_up() {
    let chain = mismatched();
    for ghz in [0.1, 1.0, 7.7] {
        let s = chain.scattering(Frequency::ghz(ghz), FIFTY).unwrap();
        near(s.s11.norm_sqr() + s.s21.norm_sqr(), 1.0, 1e-9);
        near(s.s12.norm(), s.s21.norm(), 1e-9);
    }
    let waveform = chain.transmitted_step(FIFTY, FIFTY, Edge::Gaussian(Time::ps(30.0))).unwrap();
    assert!(waveform.at(Time::ps(400.0)).unwrap().abs() < 1e-3, "not before the delay");
    near(waveform.at(Time::ps(4000.0)).unwrap(), 1.0, 0.01);
}

/// A channel of solved sections: loss at the Nyquist frequency of 16 GT/s, and the apparent impedance.
#[test]
fn solved_channel() {
    let solution = Arc::new(solved(&coated_trapezoid_pair()));
    let mut chain = Chain::new();
    let metal = Metal::copper(Roughness::Cannonball(mm(3e-3)));
    let dispersion = Dispersion::Debye(Frequency::ghz(1.0));
    let mode = Mode::Odd(0, 1);
    let medium = chain.medium(Medium::Solved { solution: Arc::clone(&solution), mode, metal, dispersion });
    chain.push(Element::Line { medium, length: mm(40.0) });
    let hundred = Impedance::ohms(100.0);
    let nyquist = chain.scattering(Frequency::ghz(8.0), hundred).unwrap();
    let constants = solution.constants(mode, Frequency::ghz(8.0), &metal, dispersion).unwrap();
    let expected = constants.loss().to_db_per_metre() * 0.04;
    assert!((nyquist.insertion_loss() - expected).abs() < 0.02, "{} against {expected}", nyquist.insertion_loss());
    near(chain.delay().unwrap().to_ps(), 40.0 * solution.pair(0, 1).unwrap().odd.delay().to_ps_per_mm(), 1e-9);
}

/// A matched line with skin loss: its apparent impedance climbs with the root of time, as the surface impedance k√s says:
/// ΔZ/Z = (k/L) √(t/π). Mark F.
#[test]
fn skin_loss_tilts_the_trace() {
    let solution = Arc::new(solved(&coated_trapezoid_pair()));
    let (mode, metal) = (Mode::Odd(0, 1), Metal::copper(Roughness::Smooth));
    let mut chain = Chain::new();
    let medium =
        chain.medium(Medium::Solved { solution: Arc::clone(&solution), mode, metal, dispersion: Dispersion::None });
    chain.push(Element::Line { medium, length: mm(100.0) });
    let differential = solution.pair(0, 1).unwrap().differential();
    let edge = Edge::Gaussian(Time::ps(10.0));
    let waveform = chain.reflected_step(differential, Load::Resistance(differential), edge).unwrap();
    let constants = solution.constants(mode, Frequency::ghz(20.0), &metal, Dispersion::None).unwrap();
    let k = constants.inner_reactance / (std::f64::consts::PI * 20e9).sqrt();
    let climb = |ps: f64| {
        let ohms = waveform.apparent_impedance(waveform.at(Time::ps(ps)).unwrap()).to_ohms();
        ohms / differential.to_ohms() - 1.0
    };
    for ps in [50.0, 100.0, 200.0] {
        let wanted = k / constants.inductance * (ps * 1e-12 / std::f64::consts::PI).sqrt();
        near(climb(ps), wanted, 6.0);
    }
}

/// A resonator that rings longer than the record is not told as if it had settled.
#[test]
fn ringing_is_refused() {
    let mut chain = Chain::new();
    let medium =
        chain.medium(Medium::Ideal { impedance: Impedance::ohms(5000.0), slowness: Slowness::seconds_per_metre(5e-9) });
    chain.push(Element::Line { medium, length: mm(50.0) });
    let result = chain.reflected_step(FIFTY, Load::Open, Edge::Gaussian(Time::ps(30.0)));
    assert!(matches!(result, Err(Undetermined::Unconverged { .. })), "{:?}", result.as_ref().err());
    let endless = mismatched().reflected_step(FIFTY, Load::Open, Edge::Gaussian(Time::ps(1e-3)));
    assert_eq!(endless, Err(Undetermined::TooIntricate));
    assert!(mismatched().reflected_step(FIFTY, Load::Open, Edge::Gaussian(Time::ps(-1.0))).is_err());
}
