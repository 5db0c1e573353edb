//! The one order of verdicts, decided before any report sees them: worst first, and total.

use super::{Entry, Standing};
use crate::checks::{ALL, Outcome, Place};
use crate::geometry::Point;
use std::cmp::Ordering;

/// Worst first: by outcome, check, how far beyond the limit, board, subject and place. The last keys only make the
/// order total, so that neither threads nor the order of the file's items can show.
pub(super) fn compare(one: &Entry<'_>, two: &Entry<'_>) -> Ordering {
    let (a, b) = (&one.verdict, &two.verdict);
    let rank = |entry: &Entry<'_>| entry.standing().rank();
    rank(one)
        .cmp(&rank(two))
        .then_with(|| raw(&a.outcome).cmp(&raw(&b.outcome)))
        .then_with(|| check_row(a.check).cmp(&check_row(b.check)))
        .then_with(|| excess(two).total_cmp(&excess(one)))
        .then_with(|| one.board.name.cmp(&two.board.name))
        .then_with(|| a.subject.cmp(&b.subject))
        .then_with(|| place(a.place.as_ref()).cmp(&place(b.place.as_ref())))
        .then_with(|| one.rule_row.cmp(&two.rule_row))
        .then_with(|| one.text.cmp(&two.text))
        .then_with(|| a.related.iter().map(|p| place(Some(p))).cmp(b.related.iter().map(|p| place(Some(p)))))
        .then_with(|| one.board.source.name().cmp(two.board.source.name()))
        .then_with(|| span(a.place.as_ref()).cmp(&span(b.place.as_ref())))
}

/// The outcome itself, for what is waived or known; 0 is worst.
const fn raw(outcome: &Outcome) -> u8 {
    match outcome {
        Outcome::Fail(level) => Standing::Fail(*level).rank(),
        Outcome::Unchecked { .. } => Standing::Unchecked.rank(),
        Outcome::Pass => Standing::Pass.rank(),
    }
}

/// The order of checks: that of their table; one that is not in it comes last, by name.
pub(super) fn check_row(name: &'static str) -> (usize, &'static str) {
    (ALL.iter().position(|check| check.info().schema.name == name).unwrap_or(ALL.len()), name)
}

/// How far a value lies from its limit, as a ratio: 0 at the limit, greater the farther beyond it.
fn excess(entry: &Entry<'_>) -> f64 {
    let (Some(value), Some(limit)) = (entry.verdict.value, entry.verdict.limit.as_ref()) else { return 0.0 };
    let (value, limit) = (value.base().abs(), limit.value.base().abs());
    // A limit of nothing: the value itself orders, behind no ratio.
    let ratio = if limit == 0.0 { 1e9 + value } else { (value / limit).ln().abs() };
    if ratio.is_finite() { ratio } else { 1e9 }
}

fn place(place: Option<&Place>) -> Option<(Option<Point>, Option<u8>)> {
    place.map(|place| (place.at, place.layer.map(|layer| layer.0)))
}

fn span(place: Option<&Place>) -> Option<crate::source::Span> {
    place.map(|place| place.span)
}
