//! Channels as Touchstone files (version 1, the trade's open format for network parameters).

use super::chain::Scattering;
use super::complex::Complex;
use super::coupled_chain::FourPort;
use super::quantity::{Frequency, Impedance};
use std::fmt::Write;

/// A two-port at some frequencies, ascending. `notes` become comment lines.
#[must_use]
pub fn two_port(points: &[(Frequency, Scattering)], reference: Impedance, notes: &[&str]) -> String {
    let mut text = head(reference, notes);
    for (frequency, s) in points {
        // The format's own order for two ports: down the columns.
        line(&mut text, Some(*frequency), &[s.s11, s.s21, s.s12, s.s22]);
    }
    text
}

/// A pair of equal legs as a four-port, from its even and odd waves' scattering per line against `reference`. Ports 1 and 2
/// are the near ends of the first and second leg, 3 and 4 their far ends. Points of both must be at the same
/// frequencies; the shorter list counts.
#[must_use]
pub fn pair(
    even: &[(Frequency, Scattering)],
    odd: &[(Frequency, Scattering)],
    reference: Impedance,
    notes: &[&str],
) -> String {
    let mut text = head(reference, notes);
    for ((frequency, even), (_, odd)) in even.iter().zip(odd) {
        let same = |pick: fn(&Scattering) -> Complex| (pick(even) + pick(odd)) * 0.5;
        let cross = |pick: fn(&Scattering) -> Complex| (pick(even) - pick(odd)) * 0.5;
        let (s11, s12, s21, s22): (fn(&Scattering) -> Complex, _, _, _) =
            (|s: &Scattering| s.s11, |s: &Scattering| s.s12, |s: &Scattering| s.s21, |s: &Scattering| s.s22);
        line(&mut text, Some(*frequency), &[same(s11), cross(s11), same(s12), cross(s12)]);
        line(&mut text, None, &[cross(s11), same(s11), cross(s12), same(s12)]);
        line(&mut text, None, &[same(s21), cross(s21), same(s22), cross(s22)]);
        line(&mut text, None, &[cross(s21), same(s21), cross(s22), same(s22)]);
    }
    text
}

/// A pair at some frequencies, ascending, whatever its legs are. Ports as in [`FourPort`].
#[must_use]
pub fn four_port(points: &[(Frequency, FourPort)], reference: Impedance, notes: &[&str]) -> String {
    let mut text = head(reference, notes);
    for (frequency, FourPort(rows)) in points {
        for (row, at) in rows.iter().zip(0..) {
            line(&mut text, (at == 0).then_some(*frequency), row);
        }
    }
    text
}

fn head(reference: Impedance, notes: &[&str]) -> String {
    let mut text = String::new();
    for note in notes.iter().flat_map(|note| note.lines()) {
        let _ = writeln!(text, "! {note}");
    }
    let _ = writeln!(text, "# HZ S RI R {}", reference.to_ohms());
    text
}

fn line(text: &mut String, frequency: Option<Frequency>, values: &[Complex]) {
    match frequency {
        Some(frequency) => {
            let _ = write!(text, "{}", frequency.to_hertz());
        }
        None => text.push(' '),
    }
    for value in values {
        let _ = write!(text, " {:.9e} {:.9e}", value.re, value.im);
    }
    text.push('\n');
}
