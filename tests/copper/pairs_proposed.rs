//! Pairs that a drawn board proposes: copper confirms what names suggest, and denies the false ones.

use crate::support::starters::straight_pair;
use crate::support::{Board as Drawn, Generation, Pad, Part, Stack, read::read, rectangle};
use throughline::copper::pair_name::{Leg, Marking};
use throughline::copper::pairing::{Proposals, Refusal, propose};

fn proposed(mut drawn: Drawn) -> (Proposals, throughline::board::Board) {
    drawn.fill_missing();
    let board = read(&drawn, Generation::V8);
    (propose(&board), board)
}

/// Two parts with a row of six pads, 0.5 mm apart; each net joins pads of the same number, straight across.
fn rows(nets: &[(&str, usize)]) -> Drawn {
    let mut drawn = Drawn::new("rows", Stack::two());
    drawn.outline((0.0, 0.0), (30.0, 12.0));
    let net_of = |pad: usize| nets.iter().find(|(_, at)| *at == pad).map_or("", |(net, _)| net);
    for (reference, x) in [("U1", 5.0), ("J1", 25.0)] {
        let pads = (0..6)
            .map(|pad| Pad::rect(&(pad + 1).to_string(), (0.0, 0.5 * pad as f64 - 1.25), (0.4, 0.25)).net(net_of(pad)));
        drawn.part(Part::new(reference, (x, 6.0)).pads(pads));
    }
    for &(net, pad) in nets {
        let y = 6.0 + 0.5 * pad as f64 - 1.25;
        drawn.track(net, "F.Cu", 0.15, &[(5.0, y), (25.0, y)]);
    }
    drawn
}

fn names(found: &Proposals) -> Vec<&str> {
    found.pairs.iter().map(|pair| pair.name.as_str()).collect()
}

fn refusal(found: &Proposals, name: &str) -> Option<Refusal> {
    found.refused.iter().find(|refused| refused.proposal.name == name).map(|refused| refused.refusal)
}

#[test]
fn names_and_copper_together_make_a_proposal() {
    let (found, board) = proposed(rows(&[("TX_P", 0), ("TX_N", 1), ("RX+", 3), ("RX-", 4)]));
    assert_eq!(names(&found), ["RX", "TX"]);
    let pair = &found.pairs[1];
    assert_eq!((board.nets.name(pair.p), board.nets.name(pair.n)), ("TX_P", "TX_N"));
    assert_eq!(pair.marking, Marking::Letter);
    assert!(pair.evidence.parallel > 0.99, "{pair:?}");
    assert_eq!(pair.evidence.neighbours, ["J1", "U1"]);
    assert!(found.refused.is_empty() && found.halves.is_empty() && found.near_misses.is_empty());
}

#[test]
fn supplies_sounders_bridges_and_resets_are_no_pairs() {
    for (p, n) in [
        ("VIN+", "VIN-"),
        ("VCC_POS", "VCC_NEG"),
        ("BUZZER+", "BUZZER-"),
        ("S+", "S-"),
        ("LED1_P", "LED1_N"),
        ("12V0_P", "12V0_N"),
        ("RESET_P", "RESET_N"),
    ] {
        let (found, _) = proposed(rows(&[(p, 0), (n, 1)]));
        assert!(found.pairs.is_empty(), "{p} {n}");
        assert_eq!(found.refused.len(), 1, "{p} {n} must be listed");
        assert_eq!(found.refused[0].refusal, Refusal::Name, "{p} {n}");
    }
}

#[test]
fn active_low_nets_are_neither_pairs_nor_halves() {
    let (found, _) = proposed(rows(&[("RESET_N", 0), ("PERST_N", 1), ("CS_N", 3)]));
    assert_eq!((found.pairs.len(), found.refused.len(), found.halves.len()), (0, 0, 0));
}

#[test]
fn poured_nets_are_rails() {
    let mut drawn = rows(&[("CORE_P", 0), ("CORE_N", 1)]);
    drawn.zone("CORE_P", &["B.Cu"], &rectangle((1.0, 1.0), (29.0, 3.0)));
    drawn.via("CORE_P", (2.0, 2.0));
    let (found, _) = proposed(drawn);
    assert_eq!(refusal(&found, "CORE"), Some(Refusal::Poured));
}

#[test]
fn balls_that_read_like_legs_need_copper_side_by_side() {
    // IO_P4 and IO_N4 are balls; one runs above, one far below, and their pads are no neighbours.
    let (found, _) = proposed(rows(&[("IO_P4", 0), ("IO_N4", 5)]));
    assert!(found.pairs.is_empty());
    assert_eq!(refusal(&found, "IO_4"), Some(Refusal::Apart));
}

#[test]
fn pins_that_lead_nowhere_are_no_pair() {
    let mut drawn = rows(&[("TX_P", 0), ("TX_N", 1)]);
    drawn.part(Part::new("J2", (15.0, 10.0)).pads((0..4).map(|pad| {
        let net = ["NC_P", "NC_N", "", ""][pad];
        Pad::rect(&pad.to_string(), (0.5 * pad as f64, 0.0), (0.25, 0.4)).net(net)
    })));
    let (found, _) = proposed(drawn);
    assert_eq!(names(&found), ["TX"]);
    assert_eq!(refusal(&found, "NC"), Some(Refusal::Alone));
}

#[test]
fn vague_marks_need_long_parallel_copper() {
    assert_eq!(names(&proposed(rows(&[("CK0", 0), ("CK#0", 1)])).0), ["CK0"]);
    let (found, _) = proposed(rows(&[("CK0", 0), ("CK#0", 5)]));
    assert_eq!(refusal(&found, "CK0"), Some(Refusal::Apart));
}

#[test]
fn the_better_mate_takes_the_net() {
    // CK_N reads as the mate of CK_P and of CK; it runs beside CK_P.
    let (found, _) = proposed(rows(&[("CK_P", 0), ("CK_N", 1), ("CK", 5)]));
    assert_eq!(found.pairs.len(), 1);
    assert_eq!(found.pairs[0].marking, Marking::Letter);
}

#[test]
fn a_half_and_a_near_miss_are_told() {
    let (found, board) = proposed(rows(&[("LANE0_P", 0), ("LANE0_N", 1), ("LANE1_P", 3), ("LANE1N", 4)]));
    assert_eq!(names(&found), ["LANE0"]);
    let halves: Vec<(&str, Leg)> = found.halves.iter().map(|&(net, leg)| (board.nets.name(net), leg)).collect();
    assert!(halves.contains(&("LANE1_P", Leg::P)), "{halves:?}");
    let near: Vec<(&str, &str)> =
        found.near_misses.iter().map(|&(p, n, _)| (board.nets.name(p), board.nets.name(n))).collect();
    assert_eq!(near, [("LANE1_P", "LANE1N")]);
}

#[test]
fn every_generation_proposes_the_same() {
    let mut drawn = straight_pair("generations");
    drawn.fill_missing();
    for generation in [Generation::V5, Generation::V8, Generation::V10] {
        let found = propose(&read(&drawn, generation));
        assert_eq!(names(&found), ["LINK"], "{generation:?}");
        assert!(found.pairs[0].evidence.parallel > 0.95);
    }
}
