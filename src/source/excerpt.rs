//! Lines of a file shown with a notice: the reader for miette's graphical handler, and the look of both.
//!
//! A board may be one line of thirty megabytes, and one finding may name places a million lines apart. So the reader
//! goes through the line index, shows only a window of a long line, and refuses to join places that lie far apart.

use super::{Fault, LineColumn, SourceFile, Span, printable};
use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, Severity, SourceCode, SourceSpan,
    SpanContents, ThemeCharacters, ThemeStyles,
};
use std::borrow::Cow;
use std::fmt;

/// A line longer than this many bytes is shown in part.
const LONG_LINE: usize = 160;
/// Bytes shown before and after a label on a long line.
const WINDOW: usize = 48;
/// Most lines between two places that are shown together.
const MOST_LINES: usize = 4;
/// Bytes that a label may cover; longer spans are labelled at their head.
const LABEL: usize = 60;

/// How text is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// With colours.
    pub colour: bool,
    /// Columns to wrap at.
    pub width: usize,
}

impl Look {
    /// Without colour, wrapped at a fixed width: the same on every machine.
    pub const PLAIN: Self = Self { colour: false, width: 100 };
}

/// How grave a notice is; the word stands before its text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gravity {
    /// An error.
    Error,
    /// A warning.
    Warning,
    /// For information.
    Note,
}

/// A place in the notice's file with a few words beside it.
#[derive(Debug, Clone)]
pub struct Mark {
    /// The place; only its head is underlined.
    pub span: Span,
    /// The words; may be empty.
    pub text: String,
}

/// A text with lines of one file below it.
#[derive(Debug)]
pub struct Notice<'f> {
    /// How grave it is.
    pub gravity: Gravity,
    /// What it says; further lines are set off below the first.
    pub text: String,
    /// The file and the places shown of it, the main one first.
    pub excerpt: Option<(&'f SourceFile, Vec<Mark>)>,
    /// What to do about it.
    pub help: Option<String>,
}

impl<'f> Notice<'f> {
    /// A fault told with another gravity.
    #[must_use]
    pub fn of(fault: &'f Fault, gravity: Gravity) -> Self {
        Self {
            gravity,
            text: printable(&fault.message).into_owned(),
            excerpt: Some((&fault.file, vec![Mark { span: fault.span, text: fault.label.clone() }])),
            help: fault.help.as_ref().map(|help| printable(help).into_owned()),
        }
    }
}

impl Notice<'_> {
    /// The notice as text, one line feed at its end.
    #[must_use]
    pub fn render(&self, look: &Look) -> String {
        render(self, look)
    }
}

/// Draws any diagnostic in the house's look.
#[must_use]
pub fn render(diagnostic: &dyn Diagnostic, look: &Look) -> String {
    let handler = GraphicalReportHandler::new_themed(theme(look.colour))
        .with_width(look.width)
        .with_links(false)
        .with_urls(false)
        .with_context_lines(2)
        .with_break_words(false)
        .tab_width(2)
        .without_syntax_highlighting();
    let mut text = String::new();
    // Writing into a string can fail only if a label lies outside its file; the words must not be lost with it.
    if handler.render_report(&mut text, diagnostic).is_err() {
        text = format!("  {diagnostic}");
    }
    let text = text.strip_prefix("  ").unwrap_or(&text);
    let mut lines = text.lines().map(str::trim_end).fold(String::new(), |text, line| text + line + "\n");
    lines.truncate(lines.trim_end().len());
    lines.push('\n');
    lines
}

fn theme(colour: bool) -> GraphicalTheme {
    let characters = ThemeCharacters {
        hbar: ' ',
        vbar_break: '│',
        ltop: ' ',
        lbot: ' ',
        underbar: '─',
        uarrow: '─',
        error: "error".into(),
        warning: "warning".into(),
        advice: "note".into(),
        ..ThemeCharacters::unicode()
    };
    let styles = if colour {
        let ansi = ThemeStyles::ansi();
        ThemeStyles { link: ansi.linum, highlights: vec![ansi.help], ..ansi }
    } else {
        ThemeStyles::none()
    };
    GraphicalTheme { characters, styles }
}

/// Only the lines of a file with marks on them, as they stand below a notice.
#[must_use]
pub fn lines(file: &SourceFile, marks: Vec<Mark>, look: &Look) -> String {
    let notice = Notice { gravity: Gravity::Note, text: String::new(), excerpt: Some((file, marks)), help: None };
    let text = notice.render(look);
    text.split_once('\n').map_or_else(String::new, |(_, lines)| lines.to_owned())
}

impl fmt::Display for Notice<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl std::error::Error for Notice<'_> {}

impl Diagnostic for Notice<'_> {
    fn severity(&self) -> Option<Severity> {
        Some(match self.gravity {
            Gravity::Error => Severity::Error,
            Gravity::Warning => Severity::Warning,
            Gravity::Note => Severity::Advice,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display + 'a>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.excerpt.as_ref().map(|(file, _)| *file as &dyn SourceCode)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let (file, marks) = self.excerpt.as_ref()?;
        Some(Box::new(marks.iter().enumerate().map(|(at, mark)| label(file, mark.span, &mark.text, at == 0))))
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&printable(&self.message))
    }
}

impl std::error::Error for Fault {}

impl Diagnostic for Fault {
    fn severity(&self) -> Option<Severity> {
        Some(Severity::Error)
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help.as_ref().map(|help| Box::new(printable(help)) as Box<dyn fmt::Display + 'a>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(&*self.file)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(std::iter::once(label(&self.file, self.span, &self.label, true))))
    }
}

impl Fault {
    /// The line and column that reports name: those of the first character marked in the excerpt.
    #[must_use]
    pub fn place(&self) -> LineColumn {
        self.file.line_column(head(&self.file, self.span).start)
    }
}

/// The part of a span that is marked: on one line, short, and on a character even at the end of the file.
#[must_use]
pub fn head(file: &SourceFile, span: Span) -> Span {
    let text = file.text();
    let end_of_text = text.trim_end().len();
    let last = text.get(..end_of_text).and_then(|text| text.char_indices().next_back()).map_or(0, |(at, _)| at);
    let mut start = (span.start as usize).min(text.len());
    if start >= end_of_text {
        start = last;
    }
    start = floor(text, start);
    let rest = text.get(start..ceil(text, (start + LABEL).min(text.len()))).unwrap_or("");
    let line = rest.find(['\n', '\r']).unwrap_or(rest.len());
    let wanted = (span.end as usize).saturating_sub(start).clamp(1, LABEL).min(line.max(1));
    let end = ceil(text, (start + wanted).min(text.len()));
    // Spans come from offsets below the loader's size limit.
    Span::new(u32::try_from(start).unwrap_or(u32::MAX), u32::try_from(end).unwrap_or(u32::MAX))
}

fn label(file: &SourceFile, span: Span, text: &str, primary: bool) -> LabeledSpan {
    let head = head(file, span);
    let words = (!text.is_empty()).then(|| printable(text).into_owned());
    let range = (head.start as usize, (head.end - head.start) as usize);
    if primary { LabeledSpan::new_primary_with_span(words, range) } else { LabeledSpan::new(words, range.0, range.1) }
}

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

fn floor(text: &str, mut at: usize) -> usize {
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

fn ceil(text: &str, mut at: usize) -> usize {
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
