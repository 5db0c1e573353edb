//! Where a value came from.

use crate::source::{SourceFile, Span};
use crate::units::{Quantity, Written};
use std::fmt;
use std::sync::Arc;

/// The file and span that stated a value.
#[derive(Debug, Clone)]
pub struct Origin {
    /// The rule file.
    pub file: Arc<SourceFile>,
    /// The value in it.
    pub span: Span,
}

impl Origin {
    /// The value as it was written, quotes included.
    #[must_use]
    pub fn written(&self) -> &str {
        self.file.slice(self.span)
    }
}

impl fmt::Display for Origin {
    /// `serial-16g.toml:14:10`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let at = self.file.line_column(self.span.start);
        write!(f, "{}:{}:{}", self.file.name(), at.line, at.column)
    }
}

/// A value with its origin.
#[derive(Debug, Clone)]
pub struct At<T> {
    /// The value.
    pub value: T,
    /// Where it was stated.
    pub origin: Origin,
}

impl At<Quantity> {
    /// The text of the rule file, if it has another unit than the quantity is printed in: `6 mil` for 0.152 mm.
    #[must_use]
    pub fn in_another_unit(&self) -> Option<&str> {
        let text = self.origin.written().trim_matches(['"', '\'']).trim();
        let unit = Written::parse(text, &[self.value.dimension()]).ok()?.unit?;
        (!self.value.to_string().ends_with(&format!(" {}", unit.symbol))).then_some(text)
    }
}

impl<T: PartialEq> PartialEq for At<T> {
    /// Two values are equal wherever they were stated.
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}
