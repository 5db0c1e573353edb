//! How groups name nets and pairs.

use super::glob::{Piece, pieces};
use super::{Glob, GlobError};

/// A pattern over net names: `*`, `?`, `{a,b}`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NetPattern(pub String);

/// How a group names pairs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PairPattern {
    /// A pattern whose last `{p,n}` alternative names the legs.
    Legs(String),
    /// The two nets by name.
    Nets(String, String),
    /// A pattern without legs: proposed pairs (found by name and copper) whose name matches.
    Proposed(String),
}

impl PairPattern {
    /// Reads a pattern: with a brace list of two alternatives the last such list names the legs P and N; without one
    /// it is a pattern over the names of proposed pairs.
    ///
    /// # Errors
    /// [`GlobError`] for a faulty pattern, and for alternatives that can't be legs.
    pub fn parse(text: &str) -> Result<Self, GlobError> {
        Glob::parse(text)?;
        Ok(if LegPattern::parse(text)?.is_some() {
            Self::Legs(text.to_owned())
        } else {
            Self::Proposed(text.to_owned())
        })
    }
}

/// A pattern that names both nets of a pair: what stands before the legs, the legs, what stands after.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LegPattern {
    /// What stands before the leg.
    pub before: Glob,
    /// What marks leg P.
    pub p: String,
    /// What marks leg N.
    pub n: String,
    /// What stands after the leg.
    pub after: Glob,
}

impl LegPattern {
    /// The legs of a pattern; `None` if no brace list of it has two alternatives.
    ///
    /// # Errors
    /// [`GlobError`] for a faulty pattern, and for alternatives that can't be legs.
    pub fn parse(text: &str) -> Result<Option<Self>, GlobError> {
        let legs = pieces(text)?.into_iter().rev().find_map(|piece| match piece {
            Piece::List(alternatives, range) => match *alternatives.as_slice() {
                [p, n] => Some((p, n, range)),
                _ => None,
            },
            Piece::Text(_) => None,
        });
        let Some((p, n, range)) = legs else { return Ok(None) };
        if p == n || p.contains(['*', '?']) || n.contains(['*', '?']) {
            return Err(GlobError {
                message: "the last list of two must name the legs",
                help: "two different texts without `*` and `?` mark leg P and leg N: `LANE?_{P,N}`",
                range,
            });
        }
        let direction = |a: &str, b: &str| p.eq_ignore_ascii_case(a) && n.eq_ignore_ascii_case(b);
        if direction("TX", "RX") || direction("RX", "TX") || direction("IN", "OUT") || direction("OUT", "IN") {
            return Err(GlobError {
                message: "directions are not legs",
                help: "the last list of two names the legs P and N: `LANE?_{TX,RX}_{P,N}`",
                range,
            });
        }
        Ok(Some(Self {
            before: Glob::parse(text.get(..range.start).unwrap_or(""))?,
            p: p.to_owned(),
            n: n.to_owned(),
            after: Glob::parse(text.get(range.end..).unwrap_or(""))?,
        }))
    }

    /// The names of the other leg that would make a pair with `name`, one for each way in which `name` reads as the
    /// leg marked `own`; `other` marks the mate.
    pub fn mates<'a>(&'a self, name: &'a str, own: &'a str, other: &'a str) -> impl Iterator<Item = String> + 'a {
        let starts = name.char_indices().map(|(at, _)| at).chain([name.len()]);
        starts.filter_map(move |at| {
            let before = name.get(..at)?;
            let after = name.get(at..)?.strip_prefix(own)?;
            (self.before.matches(before) && self.after.matches(after)).then(|| format!("{before}{other}{after}"))
        })
    }
}
