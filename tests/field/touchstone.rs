//! Channels as Touchstone files, read back by a general radio-frequency library (`reference.py`).

use crate::lines::{mm, near, solved};
use crate::volume::coated_trapezoid_pair;
use std::path::PathBuf;
use std::sync::Arc;
use throughline::field::{
    Capacitance, Chain, Dispersion, Element, Frequency, Impedance, Inductance, LIGHT, Medium, Metal, Mode, Roughness,
    Scattering, Slowness, touchstone,
};

const FIFTY: Impedance = Impedance::ohms(50.0);

fn ideal(chain: &mut Chain, ohms: f64, permittivity: f64) -> throughline::field::MediumId {
    chain.medium(Medium::Ideal {
        impedance: Impedance::ohms(ohms),
        slowness: Slowness::seconds_per_metre(permittivity.sqrt() / LIGHT),
    })
}

/// One of each kind of link.
pub fn chain() -> Chain {
    let mut chain = Chain::new();
    let (first, stub, last) =
        (ideal(&mut chain, 60.0, 4.0), ideal(&mut chain, 45.0, 3.6), ideal(&mut chain, 45.0, 4.0));
    chain.push(Element::Line { medium: first, length: mm(25.0) });
    chain.push(Element::Shunt(Capacitance::pf(0.1)));
    chain.push(Element::Resistance(Impedance::ohms(0.5)));
    chain.push(Element::Stub { medium: stub, length: mm(1.5), end: Capacitance::pf(0.05) });
    chain.push(Element::Series(Inductance::nh(0.2)));
    chain.push(Element::Line { medium: last, length: mm(10.0) });
    chain
}

fn sweep(chain: &Chain, ghz: &[f64]) -> Vec<(Frequency, Scattering)> {
    ghz.iter().map(|&ghz| (Frequency::ghz(ghz), chain.scattering(Frequency::ghz(ghz), FIFTY).unwrap())).collect()
}

fn two_port() -> String {
    touchstone::two_port(&sweep(&chain(), &[0.1, 1.0, 4.0, 8.0, 16.0, 25.0]), FIFTY, &["one of each kind of link"])
}

/// The even and the odd wave of a coated pair, 40 mm long.
fn waves() -> [Vec<(Frequency, Scattering)>; 2] {
    let solution = Arc::new(solved(&coated_trapezoid_pair()));
    // As single-ended ports see them, each wave has the impedance of one line: the chain's differential one halved, its
    // common one doubled.
    [(Mode::Even(0, 1), 0.5), (Mode::Odd(0, 1), 2.0)].map(|(mode, factor)| {
        let mut chain = Chain::new();
        let metal = Metal::copper(Roughness::Cannonball(mm(3e-3)));
        let dispersion = Dispersion::Debye(Frequency::ghz(1.0));
        let medium = chain.medium(Medium::Solved { solution: Arc::clone(&solution), mode, metal, dispersion });
        chain.push(Element::Line { medium, length: mm(40.0) });
        [0.1, 1.0, 8.0]
            .iter()
            .map(|&ghz| (Frequency::ghz(ghz), chain.scattering(Frequency::ghz(ghz), FIFTY * factor).unwrap()))
            .collect()
    })
}

fn four_port() -> String {
    let [even, odd] = waves();
    touchstone::pair(&even, &odd, FIFTY, &["a coated pair, 40 mm", "ports 1, 2 near; 3, 4 far"])
}

fn file(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/field").join(name)
}

/// The file that the library read is the one the project writes; the last digits may differ between machines.
#[track_caller]
pub fn same(written: &str, name: &str) {
    let path = file(name);
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(&path, written).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap();
    assert_eq!(written.lines().count(), kept.lines().count());
    for (one, two) in written.lines().zip(kept.lines()) {
        if one.starts_with(['!', '#']) {
            assert_eq!(one, two);
            continue;
        }
        let numbers = |line: &str| line.split_whitespace().map(|n| n.parse::<f64>().unwrap()).collect::<Vec<_>>();
        for (one, two) in numbers(one).into_iter().zip(numbers(two)) {
            assert!((one - two).abs() <= 2e-6 + 1e-9 * two.abs(), "{one} {two}");
        }
    }
}

#[test]
fn a_two_port_file() {
    let text = two_port();
    assert!(text.starts_with("! one of each kind of link\n# HZ S RI R 50\n100000000 "), "{text}");
    assert_eq!(text.lines().nth(2).unwrap().split_whitespace().count(), 9);
    same(&text, "channel.s2p");
}

#[test]
fn a_four_port_file() {
    let text = four_port();
    assert_eq!(text.lines().filter(|line| !line.starts_with(['!', '#'])).count(), 3 * 4);
    same(&text, "pair.s4p");
}

/// Rows that the library wrote of one kind.
pub fn rows(kind: &str) -> Vec<Vec<f64>> {
    let text = std::fs::read_to_string(file("reference.csv")).unwrap();
    let found: Vec<Vec<f64>> = text
        .lines()
        .filter_map(|line| line.strip_prefix(kind)?.strip_prefix(','))
        .map(|line| line.split(',').map(|number| number.parse().unwrap()).collect())
        .collect();
    assert!(!found.is_empty(), "no rows of {kind}");
    found
}

/// What the library computes for the same chain, and what it read from the file, are what the chain says. Mark L.
#[test]
fn the_library_agrees() {
    for kind in ["chain", "read"] {
        for row in rows(kind) {
            let s = chain().scattering(Frequency::hertz(row[0]), FIFTY).unwrap();
            for (value, wanted) in [s.s11, s.s21, s.s12, s.s22].into_iter().zip(row[1..].chunks(2)) {
                let off = (value.re - wanted[0]).hypot(value.im - wanted[1]);
                assert!(off < 1e-8, "{kind} at {} Hz: {value:?} against {wanted:?}", row[0]);
            }
        }
    }
}

/// The library's mixed-mode view of the four-port: differential and common insertion, and no conversion. Mark L.
#[test]
fn mixed_mode() {
    let [even, odd] = waves();
    for (row, (even, odd)) in rows("mixed").iter().zip(even.iter().zip(&odd)) {
        let wave = |s: &Scattering, at: usize| (s.s21.re - row[at]).hypot(s.s21.im - row[at + 1]);
        assert!(wave(&odd.1, 1) < 1e-5 && wave(&even.1, 3) < 1e-5, "{row:?}");
        assert!(row[5] < 1e-6, "conversion between modes");
        near(odd.0.to_hertz(), row[0], 1e-9);
    }
}
