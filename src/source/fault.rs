//! A fault of an input file at a place: what is wrong, what was expected.

use super::{SourceFile, Span};
use std::sync::Arc;

/// What is wrong with an input, where, and what was expected there.
#[derive(Debug, Clone)]
pub struct Fault {
    /// The fact, lower case, no final dot: "unterminated string".
    pub message: String,
    /// The file it is in.
    pub file: Arc<SourceFile>,
    /// Where in the file.
    pub span: Span,
    /// What was expected there, shown at the place.
    pub label: String,
    /// Advice, if there is any.
    pub help: Option<String>,
}
