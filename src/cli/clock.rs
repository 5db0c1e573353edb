//! The day of a run: the only place that reads a clock for a result.

use super::trouble::Troubles;
use crate::units::Date;
use std::time::{SystemTime, UNIX_EPOCH};

const DAY: u64 = 86_400;

/// The day that was asked for, else today in UTC, so that a run gives the same anywhere at the same moment.
pub fn day(asked: Option<Date>) -> Result<Date, Troubles> {
    let today = || {
        let since = SystemTime::now().duration_since(UNIX_EPOCH).ok()?;
        Date::from_days(i64::try_from(since.as_secs() / DAY).ok()?)
    };
    asked.or_else(today).ok_or_else(|| {
        Troubles::plain("the clock of this machine is not set", Some("name the day with `--as-of`".to_owned()))
    })
}
