//! Fingerprints of the rerouted demo: the same after the board was saved by another version, its items put in another
//! order, given new identifiers, or changed elsewhere.

use crate::support::judge::{Said, judge_text};
use crate::support::plant;
use crate::support::recorder::{MIDDLE, rerouted};
use crate::support::{Board, Generation, fixture};
use std::collections::BTreeSet;

fn said(board: &Board, generation: Generation) -> Vec<Said> {
    judge_text("base", &board.text(generation), &fixture::path("recorder/throughline.toml")).1
}

/// Who has which fingerprint, passes included.
fn prints(said: &[Said]) -> BTreeSet<(&str, &str, &str)> {
    said.iter().map(|said| (said.fingerprint.as_str(), said.check.as_str(), said.subject.as_str())).collect()
}

/// Holds two runs against each other.
fn same(before: &[Said], after: &[Said], how: &str) {
    let (before, after) = (prints(before), prints(after));
    let differ: Vec<_> = before.symmetric_difference(&after).collect();
    assert!(differ.is_empty(), "{how}: {differ:#?}");
}

#[test]
fn every_verdict_has_its_own_and_keeps_it() {
    let board = rerouted().0;
    let before = said(&board, Generation::V9);
    let own: BTreeSet<&str> = before.iter().map(|said| said.fingerprint.as_str()).collect();
    assert_eq!(own.len(), before.len(), "each its own");

    same(&before, &said(&board, Generation::V7), "saved by an older version");

    let mut reordered = board.clone();
    reordered.tracks.reverse();
    reordered.vias.rotate_left(17);
    reordered.zones.reverse();
    reordered.parts.reverse();
    reordered.nets.reverse();
    reordered.parts.iter_mut().for_each(|part| part.pads.reverse());
    let reordered_text = reordered.text(Generation::V9);
    assert_ne!(reordered_text, board.text(Generation::V9));
    same(&before, &said(&reordered, Generation::V9), "in another order");

    // The drawing code makes identifiers from the board's name, which the program takes from the file.
    let renamed = Board { name: "other".to_owned(), ..board.clone() };
    let text = renamed.text(Generation::V9);
    let ids = |text: &str| text.lines().filter(|line| line.contains("(uuid")).map(str::to_owned).collect::<Vec<_>>();
    let old_ids = ids(&board.text(Generation::V9));
    assert!(ids(&text).iter().zip(&old_ids).all(|(new, old)| new != old), "no identifier is left");
    same(&before, &said(&renamed, Generation::V9), "with new identifiers");
}

#[test]
fn a_change_elsewhere_and_a_worse_value_keep_it() {
    let board = rerouted().0;
    let before = said(&board, Generation::V9);
    let findings = || before.iter().filter(|said| said.outcome != "pass");
    assert!(findings().count() > 9);

    // A lane without a fault gets longer, and a via of the ground net moves.
    let mut changed = board.clone();
    let fault = findings().any(|said| said.subject.contains("MEM_RX2"));
    assert!(!fault, "the changed lane has no fault of its own");
    plant::longer_leg(&mut changed, "MEM_RX2", "F.Cu", (18.0, MIDDLE + 10.0), 0.02, false);
    let via = changed.vias.iter_mut().find(|via| via.net == "GND").unwrap();
    via.at.0 += 0.01;
    let after = said(&changed, Generation::V9);
    let now = prints(&after);
    for finding in findings() {
        assert!(now.contains(&(&*finding.fingerprint, &*finding.check, &*finding.subject)), "{finding:?}");
    }

    // The fault itself gets worse.
    let mut worse = board;
    plant::longer_leg(&mut worse, "MEM_TX1", "F.Cu", (28.0, MIDDLE - 1.35), 0.1, false);
    let skew = |said: &[Said]| {
        let one = said.iter().find(|said| said.check == "pair-skew" && said.subject.contains("MEM_TX1")).unwrap();
        (one.fingerprint.clone(), one.message.clone())
    };
    let (old, new) = (skew(&before), skew(&said(&worse, Generation::V9)));
    assert_ne!(old.1, new.1);
    assert_eq!(old.0, new.0);
}
