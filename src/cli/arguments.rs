//! The arguments of every command.

use super::output::{Format, Report};
use super::quantity;
use crate::field::{Impedance, Time};
use crate::rules::Level;
use crate::units::{Date, Length, Quantity, Target};
use clap::{ArgGroup, Args, Parser, Subcommand, ValueEnum};
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
    Check(CheckArguments),
    /// Accept one finding: append a waiver to the waiver file, or else to the rule file
    Waive(WaiveArguments),
    /// Measure every net and pair of boards, without judging
    Measure {
        /// Board files, or folders of them [default: the current folder]
        #[arg(value_name = "INPUT")]
        inputs: Vec<PathBuf>,
    },
    /// Look at one channel from end to end: impedance, running skew, predicted reflection
    Profile(ProfileArguments),
    /// Find widths and gaps that meet an impedance on a layer of a stackup
    Width(WidthArguments),
    /// Explain a check, with the limits in force
    Explain {
        /// Name of the check
        #[arg(value_name = "CHECK")]
        check: String,
    },
    /// List all checks with the limits in force
    Checks {
        /// The rule set in force as one rule file, each value with the place that states it
        #[arg(long)]
        effective: bool,
    },
    /// Draft a rule file from a board's own names and copper
    Init {
        /// A board file, or a folder with one
        #[arg(value_name = "BOARD")]
        board: PathBuf,

        /// File to write, `-` for standard output [default: throughline.toml beside the board]
        #[arg(long, value_name = "FILE")]
        to: Option<PathBuf>,
    },
    /// Print the JSON schema of rule files, or of a file that the program writes
    Schema {
        /// Which one
        #[arg(value_name = "FILE", value_enum, default_value_t = Schema::Rules)]
        schema: Schema,
    },
    /// Print a completion script for a shell
    Completions {
        /// The shell
        #[arg(value_name = "SHELL", value_enum)]
        shell: clap_complete::Shell,
    },
    /// Print the manual page, or that of a command
    Man {
        /// The command
        #[arg(value_name = "COMMAND")]
        command: Option<String>,
    },
}

#[derive(Debug, Args)]
pub struct CheckArguments {
    /// Board files, or folders of them [default: the current folder]
    #[arg(value_name = "INPUT")]
    pub inputs: Vec<PathBuf>,

    /// Findings of an earlier run that do not fail this one unless they got worse
    #[arg(long, value_name = "FILE")]
    pub baseline: Option<PathBuf>,

    /// Write the baseline anew: without what was fixed, and with better values where they got better
    #[arg(long, requires = "baseline")]
    pub write_baseline: bool,

    /// Take what is new or worse into the baseline, too; makes the file if there is none
    #[arg(long, requires = "write_baseline")]
    pub accept_new: bool,

    /// Tell on standard error what was looked at, how near it came to its limits, and the time it took
    #[arg(long)]
    pub stats: bool,
}

#[derive(Debug, Args)]
pub struct WaiveArguments {
    /// The finding's fingerprint, or as many of its first digits as tell it apart, at least 8
    #[arg(value_name = "FINGERPRINT", value_parser = fingerprint)]
    pub fingerprint: String,

    /// Board files, or folders of them [default: the current folder]
    #[arg(value_name = "INPUT")]
    pub inputs: Vec<PathBuf>,

    /// Why the finding is right as it is
    #[arg(long, value_name = "TEXT", value_parser = reason)]
    pub reason: String,

    /// Last day on which the waiver holds, such as 2027-03-01
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub until: Option<Date>,

    /// File of the rule set to append to [default: its last waiver file, else the rule file]
    #[arg(long, value_name = "FILE")]
    pub into: Option<PathBuf>,
}

#[derive(Debug, Args)]
#[command(group = ArgGroup::new("channel").required(true).args(["pair", "net"]))]
pub struct ProfileArguments {
    /// A board file, or a folder with one
    #[arg(value_name = "INPUT")]
    pub input: PathBuf,

    /// The pair, by its name as `measure` lists it, or the last part of its path
    #[arg(long, value_name = "NAME")]
    pub pair: Option<String>,

    /// The net of a single-ended channel
    #[arg(long, value_name = "NAME")]
    pub net: Option<String>,

    /// End to look from, a pad or a part: `U1.A3`, `U1` [default: the first one]
    #[arg(long, value_name = "END")]
    pub from: Option<String>,

    /// The other end
    #[arg(long, value_name = "END")]
    pub to: Option<String>,

    /// Rise time of the reflected edge, 10 % to 90 % [default: from the group's rate, else 35 ps]
    #[arg(long, value_name = "TIME", value_parser = quantity::rise)]
    pub rise: Option<Time>,

    /// Impedance of source and load [default: the group's target, else 100 ohm for a pair, 50 ohm for a net]
    #[arg(long, value_name = "IMPEDANCE", value_parser = quantity::source)]
    pub source: Option<Impedance>,
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

    /// Report to write, to standard output unless a path follows; may be given more than once
    ///
    /// For `check`: text, line, json, sarif, junit, markdown (a comment on a change), annotations (a build service's
    /// remarks). For `measure` and `width`: text, csv, json. For `profile`: svg, csv, touchstone.
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

    /// Day on which waivers are judged, such as 2027-03-01 [default: today, UTC]
    #[arg(long, global = true, value_name = "DATE", value_parser = date)]
    pub as_of: Option<Date>,

    /// Threads to use [default: one per core]; the results are the same for any number
    #[arg(long, global = true, value_name = "N", value_parser = threads)]
    pub jobs: Option<NonZeroUsize>,

    /// When to colour
    #[arg(long, global = true, value_name = "WHEN", value_enum, default_value_t = When::Auto)]
    pub color: When,
}

fn date(text: &str) -> Result<Date, String> {
    Date::parse(text).ok_or_else(|| "expected a day such as 2027-03-01".to_owned())
}

fn fingerprint(text: &str) -> Result<String, String> {
    let hex = text.bytes().all(|byte| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte));
    if hex && (8..=16).contains(&text.len()) {
        return Ok(text.to_owned());
    }
    Err("expected 8 to 16 digits, 0 to 9 and a to f, as a report shows them".to_owned())
}

fn reason(text: &str) -> Result<String, String> {
    if text.trim().is_empty() { Err("expected a reason".to_owned()) } else { Ok(text.to_owned()) }
}

fn threads(text: &str) -> Result<NonZeroUsize, String> {
    text.parse().map_err(|_| "expected a number of threads, at least 1".to_owned())
}

impl Global {
    /// The reports to write for a command that knows `formats`; the first of them goes to standard output unless
    /// another does.
    pub fn reports(&self, formats: &[Format]) -> Result<Vec<Report>, String> {
        let mut reports = self.known(formats)?;
        if reports.iter().all(|report| report.path.is_some()) {
            reports.extend(formats.first().map(|&format| Report { format, path: None }));
            reports.rotate_right(1);
        }
        Ok(reports)
    }

    /// The reports to write for a command whose reports are no reading matter: what is asked for, or else the first of
    /// `formats` to standard output.
    pub fn reports_as_asked(&self, formats: &[Format]) -> Result<Vec<Report>, String> {
        if self.reports.is_empty() { self.reports(formats) } else { self.known(formats) }
    }

    /// The reports that are asked for, if the command knows them and they don't get in each other's way.
    fn known(&self, formats: &[Format]) -> Result<Vec<Report>, String> {
        let reports = self.reports.clone();
        if let Some(report) = reports.iter().find(|report| !formats.contains(&report.format)) {
            let names: Vec<_> = formats.iter().map(|format| format.name()).collect();
            return Err(format!("this command has no `{}` report; it has {}", report.format.name(), names.join(", ")));
        }
        if reports.iter().filter(|report| report.path.is_none()).count() > 1 {
            return Err("two reports can't share standard output; give one of them a path".to_owned());
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
pub enum Schema {
    /// Rule files
    Rules,
    /// The JSON report of `check`
    Check,
    /// The JSON report of `measure`
    Measure,
    /// The JSON report of `width`
    Width,
    /// Baselines
    Baseline,
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
