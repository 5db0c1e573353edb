//! Verdicts in order, counted in a ledger, with a stable fingerprint, held against waivers and a baseline.
//!
//! Takes what the checks said of every board and gives one [`Judgement`]; judges nothing itself, apart from the one
//! question an exit code answers.

mod baseline;
mod cause;
mod fingerprint;
mod judgement;
mod ledger;
mod order;
mod sentence;
mod standing;
mod waive;

pub use baseline::{BASELINE_FORMAT, Baseline, Change, Known, KnownValue};
pub use cause::{Cause, causes};
pub use fingerprint::Fingerprint;
pub use judgement::{Entry, Gathered, Judgement, Verdicts, Whole};
pub use ledger::{Idle, Ledger, Reason, Row};
pub use sentence::{outcome_word, point_words, sentence};
pub use standing::Standing;
pub use waive::{Fate, WaiverRow};
