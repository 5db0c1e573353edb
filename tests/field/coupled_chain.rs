//! Chains of pairs whose legs differ.

use crate::lines::{mm, near};
use crate::touchstone::{rows, same};
use std::f64::consts::PI;
use throughline::field::{
    Capacitance, Chain, Complex, CoupledChain, CoupledElement, Edge, Element, FourPort, Frequency, Impedance,
    Inductance, LIGHT, Load, Medium, MediumId, Slowness, Time, Undetermined, touchstone,
};

const FIFTY: Impedance = Impedance::ohms(50.0);

fn medium(ohms: f64, permittivity: f64) -> Medium {
    Medium::Ideal {
        impedance: Impedance::ohms(ohms),
        slowness: Slowness::seconds_per_metre(permittivity.sqrt() / LIGHT),
    }
}

/// A chain and its coupled medium: differential 90 ohm, common 30 ohm.
fn paired() -> (CoupledChain, impl Fn(f64) -> CoupledElement) {
    let mut chain = CoupledChain::new();
    let (differential, common) = (chain.medium(medium(90.0, 3.2)), chain.medium(medium(30.0, 3.6)));
    (chain, move |length| CoupledElement::Coupled { differential, common, length: mm(length) })
}

fn alone(chain: &mut CoupledChain, ohms: f64, length: f64) -> Element {
    let medium: MediumId = chain.medium(medium(ohms, 4.0));
    Element::Line { medium, length: mm(length) }
}

/// Links of one leg, then of both, then of the other.
fn uneven() -> CoupledChain {
    let (mut chain, coupled) = paired();
    let (first, second) = (alone(&mut chain, 45.0, 3.0), alone(&mut chain, 52.0, 5.0));
    for link in [
        CoupledElement::First(first),
        coupled(20.0),
        CoupledElement::Second(Element::Shunt(Capacitance::pf(0.1))),
        CoupledElement::Second(second),
        coupled(10.0),
        CoupledElement::First(Element::Series(Inductance::nh(0.2))),
    ] {
        chain.push(link);
    }
    chain
}

fn distance(one: Complex, other: Complex) -> f64 {
    (one - other).norm()
}

/// Mark L: what the library makes of the same links, and what it reads from the file.
#[test]
fn the_library_agrees() {
    for row in rows("uneven").into_iter().chain(rows("uneven-read")) {
        let FourPort(s) = uneven().scattering(Frequency::hertz(row[0]), FIFTY).unwrap();
        for (value, wanted) in s.iter().flatten().zip(row[1..].chunks(2)) {
            let off = distance(*value, Complex::new(wanted[0], wanted[1]));
            assert!(off < 1e-9, "at {} Hz: {value:?} against {wanted:?}", row[0]);
        }
    }
}

/// What goes in comes out: without loss all of it, and one way as the other.
#[test]
fn nothing_is_lost_and_both_ways_are_alike() {
    for ghz in [0.01, 0.7, 5.0, 13.0, 40.0] {
        let FourPort(s) = uneven().scattering(Frequency::ghz(ghz), FIFTY).unwrap();
        for (one, row) in s.iter().enumerate() {
            let out: f64 = s.iter().map(|row| row[one].norm_sqr()).sum();
            near(out, 1.0, 1e-9);
            for (other, value) in row.iter().enumerate() {
                assert!(distance(*value, s[other][one]) < 1e-10, "{one} {other} at {ghz} GHz");
            }
        }
    }
}

/// Two matched lines of different length: the one that is longer by d turns sin(ωd/2c) of the signal into common mode.
/// Mark F.
#[test]
fn what_a_longer_leg_converts() {
    let mut chain = CoupledChain::new();
    let (short, long) = (alone(&mut chain, 50.0, 20.0), alone(&mut chain, 50.0, 23.0));
    chain.push(CoupledElement::Second(short));
    chain.push(CoupledElement::First(long));
    for ghz in [1.0, 8.0, 25.0] {
        let ports = chain.scattering(Frequency::ghz(ghz), FIFTY).unwrap();
        let half = PI * ghz * 1e9 * 3e-3 * 2.0 / LIGHT;
        near(ports.conversion().s21.norm(), half.sin().abs(), 1e-9);
        near(ports.differential().s21.norm(), half.cos().abs(), 1e-9);
        assert!(ports.differential().s11.norm() < 1e-12);
        assert!(ports.conversion().s11.norm() < 1e-12);
    }
    near(chain.delay().unwrap().to_ps(), 2e12 * 23e-3 / LIGHT, 1e-9);
}

/// Legs that are alike: the differential chain says the same with one wave.
#[test]
fn alike_legs_are_one_differential_line() {
    let (mut chain, coupled) = paired();
    let mut one = Chain::new();
    let (line, pin) = (one.medium(medium(90.0, 3.2)), one.medium(medium(110.0, 4.0)));
    let leg = alone(&mut chain, 55.0, 4.0);
    for (link, wave) in [
        (vec![coupled(15.0)], Element::Line { medium: line, length: mm(15.0) }),
        (vec![CoupledElement::First(leg), CoupledElement::Second(leg)], Element::Line { medium: pin, length: mm(4.0) }),
        (
            [CoupledElement::First, CoupledElement::Second]
                .map(|leg| leg(Element::Shunt(Capacitance::pf(0.2))))
                .to_vec(),
            Element::Shunt(Capacitance::pf(0.1)),
        ),
    ] {
        link.into_iter().for_each(|link| chain.push(link));
        one.push(wave);
    }
    let hundred = Impedance::ohms(100.0);
    for ghz in [0.5, 6.0, 20.0] {
        let ports = chain.scattering(Frequency::ghz(ghz), FIFTY).unwrap();
        let wave = one.scattering(Frequency::ghz(ghz), hundred).unwrap();
        let same = ports.differential();
        for (value, wanted) in [(same.s11, wave.s11), (same.s12, wave.s12), (same.s21, wave.s21), (same.s22, wave.s22)]
        {
            assert!(distance(value, wanted) < 1e-12, "{value:?} {wanted:?}");
        }
        assert!(ports.conversion().s21.norm() < 1e-12);
    }
    let edge = Edge::Gaussian(Time::ps(35.0));
    let (both, wave) = (
        chain.reflected_step(hundred, edge).unwrap(),
        one.reflected_step(hundred, Load::Resistance(hundred), edge).unwrap(),
    );
    assert_eq!(both.values().len(), wave.values().len());
    for (value, wanted) in both.values().iter().zip(wave.values()) {
        assert!((value - wanted).abs() < 1e-10);
    }
}

#[test]
fn as_a_file() {
    let points: Vec<_> = [0.1, 1.0, 4.0, 8.0, 16.0, 25.0]
        .map(|ghz| (Frequency::ghz(ghz), uneven().scattering(Frequency::ghz(ghz), FIFTY).unwrap()))
        .to_vec();
    let text = touchstone::four_port(&points, FIFTY, &["an uneven pair"]);
    let numbers: Vec<Vec<f64>> = text
        .lines()
        .filter(|line| !line.starts_with(['!', '#']))
        .map(|line| line.split_whitespace().map(|number| number.parse().unwrap()).collect())
        .collect();
    assert_eq!(numbers.iter().map(Vec::len).collect::<Vec<_>>(), [9, 8, 8, 8].repeat(6));
    same(&text, "uneven.s4p");
    let FourPort(s) = points[0].1;
    assert!((numbers[1][4] - s[1][2].re).abs() < 1e-9 && (numbers[2][1] - s[2][0].im).abs() < 1e-9);
}

#[test]
fn refusals() {
    let (chain, _) = paired();
    let foreign = alone(&mut paired().0, 50.0, 1.0);
    let nothing = chain.scattering(Frequency::ghz(1.0), Impedance::ohms(0.0));
    assert_eq!(nothing, Err(Undetermined::BadValue("the reference impedance")));
    let mut other = CoupledChain::new();
    other.push(CoupledElement::First(foreign));
    assert!(other.scattering(Frequency::ghz(1.0), FIFTY).is_err());
    assert!(other.delay().is_err());
}
