//! Running all rules of a set over one board's facts.

use super::{ALL, Check, Facts, Message, Outcome, Pair, PairRoute, Selection, Subject, Verdict};
use crate::board::{LayerSet, NetId};
use crate::copper::Route;
use crate::copper::pair::Legs;
use crate::rules::{At, Rule, RuleSet};
use core::time::Duration;
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

/// Verdicts of one rule.
#[derive(Debug)]
pub struct RuleRun<'r> {
    /// The rule.
    pub rule: &'r Rule,
    /// One verdict per subject, in the check's order.
    pub verdicts: Vec<Verdict>,
}

/// The check of a name.
#[must_use]
pub fn find(name: &str) -> Option<&'static dyn Check> {
    ALL.iter().copied().find(|check| check.info().schema.name == name)
}

/// Runs every rule, in parallel, and returns the runs in the order of the rules. A panic inside a check, which is a
/// fault of this program, becomes an unchecked verdict, so that it can't read as a pass. A pass that rests on copper
/// understood only in part becomes unchecked too.
#[must_use]
pub fn run<'r>(facts: &Facts<'_>, rules: &'r RuleSet) -> Vec<RuleRun<'r>> {
    run_timed(facts, rules, &|| Duration::ZERO).0
}

/// The same, with the time that each rule took by a clock that the caller reads.
#[must_use]
pub fn run_timed<'r>(
    facts: &Facts<'_>,
    rules: &'r RuleSet,
    now: &(dyn Fn() -> Duration + Sync),
) -> (Vec<RuleRun<'r>>, Vec<Duration>) {
    prepare(facts, rules);
    rules
        .rules
        .par_iter()
        .map(|rule| {
            let start = now();
            let mut verdicts = run_rule(facts, rule);
            for verdict in &mut verdicts {
                doubt(facts, verdict);
            }
            verdicts.extend(unresolved(facts, rule));
            (RuleRun { rule, verdicts }, now().saturating_sub(start))
        })
        .unzip()
}

/// Works out the signals that rules look at, threads shared here alone: a check that waits for another's sections must
/// not be what those wait for.
fn prepare(facts: &Facts<'_>, rules: &RuleSet) {
    let needs = |rule: &&Rule| find(rule.check).is_some_and(|check| check.needs_signals(rule));
    let looked_at: Vec<&Rule> = rules.rules.iter().filter(needs).collect();
    if looked_at.is_empty() || facts.signals.basis().is_err() {
        return;
    }
    let groups: Vec<&Selection> = looked_at.iter().flat_map(|rule| facts.selection(rule)).collect();
    let mut seen = BTreeSet::new();
    let pairs: Vec<&Pair> =
        groups.iter().flat_map(|group| &group.pairs).filter(|pair| seen.insert((pair.p, pair.n))).collect();
    let routes: Vec<Arc<Vec<PairRoute>>> = pairs.par_iter().map(|pair| facts.pair_routes(pair)).collect();
    let legs: Vec<&Legs> = routes.iter().flat_map(|routes| routes.iter().map(|route| &route.legs)).collect();
    let nets: BTreeSet<NetId> = groups.iter().flat_map(|group| group.nets.iter().copied()).collect();
    let nets: Vec<NetId> = nets.into_iter().collect();
    let singles: Vec<&Route> = nets.par_iter().flat_map_iter(|&net| &facts.copper.routes(net).routes).collect();
    facts.signals.prepare(&singles, &legs);
}

fn run_rule(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    let Some(check) = find(rule.check) else {
        return vec![unchecked(rule.check, Message::new("this version has no such check"))];
    };
    // Facts are only ever filled, never left half-changed, so a caught panic leaves them sound.
    catch_unwind(AssertUnwindSafe(|| check.run(facts, rule))).unwrap_or_else(|_| {
        vec![unchecked(
            rule.check,
            Message::new("the check itself failed, which is a fault of this program; please report it"),
        )]
    })
}

/// Groups that a rule looks at and that nobody has looked up on this board: a fault of this program that must not read
/// as a group with nothing in it.
fn unresolved(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    let missing = rule.on.iter().filter(|name| facts.selections.iter().all(|known| known.group != name.value));
    let verdict = |name: &At<String>| {
        let missing =
            Message::new("the nets of group {group} have not been looked up").with("group", name.value.as_str());
        let subject = Subject { kind: "group", name: name.value.clone(), ends: Vec::new() };
        Verdict { subject, ..unchecked(rule.check, missing) }
    };
    missing.map(verdict).collect()
}

fn unchecked(check: &'static str, missing: Message) -> Verdict {
    Verdict {
        check,
        subject: Subject { kind: "board", name: String::new(), ends: Vec::new() },
        message: missing.clone(),
        outcome: Outcome::Unchecked { missing },
        value: None,
        limit: None,
        help: None,
        place: None,
        related: Vec::new(),
        layers: LayerSet::EMPTY,
    }
}

fn doubt(facts: &Facts<'_>, verdict: &mut Verdict) {
    if verdict.outcome != Outcome::Pass {
        return;
    }
    let doubt = facts.board.doubts.iter().find(|doubt| !doubt.layers.and(verdict.layers).is_empty());
    if let Some(doubt) = doubt {
        let missing = Message::new("copper it rests on was understood only in part: {doubt}")
            .with("doubt", doubt.message.as_str());
        verdict.outcome = Outcome::Unchecked { missing };
    }
}
