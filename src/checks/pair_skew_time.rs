//! The skew of a pair in time: how much later the signal arrives on one leg.

use super::electric::{Judged, Measured, by_placeholder, doubt_words, no_basis, ps};
use super::pair_skew::far_end;
use super::pair_subject::Look;
use super::route_subject::pad_place;
use super::sustained::{Part, runs};
use super::{Message, Outcome, Place, Value, Verdict};
use crate::copper::pad_name;
use crate::copper::pair::Legs;
use crate::field::Time;
use crate::rules::{At, Level, Rule, Setting};
use crate::signal::{Doubt, PairLine, SkewSample};
use crate::units::{Dimension, Length, Quantity};
use std::cmp::Ordering;
use std::sync::Arc;

/// Whether a rule states a bound in time.
pub(super) fn asked(rule: &Rule) -> bool {
    let bounds = rule.limit.iter().chain(&rule.warn).map(|bound| bound.value.dimension());
    let settings = rule.settings.values().map(|at| match &at.value {
        Setting::Quantity(quantity) => quantity.dimension(),
        _ => Dimension::Count,
    });
    bounds.chain(settings).any(|dimension| dimension == Dimension::Time)
}

/// The delays of a pair's legs.
pub(super) struct Timed {
    line: Arc<PairLine>,
    /// Delay of P minus delay of N, or why it is not known.
    skew: Result<Time, Message>,
}

impl Timed {
    pub fn of(look: &Look<'_, '_>, legs: &Legs) -> Result<Self, Message> {
        let line = look.facts.signals.pair(legs).map_err(no_basis)?;
        let named = |message: Message| message.with("pair", look.pair.name.as_str());
        if legs.p.length.package != legs.n.length.package {
            return Err(named(Message::new(
                "the pads of {pair} declare different lengths inside their packages, whose delay is not known",
            )));
        }
        let skew = line.skew.whole().map_err(|doubt| named(unknown(doubt)));
        Ok(Self { line, skew })
    }

    /// The skew from end to end, without sign.
    pub fn end(&self) -> Measured {
        let skew = self.skew.clone()?;
        Ok((ps(skew.abs()), self.line.skew.error.to_seconds()))
    }

    /// The verdict on the skew from end to end. `end` is how much longer P is.
    pub fn verdict(&self, look: &Look<'_, '_>, legs: &Legs, judged: Judged, end: Option<Length>) -> Verdict {
        let skew = self.skew.as_ref().copied().unwrap_or_default();
        let value = ps(skew.abs());
        let (late, early) = by_time(look, skew);
        let share = look.group.rate.as_ref().map(|rate| Quantity::Ratio(value.base() * rate.value.base()));
        // How much longer the later leg is.
        let longer = end.map(|end| if skew.to_seconds() < 0.0 { -end } else { end });
        let sign = longer
            .map(|longer| if longer.abs().to_nm() < 0.5 { Ordering::Equal } else { longer.total_cmp(&Length::ZERO) });
        let template = match (value.base() > 0.0, sign, share.is_some()) {
            (false, ..) => "{late} and {early} arrive together{near}{basis}",
            (true, Some(Ordering::Greater), true) => {
                "{late} arrives {value} later than {early} ({longer} longer; {share} of a unit interval){near}{basis}"
            }
            (true, Some(Ordering::Greater), false) => {
                "{late} arrives {value} later than {early} ({longer} longer){near}{basis}"
            }
            (true, Some(Ordering::Less), true) => {
                "{late} arrives {value} later than {early} ({longer} shorter; {share} of a unit interval){near}{basis}"
            }
            (true, Some(Ordering::Less), false) => {
                "{late} arrives {value} later than {early} ({longer} shorter){near}{basis}"
            }
            (true, _, true) => "{late} arrives {value} later than {early} ({share} of a unit interval){near}{basis}",
            (true, _, false) => "{late} arrives {value} later than {early}{near}{basis}",
        };
        let mut message = Message::new(template)
            .with("late", late)
            .with("early", early)
            .with("value", value)
            .with("longer", longer.unwrap_or_default().abs())
            .with("near", judged.near())
            .with("basis", by_placeholder(look.facts));
        if let Some(share) = share {
            message = message.with("share", share);
        }
        let failed = matches!(judged.outcome, Outcome::Fail(_));
        let arisen = self.arisen(skew).filter(|_| failed);
        let place = match arisen {
            Some(sample) => place_at_sample(look, legs, &sample, Message::new("the skew has arisen here")),
            None => pad_place(look.facts, legs.p.from, Message::new("one end of leg P")),
        };
        let mut related = far_end(look, legs);
        if failed && let Some((top, most)) = self.greatest() {
            let label = Message::new("the running skew is greatest here, {value}").with("value", ps(most.abs()));
            related.insert(0, place_at_sample(look, legs, top, label));
        }
        let help = Message::new("lengthen {early} by a bump close to where the skew arises").with("early", early);
        Verdict {
            value: judged.value,
            limit: judged.limit,
            help: failed.then_some(help),
            place: Some(place),
            related,
            layers: self.line.layers,
            ..look.verdict(legs, judged.outcome, message)
        }
    }

    /// A running skew beyond its limit for long enough, if there is one; or why it is not known.
    pub fn peak(
        &self,
        look: &Look<'_, '_>,
        legs: &Legs,
        limit: f64,
        persist: Length,
    ) -> Result<Option<Verdict>, Message> {
        let samples = &self.line.running;
        let matched = samples.last().zip(samples.first()).map_or(0.0, |(last, first)| middle(last) - middle(first));
        let persist = persist.to_nm().min(matched);
        // In picoseconds with the method's digits, so that what reads as the limit is within it.
        let limit_ps = (limit * 1e12 + 0.05).max(0.0) * (1.0 + 1e-9);
        let stretches = [1.0, -1.0].into_iter().flat_map(|sign| {
            let curve = self.curve(sign);
            runs(&curve, limit_ps, persist).into_iter().map(move |run| (run, sign))
        });
        let worst = stretches.reduce(|worst, next| if next.0.top > worst.0.top { next } else { worst });
        let Some((run, sign)) = worst else {
            if samples.iter().any(|sample| sample.value.is_none()) {
                let doubt = self.line.p.delay.doubt.or(self.line.n.delay.doubt).unwrap_or(Doubt::NothingNear);
                return Err(unknown(doubt).with("pair", look.pair.name.as_str()));
            }
            return Ok(None);
        };
        let value = ps(Time::ps(run.top));
        let (late, early) = by_time(look, Time::ps(sign));
        let inside =
            |sample: &&SkewSample| run.along[0] - 1.0 <= middle(sample) && middle(sample) <= run.along[1] + 1.0;
        let size = |sample: &SkewSample| sample.value.map_or(0.0, |value| value.to_ps() * sign);
        let top = samples.iter().filter(inside).reduce(|top, next| if size(next) > size(top) { next } else { top });
        let message = Message::new(
            "seen from {pad}, {late} is up to {value} later than {early}, and beyond the limit for {span} of the way{basis}",
        )
        .with("pad", pad_name(look.facts.board, legs.p.from))
        .with("late", late)
        .with("early", early)
        .with("value", value)
        .with("span", Length::nm(run.length()))
        .with("basis", by_placeholder(look.facts));
        let origin = look.rule.settings.get("peak").map(|at| at.origin.clone());
        let label = Message::new("{late} is latest against {early} here").with("late", late).with("early", early);
        let help = Message::new("compensate where the skew arises, not later: a bump on {early} near there");
        Ok(Some(Verdict {
            value: Some(value),
            limit: origin.map(|origin| At { value: Quantity::Time(limit), origin }),
            help: Some(help.with("early", early)),
            place: top.map(|top| place_at_sample(look, legs, top, label)),
            related: far_end(look, legs),
            layers: self.line.layers,
            ..look.verdict(legs, Outcome::Fail(look.rule.level.min(Level::Warning)), message)
        }))
    }

    /// The running skew times a sign, picoseconds by the middle of both legs' positions.
    fn curve(&self, sign: f64) -> Vec<Part> {
        let value = |sample: &SkewSample| Some(sample.value?.to_ps() * sign);
        let parts = self.line.running.windows(2).filter_map(|two| match two {
            [one, other] if other.follows => {
                Some(Part { along: [middle(one), middle(other)], value: [value(one)?, value(other)?] })
            }
            _ => None,
        });
        parts.collect()
    }

    /// Where the running skew is greatest, the first place of equals.
    fn greatest(&self) -> Option<(&SkewSample, Time)> {
        let known = self.line.running.iter().filter_map(|sample| Some((sample, sample.value?)));
        known.reduce(|most, next| if next.1.abs().to_ps() > most.1.abs().to_ps() + 1e-3 { next } else { most })
    }

    /// Where the skew has arisen for good: from there on at least half of the end value is there.
    fn arisen(&self, end: Time) -> Option<SkewSample> {
        let reached = |sample: &SkewSample| {
            sample.value.is_some_and(|value| value.to_ps() * end.to_ps().signum() >= end.to_ps().abs() / 2.0)
        };
        let samples = &self.line.running;
        let after = samples.iter().rposition(|sample| !reached(sample)).map_or(0, |last| last + 1);
        samples.get(after).or(samples.last()).copied()
    }
}

fn unknown(doubt: Doubt) -> Message {
    Message::new("the delay of the legs of {pair} is not known: {why}").with("why", Value::Word(doubt_words(doubt)))
}

/// The middle of both legs' positions in nanometres.
fn middle(sample: &SkewSample) -> f64 {
    (sample.p + sample.n).to_nm() / 2.0
}

/// Names of the later and the earlier leg.
fn by_time<'f>(look: &Look<'f, '_>, p_minus_n: Time) -> (&'f str, &'f str) {
    let (p, n) = (look.facts.board.nets.name(look.pair.p), look.facts.board.nets.name(look.pair.n));
    if p_minus_n.to_seconds() < 0.0 { (n, p) } else { (p, n) }
}

fn place_at_sample(look: &Look<'_, '_>, legs: &Legs, sample: &SkewSample, label: Message) -> Place {
    Place { at: Some(sample.at), layer: Some(sample.layer), ..look.place(&legs.p, sample.p, label) }
}
