//! The arguments of every command.

use super::output::{Format, Report};
use super::quantity;
use crate::rules::Level;
use crate::units::{Length, Quantity, Target};
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::num::NonZeroUsize;
use std::path::PathBuf;

const EXIT_STATUS: &str = "\
Exit status:
  0  everything that counts was judged, and nothing is at or above the fail level
  1  a finding is at or above the fail level
  2  not judged: wrong usage, unreadable input, a bad rule set, or no such finding but
     something that a check of that level could not judge";

/// Holds the copper of high-speed interposer boards against a rule set.
#[derive(Debug, Parser)]
#[command(name = "throughline", version, max_term_width = 100, after_help = EXIT_STATUS)]
#[command(disable_help_subcommand = true, arg_required_else_help = true)]
pub struct Arguments {
    #[command(subcommand)]
    pub command: Command,
    #[command(flatten)]
    pub global: Global,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Hold boards against the rule set
    Check {
        /// Board files, or folders of them [default: the current folder]
        #[arg(value_name = "INPUT")]
        inputs: Vec<PathBuf>,
    },
    /// Measure every net and pair of boards, without judging
    Measure {
        /// Board files, or folders of them [default: the current folder]
        #[arg(value_name = "INPUT")]
        inputs: Vec<PathBuf>,
    },
    /// Find widths and gaps that meet an impedance on a layer of a stackup
    Width(WidthArguments),
    /// Explain a check, with the limits in force
    Explain {
        /// Name of the check
        #[arg(value_name = "CHECK")]
        check: String,
    },
    /// List all checks with the limits in force
    Checks,
}

#[derive(Debug, Args)]
pub struct WidthArguments {
    /// A board file, a rule file with a stackup, or a folder with one of them
    #[arg(long, value_name = "INPUT")]
    pub on: PathBuf,

    /// Copper layer to draw on, by its name or its number from the top: `F.Cu`, `L1`
    #[arg(long, value_name = "LAYER")]
    pub layer: String,

    /// Impedance to meet: `"85 ohm"`; with a tolerance the report tells what stays within it
    #[arg(long, value_name = "IMPEDANCE", value_parser = quantity::impedance)]
    pub target: Target,

    /// A single line instead of a pair
    #[arg(long)]
    pub single: bool,

    /// Gap of the pair; may be given more than once [default: several usual ones]
    #[arg(long, value_name = "LENGTH", value_parser = quantity::length)]
    pub gap: Vec<Length>,

    /// Width of the traces: the gap is looked for, or with `--gap` the impedance told
    #[arg(long, value_name = "LENGTH", value_parser = quantity::length)]
    pub width: Option<Length>,

    /// The narrowest trace that the fab makes
    #[arg(long, value_name = "LENGTH", value_parser = quantity::length, default_value = "0.1 mm")]
    pub least_width: Length,

    /// The narrowest gap that the fab makes
    #[arg(long, value_name = "LENGTH", value_parser = quantity::length, default_value = "0.1 mm")]
    pub least_gap: Length,

    /// Plane above the layer, or `none` [default: the nearest poured layer; without a board the next one]
    #[arg(long, value_name = "LAYER")]
    pub plane_above: Option<String>,

    /// Plane below the layer, or `none` [default: the nearest poured layer; without a board the next one]
    #[arg(long, value_name = "LAYER")]
    pub plane_below: Option<String>,

    /// How much narrower etching leaves the far side of a trace, both flanks together, in thicknesses of its foil
    #[arg(long, value_name = "RATIO", value_parser = quantity::ratio, default_value = "100 %")]
    pub etch: f64,

    /// Symbol rate at whose half, the Nyquist frequency, loss is told [default: that of the rule set's groups]
    #[arg(long, value_name = "RATE", value_parser = quantity::rate)]
    pub rate: Option<Quantity>,
}

#[derive(Debug, Args)]
pub struct Global {
    /// Rule file, or name of a shipped rule set
    ///
    /// Without it: the nearest `throughline.toml` in the board's folder or above it, else the shipped default.
    #[arg(long, global = true, value_name = "FILE|NAME")]
    pub rules: Option<String>,

    /// Report to write: text, line, json; for `measure` and `width` text, csv, json. To standard output unless a path follows.
    /// May be given more than once
    #[arg(long = "report", global = true, value_name = "FORMAT[=PATH]", value_parser = Report::parse)]
    pub reports: Vec<Report>,

    /// Level from which a finding fails the run
    #[arg(long, global = true, value_name = "LEVEL", value_enum, default_value_t = FailOn::Error)]
    pub fail_on: FailOn,

    /// Run this check alone; may be given more than once
    #[arg(long, global = true, value_name = "CHECK")]
    pub only: Vec<String>,

    /// Leave this check out; may be given more than once
    #[arg(long, global = true, value_name = "CHECK")]
    pub skip: Vec<String>,

    /// Threads to use [default: one per core]; the results are the same for any number
    #[arg(long, global = true, value_name = "N", value_parser = threads)]
    pub jobs: Option<NonZeroUsize>,

    /// When to colour
    #[arg(long, global = true, value_name = "WHEN", value_enum, default_value_t = When::Auto)]
    pub color: When,
}

fn threads(text: &str) -> Result<NonZeroUsize, String> {
    text.parse().map_err(|_| "expected a number of threads, at least 1".to_owned())
}

impl Global {
    /// The reports to write for a command that knows `formats`; the first of them goes to standard output unless
    /// another does.
    pub fn reports(&self, formats: &[Format]) -> Result<Vec<Report>, String> {
        let mut reports = self.reports.clone();
        if let Some(report) = reports.iter().find(|report| !formats.contains(&report.format)) {
            let names: Vec<_> = formats.iter().map(|format| format.name()).collect();
            return Err(format!("this command has no `{}` report; it has {}", report.format.name(), names.join(", ")));
        }
        match (reports.iter().filter(|report| report.path.is_none()).count(), formats.first()) {
            (0, Some(&format)) => reports.insert(0, Report { format, path: None }),
            (0 | 1, _) => {}
            _ => return Err("two reports can't share standard output; give one of them a path".to_owned()),
        }
        let mut paths: Vec<_> = reports.iter().filter_map(|report| report.path.as_ref()).collect();
        paths.sort();
        if let Some([path, _]) = paths.windows(2).find(|pair| matches!(pair, [a, b] if a == b)) {
            return Err(format!("two reports can't share the file `{}`", path.display()));
        }
        Ok(reports)
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FailOn {
    Error,
    Warning,
}

impl From<FailOn> for Level {
    fn from(level: FailOn) -> Self {
        match level {
            FailOn::Error => Self::Error,
            FailOn::Warning => Self::Warning,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum When {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}
