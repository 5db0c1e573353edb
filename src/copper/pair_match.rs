//! Which names of a board could be the two legs of one pair, which halves lack a mate, and which nearly have one.
//! Names alone; the copper decides later.

use super::pair_name::{Leg, Marking, Reading, family, loose, pair_name, plain, readings};
use std::collections::BTreeMap;

/// Two names that read as the legs of one pair. Numbers are positions in the list that was asked about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Candidate {
    /// How the legs are marked.
    pub marking: Marking,
    /// Name of the pair.
    pub name: String,
    /// Leg P.
    pub p: usize,
    /// Leg N.
    pub n: usize,
}

/// A name that reads as a leg without a mate.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Half {
    /// The name.
    pub at: usize,
    /// The leg it reads as.
    pub leg: Leg,
}

/// Two halves whose names differ by more than the leg.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct NearMiss {
    /// The name that reads as leg P.
    pub p: usize,
    /// The name that reads as leg N.
    pub n: usize,
    /// What keeps them apart.
    pub difference: Difference,
}

/// What keeps two nearly matching names apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Difference {
    /// Only case, separators, sheet or the kind of leg mark.
    Spelling,
    /// One character.
    OneCharacter,
}

/// All pairs of names that fit, strongest marking first. A name can be part of several.
#[must_use]
pub fn candidates(names: &[&str]) -> Vec<Candidate> {
    let mut by_key: BTreeMap<(Marking, String), [Vec<usize>; 2]> = BTreeMap::new();
    let mut plain_names: BTreeMap<String, usize> = BTreeMap::new();
    let mut complements = Vec::new();
    for (at, name) in names.iter().enumerate() {
        if !name.contains(['#', '~']) {
            plain_names.entry(plain(name)).or_insert(at);
        }
        for Reading { marking, key, leg } in readings(name) {
            if marking == Marking::Complement {
                complements.push((key, at));
                continue;
            }
            let [p, n] = by_key.entry((marking, key)).or_default();
            if leg == Leg::P { p.push(at) } else { n.push(at) }
        }
    }
    let mut found = Vec::new();
    let mut push = |marking, p: usize, n: usize| {
        if let (Some(p_name), Some(n_name)) = (names.get(p), names.get(n)) {
            found.push(Candidate { marking, name: pair_name(p_name, n_name), p, n });
        }
    };
    for ((marking, _), [p, n]) in &by_key {
        for (&p, &n) in p.iter().flat_map(|p| n.iter().map(move |n| (p, n))) {
            push(*marking, p, n);
        }
    }
    for (key, n) in complements {
        if let Some(&p) = plain_names.get(&key)
            && p != n
        {
            push(Marking::Complement, p, n);
        }
    }
    found.sort();
    found.dedup();
    found
}

/// Halves without a mate, and near misses among them. `paired` are the names that found a mate. An N alone is how
/// active-low signals end too, so a half counts only if its mark is clear (a P on its own, a sign) or its family (the same name
/// with other numbers) has pairs.
#[must_use]
pub fn leftovers(names: &[&str], paired: &[usize]) -> (Vec<Half>, Vec<NearMiss>) {
    let is_paired = |at: usize| paired.binary_search(&at).is_ok();
    let mut families: Vec<String> = Vec::new();
    for &at in paired {
        families.extend(names.get(at).into_iter().flat_map(|name| readings(name)).map(|found| family(&found.key)));
    }
    families.sort();
    families.dedup();
    let mut halves: Vec<Half> = Vec::new();
    // Per loose key, the unpaired names that read as it; weak readings serve only to complete a near miss.
    let mut spellings: BTreeMap<String, [Vec<(usize, bool)>; 2]> = BTreeMap::new();
    for (at, name) in names.iter().enumerate().filter(|&(at, _)| !is_paired(at)) {
        for Reading { marking, key, leg } in readings(name) {
            if marking == Marking::Complement {
                continue;
            }
            let clear = match marking {
                Marking::Letter => leg == Leg::P,
                Marking::Sign => true,
                _ => false,
            };
            if clear || families.binary_search(&family(&key)).is_ok() {
                halves.push(Half { at, leg });
            }
            let [p, n] = spellings.entry(loose(&key)).or_default();
            let side = if leg == Leg::P { p } else { n };
            if side.last().is_none_or(|last| last.0 != at) {
                side.push((at, marking < Marking::Glued));
            }
        }
    }
    halves.sort();
    halves.dedup_by_key(|half| half.at);
    let mut near = Vec::new();
    let is_half = |at: usize| halves.binary_search_by_key(&at, |half| half.at).is_ok();
    for [p, n] in spellings.values() {
        for (&(p, p_clear), &(n, n_clear)) in p.iter().flat_map(|p| n.iter().map(move |n| (p, n))) {
            if p != n && (is_half(p) || is_half(n) || (p_clear && n_clear)) {
                near.push(NearMiss { p, n, difference: Difference::Spelling });
            }
        }
    }
    near.extend(one_character_apart(names, &halves));
    near.sort_by_key(|miss| (miss.p, miss.n, miss.difference));
    near.dedup_by_key(|miss| (miss.p, miss.n));
    (halves, near)
}

/// Halves of opposite legs whose keys differ in exactly one character.
fn one_character_apart(names: &[&str], halves: &[Half]) -> Vec<NearMiss> {
    let mut keys: [Vec<(usize, String)>; 2] = [Vec::new(), Vec::new()];
    let [p_keys, n_keys] = &mut keys;
    for half in halves {
        let side = if half.leg == Leg::P { &mut *p_keys } else { &mut *n_keys };
        let all = names.get(half.at).map(|name| readings(name)).unwrap_or_default();
        let own = all.into_iter().filter(|found| found.leg == half.leg && found.marking != Marking::Complement);
        side.extend(own.map(|found| (half.at, loose(&found.key))).filter(|(_, key)| key.len() > 3));
    }
    let mut near = Vec::new();
    for (p, p_key) in p_keys.iter() {
        for (n, _) in n_keys.iter().filter(|(n, n_key)| n != p && differ_by_one(p_key, n_key)) {
            near.push(NearMiss { p: *p, n: *n, difference: Difference::OneCharacter });
        }
    }
    near
}

/// Whether two texts differ by one replaced, added or left-out character.
fn differ_by_one(one: &str, two: &str) -> bool {
    let (one, two): (Vec<char>, Vec<char>) = (one.chars().collect(), two.chars().collect());
    if one.len().abs_diff(two.len()) > 1 {
        return false;
    }
    let head = one.iter().zip(&two).take_while(|(a, b)| a == b).count();
    let tail = one.iter().rev().zip(two.iter().rev()).take_while(|(a, b)| a == b).count();
    let shorter = one.len().min(two.len());
    let longer = one.len().max(two.len());
    head != longer && head + tail >= if one.len() == two.len() { longer - 1 } else { shorter }
}
