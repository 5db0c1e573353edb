//! `via-stub`: barrel beyond the layers that a signal uses.

use super::route_subject::{ends, layer_name, net_subject, unchecked, unrouted};
use super::via_stub_notch::Signal;
use super::{Facts, Message, Outcome, Place, Sense, Subject, Verdict, judge};
use crate::board::{LayerSet, NetId};
use crate::copper::{BarrelOf, BarrelStub, BarrelUse};
use crate::field::Frequency;
use crate::rules::{At, Level, Parameter, ParameterKind, Rule, Setting};
use crate::units::{Dimension, Length, Quantity};

crate::declare_check! {
    /// # What is measured
    /// For every via on a route, and every plated hole of a pad, the barrel beyond the first and the last copper layer
    /// in use, upwards and downwards; the longer of the two counts. A stub is measured from the middle of the last foil
    /// in use to the far face of the foil where the barrel ends, with the heights of the stackup. A layer is in use if a
    /// track, fill or pad on a way between two pads of the net meets the barrel there. The pin of a plated hole enters
    /// from the side that its part sits on, so that layer is in use too.
    ///
    /// Back-drills shorten a barrel. The file does not say whether the layer that a back-drill reaches keeps its
    /// connection, nor how much barrel the drill leaves above it: the layer is taken to keep it, and nothing more is
    /// added. Ask the fabricator for the depth tolerance (0.2 mm is common practice, no source).
    ///
    /// Beside the length stands the frequency that the stub takes away, its notch, where that can be told: the barrel is
    /// a line whose capacitance comes from the openings of the planes around it, whose inductance comes from the barrel
    /// of the other leg beside it, else from the return vias within 1.5 mm, and whose lands sit at its end. A rule that
    /// states `notch` holds it against the Nyquist frequency, half the highest rate of the net's groups.
    ///
    /// Vias on branches that lead to no pad are not on a route and are not looked at here.
    ///
    /// # Why it matters
    /// The unused barrel is a line that ends in nothing. At the frequency where it is a quarter of a wavelength long it
    /// takes the signal away, f = c / (4 L sqrt(Dk)); with Dk 4 to 6 around a via, 1 mm is 31 to 37 GHz and 1.6 mm is 19
    /// to 23 GHz; planes and lands make a barrel slower than its dielectric, so the notch lies lower than Dk alone says.
    /// Well below it the stub is a capacitor that rounds edges and reflects.
    ///
    /// # How to read a finding
    /// The finding names the via, the layers its signal uses, the layer where its barrel ends, and the length between.
    /// `unchecked` means that the stackup does not state a height that is needed. Two cases need none: a barrel that is
    /// used from end to end has no stub, and a stub is shorter than the thickness that the board states. With `notch`
    /// stated it also means that a rate, a permittivity, an opening in a plane or a return via is missing. The notch is
    /// told to two digits; the barrel's inductance was not checked against a full wave, and with one return via the
    /// notch is a lower bound.
    ///
    /// # How to correct it
    /// Leave the via on the layer farthest from where the signal came in, swap signal layers, use a blind via or a
    /// thinner board, or have the via back-drilled. A rule that `tails = false` leaves out plated pins.
    ///
    /// # Sources
    /// Length at which a stub hardly matters, 0.3 inch divided by the rate in Gb/s (0.95, 0.48 and 0.24 mm at 8, 16 and
    /// 32 GT/s): rule of thumb in EDN (2015). At most 15 mil: application note SLAAE45 (2021); at most 20 mil: SPRACP4A
    /// (2024); 0.4 mm: module design guide DG-09502-001 v2.1 p. 24. Quarter-wave formula: textbook. Notch at 5 times the
    /// Nyquist frequency or above, stated for memory buses: Signal Integrity Journal 1731 (DesignCon 2020).
    pub ViaStub {
        name: "via-stub",
        summary: "barrel beyond the layers that a signal uses",
        limit: &[Dimension::Length],
        level: Level::Error,
        groups: true,
        parameters: &[
            Parameter {
                key: "tails",
                kind: ParameterKind::Switch,
                about: "whether plated pins count beside vias; true if not stated",
            },
            Parameter {
                key: "notch",
                kind: ParameterKind::Quantity(&[Dimension::Count]),
                about: "how many times the Nyquist frequency the notch of a stub must at least be, a whole number; not held \
                        if not stated",
            },
        ],
    }
    run = run;
}

const NAME: &str = "via-stub";

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    let tails = !matches!(rule.settings.get("tails").map(|at| &at.value), Some(Setting::Switch(false)));
    Signal::all(facts, rule).into_iter().flat_map(|signal| net_verdicts(facts, rule, &signal, tails)).collect()
}

fn net_verdicts(facts: &Facts<'_>, rule: &Rule, signal: &Signal, tails: bool) -> Vec<Verdict> {
    let net = signal.net;
    let barrels = facts.copper.stubs(net).barrels.iter();
    let barrels = barrels.filter(|barrel| tails || matches!(barrel.of, BarrelOf::Via(_)));
    let mut verdicts: Vec<Verdict> = barrels.map(|barrel| verdict(facts, rule, signal, barrel)).collect();
    if let Some(missing) = unrouted(facts, net) {
        verdicts.push(unchecked(facts, NAME, net, missing));
    } else if verdicts.is_empty() {
        let (outcome, limit) = judge(rule, Quantity::Length(Length::ZERO), Sense::AtMost);
        verdicts.push(Verdict {
            check: NAME,
            subject: net_subject(facts, net, &[]),
            outcome,
            value: Some(Quantity::Length(Length::ZERO)),
            limit,
            message: Message::new("{net} passes through no barrel").with("net", facts.board.nets.name(net)),
            help: None,
            place: None,
            related: Vec::new(),
            layers: facts.board.layers.all(),
        });
    }
    verdicts
}

fn verdict(facts: &Facts<'_>, rule: &Rule, signal: &Signal, barrel: &BarrelUse) -> Verdict {
    let net = signal.net;
    let worst = barrel.worst();
    let notch = worst.map(|stub| signal.notch(facts, barrel, stub));
    let mut held = held(facts, rule, worst);
    if let (Some(notch), Outcome::Pass) = (&notch, &held.outcome) {
        held = held_by_notch(facts, rule, signal, notch).unwrap_or(held);
    }
    let message = match worst {
        Some(stub) if stub.length.is_none() && held.outcome == Outcome::Pass => bounded(facts, net, stub),
        _ => sentence(facts, signal, barrel, worst, notch.and_then(Result::ok)),
    };
    let failed = matches!(held.outcome, Outcome::Fail(_));
    Verdict {
        check: NAME,
        subject: subject(facts, net, barrel),
        outcome: held.outcome,
        value: held.value,
        limit: held.limit,
        message,
        help: failed.then(|| help(barrel)),
        place: Some(Place {
            span: barrel.of.item().span(facts.board),
            at: Some(barrel.at),
            layer: worst.map(|stub| stub.from).or(Some(barrel.used.0)),
            label: Message::new("in use down to {layer}").with("layer", layer_name(facts, barrel.used.1)),
        }),
        related: Vec::new(),
        layers: reach(barrel),
    }
}

/// How a stub fares, and by what.
struct Held {
    value: Option<Quantity>,
    outcome: Outcome,
    limit: Option<At<Quantity>>,
}

/// The length of the longer stub and how it fares. Where the stackup does not state it, it is still less than the
/// thickness that the board states: if even that is within the limit, the stub is.
fn held(facts: &Facts<'_>, rule: &Rule, worst: Option<BarrelStub>) -> Held {
    let hold = |length: Length| {
        let (outcome, limit) = judge(rule, Quantity::Length(length), Sense::AtMost);
        Held { value: Some(Quantity::Length(length)), outcome, limit }
    };
    let Some(stub) = worst else { return hold(Length::ZERO) };
    if let Some(length) = stub.length {
        return hold(length);
    }
    if let Some(within) = facts.thickness().map(hold).filter(|held| held.outcome == Outcome::Pass) {
        return within;
    }
    Held { value: None, outcome: Outcome::Unchecked { missing: missing(facts, stub) }, limit: None }
}

/// How a stub that is short enough fares by its notch; `None` if the rule does not ask, or if it is high enough.
fn held_by_notch(facts: &Facts<'_>, rule: &Rule, signal: &Signal, notch: &Result<Frequency, Message>) -> Option<Held> {
    let setting = rule.settings.get("notch")?;
    let Setting::Quantity(Quantity::Count(times)) = setting.value else { return None };
    let unknown = |missing: Message| Held { value: None, outcome: Outcome::Unchecked { missing }, limit: None };
    let Some(nyquist) = signal.nyquist() else {
        let missing = Message::new("no group of {net} states a rate, so its Nyquist frequency is not known")
            .with("net", facts.board.nets.name(signal.net));
        return Some(unknown(missing));
    };
    let notch = match notch {
        Ok(notch) => Quantity::Frequency(notch.to_hertz()),
        Err(missing) => return Some(unknown(missing.clone())),
    };
    let least = Quantity::Frequency(nyquist.to_hertz() * Quantity::Count(times).base());
    let limit = Some(At { value: least, origin: setting.origin.clone() });
    (!least.within(notch)).then_some(Held { value: Some(notch), outcome: Outcome::Fail(rule.level), limit })
}

fn subject(facts: &Facts<'_>, net: NetId, barrel: &BarrelUse) -> Subject {
    let name = facts.board.nets.name(net).to_owned();
    match barrel.of {
        BarrelOf::Via(_) => Subject { kind: "via", name, ends: Vec::new() },
        BarrelOf::Pad(pad) => Subject { kind: "net", name, ends: ends(facts, &[pad]) },
    }
}

/// A sentence as it is, with the notch, and with what that is to the signal.
macro_rules! told {
    ($text:literal) => {
        [
            $text,
            concat!($text, "; its notch is at {notch}"),
            concat!($text, "; its notch is at {notch}, {share} of the Nyquist frequency"),
        ]
    };
}

fn sentence(
    facts: &Facts<'_>,
    signal: &Signal,
    barrel: &BarrelUse,
    worst: Option<BarrelStub>,
    notch: Option<Frequency>,
) -> Message {
    let templates = match (barrel.of, worst, barrel.back_drilled) {
        (BarrelOf::Pad(_), Some(_), _) if barrel.used.0 == barrel.used.1 => {
            told!("the plated pin of {net} is used on {first} alone; its tail goes on to {end}")
        }
        (BarrelOf::Via(_), Some(_), false) if barrel.used.0 == barrel.used.1 => {
            told!("the via of {net} is used on {first} alone; its barrel goes on to {end}")
        }
        (BarrelOf::Via(_), None, false) => told!("the via of {net} is used from {first} to {last}, end to end"),
        (BarrelOf::Via(_), None, true) => told!(
            "the via of {net} is used from {first} to {last}; its back-drill is taken to leave the layer it reaches"
        ),
        (BarrelOf::Via(_), Some(_), false) => {
            told!("the via of {net} is used from {first} to {last}; its barrel goes on to {end}")
        }
        (BarrelOf::Via(_), Some(_), true) => told!(
            "the via of {net} is used from {first} to {last}; its barrel goes on to {end}, where its back-drill is \
             taken to end"
        ),
        (BarrelOf::Pad(_), None, _) => told!("the plated pin of {net} is used from {first} to {last}, end to end"),
        (BarrelOf::Pad(_), Some(_), _) => {
            told!("the plated pin of {net} is used from {first} to {last}; its tail goes on to {end}")
        }
    };
    let nyquist = signal.nyquist().filter(|nyquist| nyquist.to_hertz() > 0.0);
    let [plain, with_notch, with_share] = templates;
    let message = Message::new(match (notch, nyquist) {
        (None, _) => plain,
        (Some(_), None) => with_notch,
        (Some(_), Some(_)) => with_share,
    })
    .with("net", facts.board.nets.name(signal.net))
    .with("first", layer_name(facts, barrel.used.0))
    .with("last", layer_name(facts, barrel.used.1));
    let message = match worst {
        Some(stub) => message.with("end", layer_name(facts, stub.to)),
        None => message,
    };
    let Some(notch) = notch else { return message };
    // Two digits: the barrel's model has no more.
    let message = message.with("notch", Quantity::Frequency(rounded(notch.to_hertz())));
    match nyquist {
        Some(nyquist) => message.with("share", Quantity::Ratio(rounded(notch.to_hertz() / nyquist.to_hertz()))),
        None => message,
    }
}

/// To two digits.
fn rounded(value: f64) -> f64 {
    let unit = 10f64.powf(value.abs().log10().floor() - 1.0);
    let rounded = (value / unit).round() * unit;
    if rounded.is_finite() { rounded } else { value }
}

/// What a pass says that rests on the board's thickness alone.
fn bounded(facts: &Facts<'_>, net: NetId, stub: BarrelStub) -> Message {
    Message::new(
        "a barrel of {net} goes on from {last} to {end}: how far is not known, but less than the board is thick",
    )
    .with("net", facts.board.nets.name(net))
    .with("last", layer_name(facts, stub.from))
    .with("end", layer_name(facts, stub.to))
}

fn missing(facts: &Facts<'_>, stub: BarrelStub) -> Message {
    let message = if facts.has_unfit_stackup() {
        Message::new(
            "the rule set's stackup does not fit the board, so the height between {from} and {to} is not known",
        )
    } else if facts.copper.stackup().is_some() {
        Message::new("the stackup does not state all heights between {from} and {to}")
    } else {
        Message::new("the board has no stackup, so the height between {from} and {to} is not known")
    };
    message.with("from", layer_name(facts, stub.from)).with("to", layer_name(facts, stub.to))
}

fn help(barrel: &BarrelUse) -> Message {
    match barrel.of {
        BarrelOf::Via(_) => Message::new(
            "leave the via on a layer nearer to the end of its barrel, use a blind via, or have it back-drilled",
        ),
        BarrelOf::Pad(_) => Message::new(
            "connect the pin on the side away from its part, use a surface-mounted part, or have the hole back-drilled",
        ),
    }
}

/// All layers of the barrel: copper on any of them could put it to use.
fn reach(barrel: &BarrelUse) -> LayerSet {
    let upper = barrel.upper.map_or(barrel.used.0, |stub| stub.to);
    let lower = barrel.lower.map_or(barrel.used.1, |stub| stub.to);
    LayerSet::span(upper, lower)
}
