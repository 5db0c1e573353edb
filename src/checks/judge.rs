//! Holding a measured value against a rule's `warn` and `limit`.

use super::{Message, Outcome};
use crate::rules::{At, Level, Rule};
use crate::units::Quantity;
use std::cmp::Ordering;

/// Which side of a limit is good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sense {
    /// The value may be at most the limit; exactly at it passes.
    AtMost,
    /// The value must be at least the limit; exactly at it passes.
    AtLeast,
}

/// Holds `value` against a rule: beyond `limit` fails at the rule's level, beyond `warn` alone fails as a warning
/// (or at the rule's level, if that is milder). Returns the outcome and the bound that decided it; for a pass that is
/// the tighter bound, so that a report can show the margin. A bound of another dimension can't be held: unchecked.
#[must_use]
pub fn judge(rule: &Rule, value: Quantity, sense: Sense) -> (Outcome, Option<At<Quantity>>) {
    let bounds = [(&rule.limit, rule.level), (&rule.warn, rule.level.min(Level::Warning))];
    for (bound, level) in bounds {
        let Some(bound) = bound else { continue };
        let beyond = match (sense, value.compare(bound.value)) {
            (_, None) => {
                let missing = Message::new(
                    "the measured value has another unit than the limit {limit}; that needs an input that is missing",
                )
                .with("limit", bound.value);
                return (Outcome::Unchecked { missing }, Some(bound.clone()));
            }
            (Sense::AtMost, Some(order)) => order == Ordering::Greater,
            (Sense::AtLeast, Some(order)) => order == Ordering::Less,
        };
        if beyond {
            return (Outcome::Fail(level), Some(bound.clone()));
        }
    }
    if rule.limit.is_none() && rule.warn.is_none() {
        let missing = Message::new("the rule states no limit");
        return (Outcome::Unchecked { missing }, None);
    }
    (Outcome::Pass, rule.warn.clone().or_else(|| rule.limit.clone()))
}
