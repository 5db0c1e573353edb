//! A finding's identity: the same after the board was saved again, moved or reordered.

use super::Entry;
use crate::geometry::Point;
use std::collections::BTreeMap;
use std::fmt;

/// Stands first in what is hashed; another number means that old fingerprints no longer hold.
const VERSION: &str = "throughline finding 1";

/// A 64-bit FNV-1a hash (offset basis 0xcbf29ce484222325, prime 0x100000001b3, as published by Fowler, Noll and Vo)
/// over these texts, each followed by a zero byte: the version text, check, board, kind of subject, name of subject,
/// each of its ends, layer, and the number among equals in order of place. Lines, identifiers, messages and values
/// have no part in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Fingerprint(pub u64);

impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:016x}", self.0)
    }
}

struct Hash(u64);

impl Hash {
    fn text(&mut self, text: &str) {
        for byte in text.bytes().chain(std::iter::once(0)) {
            self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
}

/// What must be equal for two entries to need a number to tell them apart.
type Key<'e> = (&'static str, &'e str, &'e str, &'static str, &'e str, &'e [String], &'e str);

fn key<'e>(entry: &'e Entry<'_>) -> Key<'e> {
    let verdict = &entry.verdict;
    let layer = verdict.place.as_ref().and_then(|place| place.layer).map_or("", |layer| entry.board.layers.name(layer));
    let subject = &verdict.subject;
    // Two boards of one name in one run are counted apart, so that neither changes the other's numbers.
    let file = entry.board.source.name();
    (verdict.check, &entry.board.name, file, subject.kind, &subject.name, &subject.ends, layer)
}

/// Gives every entry its fingerprint. Equals that share a place are numbered by their rules, then in report order.
pub(super) fn stamp(entries: &mut [Entry<'_>]) {
    let mut equals: BTreeMap<Key<'_>, Vec<(Option<Point>, usize, usize)>> = BTreeMap::new();
    for (at, entry) in entries.iter().enumerate() {
        let place = entry.verdict.place.as_ref().and_then(|place| place.at);
        equals.entry(key(entry)).or_default().push((place, entry.rule_row, at));
    }
    let mut found = vec![Fingerprint::default(); entries.len()];
    for (key, mut group) in equals {
        group.sort_unstable();
        for (number, (_, _, at)) in group.into_iter().enumerate() {
            let (check, board, _, kind, name, ends, layer) = key;
            let mut hash = Hash(0xcbf2_9ce4_8422_2325);
            for text in [VERSION, check, board, kind, name] {
                hash.text(text);
            }
            for text in ends {
                hash.text(text);
            }
            hash.text(layer);
            hash.text(&number.to_string());
            if let Some(slot) = found.get_mut(at) {
                *slot = Fingerprint(hash.0);
            }
        }
    }
    for (entry, fingerprint) in entries.iter_mut().zip(found) {
        entry.fingerprint = fingerprint;
    }
}
