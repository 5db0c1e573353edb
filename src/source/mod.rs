//! Files as text: spans, lines, faults at a place, and the token reader. Knows no boards and does no I/O.

mod fault;
mod file;
mod span;

pub use fault::Fault;
pub use file::SourceFile;
pub use span::{LineColumn, Span};
