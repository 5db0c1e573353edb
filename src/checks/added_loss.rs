//! `added-loss`: what the board's stretch of a channel takes from the signal.

use super::electric::{Measured, by_placeholder, doubt_words, judge_measured, no_basis, nyquist};
use super::pair_routes::PairRoute;
use super::pair_subject::{Look, verdicts};
use super::{Facts, Message, Outcome, Value, Verdict};
use crate::board::NetId;
use crate::copper::pair::Legs;
use crate::copper::{BarrelOf, StepKind};
use crate::field::{Attenuation, Chain, Element, Frequency, Impedance, Medium};
use crate::rules::{Level, Parameter, ParameterKind, Rule, Setting};
use crate::signal::{BarrelLine, BarrelPiece, Basis, Doubt, Leg, PairLine, Piece, Travel};
use crate::units::{Dimension, Length, Quantity};

crate::declare_check! {
    /// # What is measured
    /// For every pair, how much of the differential signal this board takes between the pads of a route, in decibels, at
    /// the Nyquist frequency of the group's rate (half of it), or at `frequency` if the rule states one.
    ///
    /// Each piece counts with the damping of its own cross-section: resistance of tracks and planes from the field at their
    /// surface, made greater by roughness, and the dielectrics with their loss tangents, mask included. Permittivity and
    /// loss tangent hold at the stackup's frequency (1 GHz if it states none) and change with frequency as causality asks.
    /// Roughness is that of the stackup; where it states none, 5 µm from peak to valley are taken.
    ///
    /// A barrel counts with what it reflects: its line against the impedance that the pair has for
    /// most of its length, its lands as capacitors, and the part
    /// of it that leads nowhere as an open stub. Its own resistance is left out (thousandths of a decibel). Where a barrel
    /// is not known as a line up to 0.25 dB are allowed for it and its mate. What the pieces reflect among each other is not in it; nor
    /// is what pads and contacts take.
    ///
    /// # Why it matters
    /// A receiver bears so much loss from the sender on. What an interposer adds must fit into what the channel has left.
    ///
    /// # How to read a finding
    /// The finding names the loss, its parts from metal, dielectrics and barrels, and the length. Measured losses scatter
    /// by a tenth with etching and roughness: a loss within the limit by less than that is `unchecked`, within the
    /// warning's bound a warning. `unchecked` too: no stackup, no loss tangent, no rate, or a stretch whose cross-section
    /// could not be solved, if what it might take decides.
    ///
    /// # How to correct it
    /// Shorten the way, widen the tracks over a thicker dielectric, ask for a laminate with less loss and for smoother
    /// foil, and take away the stubs of vias.
    ///
    /// # Sources
    /// 3 dB and 5 dB at 8 GHz for both boards of an interposer: common practice, no source. 28 dB for a whole channel at
    /// 16 GT/s and 36 dB at 32 GT/s: from memory, and an adapter's manual. 0.25 dB for two vias at worst: a public layout
    /// note on serial interconnect (document 259816540). 4 to 8 µm of roughness on standard foil, a tenth of scatter:
    /// common practice, no source.
    pub AddedLoss {
        name: "added-loss",
        summary: "what the board takes from a signal at its Nyquist frequency",
        limit: &[Dimension::Decibel],
        level: Level::Error,
        groups: true,
        parameters: &[Parameter {
            key: "frequency",
            kind: ParameterKind::Quantity(&[Dimension::Frequency]),
            about: "frequency at which the loss is told; half the group's rate if not stated",
        }],
    }
    run = run;
    signals = |_| true;
}

const NAME: &str = "added-loss";
/// What a leg's barrel takes of its pair at most if it is not known as a line, in decibels: 0.25 for both legs' barrels.
const BARREL: f64 = 0.125;
/// Scatter of measured losses. Common practice, no source.
const SCATTER: f64 = 0.1;
/// A stretch in doubt is taken to lose at most this many times what the rest loses for its length.
const WORST: f64 = 2.0;

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    verdicts(NAME, facts, rule, legs_verdict)
}

/// What is lost, in decibels, both legs' mean.
#[derive(Default)]
struct Loss {
    metal: f64,
    dielectric: f64,
    barrels: f64,
    /// Length that is known, and that is not, nanometres.
    known: f64,
    doubtful: f64,
    doubt: Option<Doubt>,
    /// Barrels that are not known as lines.
    guessed: u32,
}

impl Loss {
    fn sum(&self) -> f64 {
        self.metal + self.dielectric + self.barrels
    }

    /// How much more it may be.
    fn error(&self) -> f64 {
        let per_length = if self.known > 0.0 { (self.metal + self.dielectric) / self.known } else { 0.0 };
        self.sum() * SCATTER + self.doubtful * per_length * WORST + f64::from(self.guessed) * BARREL
    }

    fn piece(&mut self, basis: &Basis, piece: &Piece, travel: Travel, length: Length, frequency: Frequency) {
        let told = piece.wave.as_ref().map_err(|doubt| *doubt);
        match told.and_then(|wave| wave.constants(basis, travel, frequency)) {
            Ok(constants) => {
                // Half, for there are two legs.
                let lost = |part: Attenuation| 0.5 * part.to_db_per_metre() * length.to_metres();
                self.metal += lost(constants.conductor_loss());
                self.dielectric += lost(constants.dielectric_loss());
                self.known += 0.5 * length.to_nm();
            }
            Err(doubt) => {
                self.doubtful += 0.5 * length.to_nm();
                self.doubt = self.doubt.or(Some(doubt));
            }
        }
    }
}

fn legs_verdict(look: &Look<'_, '_>, route: &PairRoute) -> Verdict {
    let legs = &route.legs;
    let missing = |missing| look.unchecked(Some(legs), missing);
    let frequency = match look.rule.settings.get("frequency").map(|at| &at.value) {
        Some(Setting::Quantity(Quantity::Frequency(stated))) if *stated > 0.0 => Ok(Frequency::hertz(*stated)),
        _ => nyquist(look.group),
    };
    let frequency = match frequency {
        Ok(frequency) => frequency,
        Err(reason) => return missing(reason),
    };
    let (line, basis) = match look.facts.signals.pair(legs).and_then(|line| Ok((line, look.facts.signals.basis()?))) {
        Ok(found) => found,
        Err(reason) => return missing(no_basis(reason)),
    };
    let loss = loss(look, legs, &line, basis, frequency);
    let named = |message: Message| message.with("pair", look.pair.name.as_str());
    let doubtful = || {
        let why = loss.doubt.map_or("its cross-section is not known", doubt_words);
        named(Message::new("the loss of {pair} is not known over {length}: {why}"))
            .with("length", Length::nm(loss.doubtful))
            .with("why", Value::Word(why))
    };
    if loss.known <= 0.0 && loss.doubtful > 0.0 {
        return missing(doubtful());
    }
    let measured: Measured = Ok((Quantity::Decibel((loss.sum() * 100.0).round() / 100.0), loss.error()));
    let judged = judge_measured(look.rule, |_| measured.clone());
    let message = named(Message::new(
        "{pair} takes {value} at {frequency} over {length}: {metal} by metal, {dielectric} by dielectrics, {barrels} by its barrels{near}{basis}",
    ))
    .with("value", decibel(loss.sum()))
    .with("frequency", Quantity::Frequency(frequency.to_hertz()))
    .with("length", Length::nm(loss.known + loss.doubtful))
    .with("metal", decibel(loss.metal))
    .with("dielectric", decibel(loss.dielectric))
    .with("barrels", decibel(loss.barrels))
    .with("near", judged.near())
    .with("basis", by_placeholder(look.facts));
    let outcome = match judged.outcome {
        // Where a stretch in doubt decides, it is the reason.
        Outcome::Unchecked { .. } if loss.doubt.is_some() => return missing(doubtful()),
        outcome => outcome,
    };
    let failed = matches!(outcome, Outcome::Fail(_));
    let help = "shorten the way, take away stubs, or ask for a laminate and foil with less loss";
    Verdict {
        value: judged.value,
        limit: judged.limit,
        help: failed.then(|| Message::new(help)),
        layers: line.layers,
        ..look.verdict(legs, outcome, message)
    }
}

fn decibel(value: f64) -> Quantity {
    Quantity::Decibel((value * 100.0).round() / 100.0)
}

fn loss(look: &Look<'_, '_>, legs: &Legs, line: &PairLine, basis: &Basis, frequency: Frequency) -> Loss {
    let mut loss = Loss::default();
    for piece in &line.pieces {
        match piece.mate {
            Some(mate) => {
                loss.piece(basis, piece, Travel::Differential, piece.length() + (mate[1] - mate[0]), frequency);
            }
            None => loss.piece(basis, piece, Travel::Single(Leg::P), piece.length(), frequency),
        }
    }
    let reference = usual(&line.pieces);
    for (leg, route) in [(Leg::P, &legs.p), (Leg::N, &legs.n)] {
        for barrel in &line.leg(leg).barrels {
            match (&barrel.line, reference) {
                (Ok(told), Some(reference)) => {
                    loss.barrels += 0.5 * reflected(look, route.net, barrel, told, reference, frequency);
                }
                _ => loss.guessed += 1,
            }
        }
    }
    loss
}

/// The differential impedance that the pair has for most of its length.
fn usual(pieces: &[Piece]) -> Option<Impedance> {
    let known = pieces.iter().filter_map(|piece| Some((piece.differential()?, piece.length().to_nm())));
    let mut known: Vec<(Impedance, f64)> = known.collect();
    known.sort_by(|a, b| a.0.total_cmp(&b.0));
    let half = known.iter().map(|(_, length)| length).sum::<f64>() / 2.0;
    let mut passed = 0.0;
    let middle = known.iter().find(|(_, length)| {
        passed += length;
        passed >= half
    });
    middle.map(|(impedance, _)| *impedance)
}

/// What a leg's barrel keeps from passing, in decibels, between lines of an impedance on both sides.
fn reflected(
    look: &Look<'_, '_>,
    net: NetId,
    barrel: &BarrelPiece,
    told: &BarrelLine,
    reference: Impedance,
    frequency: Frequency,
) -> f64 {
    let mut chain = Chain::new();
    // A leg is half of the pair.
    let medium = chain.medium(Medium::Ideal { impedance: told.impedance, slowness: told.slowness });
    chain.push(Element::Shunt(told.pads * 0.5));
    chain.push(Element::Line { medium, length: barrel.height });
    for stub in stubs(look, net, barrel) {
        chain.push(Element::Stub { medium, length: stub, end: told.pads * 0.0 });
    }
    chain.push(Element::Shunt(told.pads * 0.5));
    chain.scattering(frequency, reference * 0.5).map_or(0.0, |found| found.insertion_loss().max(0.0))
}

/// The lengths of a barrel's stubs.
fn stubs(look: &Look<'_, '_>, net: NetId, barrel: &BarrelPiece) -> Vec<Length> {
    let same = |of: BarrelOf| match (of, barrel.kind) {
        (BarrelOf::Via(one), StepKind::Via(other)) => one == other,
        (BarrelOf::Pad(one), StepKind::Hole(other)) => one == other,
        _ => false,
    };
    let own = look.facts.copper.stubs(net).barrels.iter().filter(|found| same(found.of));
    own.flat_map(|found| [found.upper, found.lower]).flatten().filter_map(|stub| stub.length).collect()
}
