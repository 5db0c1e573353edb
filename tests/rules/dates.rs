//! Days of the calendar.

use proptest::prelude::*;
use throughline::units::Date;

#[test]
fn only_days_that_the_calendar_has() {
    let read = |text: &str| Date::parse(text).map(|date| date.to_string());
    for day in ["2027-03-01", "2024-02-29", "2000-02-29", "0001-01-01", "9999-12-31"] {
        assert_eq!(read(day).as_deref(), Some(day));
    }
    for wrong in [
        "",
        "2027",
        "2027-03",
        "2027-3-1",
        "2027-02-29",
        "1900-02-29",
        "2027-13-01",
        "2027-00-10",
        "2027-04-31",
        "0000-01-01",
        "+027-03-01",
        "2027-03-01T10:00",
        "2027-03-01-",
        "２０２７-03-01",
    ] {
        assert_eq!(read(wrong), None, "{wrong}");
    }
}

/// Days since 1970-01-01 as POSIX counts them; the leap seconds are left out there too.
#[test]
fn days_are_counted_from_1970() {
    for (day, count) in [("1970-01-01", 0), ("1969-12-31", -1), ("2000-03-01", 11_017), ("2027-03-01", 20_878)] {
        assert_eq!(Date::parse(day).unwrap().days(), count, "{day}");
    }
    assert_eq!(Date::from_days(i64::MAX), None);
    assert_eq!(Date::from_days(i64::MIN), None);
}

proptest! {
    #[test]
    fn a_day_has_one_number(days in -719_162_i64..=2_932_896) {
        let date = Date::from_days(days).unwrap();
        prop_assert_eq!(date.days(), days);
        if let Some(next) = Date::from_days(days + 1) {
            prop_assert!(date < next);
        }
    }
}
