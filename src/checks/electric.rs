//! What the checks of delay, impedance and loss share: why there is no number, how a number with an error is held against
//! a bound, and how many digits it has.

use super::{Facts, Message, Outcome, Selection, Value};
use crate::field::{Frequency, Impedance, Time, Undetermined};
use crate::rules::{At, Level, Rule, Setting};
use crate::signal::{BasisOrigin, Doubt, Lacking, NoBasis};
use crate::units::{Dimension, Quantity};

/// Why nothing electrical can be said of the board, and what to enter.
pub(super) fn no_basis(missing: NoBasis) -> Message {
    Message::new(match missing {
        NoBasis::Missing => "the board has no stackup: enter it in the board, or as `[stackup]` in the rule set",
        NoBasis::Incomplete { what, .. } => match what {
            Lacking::FoilThickness => "the stackup does not state the thickness of a foil: enter it",
            Lacking::SheetThickness => "the stackup does not state the thickness of a dielectric: enter it",
            Lacking::Permittivity => "the stackup does not state the permittivity of a dielectric: enter it",
            Lacking::Sheet => "the stackup has no dielectric between two foils: enter it",
            Lacking::Foil => "the stackup's copper layers are not those of the board: enter them as they are",
            Lacking::Sense => "a value of the stackup can't be true: correct it",
        },
    })
}

/// Why a stretch has no number, and what would give it one.
pub(super) const fn doubt_words(doubt: Doubt) -> &'static str {
    match doubt {
        Doubt::Unsolved(Undetermined::NoReturn) => "no plane and no ground is near",
        Doubt::Unsolved(Undetermined::Unconverged { .. }) => "the solution of its cross-section is too uncertain",
        Doubt::Unsolved(_) => "its cross-section could not be solved",
        Doubt::NoCentreLine => "it runs through copper without a centre line",
        Doubt::Unfilled(_) => "a zone that should be its plane is not filled: fill all zones",
        Doubt::Meshed => "its plane is a mesh",
        Doubt::Broadside => "the legs run above each other",
        Doubt::NoAntipad => "no plane has an opening around a barrel",
        Doubt::NoHole => "the size of a hole is not known",
        Doubt::NoReturnVia => "no return via is near a barrel",
        Doubt::NoLossTangent => "the stackup does not state a loss tangent: enter it",
        Doubt::NothingNear => "nothing on its layer lends its speed",
    }
}

/// What a sentence adds where its numbers rest on a stackup that nobody seems to have entered.
pub(super) fn by_placeholder(facts: &Facts<'_>) -> Value {
    let made_up = facts.signals.basis().is_ok_and(|basis| basis.origin == BasisOrigin::Placeholder);
    Value::Word(if made_up { ", by a stackup that looks like one that nobody entered" } else { "" })
}

/// An impedance with the digits that the method has: 0.1 ohm.
pub(super) fn ohms(value: Impedance) -> Quantity {
    Quantity::Impedance((value.to_ohms() * 10.0).round() / 10.0)
}

/// A time with the digits that the method has: 0.1 ps.
pub(super) fn ps(value: Time) -> Quantity {
    Quantity::Time(Time::ps((value.to_ps() * 10.0).round() / 10.0).to_seconds())
}

/// How a subject fares, which bound decided, and the value that was held against it.
pub(super) struct Judged {
    pub outcome: Outcome,
    pub limit: Option<At<Quantity>>,
    pub value: Option<Quantity>,
    /// The value itself is within the bound; its error is not.
    by_error: bool,
}

impl Judged {
    /// What a sentence adds where only the error is beyond the bound.
    pub fn near(&self) -> Value {
        Value::Word(if self.by_error { ", as near to the bound as the method's error" } else { "" })
    }

    fn unchecked(missing: Message) -> Self {
        Self { outcome: Outcome::Unchecked { missing }, limit: None, value: None, by_error: false }
    }
}

/// A measured value and the error it may have, in the value's base unit; or why there is none.
pub(super) type Measured = Result<(Quantity, f64), Message>;

/// How a measured value with an error fares against the bounds of a rule; `of` tells it in the dimension of a bound. The
/// value counts as it is for a failure; for a pass it must be within the bound with its error too. What lies between is
/// unchecked at the limit, and a warning at the warning's bound: a number that its error could turn is no pass.
pub(super) fn judge_measured(rule: &Rule, of: impl Fn(Dimension) -> Measured) -> Judged {
    let bounds = [(&rule.limit, rule.level, true), (&rule.warn, rule.level.min(Level::Warning), false)];
    let mut passed = None;
    for (bound, level, is_limit) in bounds {
        let Some(bound) = bound else { continue };
        let (value, error) = match of(bound.value.dimension()) {
            Ok(measured) => measured,
            Err(missing) => return Judged::unchecked(missing),
        };
        let worst = Quantity::of(value.dimension(), value.base() + error.max(0.0));
        let within = value.within(bound.value);
        let told = |outcome| Judged {
            outcome,
            limit: Some(bound.clone()),
            value: Some(value),
            by_error: within && !worst.within(bound.value),
        };
        if !within || (!is_limit && !worst.within(bound.value)) {
            return told(Outcome::Fail(level));
        }
        if !worst.within(bound.value) {
            return told(Outcome::Unchecked { missing: too_near(bound.value, value, error) });
        }
        passed = Some(told(Outcome::Pass));
    }
    passed.unwrap_or_else(|| Judged::unchecked(Message::new("the rule states no limit")))
}

/// A value that its error could carry beyond the limit.
pub(super) fn too_near(limit: Quantity, value: Quantity, error: f64) -> Message {
    Message::new("{value} is within the limit of {limit}, but not by more than the method's error of {error}")
        .with("value", value)
        .with("limit", limit)
        .with("error", Quantity::of(value.dimension(), error))
}

/// The rate of a group as a frequency: half of it, the highest of a pattern of ones and zeros.
pub(super) fn nyquist(group: &Selection) -> Result<Frequency, Message> {
    let rate = group.rate.as_ref().map(|rate| rate.value.base()).filter(|rate| *rate > 0.0);
    rate.map(|rate| Frequency::hertz(rate / 2.0)).ok_or_else(|| no_rate(group))
}

/// The time of an edge: as the rule states it, or 0.4 of a unit interval of the group (25 ps at 16 GT/s). Common
/// practice, no source.
pub(super) fn rise(rule: &Rule, group: &Selection) -> Result<Time, Message> {
    if let Some(Setting::Quantity(Quantity::Time(stated))) = rule.settings.get("rise").map(|at| &at.value)
        && *stated > 0.0
    {
        return Ok(Time::seconds(*stated));
    }
    let rate = group.rate.as_ref().map(|rate| rate.value.base()).filter(|rate| *rate > 0.0);
    rate.map(|rate| Time::seconds(0.4 / rate)).ok_or_else(|| no_rate(group))
}

fn no_rate(group: &Selection) -> Message {
    Message::new("group {group} states no rate: enter `rate` in the group").with("group", group.group.as_str())
}
