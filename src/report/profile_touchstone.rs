//! A channel as a Touchstone file: two ports for a net, four for a pair.

use super::profiled::Profiled;
use super::run::VERSION;
use super::{StackupOf, electric};
use crate::field::{Frequency, Impedance, touchstone};
use crate::measure::{Aim, Ports};
use crate::source::printable;

/// Every port's reference.
pub const REFERENCE: Impedance = Impedance::ohms(50.0);

/// From one frequency to the next; fine enough for channels of many nanoseconds.
const STEP_MHZ: f64 = 20.0;
/// The least and the most number of steps: up to 20 and 100 GHz.
const FEW: f64 = 1_000.0;
const MANY: f64 = 5_000.0;
/// How many times half the rate is looked at: the fifth harmonic of the fastest pattern.
const HARMONICS: f64 = 5.0;

/// The frequencies of a file: evenly spaced, up to the fifth harmonic of half the group's rate, at least to 20 GHz and at
/// most to 100. Nought is not among them: the loss of a section holds for currents in its skin.
#[must_use]
pub fn sweep(aim: &Aim) -> Vec<Frequency> {
    let top = aim.nyquist().map_or(0.0, |nyquist| nyquist.to_mhz() * HARMONICS / STEP_MHZ).clamp(FEW, MANY).ceil();
    (1_u32..).map(f64::from).take_while(|step| *step <= top).map(|step| Frequency::mhz(step * STEP_MHZ)).collect()
}

/// The file.
#[must_use]
pub fn profile_touchstone(profiled: &Profiled<'_>, ports: &Ports) -> String {
    let profile = &profiled.profile;
    let mut notes = vec![
        format!("{} {}, board {}: {}", profiled.kind(), profile.name, profiled.board.name, profiled.ends()),
        format!("throughline {VERSION}"),
    ];
    let pads = profile.from.iter().chain(&profile.to);
    notes.extend(pads.zip(1..).map(|(pad, port)| format!("port {port}: {pad}")));
    if matches!(profiled.stackup, StackupOf::Placeholder) {
        notes.push("the stackup is a placeholder: it looks as if nobody had entered it".to_owned());
    }
    let assumed = electric::assumed(&profile.basis);
    if !assumed.is_empty() {
        notes.push(format!("assumed: {assumed}"));
    }
    if profile.aside > 0 {
        notes.push("copper that hangs off the way is left out".to_owned());
    }
    let notes: Vec<String> = notes.iter().map(|note| printable(note).into_owned()).collect();
    let notes: Vec<&str> = notes.iter().map(String::as_str).collect();
    match ports {
        Ports::Two(points) => touchstone::two_port(points, REFERENCE, &notes),
        Ports::Four(points) => touchstone::four_port(points, REFERENCE, &notes),
    }
}
