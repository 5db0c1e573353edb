//! How a command ended, as an exit code.

use crate::findings::Whole;
use std::process::ExitCode;

/// How a command ended. The meaning is the same for every command and report format.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// 0: nothing to say, or nothing at or above the fail level.
    Clean,
    /// 1: a finding at or above the fail level.
    Findings,
    /// 2: not judged.
    NotJudged,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(match exit {
            Exit::Clean => 0,
            Exit::Findings => 1,
            Exit::NotJudged => 2,
        })
    }
}

impl From<Whole> for Exit {
    fn from(whole: Whole) -> Self {
        match whole {
            Whole::Clean => Self::Clean,
            Whole::Findings => Self::Findings,
            Whole::NotJudged => Self::NotJudged,
        }
    }
}
