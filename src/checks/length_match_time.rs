//! Members of a group matched by delay.

use super::electric::{by_placeholder, doubt_words, judge_measured, no_basis, ps};
use super::length_match::{NAME, verdict, word};
use super::length_members::Member;
use super::route_subject::pad_place;
use super::{Facts, Message, Outcome, Place, Selection, Value, Verdict};
use crate::copper::pair::match_legs;
use crate::field::Time;
use crate::rules::{Rule, Setting};
use crate::signal::Delay;
use crate::units::{Dimension, Length, Quantity};
use std::cmp::Ordering;

/// A delay and its error, in seconds.
#[derive(Debug, Clone, Copy)]
struct Late {
    time: f64,
    error: f64,
}

/// What members are held against.
#[derive(Clone, Copy)]
enum Against<'m> {
    Member(&'m Member, &'static str),
    Target,
}

/// The verdicts of a set whose limit is a time.
pub(super) fn in_time(facts: &Facts<'_>, rule: &Rule, group: &Selection, set: &[Member]) -> Vec<Verdict> {
    let delays: Vec<Result<Late, Message>> = set.iter().map(|member| delay(facts, member)).collect();
    let reference = reference(rule, set, &delays);
    // A delay that is not known might be the latest, or the earliest.
    let open = match reference {
        Some((Against::Member(..), _)) => set.iter().zip(&delays).find(|(_, delay)| delay.is_err()),
        _ => None,
    };
    let judge = |(member, delay): (&Member, &Result<Late, Message>)| {
        let place = Message::new("one end of {member}").with("member", member.subject.name.as_str());
        let place = Some(pad_place(facts, member.pads.0, place));
        let unchecked = |missing: Message| {
            let outcome = Outcome::Unchecked { missing: missing.clone() };
            Verdict { place: place.clone(), layers: member.layers, ..verdict(member.subject.clone(), outcome, missing) }
        };
        let (delay, (against, from)) = match (delay, reference) {
            (Err(missing), _) => return unchecked(missing.clone()),
            (Ok(_), None) => {
                let missing = Message::new("the delays of {group} are not all known, so none is in the middle");
                return unchecked(missing.with("group", group.group.as_str()));
            }
            (Ok(delay), Some(reference)) => (*delay, reference),
        };
        let held = Held { facts, rule, group, member, against };
        let found = held.verdict(delay, from, place.clone());
        match open {
            Some((other, _)) if found.outcome == Outcome::Pass => {
                let missing = Message::new("the delay of {other} is not known, so {member} can't be held against it");
                unchecked(
                    missing.with("other", other.subject.name.as_str()).with("member", member.subject.name.as_str()),
                )
            }
            _ => found,
        }
    };
    set.iter().zip(&delays).map(judge).collect()
}

/// The delay of a member: of its route, or the mean of its legs'.
fn delay(facts: &Facts<'_>, member: &Member) -> Result<Late, Message> {
    let named = |message: Message| message.with("member", member.subject.name.as_str());
    if member.routes.iter().any(|route| route.length.package.to_nm() > 0.0) {
        return Err(named(Message::new(
            "the pads of {member} declare lengths inside their packages, whose delay is not known",
        )));
    }
    let whole = |delay: &Delay| match delay.whole() {
        Ok(time) => Ok(Late { time: time.to_seconds(), error: delay.error.to_seconds() }),
        Err(doubt) => {
            let missing = named(Message::new("the delay of {member} is not known: {why}"));
            Err(missing.with("why", Value::Word(doubt_words(doubt))))
        }
    };
    match member.routes.as_slice() {
        [p, n] => {
            let legs = match_legs(facts.board, std::slice::from_ref(p), std::slice::from_ref(n)).legs;
            let legs = legs.first().ok_or_else(|| named(Message::new("the legs of {member} don't belong together")))?;
            let line = facts.signals.pair(legs).map_err(no_basis)?;
            let (p, n) = (whole(&line.p.delay)?, whole(&line.n.delay)?);
            Ok(Late { time: f64::midpoint(p.time, n.time), error: f64::midpoint(p.error, n.error) })
        }
        [route] => whole(&facts.signals.line(route).map_err(no_basis)?.delay),
        _ => Err(named(Message::new("{member} has no route"))),
    }
}

/// What the rule names; `None` if that is the median and a delay is not known.
fn reference<'m>(rule: &Rule, set: &'m [Member], delays: &[Result<Late, Message>]) -> Option<(Against<'m>, Late)> {
    if let Some(Setting::Quantity(Quantity::Time(target))) = rule.settings.get("target").map(|at| &at.value) {
        return Some((Against::Target, Late { time: *target, error: 0.0 }));
    }
    let mut order: Vec<(Late, &Member)> =
        set.iter().zip(delays).filter_map(|(member, delay)| Some((*delay.as_ref().ok()?, member))).collect();
    order.sort_by(|a, b| a.0.time.total_cmp(&b.0.time).then_with(|| a.1.subject.cmp(&b.1.subject)));
    let (at, word) = match word(rule, "against") {
        Some("shortest") => (0, "the earliest"),
        Some("median") if order.len() < set.len() => return None,
        // Of an even number the later of the two in the middle.
        Some("median") => (order.len() / 2, "the median"),
        _ => (order.len().saturating_sub(1), "the latest"),
    };
    order.get(at).map(|(late, member)| (Against::Member(member, word), *late))
}

struct Held<'f, 'a> {
    facts: &'f Facts<'a>,
    rule: &'f Rule,
    group: &'f Selection,
    member: &'f Member,
    against: Against<'f>,
}

impl Held<'_, '_> {
    fn verdict(&self, own: Late, from: Late, place: Option<Place>) -> Verdict {
        let member = self.member;
        let later = Time::seconds(own.time - from.time);
        let value = ps(later.abs());
        let is_itself = matches!(self.against, Against::Member(other, _) if other.subject == member.subject);
        let error = if is_itself { 0.0 } else { own.error + from.error };
        let longer = match self.against {
            Against::Member(other, _) => member.measure.longer_than(&other.measure).map(Length::nm),
            Against::Target => None,
        };
        let judged = judge_measured(self.rule, |dimension| match dimension {
            Dimension::Time => Ok((value, error)),
            _ => longer.map(|longer| (Quantity::Length(longer.abs()), 0.0)).ok_or_else(|| {
                Message::new("how much {member} differs in length is not known")
                    .with("member", member.subject.name.as_str())
            }),
        });
        let failed = matches!(judged.outcome, Outcome::Fail(_));
        let mut related = member.loops.clone();
        let mut layers = member.layers;
        if let (Against::Member(other, word), false) = (self.against, is_itself) {
            let label = Message::new("one end of {member}, {word}")
                .with("member", other.subject.name.as_str())
                .with("word", Value::Word(word));
            related.insert(0, pad_place(self.facts, other.pads.0, label));
            layers = layers.or(other.layers);
        }
        let help = if later.to_seconds() < 0.0 {
            "lengthen {member}, near where it became the earlier one"
        } else {
            "shorten {member}, or lengthen the others"
        };
        let message = self.sentence(own, later, longer).with("near", judged.near());
        Verdict {
            check: NAME,
            value: judged.value,
            limit: judged.limit,
            help: failed.then(|| Message::new(help).with("member", member.subject.name.as_str())),
            place,
            related,
            layers,
            ..verdict(member.subject.clone(), judged.outcome, message)
        }
    }

    fn sentence(&self, own: Late, later: Time, longer: Option<Length>) -> Message {
        let sign = longer.map(|longer| longer.total_cmp(&Length::ZERO));
        let late = later.to_seconds() >= 0.0;
        let template = match (self.against, late, sign) {
            (Against::Target, true, _) => "{member} arrives {value} after the target of {target}{near}{basis}",
            (Against::Target, false, _) => "{member} arrives {value} before the target of {target}{near}{basis}",
            (Against::Member(other, _), ..) if other.subject == self.member.subject => {
                if self.member.alone {
                    "{member} is the only member of {group} to be matched, {delay} long{basis}"
                } else {
                    "{member} is {word} of {group}, {delay} long{basis}"
                }
            }
            (_, true, Some(Ordering::Less)) => {
                "{member} arrives {value} after {other}, {word} of {group} ({longer} shorter){near}{basis}"
            }
            (_, true, Some(_)) => {
                "{member} arrives {value} after {other}, {word} of {group} ({longer} longer){near}{basis}"
            }
            (_, true, None) => "{member} arrives {value} after {other}, {word} of {group}{near}{basis}",
            (_, false, Some(Ordering::Greater)) => {
                "{member} arrives {value} before {other}, {word} of {group} ({longer} longer){near}{basis}"
            }
            (_, false, Some(_)) => {
                "{member} arrives {value} before {other}, {word} of {group} ({longer} shorter){near}{basis}"
            }
            (_, false, None) => "{member} arrives {value} before {other}, {word} of {group}{near}{basis}",
        };
        let message = Message::new(template)
            .with("member", self.member.subject.name.as_str())
            .with("value", ps(later.abs()))
            .with("group", self.group.group.as_str())
            .with("delay", ps(Time::seconds(own.time)))
            .with("longer", longer.unwrap_or_default().abs())
            .with("basis", by_placeholder(self.facts));
        match self.against {
            Against::Target => message.with("target", Quantity::Time(own.time - later.to_seconds())),
            Against::Member(other, word) => {
                message.with("other", other.subject.name.as_str()).with("word", Value::Word(word))
            }
        }
    }
}
