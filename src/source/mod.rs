//! Files as text: spans, lines, faults at a place, and the token reader. Knows no boards and does no I/O.

mod cursor;
pub mod excerpt;
mod fault;
mod file;
pub mod lexer;
pub mod limits;
pub mod number;
mod printable;
mod span;
mod window;
mod wrap;

pub use cursor::{Cursor, Item, Read, Word};
pub use fault::Fault;
pub use file::SourceFile;
pub use limits::Limits;
pub use printable::{printable, printable_name};
pub use span::{LineColumn, Span};
pub use wrap::wrap;
