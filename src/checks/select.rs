//! Groups of a rule set resolved to the nets and pairs of one board. What a pattern does not find is told at its place
//! in the rule file: a group that silently misses a net would let that net pass unseen.

use super::select_names::{Names, nearest};
use super::select_pairs::Pairs;
use super::{Pair, Selection};
use crate::board::{NetId, Nets};
use crate::copper::pairing::Proposals;
use crate::rules::{At, Glob, Group, NetPattern, Origin, PairPattern, RuleSet, Setting};
use crate::source::Fault;
use std::collections::BTreeSet;
use std::sync::Arc;

/// The groups of a rule set on one board.
#[derive(Debug, Clone, Default)]
pub struct Selected {
    /// One per group, in the order of the rule set.
    pub selections: Vec<Selection>,
    /// What was not found or is not clear, in the order of the rule set. Each is a reason to doubt a clean run.
    pub problems: Vec<Fault>,
    /// Rows of `problems` that only say that this board lacks something: where one rule set is held against several
    /// boards, another of them may have it.
    pub lacking: Vec<usize>,
}

/// Resolves the groups of `rules` on the board called `board`, whose nets are `nets` and which proposes the pairs
/// `proposed`.
#[must_use]
pub fn select(rules: &RuleSet, board: &str, nets: &Nets, proposed: &[Pair]) -> Selected {
    let names = Names::of(nets);
    let mut problems = Problems { board, found: Vec::new(), lacking: Vec::new() };
    let selections = rules.groups.iter().map(|group| select_group(group, &names, proposed, &mut problems)).collect();
    for rule in &rules.rules {
        for setting in rule.settings.values() {
            let Setting::Nets(patterns) = &setting.value else { continue };
            // Each pattern of such a list is one way to say it; only a list that says nothing is a problem.
            if !patterns.iter().any(|pattern| !fitting(&names, pattern, &mut problems).is_empty()) {
                let near = patterns.iter().flat_map(|pattern| names.nearest(&pattern.value.0)).collect();
                problems.add(&setting.origin, "no net matches any of these patterns".to_owned(), near);
            }
        }
    }
    Selected { selections, problems: problems.found, lacking: problems.lacking }
}

/// The pairs that a board proposes, as checks know them.
#[must_use]
pub fn proposed_pairs(proposals: &Proposals) -> Vec<Pair> {
    let pair = |found: &crate::copper::pairing::Proposal| Pair {
        name: found.name.clone(),
        p: found.p,
        n: found.n,
        proposed: true,
    };
    proposals.pairs.iter().map(pair).collect()
}

/// The nets that fit any of the patterns, in order of name.
#[must_use]
pub fn nets_matching<'p>(nets: &Nets, patterns: impl IntoIterator<Item = &'p NetPattern>) -> Vec<NetId> {
    let names = Names::of(nets);
    let globs: Vec<(Glob, &str)> =
        patterns.into_iter().filter_map(|pattern| Some((Glob::parse(&pattern.0).ok()?, pattern.0.as_str()))).collect();
    let fits = |name: &str| globs.iter().any(|(_, pattern)| *pattern == name);
    let entries = names.entries.iter().filter(|entry| {
        fits(&entry.name)
            || globs.iter().any(|(glob, pattern)| entry.forms(pattern).any(|form| glob.matches(&form.text)))
    });
    entries.map(|entry| entry.id).collect()
}

/// Collects what was not found on a board.
pub(super) struct Problems<'b> {
    pub board: &'b str,
    pub found: Vec<Fault>,
    pub lacking: Vec<usize>,
}

impl Problems<'_> {
    /// Notes that the board lacks something, with the names that may be meant.
    pub fn add(&mut self, at: &Origin, message: String, near: Vec<&str>) {
        self.lacking.push(self.found.len());
        let help = match near.as_slice() {
            [] => "`throughline measure` lists the nets and pairs of a board".to_owned(),
            [name] => format!("did you mean `{name}`?"),
            names => format!("nearest names: {}", quoted(names.iter().copied())),
        };
        self.explain(at, message, help);
    }

    /// Notes a problem with advice.
    pub fn explain(&mut self, at: &Origin, message: String, help: String) {
        self.found.push(Fault {
            message,
            file: Arc::clone(&at.file),
            span: at.span,
            label: format!("on board `{}`", self.board),
            help: Some(help),
        });
    }
}

/// "`a`, `b`".
pub(super) fn quoted<'n>(names: impl Iterator<Item = &'n str>) -> String {
    names.map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

/// The nets that fit one pattern, in order of name.
fn fitting(names: &Names, pattern: &At<NetPattern>, problems: &mut Problems<'_>) -> Vec<NetId> {
    match Glob::parse(&pattern.value.0) {
        Ok(glob) => names.matching(&glob, &pattern.value.0).map(|entry| entry.id).collect(),
        Err(error) => {
            problems.explain(&pattern.origin, error.message.to_owned(), error.help.to_owned());
            Vec::new()
        }
    }
}

fn select_group(group: &Group, names: &Names, proposed: &[Pair], problems: &mut Problems<'_>) -> Selection {
    let mut nets = Vec::new();
    for pattern in &group.nets {
        let fitting = fitting(names, pattern, problems);
        if fitting.is_empty() {
            let near = names.nearest(&pattern.value.0);
            problems.add(&pattern.origin, format!("no net matches `{}`", pattern.value.0), near);
        }
        nets.extend(fitting);
    }
    let chosen: BTreeSet<NetId> = nets.into_iter().collect();
    let nets = names.entries.iter().map(|entry| entry.id).filter(|id| chosen.contains(id)).collect();

    let mut pairs = Pairs::new(names, problems);
    for pattern in &group.pairs {
        match &pattern.value {
            PairPattern::Legs(text) => pairs.by_legs(text, &pattern.origin),
            PairPattern::Nets(p, n) => pairs.by_names(p, n, &pattern.origin),
            PairPattern::Proposed(text) => pairs.by_proposal(text, proposed, &pattern.origin),
        }
    }
    if let Some(origin) = &group.proposed {
        pairs.all_proposed(proposed, origin);
    }
    let pairs = pairs.finish(&group.name);
    Selection {
        group: group.name.clone(),
        nets,
        pairs,
        rate: group.rate.clone(),
        impedance: group.impedance.clone(),
        current: group.current.clone(),
    }
}

/// The proposed pairs whose names are nearest to a pattern.
pub(super) fn nearest_pairs<'p>(pattern: &str, proposed: &'p [Pair]) -> Vec<&'p str> {
    let last = |name: &'p str| if pattern.contains('/') { name } else { name.rsplit('/').next().unwrap_or(name) };
    nearest(pattern, proposed.iter().map(|pair| (last(&pair.name), pair.name.as_str())))
}
