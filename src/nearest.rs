//! The nearest known name to one that isn't known: "did you mean".

/// Names longer than this aren't compared: nobody mistypes them, and the work grows with the square.
const LONGEST: usize = 96;

/// The candidate that differs from `name` by the fewest edits, if it is near enough to be what was meant. Of equally
/// near ones, the first counts; case counts less than any other difference.
#[must_use]
pub fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wanted: Vec<char> = name.chars().take(LONGEST + 1).collect();
    if wanted.is_empty() || wanted.len() > LONGEST {
        return None;
    }
    // A third of the letters may be wrong, but never all of them; in halves, because case counts for half.
    let reach = 2 * (wanted.len() / 3).max(1).min(wanted.len().saturating_sub(1).max(1));
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let letters: Vec<char> = candidate.chars().take(LONGEST + 1).collect();
        if letters.is_empty() || letters.len() > LONGEST || 2 * letters.len().abs_diff(wanted.len()) > reach {
            continue;
        }
        let edits = distance(&wanted, &letters);
        if edits <= reach && best.is_none_or(|(fewest, _)| edits < fewest) {
            best = Some((edits, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Twice the number of edits (insert, delete, replace, swap of neighbours); a change of case costs half an edit.
fn distance(a: &[char], b: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).map(|column| 2 * column).collect();
    let mut previous: Option<char> = None;
    for (row, &x) in a.iter().enumerate() {
        let mut line = Vec::with_capacity(last.len());
        line.push(2 * (row + 1));
        let mut left: Option<char> = None;
        for (column, &y) in b.iter().enumerate() {
            let get = |cells: &[usize], at: usize| cells.get(at).copied().unwrap_or(usize::MAX / 2);
            let replace = if x == y {
                0
            } else if x.to_lowercase().eq(y.to_lowercase()) {
                1
            } else {
                2
            };
            let mut cost = (get(&last, column) + replace).min(get(&last, column + 1) + 2).min(get(&line, column) + 2);
            if column > 0 && previous == Some(y) && left == Some(x) {
                cost = cost.min(get(&before, column - 1) + 2);
            }
            line.push(cost);
            left = Some(y);
        }
        before = std::mem::replace(&mut last, line);
        previous = Some(x);
    }
    last.last().copied().unwrap_or(usize::MAX)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn finds_what_was_meant() {
        let checks = ["net-open", "net-short", "pair-skew", "plane-gap", "via-stub"];
        assert_eq!(nearest("pair-scew", checks), Some("pair-skew"));
        assert_eq!(nearest("via_stub", checks), Some("via-stub"));
        assert_eq!(nearest("plane-gpa", checks), Some("plane-gap"));
        assert_eq!(nearest("NET-OPEN", checks), None, "eight letters in the wrong case are not a slip");
        assert_eq!(nearest("mhz", ["MHz", "mm"]), Some("MHz"));
        assert_eq!(nearest("temperature", checks), None);
        assert_eq!(nearest("", checks), None);
    }

    #[test]
    fn a_name_of_one_letter_is_near_to_its_other_case_only_by_choice_of_the_fewest_edits() {
        assert_eq!(nearest("a", ["m", "A"]), Some("A"));
    }

    #[test]
    fn very_long_names_are_left_alone() {
        let long = "A".repeat(500);
        assert_eq!(nearest(&long, [long.as_str()]), None);
    }
}
