//! A waiver: one finding that someone has seen and accepts, up to a value and until a day.

use super::{At, Origin};
use crate::units::{Date, Quantity};

/// The fewest digits of a fingerprint that a waiver may name: fewer could come to mean another finding.
pub const PLACE_DIGITS: usize = 8;

/// One `[[waive]]`.
#[derive(Debug, Clone)]
pub struct Waiver {
    /// Name of the check.
    pub check: At<&'static str>,
    /// The finding's fingerprint, or its first digits, in lower case.
    pub place: At<String>,
    /// The board it is on; without it, every board of the run.
    pub board: Option<At<String>>,
    /// What is accepted; without it, a finding that has no measured value.
    pub accepted: Option<At<Accepted>>,
    /// Why.
    pub reason: At<String>,
    /// The last day on which it holds.
    pub until: Option<At<Date>>,
    /// Where it is stated.
    pub origin: Origin,
}

/// What a waiver accepts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Accepted {
    /// A value as bad as this one, and no worse.
    Value(Quantity),
    /// That the subject could not be checked.
    Unchecked,
}

impl Waiver {
    /// Whether it speaks of a board of this name.
    #[must_use]
    pub fn names(&self, board: &str) -> bool {
        self.board.as_ref().is_none_or(|named| named.value == board)
    }
}
