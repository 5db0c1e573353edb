//! What a run looked at and how near it came to its limits, per check, with the time it took.

use super::Paint;
use super::table::{Side, Table};
use crate::checks::Outcome;
use crate::findings::{Entry, Judgement};
use crate::units::decimal;
use core::time::Duration;

/// Upper ends of the shares of a limit that a value within it leaves, and the titles of the columns.
const LEFT: [(f64, &str); 4] = [(0.1, "to 10 %"), (0.25, "to 25 %"), (0.5, "to 50 %"), (f64::INFINITY, "more")];

/// What a run took.
#[derive(Debug, Clone, Default)]
pub struct Times {
    /// Parts of the run, in order, by the clock on the wall.
    pub parts: Vec<(&'static str, Duration)>,
    /// Per rule of every board: its check and what it took. Rules run side by side, and what several need is counted
    /// for the one that came first.
    pub rules: Vec<(&'static str, Duration)>,
}

/// The statistics, as a table and a line.
#[must_use]
pub fn stats(judgement: &Judgement<'_>, times: &Times) -> String {
    let mut titles =
        vec![("check", Side::Left), ("subjects", Side::Right), ("without value", Side::Right), ("beyond", Side::Right)];
    titles.extend(LEFT.iter().map(|(_, title)| (*title, Side::Right)));
    titles.extend([("least left", Side::Right), ("time", Side::Right)]);
    let mut table = Table::new(&titles);
    for row in &judgement.ledger.rows {
        let margins: Vec<f64> =
            judgement.entries.iter().filter(|entry| entry.verdict.check == row.check).filter_map(margin).collect();
        let valued = u64::try_from(margins.len()).unwrap_or(u64::MAX);
        let beyond = margins.iter().filter(|margin| **margin < 0.0).count();
        let mut cells = vec![row.check.to_owned(), row.examined.to_string()];
        cells.push(count(row.examined.saturating_sub(valued).saturating_sub(row.left_out)));
        cells.push(count(u64::try_from(beyond).unwrap_or(u64::MAX)));
        let mut from = 0.0;
        for (to, _) in LEFT {
            let inside = margins.iter().filter(|margin| (from..to).contains(*margin)).count();
            cells.push(count(u64::try_from(inside).unwrap_or(u64::MAX)));
            from = to;
        }
        let least = margins.iter().copied().reduce(f64::min);
        cells.push(least.map_or_else(String::new, |least| format!("{} %", decimal(least * 100.0, 0))));
        let time: Duration = times.rules.iter().filter(|(check, _)| *check == row.check).map(|(_, time)| *time).sum();
        cells.push(milliseconds(time));
        table.row(cells);
    }
    let parts: Vec<String> = times.parts.iter().map(|(name, time)| format!("{name} {}", milliseconds(*time))).collect();
    let mut text = table.render(Paint { on: false });
    let left_out: u64 = judgement.ledger.sum(|row| row.left_out);
    if left_out > 0 {
        text.push_str(&format!("{left_out} verdicts are counted as subjects alone\n"));
    }
    format!(
        "{text}beyond: past a limit; to 10 %: within it, with up to 10 % of it left, and so on\ntook: {}\n",
        parts.join(", ")
    )
}

fn count(count: u64) -> String {
    if count == 0 { "-".to_owned() } else { count.to_string() }
}

fn milliseconds(time: Duration) -> String {
    format!("{} ms", decimal(time.as_secs_f64() * 1e3, 1))
}

/// The share of the limit that is left: below zero if the value is past it.
fn margin(entry: &Entry<'_>) -> Option<f64> {
    let verdict = &entry.verdict;
    let (value, limit) = (verdict.value?, verdict.limit.as_ref()?.value);
    value.compare(limit)?;
    let (value, limit) = (value.base(), limit.base().abs());
    let away = (value.abs() - limit).abs();
    // A limit of nothing leaves all or nothing.
    let share = if limit > 0.0 { away / limit } else { f64::from(u8::from(away > 0.0)) };
    match verdict.outcome {
        Outcome::Pass => Some(share),
        // At most one part in a thousand million, so that what fails is never counted as within.
        Outcome::Fail(_) => Some(-share.max(1e-9)),
        Outcome::Unchecked { .. } => None,
    }
}
