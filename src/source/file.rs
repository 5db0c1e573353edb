//! One file's text with its line index.

use super::{LineColumn, Span, printable};
use memchr::memchr_iter;
use std::borrow::Cow;
use std::sync::OnceLock;

/// A file's name and text. The line index is built on first use.
#[derive(Debug)]
pub struct SourceFile {
    name: String,
    text: String,
    lines: OnceLock<Vec<u32>>,
    printable: OnceLock<Option<String>>,
}

impl SourceFile {
    /// A file known to people as `name` (a path as given) with `text` (at most `u32::MAX` bytes: the loader's limit).
    #[must_use]
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        Self { name: name.into(), text: text.into(), lines: OnceLock::new(), printable: OnceLock::new() }
    }

    /// The name as given by the user.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The whole text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The whole text with a mark, as many bytes long, for every character that must not reach a terminal.
    #[must_use]
    pub fn printable_text(&self) -> &str {
        let marked = self.printable.get_or_init(|| match printable(&self.text) {
            Cow::Borrowed(_) => None,
            Cow::Owned(text) => Some(text),
        });
        marked.as_deref().unwrap_or(&self.text)
    }

    /// Byte offsets of line starts; the first is 0.
    pub fn line_starts(&self) -> &[u32] {
        self.lines.get_or_init(|| {
            std::iter::once(0)
                .chain(memchr_iter(b'\n', self.text.as_bytes()).filter_map(|at| u32::try_from(at + 1).ok()))
                .collect()
        })
    }

    /// The line and column of a byte offset.
    #[must_use]
    pub fn line_column(&self, offset: u32) -> LineColumn {
        let starts = self.line_starts();
        let line = starts.partition_point(|&start| start <= offset).max(1);
        let start = starts.get(line - 1).copied().unwrap_or(0);
        let column = self.text.get(start as usize..offset as usize).map_or(0, |before| before.chars().count());
        LineColumn {
            line: u32::try_from(line).unwrap_or(u32::MAX),
            column: u32::try_from(column + 1).unwrap_or(u32::MAX),
        }
    }

    /// The text of a span, empty if it does not lie in the file.
    #[must_use]
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.start as usize..span.end as usize).unwrap_or("")
    }
}
