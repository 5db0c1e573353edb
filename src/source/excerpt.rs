//! Lines of a file shown with a notice, and how both look. `window.rs` decides which lines.

use super::window::{ceil, floor};
use super::{Fault, LineColumn, SourceFile, Span, printable, wrap};
use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, Severity, SourceCode, ThemeCharacters, ThemeStyles,
};
use std::fmt;

/// Bytes that a label may cover; longer spans are labelled at their head.
const LABEL: usize = 60;
/// Columns that the handler puts before wrapped words.
const HANG: usize = 10;

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
        .with_wrap_lines(false)
        .tab_width(2)
        .without_syntax_highlighting();
    let width = look.width.saturating_sub(HANG);
    let wrapped = Wrapped {
        text: wrap(&diagnostic.to_string(), width),
        help: diagnostic.help().map(|help| wrap(&help.to_string(), width)),
        inner: diagnostic,
    };
    let mut text = String::new();
    // Writing into a string can fail only if a label lies outside its file; the words must not be lost with it.
    if handler.render_report(&mut text, &wrapped).is_err() {
        text = format!("  {diagnostic}");
    }
    let text = text.strip_prefix("  ").unwrap_or(&text);
    let mut lines = text.lines().map(str::trim_end).fold(String::new(), |text, line| text + line + "\n");
    lines.truncate(lines.trim_end().len());
    lines.push('\n');
    lines
}

/// A diagnostic with its words wrapped.
#[derive(Debug)]
struct Wrapped<'d> {
    inner: &'d dyn Diagnostic,
    text: String,
    help: Option<String>,
}

impl fmt::Display for Wrapped<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl std::error::Error for Wrapped<'_> {}

impl Diagnostic for Wrapped<'_> {
    fn severity(&self) -> Option<Severity> {
        self.inner.severity()
    }
    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.help.as_ref().map(|help| Box::new(help) as Box<dyn fmt::Display + 'a>)
    }
    fn source_code(&self) -> Option<&dyn SourceCode> {
        self.inner.source_code()
    }
    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        self.inner.labels()
    }
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
