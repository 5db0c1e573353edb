//! The part of a file that is shown around a place, for miette's graphical handler.
//!
//! A board may be one line of thirty megabytes, and one finding may name places a million lines apart. So the reader
//! goes through the line index, shows only a window of a long line, and refuses to join places that lie far apart.

use super::{SourceFile, printable};
use miette::{MietteError, SourceCode, SourceSpan, SpanContents};
use std::borrow::Cow;

/// A line longer than this many bytes is shown in part.
const LONG_LINE: usize = 160;
/// Bytes shown before and after a label on a long line.
const WINDOW: usize = 48;
/// Most lines between two places that are shown together.
const MOST_LINES: usize = 4;

impl SourceCode for SourceFile {
    /// With no context asked for, exactly the span, for the place in the header. With context, the line of the span
    /// and up to that many more lines if the construct that starts there goes on; of a long line, a window.
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        _before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let (start, end) = (span.offset(), span.offset() + span.len());
        let within = self.text().get(start..end).ok_or(MietteError::OutOfBounds)?;
        let (from, to) = if after == 0 { (start, end) } else { shown(self, start, end, after)? };
        let place = self.line_column(u32::try_from(from).unwrap_or(u32::MAX));
        let text = self.text().get(from..to).unwrap_or(within);
        let text = match printable(text) {
            Cow::Borrowed(_) => text,
            Cow::Owned(_) => self.printable_text().get(from..to).unwrap_or(""),
        };
        Ok(Box::new(Piece {
            data: text.as_bytes(),
            span: (from, to - from).into(),
            line: place.line as usize - 1,
            column: place.column as usize - 1,
            lines: text.lines().count().max(1),
            name: printable(self.name()),
        }))
    }
}

/// The bytes to show for a span.
fn shown(file: &SourceFile, start: usize, end: usize, after: usize) -> Result<(usize, usize), MietteError> {
    let text = file.text();
    let (first, mut last) = (line_of(file, start), line_of(file, end.saturating_sub(1).max(start)));
    if last - first > MOST_LINES || end - start > LONG_LINE * MOST_LINES {
        return Err(MietteError::OutOfBounds);
    }
    let (from, mut to) = (line_range(file, first).0, line_range(file, last).1);
    if (first..=last).any(|line| line_range(file, line).1 - line_range(file, line).0 > LONG_LINE) {
        return Ok((floor(text, start.saturating_sub(WINDOW).max(from)), ceil(text, (end + WINDOW).min(to))));
    }
    for _ in 0..after {
        let next = line_range(file, last + 1);
        let blank = text.get(next.0..next.1).is_none_or(|line| line.trim().is_empty());
        if closed(text.get(from..to).unwrap_or("")) || blank || next.1 - next.0 > LONG_LINE {
            break;
        }
        last += 1;
        to = next.1;
    }
    Ok((from, to))
}

/// Whether a piece of text closes every list that it opens. Quotes are not minded: this only decides what is shown.
fn closed(text: &str) -> bool {
    text.bytes().fold(0i32, |open, byte| open + i32::from(byte == b'(') - i32::from(byte == b')')) <= 0
}

fn line_of(file: &SourceFile, offset: usize) -> usize {
    file.line_starts().partition_point(|&start| start as usize <= offset).saturating_sub(1)
}

/// The bytes of a line, its line feed included; empty beyond the last line.
fn line_range(file: &SourceFile, line: usize) -> (usize, usize) {
    let end_of_text = file.text().len();
    let start = |line: usize| file.line_starts().get(line).map_or(end_of_text, |&start| start as usize);
    (start(line), start(line + 1))
}

pub(super) fn floor(text: &str, mut at: usize) -> usize {
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

pub(super) fn ceil(text: &str, mut at: usize) -> usize {
    while !text.is_char_boundary(at) {
        at += 1;
    }
    at
}

/// A piece of a file as the handler wants it.
struct Piece<'f> {
    data: &'f [u8],
    span: SourceSpan,
    line: usize,
    column: usize,
    lines: usize,
    name: Cow<'f, str>,
}

impl<'f> SpanContents<'f> for Piece<'f> {
    fn data(&self) -> &'f [u8] {
        self.data
    }
    fn span(&self) -> &SourceSpan {
        &self.span
    }
    fn line(&self) -> usize {
        self.line
    }
    fn column(&self) -> usize {
        self.column
    }
    fn line_count(&self) -> usize {
        self.lines
    }
    fn name(&self) -> Option<&str> {
        Some(&self.name)
    }
}
