//! How a verdict counts, once waivers and the baseline have been held against it.

use super::{Change, Entry};
use crate::checks::Outcome;
use crate::rules::Level;
use crate::units::Quantity;
use std::cmp::Ordering;

/// How a verdict counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Standing {
    /// Beyond a limit.
    Fail(Level),
    /// Could not be judged.
    Unchecked,
    /// In the baseline, and no worse.
    Known,
    /// Waived.
    Waived,
    /// Within limits.
    Pass,
}

impl Standing {
    /// 0 is worst.
    #[must_use]
    pub const fn rank(self) -> u8 {
        match self {
            Self::Fail(Level::Error) => 0,
            Self::Fail(Level::Warning) => 1,
            Self::Fail(Level::Note) => 2,
            Self::Unchecked => 3,
            Self::Known => 4,
            Self::Waived => 5,
            Self::Pass => 6,
        }
    }
}

impl Entry<'_> {
    /// How the verdict counts.
    #[must_use]
    pub fn standing(&self) -> Standing {
        match &self.verdict.outcome {
            Outcome::Pass => Standing::Pass,
            _ if self.waiver.is_some() => Standing::Waived,
            _ if self.change == Some(Change::Same) => Standing::Known,
            Outcome::Fail(level) => Standing::Fail(*level),
            Outcome::Unchecked { .. } => Standing::Unchecked,
        }
    }

    /// The level from which on it counts if nothing accepts it.
    #[must_use]
    pub fn weight(&self) -> Level {
        match &self.verdict.outcome {
            Outcome::Fail(level) => *level,
            Outcome::Pass | Outcome::Unchecked { .. } => self.level,
        }
    }

    /// Whether the measured value is worse than `accepted`: farther on the side of the limit where it lies. Values that
    /// print the same are the same, since people accept what they have read. `None` if the two can't be compared, or
    /// nothing was measured.
    #[must_use]
    pub fn is_worse_than(&self, accepted: Quantity) -> Option<bool> {
        let value = self.verdict.value?;
        let order = value.compare(accepted)?;
        let low = self.verdict.limit.as_ref().and_then(|limit| value.compare(limit.value)) == Some(Ordering::Less);
        let farther = if low { Ordering::Less } else { Ordering::Greater };
        Some(order == farther && value.to_string() != accepted.to_string())
    }
}
