//! Numbers as board files write them: decimal millimetres to whole nanometres, exactly where that is possible.

use super::limits::{COORDINATE, NUMBER_BYTES};

/// Why a text is no usable number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NumberFault {
    /// It is not a decimal number.
    NotANumber,
    /// Its text is longer than [`NUMBER_BYTES`].
    TooLong,
    /// It lies beyond ±[`COORDINATE`], or it is not finite.
    TooLarge,
}

/// A length on the nanometre grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Nanometres {
    /// Whole nanometres, rounded half away from zero.
    pub value: i64,
    /// The text was finer than the grid.
    pub rounded: bool,
}

/// Reads millimetres with integer arithmetic; only a number with an exponent goes through `f64`.
///
/// A number that ends in its point is refused: no writer makes one, so something was cut off.
///
/// # Errors
/// A [`NumberFault`] if the text is no number or out of range.
#[inline]
pub fn nanometres(text: &str) -> Result<Nanometres, NumberFault> {
    match usual(text.as_bytes()) {
        Some(value) if value.abs() <= COORDINATE => Ok(Nanometres { value, rounded: false }),
        _ => unusual(text),
    }
}

#[inline]
fn usual(text: &[u8]) -> Option<i64> {
    let (value, length) = usual_start(text)?;
    (length == text.len()).then_some(value)
}

/// Digits that fit an `i64` with six places in any case; within the limits there are at most 11 whole ones.
const DIGITS: usize = 17;

/// The form that nearly every number has, at the start of a text: digits, perhaps a point and one to six more. Gives its
/// value in nanometres and its length in bytes; `None` if what stands there is not of that form, or too long.
#[inline]
pub(super) fn usual_start(text: &[u8]) -> Option<(i64, usize)> {
    let negative = text.first() == Some(&b'-');
    let sign = usize::from(negative);
    let digit = |at: usize| text.get(at).map(|byte| byte.wrapping_sub(b'0')).filter(|digit| *digit < 10);
    let (mut value, mut at) = (0_i64, sign);
    while let Some(digit) = digit(at).filter(|_| at < sign + DIGITS) {
        value = value * 10 + i64::from(digit);
        at += 1;
    }
    let whole = at - sign;
    let mut places = 0;
    if text.get(at) == Some(&b'.') {
        at += 1;
        while let Some(digit) = digit(at).filter(|_| whole + places < DIGITS) {
            value = value * 10 + i64::from(digit);
            (at, places) = (at + 1, places + 1);
        }
        if places == 0 {
            return None;
        }
    }
    let scale = [1_000_000, 100_000, 10_000, 1_000, 100, 10, 1].get(places).filter(|_| (1..=11).contains(&whole))?;
    let value = value * scale;
    Some((if negative { -value } else { value }, at))
}

/// Every form that a number can have.
fn unusual(text: &str) -> Result<Nanometres, NumberFault> {
    let bytes = text.as_bytes();
    let (negative, digits) = match bytes.split_first() {
        Some((b'-', rest)) => (true, rest),
        Some((b'+', rest)) => (false, rest),
        _ => (false, bytes),
    };
    if bytes.len() > NUMBER_BYTES {
        return Err(NumberFault::TooLong);
    }
    let mut value = 0_i64;
    let mut seen = false;
    let mut decimals: Option<u32> = None;
    let (mut rounded, mut up) = (false, false);
    for &byte in digits {
        match (byte, decimals) {
            (b'0'..=b'9', Some(places)) if places >= 6 => {
                up |= places == 6 && byte >= b'5';
                rounded |= byte != b'0';
                decimals = Some(places + 1);
            }
            (b'0'..=b'9', _) => {
                seen = true;
                value = value * 10 + i64::from(byte - b'0');
                // Far beyond the limit whatever follows; stops long before an overflow.
                if value > COORDINATE * 10_000_000 {
                    return Err(NumberFault::TooLarge);
                }
                decimals = decimals.map(|places| places + 1);
            }
            (b'.', None) => decimals = Some(0),
            (b'e' | b'E', _) if seen => return with_exponent(text),
            _ => return Err(NumberFault::NotANumber),
        }
    }
    if !seen || decimals == Some(0) {
        return Err(NumberFault::NotANumber);
    }
    for _ in decimals.unwrap_or(0).min(6)..6 {
        value = value.checked_mul(10).ok_or(NumberFault::TooLarge)?;
    }
    value += i64::from(up);
    if value > COORDINATE {
        return Err(NumberFault::TooLarge);
    }
    Ok(Nanometres { value: if negative { -value } else { value }, rounded })
}

fn with_exponent(text: &str) -> Result<Nanometres, NumberFault> {
    let exact = plain(text)? * 1e6;
    let nearest = exact.round();
    // The bound is far below 2^53, so the comparison and the cast are exact.
    #[allow(clippy::cast_precision_loss)]
    if nearest.abs() > COORDINATE as f64 {
        return Err(NumberFault::TooLarge);
    }
    #[allow(clippy::cast_possible_truncation)]
    let value = nearest as i64;
    Ok(Nanometres { value, rounded: (exact - nearest).abs() > 1e-9 })
}

/// Reads a plain finite number: an angle, a ratio, a permittivity.
///
/// # Errors
/// A [`NumberFault`] if the text is no number or not finite. Words such as `inf` and `nan` are no numbers.
pub fn plain(text: &str) -> Result<f64, NumberFault> {
    if text.len() > NUMBER_BYTES {
        return Err(NumberFault::TooLong);
    }
    if !text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'+' | b'-' | b'.' | b'e' | b'E')) {
        return Err(NumberFault::NotANumber);
    }
    if text.ends_with('.') {
        return Err(NumberFault::NotANumber);
    }
    let value: f64 = text.parse().map_err(|_| NumberFault::NotANumber)?;
    if value.is_finite() { Ok(value) } else { Err(NumberFault::TooLarge) }
}
