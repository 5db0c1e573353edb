//! Globs against a matcher that is too simple to be wrong: expand the alternatives, then try every way.

use proptest::prelude::*;
use throughline::rules::{Glob, LegPattern, PairPattern};

/// Every pattern that a pattern with brace lists stands for.
fn expand(pattern: &str) -> Vec<String> {
    let list = pattern.match_indices('{').find_map(|(open, _)| {
        let close = open + pattern[open..].find('}')?;
        pattern[open..close].contains(',').then_some((open, close))
    });
    let Some((open, close)) = list else { return vec![pattern.to_owned()] };
    let (before, after) = (&pattern[..open], &pattern[close + 1..]);
    pattern[open + 1..close].split(',').flat_map(|one| expand(&format!("{before}{one}{after}"))).collect()
}

fn naive(pattern: &[char], name: &[char]) -> bool {
    match (pattern, name) {
        ([], []) => true,
        (['*', rest @ ..], _) => naive(rest, name) || (!name.is_empty() && naive(pattern, &name[1..])),
        (['?', rest @ ..], [_, tail @ ..]) => naive(rest, tail),
        ([c, rest @ ..], [d, tail @ ..]) => c == d && naive(rest, tail),
        _ => false,
    }
}

fn naive_matches(pattern: &str, name: &str) -> bool {
    let name: Vec<char> = name.chars().collect();
    expand(pattern).iter().any(|pattern| naive(&pattern.chars().collect::<Vec<_>>(), &name))
}

/// A pattern of parts that the grammar knows, brace lists unnested.
fn pattern() -> impl Strategy<Value = String> {
    let part = prop_oneof![
        4 => "[abµ]",
        2 => Just("*".to_owned()),
        2 => Just("?".to_owned()),
        2 => "\\{[ab?*]{0,2},[ab]{0,2}(,[ab*]{0,1})?\\}",
        1 => "\\{[ab]{0,2}\\}",
    ];
    prop::collection::vec(part, 0..6).prop_map(|parts| parts.concat())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn globs_match_what_the_naive_matcher_matches(pattern in pattern(), name in "[abµ{}]{0,6}") {
        let glob = Glob::parse(&pattern).unwrap();
        prop_assert_eq!(glob.matches(&name), naive_matches(&pattern, &name), "{} on {}", pattern, name);
        prop_assert_eq!(glob.matches(&name), glob.edits(&name, 9) == Some(0));
    }

    #[test]
    fn a_name_with_one_letter_changed_is_one_edit_away(name in "[a-f]{1,8}", at in 0usize..8, letter in "[x-z]") {
        let mut letters: Vec<char> = name.chars().collect();
        let at = at % letters.len();
        letters[at] = letter.chars().next().unwrap();
        let changed: String = letters.iter().collect();
        let glob = Glob::parse(&name).unwrap();
        prop_assert_eq!(glob.edits(&changed, 3), Some(1));
        letters.remove(at);
        prop_assert_eq!(glob.edits(&letters.iter().collect::<String>(), 3), Some(1), "a letter less");
        prop_assert_eq!(glob.edits(&format!("{name}x"), 3), Some(1), "a letter more");
        prop_assert_eq!(glob.edits(&changed, 0), None);
    }

    #[test]
    fn no_pattern_panics(pattern in "[a{},*?~]{0,12}", name in "[a{},~]{0,8}") {
        match Glob::parse(&pattern) {
            Ok(glob) => prop_assert_eq!(glob.matches(&name), glob.edits(&name, 0).is_some()),
            Err(error) => prop_assert!(pattern.get(error.range.clone()).is_some_and(|part| !part.is_empty())),
        }
        if let Err(error) = PairPattern::parse(&pattern) {
            prop_assert!(pattern.get(error.range.clone()).is_some());
        }
    }

    #[test]
    fn mates_come_in_twos(pattern in "[ab?*]{0,3}\\{p,n\\}[ab?*]{0,3}", name in "[abpn]{0,6}") {
        let legs = LegPattern::parse(&pattern).unwrap().unwrap();
        let whole = Glob::parse(&pattern).unwrap();
        let mates: Vec<String> = legs.mates(&name, "p", "n").collect();
        for mate in &mates {
            prop_assert!(whole.matches(&name) && whole.matches(mate) && *mate != name);
            prop_assert!(legs.mates(mate, "n", "p").any(|back| back == name));
        }
        if whole.matches(&name) {
            prop_assert!(!mates.is_empty() || legs.mates(&name, "n", "p").next().is_some());
        }
    }
}

#[test]
fn a_pattern_made_to_be_slow_is_not() {
    let glob = Glob::parse(&"*a".repeat(200)).unwrap();
    assert!(!glob.matches(&format!("{}b", "a".repeat(2000))));
    assert!(glob.matches(&"a".repeat(2000)));
    let lists = Glob::parse(&"{a,b,c}".repeat(60)).unwrap();
    assert!(lists.matches(&"abc".repeat(20)));
}
