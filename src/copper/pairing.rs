//! Pairs that a board proposes: net names suggest them, copper confirms them. A proposal is never more than that; the
//! rule set decides. What the names suggest and the copper denies is listed too, with the reason.

use super::pair_evidence::{Evidence, TracksByNet, evidence};
use super::pair_match::{Candidate, Difference, candidates, leftovers};
use super::pair_name::{Leg, Marking};
use crate::board::{Board, NetId};
use crate::table::Id;

/// Two nets that could be a pair.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// Name of the pair: what the names of its legs share.
    pub name: String,
    /// Leg P.
    pub p: NetId,
    /// Leg N.
    pub n: NetId,
    /// How the names mark the legs.
    pub marking: Marking,
    /// What the copper says.
    pub evidence: Evidence,
}

/// Why two nets whose names fit are not proposed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refusal {
    /// The name speaks of a supply, a reset, a sounder or a sensor bridge.
    Name,
    /// A leg has filled copper: a rail.
    Poured,
    /// The copper neither runs in parallel for long enough nor ends at neighbouring pads.
    Apart,
    /// Neither net has a second pad: there is nothing between the two to run side by side.
    Alone,
    /// One of the nets is a leg of a pair with better evidence.
    Taken,
}

/// Names that fit without being proposed.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// The names and what the copper says.
    pub proposal: Proposal,
    /// Why not.
    pub refusal: Refusal,
}

/// What a board proposes about pairs. All lists are sorted by name.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Proposals {
    /// Pairs that both names and copper suggest.
    pub pairs: Vec<Proposal>,
    /// Pairs that names suggest and copper (or the name itself) denies.
    pub refused: Vec<Refused>,
    /// Nets that read as a leg without a mate.
    pub halves: Vec<(NetId, Leg)>,
    /// Nets (P, N) that nearly read as a pair.
    pub near_misses: Vec<(NetId, NetId, Difference)>,
}

/// Clear names need this share of their length in parallel, or neighbouring pads. Chosen on real boards, where the
/// shortest escapes of true pairs reach a quarter.
const PARALLEL: f64 = 0.2;
/// Vague names need this share in parallel.
const PARALLEL_VAGUE: f64 = 0.6;

/// Proposes pairs among the nets of a board.
#[must_use]
pub fn propose(board: &Board) -> Proposals {
    let mut ids: Vec<NetId> = board.nets.iter().map(|(id, _)| id).filter(|id| id.is_some()).collect();
    ids.sort_by(|a, b| board.nets.name(*a).cmp(board.nets.name(*b)));
    let names: Vec<&str> = ids.iter().map(|&id| board.nets.name(id)).collect();
    let tracks = TracksByNet::of(board);
    let poured = rails(board);
    let mut pads = vec![0_u32; board.nets.len()];
    for pad in board.pads.values() {
        if let Some(count) = pads.get_mut(pad.net.index()) {
            *count += 1;
        }
    }
    let pads_of = |net: NetId| pads.get(net.index()).copied().unwrap_or(0);
    let mut found = Proposals::default();
    let mut judged: Vec<(Option<Refusal>, Proposal, Candidate)> = Vec::new();
    for candidate in candidates(&names) {
        let (Some(&p), Some(&n)) = (ids.get(candidate.p), ids.get(candidate.n)) else { continue };
        let evidence = evidence(board, &tracks, p, n);
        let refusal = if speaks_of_no_pair(&candidate.name) {
            Some(Refusal::Name)
        } else if poured.binary_search(&p).is_ok() || poured.binary_search(&n).is_ok() {
            Some(Refusal::Poured)
        } else if pads_of(p) < 2 && pads_of(n) < 2 {
            Some(Refusal::Alone)
        } else if !convinces(candidate.marking, &evidence) {
            Some(Refusal::Apart)
        } else {
            None
        };
        let proposal = Proposal { name: candidate.name.clone(), p, n, marking: candidate.marking, evidence };
        judged.push((refusal, proposal, candidate));
    }
    // The best evidence takes its nets first; ties fall to the stronger marking, then to the order of names.
    judged.sort_by(|(a_no, a, a_names), (b_no, b, b_names)| {
        let rank = |no: &Option<Refusal>| u8::from(no.is_some());
        let vague = |marking: Marking| u8::from(marking >= Marking::Word);
        (rank(a_no), vague(a.marking))
            .cmp(&(rank(b_no), vague(b.marking)))
            .then(b.evidence.weight().total_cmp(&a.evidence.weight()))
            .then_with(|| a_names.cmp(b_names))
    });
    let mut taken: Vec<NetId> = Vec::new();
    for (refusal, proposal, _) in judged {
        let free = !taken.contains(&proposal.p) && !taken.contains(&proposal.n);
        match refusal {
            None if free => {
                taken.extend([proposal.p, proposal.n]);
                found.pairs.push(proposal);
            }
            None => found.refused.push(Refused { proposal, refusal: Refusal::Taken }),
            // A weaker reading of nets that are already paired says nothing new.
            Some(_) if !free => {}
            Some(refusal) => found.refused.push(Refused { proposal, refusal }),
        }
    }
    found.pairs.sort_by(|a, b| (&a.name, a.p, a.n).cmp(&(&b.name, b.p, b.n)));
    found.refused.sort_by(|a, b| {
        let key = |refused: &Refused| (refused.proposal.name.clone(), refused.proposal.p, refused.proposal.n);
        key(a).cmp(&key(b))
    });
    found.refused.dedup_by_key(|refused| (refused.proposal.p, refused.proposal.n));
    let mut paired: Vec<usize> = Vec::new();
    let spoken_for = found.pairs.iter().chain(found.refused.iter().map(|refused| &refused.proposal));
    for net in spoken_for.flat_map(|pair| [pair.p, pair.n]) {
        paired.extend(ids.iter().position(|&id| id == net));
    }
    paired.sort_unstable();
    paired.dedup();
    let (halves, near) = leftovers(&names, &paired);
    let id = |at: usize| ids.get(at).copied().unwrap_or_else(NetId::none);
    found.halves = halves.iter().map(|half| (id(half.at), half.leg)).collect();
    found.halves.retain(|&(net, _)| !speaks_of_no_pair(board.nets.name(net)) && poured.binary_search(&net).is_err());
    found.near_misses = near.iter().map(|miss| (id(miss.p), id(miss.n), miss.difference)).collect();
    found
}

fn convinces(marking: Marking, evidence: &Evidence) -> bool {
    match marking {
        Marking::Word | Marking::Complement => evidence.parallel >= PARALLEL_VAGUE,
        // A letter at the end of a word is weaker than one on its own: it takes neighbouring pads at two parts.
        Marking::Glued => evidence.parallel >= PARALLEL || evidence.neighbours.len() >= 2,
        _ => evidence.parallel >= PARALLEL || !evidence.neighbours.is_empty(),
    }
}

/// Nets with poured copper that is not a teardrop, sorted.
fn rails(board: &Board) -> Vec<NetId> {
    use crate::board::ZoneKind;
    let pours = board.fills.values().filter(|fill| {
        fill.net.is_some() && board.zones.get(fill.zone).is_some_and(|zone| zone.kind == ZoneKind::Pour)
    });
    let mut nets: Vec<NetId> = pours.map(|fill| fill.net).collect();
    nets.sort_unstable_by_key(|net| net.index());
    nets.dedup();
    nets
}

/// Words of a pair's name that say it is none: supplies, resets, sounders, lamps, drives, bridges of sensors.
const NO_PAIR: &[&str] = &[
    "GND", "VSS", "VEE", "VCC", "VDD", "VIN", "VOUT", "VBUS", "VBAT", "VREF", "VSYS", "BAT", "BATT", "PWR", "POWER",
    "SUPPLY", "RST", "RESET", "NRST", "BZ", "BUZ", "BUZZ", "BUZZER", "BEEP", "LED", "MOT", "MOTOR", "FAN", "COIL",
    "HEATER", "SENSE", "SNS", "EXC", "GAUGE", "BRIDGE",
];

/// Whether a word of the name rules out a pair. A lone `S` or `E` names the wires of a sensor bridge.
fn speaks_of_no_pair(name: &str) -> bool {
    let local = name.rsplit('/').next().unwrap_or(name).to_uppercase();
    let mut words = local.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty());
    let bare = |word: &str| word.trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
    let supply = |word: &str| {
        // 12V0, 3V3, 5V: a voltage.
        let digits = word.chars().take_while(char::is_ascii_digit).count();
        digits > 0 && word.chars().nth(digits) == Some('V')
    };
    matches!(local.as_str(), "S" | "E") || words.any(|word| NO_PAIR.contains(&bare(word).as_str()) || supply(word))
}
