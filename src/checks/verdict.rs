//! What a check says of one subject.

use super::Message;
use crate::board::{LayerId, LayerSet};
use crate::geometry::Point;
use crate::rules::{At, Level};
use crate::source::Span;
use crate::units::Quantity;

/// A place in the board file and on the board.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Head token of the object in the board file.
    pub span: Span,
    /// Point on the board, if there is one.
    pub at: Option<Point>,
    /// Layer, if it is on one.
    pub layer: Option<LayerId>,
    /// What is there, shown beside the place: "the longer leg".
    pub label: Message,
}

/// What a verdict is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Subject {
    /// Kind: "net", "pair", "group", "via", "zone", "board".
    pub kind: &'static str,
    /// Name: net name, pair name, group name; for a via its net.
    pub name: String,
    /// Pad ends ("U1.A3"), sorted, if the subject has ends.
    pub ends: Vec<String>,
}

/// How a subject fared.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// Within limits.
    Pass,
    /// Beyond the warning or the limit.
    Fail(Level),
    /// Could not be judged.
    Unchecked {
        /// The missing input, as a sentence: "the board has no stackup".
        missing: Message,
    },
}

/// What a check says of one subject.
#[derive(Debug, Clone)]
pub struct Verdict {
    /// Name of the check.
    pub check: &'static str,
    /// What it is about.
    pub subject: Subject,
    /// How it fared.
    pub outcome: Outcome,
    /// Measured value, if one was measured.
    pub value: Option<Quantity>,
    /// The limit it was held against (the warning value if only that was passed).
    pub limit: Option<At<Quantity>>,
    /// What was found.
    pub message: Message,
    /// What to do about it, if it is a finding.
    pub help: Option<Message>,
    /// Where; `None` for a subject without copper.
    pub place: Option<Place>,
    /// Related places, most telling first.
    pub related: Vec<Place>,
    /// Copper layers the verdict rests on: a doubt about copper there turns a pass into unchecked.
    pub layers: LayerSet,
}
