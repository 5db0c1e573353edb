//! Impedance along a route, piece by piece, as checks look at it.

use super::zones::{across, free};
use crate::board::LayerId;
use crate::field::Impedance;
use crate::signal::{Doubt, Leg, Line, PairLine, Piece, Role};
use crate::units::Length;

/// What is known of a stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Known {
    /// Its impedance in ohms, and the solver's error of it.
    Ohms(f64, f64),
    /// Nothing, for a reason.
    Doubt(Doubt),
}

/// A stretch of a route with one impedance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretch {
    /// From and to, in nanometres along the route.
    pub along: [f64; 2],
    /// The same along the other leg, if that runs beside it.
    pub mate: Option<[f64; 2]>,
    /// Its layer.
    pub layer: LayerId,
    /// Its impedance: differential on a pair.
    pub known: Known,
    /// Delay in seconds per nanometre; 0 in doubt.
    pub slowness: f64,
}

impl Stretch {
    pub fn length(&self) -> f64 {
        self.along[1] - self.along[0]
    }

    pub const fn ohms(&self) -> Option<f64> {
        match self.known {
            Known::Ohms(ohms, _) => Some(ohms),
            Known::Doubt(_) => None,
        }
    }
}

fn stretch(piece: &Piece, along: [f64; 2], leg: Leg, impedance: Option<Impedance>) -> Option<Stretch> {
    let mate = piece.mate.map(|mate| if leg == Leg::P { mate } else { piece.along }.map(Length::to_nm));
    let known = match (&piece.wave, impedance) {
        (Err(doubt), _) => Known::Doubt(*doubt),
        (Ok(wave), Some(impedance)) => Known::Ohms(impedance.to_ohms(), impedance.to_ohms() * wave.error()),
        // A land has no impedance of its own.
        (Ok(_), None) => return None,
    };
    // Seconds per metre are 1e9 times seconds per nanometre.
    let slowness = piece.wave.as_ref().map_or(0.0, |wave| wave.delay(leg).to_seconds_per_metre() / 1e9);
    (along[1] > along[0]).then_some(Stretch { along, mate, layer: piece.layer, known, slowness })
}

/// What a land shows: its neighbour's impedance, so that it neither begins nor ends anything.
fn bridged(pieces: Vec<(Option<Stretch>, [f64; 2], bool)>) -> Vec<Stretch> {
    let mut found: Vec<Stretch> = Vec::with_capacity(pieces.len());
    for (stretch, along, land) in pieces {
        match (stretch, found.last()) {
            (Some(stretch), _) if !land => found.push(stretch),
            (_, Some(last)) if land && along[1] > along[0] => found.push(Stretch { along, mate: None, ..*last }),
            _ => {}
        }
    }
    found.sort_by(|a, b| a.along[0].total_cmp(&b.along[0]));
    found
}

/// The differential impedance along a leg of a pair.
pub(super) fn of_leg(line: &PairLine, leg: Leg) -> Vec<Stretch> {
    let mut pieces: Vec<(&Piece, [f64; 2])> = line
        .pieces
        .iter()
        .filter_map(|piece| {
            let along = match (leg, piece.mate) {
                (Leg::N, Some(mate)) => mate,
                (Leg::P, Some(_)) => piece.along,
                _ if piece.leg == leg => piece.along,
                _ => return None,
            };
            Some((piece, along.map(Length::to_nm)))
        })
        .collect();
    pieces.sort_by(|a, b| a.1[0].total_cmp(&b.1[0]));
    bridged(
        pieces
            .into_iter()
            .map(|(piece, along)| (stretch(piece, along, leg, piece.differential()), along, piece.role == Role::Land))
            .collect(),
    )
}

/// The impedance along a single route.
pub(super) fn of_line(line: &Line) -> Vec<Stretch> {
    let pieces = line.pieces.iter().map(|piece| {
        let along = piece.along.map(Length::to_nm);
        (stretch(piece, along, Leg::P, piece.single()), along, piece.role == Role::Land)
    });
    bridged(pieces.collect())
}

/// The parts of stretches outside the zones of their own leg, and of the other where that runs beside it.
pub(super) fn judged(stretches: &[Stretch], own: &[[f64; 2]], other: &[[f64; 2]]) -> Vec<Stretch> {
    let parts = |&found: &Stretch| {
        let beside = found.mate.map(|mate| across(other, found.along, mate)).unwrap_or_default();
        free(found.along, &[own, &beside].concat()).into_iter().map(move |along| Stretch { along, ..found })
    };
    stretches.iter().flat_map(parts).collect()
}
