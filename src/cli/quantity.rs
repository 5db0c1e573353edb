//! Quantities as arguments.

use crate::field::{Impedance, Time};
use crate::units::{Dimension, Length, ParseError, Quantity, Target};

fn words(error: ParseError) -> String {
    error.help.map_or_else(
        || format!("{}; expected {}", error.message, error.expected),
        |help| format!("{}; expected {}; {help}", error.message, error.expected),
    )
}

fn positive(text: &str, dimension: Dimension) -> Result<Quantity, String> {
    let quantity = Quantity::parse(text, &[dimension]).map_err(words)?;
    if quantity.base() > 0.0 { Ok(quantity) } else { Err("expected more than zero".to_owned()) }
}

/// A length above zero and no more than a board has.
pub fn length(text: &str) -> Result<Length, String> {
    let length = positive(text, Dimension::Length)?.length().unwrap_or_default();
    if length.within(crate::width::MOST) { Ok(length) } else { Err(format!("expected at most {}", crate::width::MOST)) }
}

/// A symbol rate above zero.
pub fn rate(text: &str) -> Result<Quantity, String> {
    positive(text, Dimension::Rate)
}

/// A share from 0 to 300 %.
pub fn ratio(text: &str) -> Result<f64, String> {
    let ratio = Quantity::parse(text, &[Dimension::Ratio]).map_err(words)?.base();
    if (0.0..=3.0).contains(&ratio) { Ok(ratio) } else { Err("expected 0 % to 300 %".to_owned()) }
}

/// An impedance to aim at, with or without a tolerance.
pub fn impedance(text: &str) -> Result<Target, String> {
    let target = Target::parse(text, Dimension::Impedance).map_err(words)?;
    // Beyond these no copper on a board goes.
    if (1.0..=500.0).contains(&target.value.base()) { Ok(target) } else { Err("expected 1 ohm to 500 ohm".to_owned()) }
}

/// A rise time: none is shorter than 1 ps on a board, and none longer than 100 ns needs a reflectometer.
pub fn rise(text: &str) -> Result<Time, String> {
    let time = positive(text, Dimension::Time)?.base();
    if (1e-12..=1e-7).contains(&time) { Ok(Time::seconds(time)) } else { Err("expected 1 ps to 100 ns".to_owned()) }
}

/// An impedance without a tolerance.
pub fn source(text: &str) -> Result<Impedance, String> {
    let ohms = positive(text, Dimension::Impedance)?.base();
    if (1.0..=500.0).contains(&ohms) { Ok(Impedance::ohms(ohms)) } else { Err("expected 1 ohm to 500 ohm".to_owned()) }
}
