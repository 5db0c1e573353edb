//! Why a section has no answer.

use std::fmt;

/// The solver's refusal: what was asked has no answer, or none that can be trusted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Undetermined {
    /// A length, permittivity or loss tangent is not a number, or not in its range.
    BadValue(&'static str),
    /// No conductor carries a signal.
    NoSignal,
    /// More signal conductors than the solver takes.
    TooManySignals(usize),
    /// More pieces of outline than the solver takes.
    TooIntricate,
    /// Two conductors touch or overlap (their places in the section's list).
    Overlap(usize, usize),
    /// A conductor touches a plane, or lies beyond it.
    BeyondPlane(usize),
    /// A conductor is not where a mask could cover it.
    OffSurface(usize),
    /// A mask on a face that a plane covers.
    MaskedPlane,
    /// The section is so much wider than the space between its planes that its parts do not see each other: cut it.
    TooWide,
    /// No plane and no grounded conductor: a single line has no return, only pairs have a differential mode.
    NoReturn,
    /// The equations have no clear answer.
    Singular,
    /// The finest mesh still left more doubt than allowed (relative error of the capacitances).
    Unconverged {
        /// What is left.
        error: f64,
        /// What was allowed.
        allowed: f64,
    },
    /// Conductors without thickness have no finite resistance.
    NoThickness,
    /// The result does not obey physics (a matrix that must be positive is not).
    Unphysical,
}

impl fmt::Display for Undetermined {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BadValue(what) => write!(f, "{what} is out of range"),
            Self::NoSignal => f.write_str("the section has no signal conductor"),
            Self::TooManySignals(count) => write!(f, "{count} signal conductors in one section; at most 8 are solved"),
            Self::TooIntricate => f.write_str("the section's outline has too many parts"),
            Self::Overlap(one, two) => write!(f, "conductors {one} and {two} touch"),
            Self::BeyondPlane(which) => write!(f, "conductor {which} touches a plane or lies beyond it"),
            Self::OffSurface(which) => write!(f, "conductor {which} is not on the face that the mask covers"),
            Self::MaskedPlane => f.write_str("a mask lies on a face that is a plane"),
            Self::TooWide => f.write_str("the section is too wide for the space between its planes"),
            Self::NoReturn => f.write_str("the section has neither plane nor ground: there is no return path"),
            Self::Singular => f.write_str("the section's equations are singular"),
            Self::Unconverged { error, allowed } => {
                write!(
                    f,
                    "the solution is uncertain by {:.2} %, more than the {:.2} % allowed",
                    error * 1e2,
                    allowed * 1e2
                )
            }
            Self::NoThickness => f.write_str("a conductor without thickness has no finite resistance"),
            Self::Unphysical => f.write_str("the solution breaks a law of physics"),
        }
    }
}

impl std::error::Error for Undetermined {}
