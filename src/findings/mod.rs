//! Verdicts in order, counted in a ledger, with a stable fingerprint.
//!
//! Takes what the checks said of every board and gives one [`Judgement`]; judges nothing itself, apart from the one
//! question an exit code answers.

mod cause;
mod fingerprint;
mod judgement;
mod ledger;
mod order;
mod sentence;

pub use cause::{Cause, causes};
pub use fingerprint::Fingerprint;
pub use judgement::{Entry, Judgement, Verdicts, Whole};
pub use ledger::{Idle, Ledger, Reason, Row};
pub use sentence::{point_words, sentence};
