//! Where output goes and how it looks: results on standard output, everything else on standard error.

use super::arguments::When;
use super::trouble::Troubles;
use crate::nearest::nearest;
use crate::source::excerpt::Look;
use std::env;
use std::fs;
use std::io::{self, ErrorKind, IsTerminal, Write};
use std::path::PathBuf;

/// A report's format.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// For people.
    Text,
    /// One line per finding.
    Line,
    /// For programs.
    Json,
    /// For spreadsheets.
    Csv,
    /// A picture.
    Svg,
    /// Network parameters for simulators.
    Touchstone,
    /// For hosts of code, the standard form of findings.
    Sarif,
    /// For hosts of code, as tests.
    Junit,
    /// For a comment on a change.
    Markdown,
    /// For a build service's remarks on a change.
    Annotations,
}

impl Format {
    const ALL: [Self; 10] = [
        Self::Text,
        Self::Line,
        Self::Json,
        Self::Csv,
        Self::Svg,
        Self::Touchstone,
        Self::Sarif,
        Self::Junit,
        Self::Markdown,
        Self::Annotations,
    ];

    /// As written on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Text => "text",
            Self::Line => "line",
            Self::Json => "json",
            Self::Csv => "csv",
            Self::Svg => "svg",
            Self::Touchstone => "touchstone",
            Self::Sarif => "sarif",
            Self::Junit => "junit",
            Self::Markdown => "markdown",
            Self::Annotations => "annotations",
        }
    }
}

/// A report that was asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Report {
    /// Its format.
    pub format: Format,
    /// Where to; standard output if `None`.
    pub path: Option<PathBuf>,
}

impl Report {
    /// Reads `FORMAT[=PATH]`.
    pub fn parse(text: &str) -> Result<Self, String> {
        let (name, path) = match text.split_once('=') {
            Some((_, "")) => return Err("no path behind `=`".to_owned()),
            Some((name, path)) => (name, Some(PathBuf::from(path))),
            None => (text, None),
        };
        match Format::ALL.into_iter().find(|format| format.name() == name) {
            Some(format) => Ok(Self { format, path }),
            None => {
                let names = Format::ALL.map(Format::name);
                let near = nearest(name, names).map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
                Err(format!("there is no `{name}` report; there are {}{near}", names.join(", ")))
            }
        }
    }
}

/// How text looks on each stream.
#[derive(Debug)]
pub struct Streams {
    results: Look,
    complaints: Look,
}

impl Streams {
    /// From the terminal, the environment and `--color`.
    pub fn new(when: When) -> Self {
        let (out, err) = (io::stdout().is_terminal(), io::stderr().is_terminal());
        Self { results: look(when, out), complaints: look(when, err) }
    }

    /// The look of standard output.
    pub const fn results(&self) -> Look {
        self.results
    }

    /// The look of standard error.
    pub const fn complaints(&self) -> Look {
        self.complaints
    }
}

fn look(when: When, terminal: bool) -> Look {
    let set = |name: &str| env::var_os(name).is_some_and(|value| !value.is_empty());
    let dumb = env::var_os("TERM").is_some_and(|term| term == "dumb");
    let colour = match when {
        When::Always => true,
        When::Never => false,
        When::Auto => terminal && !set("NO_COLOR") && !dumb,
    };
    // Without a terminal the width is fixed, so that the same run gives the same bytes anywhere.
    let columns = env::var("COLUMNS").ok().and_then(|text| text.parse().ok()).filter(|_| terminal);
    Look { colour, width: columns.map_or(Look::PLAIN.width, |columns: usize| columns.clamp(40, 200)) }
}

/// Writes results to standard output. A reader that has gone away is no fault of the run.
pub fn print(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
        result => result,
    }
}

/// Writes to standard error. If even that fails there is nobody left to tell.
pub fn complain(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}

/// Writes every report where it was asked to go; `text` makes one in its format and look. Only standard output has
/// the look of a terminal.
pub fn deliver(reports: &[Report], streams: &Streams, text: impl Fn(Format, &Look) -> String) -> Result<(), Troubles> {
    for report in reports {
        let look = if report.path.is_none() { streams.results() } else { Look::PLAIN };
        let text = text(report.format, &look);
        let (target, result) = match &report.path {
            Some(path) => (format!("`{}`", path.display()), fs::write(path, text)),
            None => ("standard output".to_owned(), print(&text)),
        };
        result.map_err(|error| {
            Troubles::plain(format!("can't write the {} report to {target}: {error}", report.format.name()), None)
        })?;
    }
    Ok(())
}
