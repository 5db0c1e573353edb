//! Files as text: spans, lines, faults at a place, and the token reader. Knows no boards and does no I/O.

pub mod excerpt;
mod fault;
mod file;
mod printable;
mod span;

pub use fault::Fault;
pub use file::SourceFile;
pub use printable::{printable, printable_name};
pub use span::{LineColumn, Span};
