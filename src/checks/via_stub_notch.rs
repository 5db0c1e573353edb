//! The frequency that a stub takes away: its notch.

use super::route_subject::layer_name;
use super::{Facts, Message, Value};
use crate::board::NetId;
use crate::copper::{BarrelOf, BarrelStub, BarrelUse, StepKind};
use crate::field::{Frequency, stub_notch};
use crate::rules::{At, Rule};
use crate::signal::{Bore, Doubt};
use crate::units::Quantity;

/// A net as its barrels are looked at.
#[derive(Debug, Clone)]
pub(super) struct Signal {
    /// The net.
    pub net: NetId,
    /// The other leg, if it is one of a pair.
    pub mate: Option<NetId>,
    /// The highest rate of the groups that it belongs to.
    pub rate: Option<At<Quantity>>,
}

impl Signal {
    /// The nets of a rule's groups, each once, in the order of the groups.
    pub fn all(facts: &Facts<'_>, rule: &Rule) -> Vec<Self> {
        let groups = facts.selection(rule);
        let of = |net: NetId| {
            let pairs = groups.iter().flat_map(|group| &group.pairs);
            let mates = pairs.filter_map(|pair| match net {
                net if net == pair.p => Some(pair.n),
                net if net == pair.n => Some(pair.p),
                _ => None,
            });
            let own = groups.iter().filter(|group| group.all_nets().contains(&net));
            let rates = own.filter_map(|group| group.rate.clone());
            let rate = rates.max_by(|one, other| one.value.base().total_cmp(&other.value.base()));
            Self { net, mate: mates.into_iter().next(), rate }
        };
        super::route_subject::nets(facts, rule).into_iter().map(of).collect()
    }

    /// Half its rate.
    pub fn nyquist(&self) -> Option<Frequency> {
        self.rate.as_ref().map(|rate| Frequency::hertz(rate.value.base() / 2.0))
    }

    /// The lowest frequency at which a stub of it shorts the signal, or why that is not known. The barrel's lands count
    /// as if all of them were at its end, where they count most: the true notch is no lower for that.
    pub fn notch(&self, facts: &Facts<'_>, barrel: &BarrelUse, stub: BarrelStub) -> Result<Frequency, Message> {
        let name = facts.board.nets.name(self.net);
        let unknown = |why: &'static str| {
            Message::new("the notch of the stub of {net} from {from} to {to} is not known: {why}")
                .with("net", name)
                .with("from", layer_name(facts, stub.from))
                .with("to", layer_name(facts, stub.to))
                .with("why", Value::Word(why))
        };
        let length = stub.length.ok_or_else(|| unknown("its length is not known"))?;
        let nets: Vec<NetId> = std::iter::once(self.net).chain(self.mate).collect();
        let piece = facts
            .signals
            .barrel(&nets, bore(barrel, stub), self.beside(facts, barrel, stub))
            .map_err(|_| unknown("the stackup does not state all heights and permittivities"))?;
        let line = piece.line.map_err(|doubt| unknown(words(doubt)))?;
        stub_notch(line.impedance, line.slowness, length, line.pads).map_err(|_| unknown("its values make no sense"))
    }

    /// The nearest stub of the other leg between the same layers.
    fn beside(&self, facts: &Facts<'_>, barrel: &BarrelUse, stub: BarrelStub) -> Option<Bore> {
        let alike = |other: &&BarrelUse| {
            let stubs = [other.upper, other.lower];
            stubs.into_iter().flatten().any(|found| (found.from, found.to) == (stub.from, stub.to))
        };
        let others = facts.copper.stubs(self.mate?).barrels.iter().filter(alike);
        let nearest = others.min_by(|one, other| {
            barrel.at.distance(one.at).total_cmp(&barrel.at.distance(other.at)).then_with(|| one.at.cmp(&other.at))
        });
        nearest.map(|other| bore(other, stub))
    }
}

fn bore(barrel: &BarrelUse, stub: BarrelStub) -> Bore {
    let kind = match barrel.of {
        BarrelOf::Via(via) => StepKind::Via(via),
        BarrelOf::Pad(pad) => StepKind::Hole(pad),
    };
    Bore { kind, at: barrel.at, from: stub.from, to: stub.to }
}

const fn words(doubt: Doubt) -> &'static str {
    match doubt {
        Doubt::NoAntipad => "no plane that it passes has an opening of its own around it",
        Doubt::NoReturnVia => "no return via is within 1.5 mm of it",
        Doubt::NoHole => "its hole has no size",
        Doubt::Unsolved(_) => "planes too far apart, or openings too small, for the method",
        _ => "it can't be told as a line",
    }
}
