//! Names in the order people expect: `DQ2` before `DQ10`.

use std::cmp::Ordering;

/// Compares by letters and by the numbers within; names that differ only in leading zeros compare byte by byte.
pub fn compare(one: &str, two: &str) -> Ordering {
    parts(one).cmp(parts(two)).then_with(|| one.cmp(two))
}

/// A name as runs of digits and single other characters.
fn parts(text: &str) -> impl Iterator<Item = Part<'_>> {
    let mut rest = text;
    std::iter::from_fn(move || {
        let first = rest.chars().next()?;
        let length = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
        let cut = if length == 0 { first.len_utf8() } else { length };
        let (head, tail) = rest.split_at_checked(cut)?;
        rest = tail;
        Some(if length == 0 {
            Part::Letter(first)
        } else {
            let digits = head.trim_start_matches('0');
            Part::Number(digits.len(), digits)
        })
    })
}

/// Numbers come before letters; the longer number is the greater.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
enum Part<'t> {
    Number(usize, &'t str),
    Letter(char),
}

#[cfg(test)]
mod tests {
    use super::compare;

    #[test]
    fn numbers_count_as_numbers() {
        let mut names = ["DQ10", "DQ2", "DQ02", "DQ", "A99999999999999999999", "A100000000000000000000", "9", "Ä1"];
        names.sort_by(|a, b| compare(a, b));
        assert_eq!(names, ["9", "A99999999999999999999", "A100000000000000000000", "DQ", "DQ02", "DQ2", "DQ10", "Ä1"]);
    }
}
