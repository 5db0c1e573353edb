//! A day of the calendar, as waivers name it. It knows no clock.

use std::fmt;

/// A day of the Gregorian calendar, years 1 to 9999.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Date {
    year: u16,
    month: u8,
    day: u8,
}

impl Date {
    /// The day, if the calendar has it.
    #[must_use]
    pub const fn new(year: u16, month: u8, day: u8) -> Option<Self> {
        if year == 0 || year > 9999 || month == 0 || month > 12 || day == 0 || day > days_in(year, month) {
            return None;
        }
        Some(Self { year, month, day })
    }

    /// Reads `2027-03-01`.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.split('-');
        let mut number = |digits: usize| {
            let part = parts.next().filter(|part| part.len() == digits)?;
            part.bytes().all(|byte| byte.is_ascii_digit()).then(|| part.parse::<u16>().ok()).flatten()
        };
        let (year, month, day) = (number(4)?, number(2)?, number(2)?);
        if parts.next().is_some() {
            return None;
        }
        Self::new(year, u8::try_from(month).ok()?, u8::try_from(day).ok()?)
    }

    /// Days since 1970-01-01; negative before it.
    #[must_use]
    pub fn days(self) -> i64 {
        // Years from March on, so that the leap day is the last of its year; then the day number of the Julian style,
        // less the centuries without a leap day.
        let (year, month) = (i64::from(self.year), i64::from(self.month));
        let (year, month) = if month <= 2 { (year - 1, month + 9) } else { (year, month - 3) };
        let leaps = year / 4 - year / 100 + year / 400;
        365 * year + leaps + (153 * month + 2) / 5 + i64::from(self.day) - 1 - 719_468
    }

    /// The day of a number of days since 1970-01-01; `None` outside the years 1 to 9999.
    #[must_use]
    pub fn from_days(days: i64) -> Option<Self> {
        // The year is at most one off this estimate; then a month and a day are looked up.
        let estimate = days.checked_add(719_468)?.checked_mul(400)? / 146_097;
        let start = |year: i64| {
            let year = u16::try_from(year).ok()?;
            Self::new(year, 1, 1).map(Self::days)
        };
        let year =
            [estimate + 1, estimate, estimate - 1].into_iter().find(|&year| start(year).is_some_and(|d| d <= days))?;
        let year = u16::try_from(year).ok()?;
        let month =
            (1..=12).rev().find(|&month| Self::new(year, month, 1).is_some_and(|first| first.days() <= days))?;
        let first = Self::new(year, month, 1)?;
        Self::new(year, month, u8::try_from(days - first.days() + 1).ok()?)
    }
}

const fn days_in(year: u16, month: u8) -> u8 {
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400)) => 29,
        2 => 28,
        _ => 31,
    }
}

impl fmt::Display for Date {
    /// `2027-03-01`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}
