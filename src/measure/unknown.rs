//! Why a number is not known.

use crate::field::Undetermined;
use crate::signal::{Doubt, NoBasis};
use std::fmt;

/// Why a number is not known.
#[derive(Debug, Clone, PartialEq)]
pub enum Unknown {
    /// Nothing electrical is known of the board.
    Basis(NoBasis),
    /// A stretch of the way is in doubt.
    Doubt {
        /// Why the longest such stretch is.
        doubt: Doubt,
        /// Share of the way in doubt, 0 to 1; `None` where it is a place, not a stretch.
        share: Option<f64>,
    },
    /// The net is poured, or joins more pads than a signal does: there is no single way.
    Poured,
    /// The net is a leg of a pair, and is measured there.
    LegOf(String),
    /// No group states a rate.
    NoRate,
    /// No part of the way is a track.
    NoTrack,
    /// The legs never run side by side.
    NeverBeside,
}

impl From<NoBasis> for Unknown {
    fn from(missing: NoBasis) -> Self {
        Self::Basis(missing)
    }
}

impl From<Doubt> for Unknown {
    fn from(doubt: Doubt) -> Self {
        Self::Doubt { doubt, share: None }
    }
}

impl From<Undetermined> for Unknown {
    fn from(reason: Undetermined) -> Self {
        Doubt::from(reason).into()
    }
}

impl fmt::Display for Unknown {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Basis(missing) => write!(f, "{missing}"),
            Self::Doubt { doubt, share: None } => write!(f, "{doubt}"),
            Self::Doubt { doubt, share: Some(share) } => write!(f, "{doubt} ({} of the way)", percent(*share)),
            Self::Poured => f.write_str("the net is poured"),
            Self::LegOf(pair) => write!(f, "it is a leg of the pair `{pair}`"),
            Self::NoRate => f.write_str("no group states a rate for it"),
            Self::NoTrack => f.write_str("no part of the way is a track"),
            Self::NeverBeside => f.write_str("the legs never run side by side"),
        }
    }
}

/// A share in whole percent; a small one is not nothing, and a large one not all.
fn percent(share: f64) -> String {
    match share * 100.0 {
        small if small < 1.0 => "less than 1 %".to_owned(),
        large if large > 99.0 && large < 100.0 => "more than 99 %".to_owned(),
        part => format!("{part:.0} %"),
    }
}
