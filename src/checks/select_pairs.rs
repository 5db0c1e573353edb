//! Pairs of a group: by legs, by two names, or from what the board proposes.

use super::Pair;
use super::select::{Problems, nearest_pairs, quoted};
use super::select_names::{Entry, Form, Names};
use crate::board::NetId;
use crate::copper::pair_name::pair_name;
use crate::rules::{Glob, LegPattern, Origin};
use std::collections::{BTreeMap, BTreeSet};

/// How many halves without a mate a problem lists.
const HALVES: usize = 5;

/// The pairs of one group while its patterns are gone through.
pub(super) struct Pairs<'n, 'p, 'b> {
    names: &'n Names,
    problems: &'p mut Problems<'b>,
    found: Vec<(Pair, Origin)>,
}

impl<'n, 'p, 'b> Pairs<'n, 'p, 'b> {
    pub fn new(names: &'n Names, problems: &'p mut Problems<'b>) -> Self {
        Self { names, problems, found: Vec::new() }
    }

    /// Pairs of nets that read as the two legs of a pattern.
    pub fn by_legs(&mut self, text: &str, origin: &Origin) {
        let legs = match LegPattern::parse(text) {
            Ok(Some(legs)) => legs,
            Ok(None) => return,
            Err(error) => return self.problems.explain(origin, error.message.to_owned(), error.help.to_owned()),
        };
        let before = self.found.len();
        // Every net that reads as a leg ends up in a pair or is told: none is silently left out.
        let mut halves: Vec<(&'n Entry, String)> = Vec::new();
        let mut left_over: Vec<(&'n Entry, &'n Entry)> = Vec::new();
        let mut told: BTreeSet<NetId> = BTreeSet::new();
        for entry in &self.names.entries {
            match self.mate(&legs, text, entry, (&legs.p, &legs.n)) {
                Mate::Foreign => {}
                Mate::Missing(wanted) => halves.push((entry, wanted)),
                Mate::One(n) => self.declare(entry, n, origin),
                Mate::Many(mates) => {
                    told.insert(entry.id);
                    told.extend(mates.iter().map(|mate| mate.id));
                    let message = format!("`{}` has more than one mate", entry.name);
                    let list = quoted(mates.iter().map(|mate| mate.name.as_str()));
                    let help = format!("it fits {list}; name the two nets: `[\"P\", \"N\"]`");
                    self.problems.explain(origin, message, help);
                }
            }
            match self.mate(&legs, text, entry, (&legs.n, &legs.p)) {
                Mate::Foreign => {}
                Mate::Missing(wanted) => halves.push((entry, wanted)),
                Mate::One(p) => left_over.push((entry, p)),
                Mate::Many(mates) => left_over.extend(mates.first().map(|p| (entry, *p))),
            }
        }
        // A net that is a leg of a pair isn't a half by another reading of its name.
        let legs: BTreeSet<NetId> = self.found.iter().flat_map(|(pair, _)| [pair.p, pair.n]).collect();
        left_over.retain(|(net, _)| !legs.contains(&net.id) && !told.contains(&net.id));
        for (net, mate) in &left_over {
            let help =
                format!("its mate `{}` makes a pair with another net; name the two nets: `[\"P\", \"N\"]`", mate.name);
            self.problems.explain(origin, format!("`{}` is in no pair", net.name), help);
        }
        halves.retain(|(half, _)| !legs.contains(&half.id) && left_over.iter().all(|(net, _)| net.id != half.id));
        halves.dedup_by_key(|(half, _)| half.id);
        if !halves.is_empty() {
            self.tell_halves(&halves, origin);
        } else if self.found.len() == before && told.is_empty() {
            let near = self.names.nearest(text);
            self.problems.add(origin, format!("no pair matches `{text}`"), near);
        }
    }

    fn tell_halves(&mut self, halves: &[(&Entry, String)], origin: &Origin) {
        if let [(half, wanted)] = halves {
            let mut near = self.names.nearest(wanted);
            near.retain(|near| *near != half.name);
            let help = if near.is_empty() {
                "a half is in no pair: no check of pairs looks at it".to_owned()
            } else {
                format!("nearest names: {}", quoted(near.into_iter()))
            };
            return self.problems.explain(origin, format!("`{}` has no mate `{wanted}`", half.name), help);
        }
        let list = halves.iter().take(HALVES).map(|(half, wanted)| format!("`{}` lacks `{wanted}`", half.name));
        let mut help = list.collect::<Vec<_>>().join(", ");
        if halves.len() > HALVES {
            help.push_str(&format!(", and {} more", halves.len() - HALVES));
        }
        self.problems.explain(origin, format!("{} nets have no mate", halves.len()), help);
    }

    /// Looks for the mate of a net that reads as the leg marked `own`.
    fn mate(&self, legs: &LegPattern, text: &str, entry: &Entry, (own, other): (&str, &str)) -> Mate<'n> {
        let mut wanted: Option<String> = None;
        // The name as the board has it comes first; its plain form counts only if that finds no mate.
        for plain in [false, true] {
            let mut mates: Vec<&'n Entry> = Vec::new();
            for form in entry.leg_forms(text).filter(|form| form.plain == plain) {
                for mate in legs.mates(&form.text, own, other) {
                    mates.extend(self.others(entry, form, &mate));
                    wanted.get_or_insert_with(|| format!("{}{mate}", form.folder));
                }
            }
            mates.sort_by(|a, b| a.name.cmp(&b.name));
            mates.dedup_by_key(|mate| mate.id);
            match mates.as_slice() {
                [] => {}
                [mate] => return Mate::One(mate),
                _ => return Mate::Many(mates),
            }
        }
        wanted.map_or(Mate::Foreign, Mate::Missing)
    }

    fn others(&self, entry: &Entry, form: &Form, mate: &str) -> impl Iterator<Item = &'n Entry> + use<'n> {
        let own = entry.id;
        self.names.same_form(form, mate).into_iter().filter(move |other| other.id != own)
    }

    /// A pair of two nets by name.
    pub fn by_names(&mut self, p: &str, n: &str, origin: &Origin) {
        let mut one = |name: &str| {
            let nets = self.names.named(name);
            match nets.as_slice() {
                [net] => Some(*net),
                [] => {
                    let literal = if name.contains(['*', '?']) || name.contains('{') {
                        " (two names are taken as they are)"
                    } else {
                        ""
                    };
                    self.problems.add(origin, format!("no net is called `{name}`{literal}"), self.names.nearest(name));
                    None
                }
                _ => {
                    let help = format!("it fits {}; name it in full", quoted(nets.iter().map(|net| net.name.as_str())));
                    self.problems.explain(origin, format!("`{name}` is more than one net"), help);
                    None
                }
            }
        };
        let (p, n) = (one(p), one(n));
        if let (Some(p), Some(n)) = (p, n) {
            self.declare(p, n, origin);
        }
    }

    /// Proposed pairs by name.
    pub fn by_proposal(&mut self, text: &str, proposed: &[Pair], origin: &Origin) {
        let glob = match Glob::parse(text) {
            Ok(glob) => glob,
            Err(error) => return self.problems.explain(origin, error.message.to_owned(), error.help.to_owned()),
        };
        let last = |name: &str| name.rsplit('/').next().is_some_and(|last| glob.matches(last));
        let fits =
            |pair: &&Pair| pair.name == text || glob.matches(&pair.name) || (!text.contains('/') && last(&pair.name));
        let before = self.found.len();
        self.found.extend(proposed.iter().filter(fits).map(|pair| (pair.clone(), origin.clone())));
        if self.found.len() > before {
            return;
        }
        let message = format!("no proposed pair is called `{text}`");
        let near = nearest_pairs(text, proposed);
        if near.is_empty() && self.names.matching(&glob, text).next().is_some() {
            self.problems.explain(origin, message, "nets are; name the legs to make pairs of them: `{P,N}`".to_owned());
        } else {
            self.problems.add(origin, message, near);
        }
    }

    /// All proposed pairs.
    pub fn all_proposed(&mut self, proposed: &[Pair], origin: &Origin) {
        if proposed.is_empty() {
            let help = "name them in the rule set: `pairs = [\"LANE?_{P,N}\"]`".to_owned();
            self.problems.lacking.push(self.problems.found.len());
            self.problems.explain(origin, "names and copper propose no pair".to_owned(), help);
        }
        self.found.extend(proposed.iter().map(|pair| (pair.clone(), origin.clone())));
    }

    fn declare(&mut self, p: &Entry, n: &Entry, origin: &Origin) {
        let pair = Pair { name: pair_name(&p.name, &n.name), p: p.id, n: n.id, proposed: false };
        self.found.push((pair, origin.clone()));
    }

    /// The pairs by name, each once. What the rule set declares stands above what the board proposes of the same nets.
    pub fn finish(self, group: &str) -> Vec<Pair> {
        let Self { problems, found, names } = self;
        let mut kept: Vec<(Pair, Origin)> = Vec::new();
        let (declared, proposed): (Vec<_>, Vec<_>) = found.into_iter().partition(|(pair, _)| !pair.proposed);
        for (pair, origin) in declared.into_iter().chain(proposed) {
            let shared = |other: &Pair| [other.p, other.n].into_iter().find(|&net| net == pair.p || net == pair.n);
            if kept.iter().any(|(other, _)| other.p == pair.p && other.n == pair.n) {
                continue;
            }
            if let Some((other, net)) = kept.iter().find_map(|(other, _)| Some((other, shared(other)?))) {
                if pair.proposed {
                    continue;
                }
                let name = names.entries.iter().find(|entry| entry.id == net).map_or("", |entry| entry.name.as_str());
                let message = format!("`{name}` is in two pairs of group `{group}`");
                let help = format!("they are `{}` and `{}`; a net is a leg of one pair", other.name, pair.name);
                problems.explain(&origin, message, help);
            }
            kept.push((pair, origin));
        }
        let mut pairs: Vec<Pair> = kept.into_iter().map(|(pair, _)| pair).collect();
        // Ids follow the order of the board file, names don't.
        let ranks: BTreeMap<NetId, usize> =
            names.entries.iter().enumerate().map(|(at, entry)| (entry.id, at)).collect();
        pairs.sort_by_cached_key(|pair| (pair.name.clone(), ranks.get(&pair.p).copied(), ranks.get(&pair.n).copied()));
        pairs
    }
}

/// What a net is to a pattern.
enum Mate<'n> {
    /// It doesn't read as the leg.
    Foreign,
    /// It does, but there is no such mate.
    Missing(String),
    /// Its mate.
    One(&'n Entry),
    /// Several nets could be its mate.
    Many(Vec<&'n Entry>),
}
