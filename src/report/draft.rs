//! A draft of a rule file, from what one board shows: its pairs with their evidence, its buses, rails and stackup.
//!
//! Only what names and copper both speak for is stated; the rest stands there as comments, to be read and decided on.

use super::draft_stackup;
use super::run::counted;
use crate::board::{Board, Nets};
use crate::copper::pair_evidence::Evidence;
use crate::copper::pair_match::Difference;
use crate::copper::pairing::{Proposal, Proposals, Refusal};
use crate::rules::{key, quoted};
use crate::source::{printable, printable_name, wrap};
use crate::table::Id;
use crate::units::decimal;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// Columns of comments.
const WIDTH: usize = 100;
/// Names that fit without being pairs, and the like, listed of each kind.
const LISTED: usize = 20;
/// Nets of one stem that are taken for a bus.
const BUS: usize = 3;
/// Buses shown.
const BUSES: usize = 6;

/// The file's text. Writing into a string cannot fail.
#[must_use]
pub fn draft(board: &Board, proposals: &Proposals) -> String {
    let mut out = String::new();
    let name = printable_name(&board.name);
    comment(
        &mut out,
        &format!(
            "Rules for the board `{name}`, drafted by `throughline init` from its own names and copper. Nothing in here is known \
         to be right before you have read it: what is proposed says why, and what is only a guess is a comment."
        ),
    );
    out.push('\n');
    comment(
        &mut out,
        "The limits come from a shipped set: serial-8g, serial-16g or serial-32g, by the rate of your lanes; `base` has only \
         what every board needs. `throughline checks` lists what is held, `throughline checks --effective` every value \
         with its source, `throughline explain CHECK` what a check measures.",
    );
    let set = if proposals.pairs.is_empty() { "base" } else { "serial-16g" };
    let _ = writeln!(out, "extends = [\"{set}\"]\n");
    comment(
        &mut out,
        "Findings that you accept, each with a reason, a value and a day; `throughline waive` writes them.",
    );
    out.push_str("# waivers = [\"waivers.toml\"]\n\n");
    draft_stackup::show(&mut out, board);
    lanes(&mut out, board, proposals);
    doubts(&mut out, board, proposals);
    let rails = rails(board);
    buses(&mut out, board, proposals, &rails);
    supply(&mut out, &rails);
    out
}

/// A comment, wrapped.
pub(super) fn comment(out: &mut String, text: &str) {
    for line in wrap(&printable(text), WIDTH - 2).lines() {
        let _ = writeln!(out, "# {line}");
    }
}

/// The name without its numbers: what the pairs and nets of one bus share.
fn stem(name: &str) -> String {
    let last = name.rsplit('/').next().unwrap_or(name);
    let stem: String = last.chars().filter(|c| !c.is_ascii_digit()).collect();
    stem.trim_matches(['_', '-', '.', ' ']).to_owned()
}

fn lanes(out: &mut String, board: &Board, proposals: &Proposals) {
    if proposals.pairs.is_empty() {
        comment(
            out,
            "No two nets of this board read as a pair and run side by side. If it has pairs, name their legs, extend the set \
             of their rate instead of `base`, and take away the `#`:",
        );
        out.push_str("#\n# [groups.lanes]\n# pairs = [[\"LANE0_P\", \"LANE0_N\"], \"LANE?_{P,N}\"]\n\n");
        return;
    }
    let count = counted(u64::try_from(proposals.pairs.len()).unwrap_or(u64::MAX), "pair");
    comment(
        out,
        &format!(
            "{count} that names and copper propose; the group `lanes` is the one that the serial sets look at. Take out what is no \
         lane, and give slower pairs a group of their own. A pattern such as \"LANE?_{{P,N}}\" names many at once."
        ),
    );
    out.push_str("[groups.lanes]\npairs = [\n");
    let mut stems: BTreeMap<String, Vec<&Proposal>> = BTreeMap::new();
    for pair in &proposals.pairs {
        stems.entry(stem(&pair.name)).or_default().push(pair);
    }
    for (stem, pairs) in stems {
        if pairs.len() > 1 {
            let _ = writeln!(out, "  # {}: {} pairs", printable_name(&stem), pairs.len());
        }
        for pair in pairs {
            let legs = [pair.p, pair.n].map(|net| quoted(board.nets.name(net)));
            let _ = writeln!(out, "  [{}, {}],  # {}", legs[0], legs[1], evidence(&pair.evidence));
        }
    }
    out.push_str("]\n# impedance = \"85 ohm ±10 %\"\n# rate      = \"16 GT/s\"\n\n");
}

/// What the copper says, in few words.
fn evidence(evidence: &Evidence) -> String {
    let parallel = format!("side by side for {} % of the way", decimal(evidence.parallel * 100.0, 0));
    match evidence.neighbours.as_slice() {
        [] => parallel,
        parts => {
            let parts: Vec<_> = parts.iter().map(|part| printable_name(part).into_owned()).collect();
            format!("{parallel}, neighbouring pads at {}", parts.join(", "))
        }
    }
}

/// What the names suggest and the copper does not bear out.
fn doubts(out: &mut String, board: &Board, proposals: &Proposals) {
    let name = |net| printable_name(board.nets.name(net));
    let mut lists: Vec<(&str, Vec<String>)> = Vec::new();
    let refused = proposals.refused.iter().map(|refused| {
        let why = match refused.refusal {
            Refusal::Name => "the name speaks of something else".to_owned(),
            Refusal::Poured => "a leg has filled copper, as a rail has".to_owned(),
            Refusal::Apart => evidence(&refused.proposal.evidence),
            Refusal::Alone => "neither has a second pad".to_owned(),
            Refusal::Taken => "a leg belongs to a pair with better evidence".to_owned(),
        };
        format!("{} and {}: {why}", name(refused.proposal.p), name(refused.proposal.n))
    });
    lists.push(("Names that fit a pair, though the copper or the name itself speaks against it:", refused.collect()));
    let halves = proposals.halves.iter().map(|(net, leg)| format!("{}, leg {leg:?}", name(*net)));
    lists.push(("Nets that read as one leg and have no mate:", halves.collect()));
    let near = proposals.near_misses.iter().map(|(p, n, difference)| {
        let how = match difference {
            Difference::Spelling => "spelled differently",
            Difference::OneCharacter => "one character apart",
        };
        format!("{} and {}: {how}", name(*p), name(*n))
    });
    lists.push(("Names that nearly make a pair:", near.collect()));
    for (title, list) in lists.iter().filter(|(_, list)| !list.is_empty()) {
        comment(out, title);
        for line in list.iter().take(LISTED) {
            let _ = writeln!(out, "#   {line}");
        }
        if list.len() > LISTED {
            let _ = writeln!(out, "#   and {} more; `throughline measure` lists all nets", list.len() - LISTED);
        }
        out.push('\n');
    }
}

/// Nets with filled copper.
fn rails(board: &Board) -> BTreeSet<String> {
    board.fills.values().filter(|fill| fill.net.is_some()).map(|fill| board.nets.name(fill.net).to_owned()).collect()
}

/// Stems that several single nets share, as groups to be.
fn buses(out: &mut String, board: &Board, proposals: &Proposals, rails: &BTreeSet<String>) {
    let paired: BTreeSet<_> = proposals.pairs.iter().flat_map(|pair| [pair.p, pair.n]).map(|net| net.index()).collect();
    let mut found: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for name in singles(&board.nets, &paired) {
        let last = name.rsplit('/').next().unwrap_or(name);
        let Some((stem, _)) = last.split_once(['_', '-', '.']) else { continue };
        let plain = stem.chars().all(|c| c.is_ascii_alphanumeric());
        if plain && stem.len() > 1 && !rails.contains(name) && !["unconnected", "Net"].contains(&stem) {
            found.entry(stem.to_owned()).or_default().push(name);
        }
    }
    let mut buses: Vec<_> = found.into_iter().filter(|(_, nets)| nets.len() >= BUS).collect();
    buses.sort_by(|a, b| b.1.len().cmp(&a.1.len()).then_with(|| a.0.cmp(&b.0)));
    if buses.is_empty() {
        return;
    }
    comment(
        out,
        "Single nets that share the start of their names. If one of these must arrive together, take away the `#`, and let \
         the limit be yours:",
    );
    for (stem, nets) in buses.iter().take(BUSES) {
        let separator =
            nets.first().and_then(|net| net.split_once(stem.as_str())).and_then(|(_, rest)| rest.chars().next());
        let pattern = quoted(&format!("{stem}{}*", separator.unwrap_or('_')));
        let members: Vec<_> = nets.iter().take(6).map(|net| printable_name(net).into_owned()).collect();
        let more = if nets.len() > members.len() { ", …" } else { "" };
        let group = key(&stem.to_lowercase());
        let _ = writeln!(
            out,
            "#\n# [groups.{group}]\n# nets = [{pattern}]  # {} nets: {}{more}",
            nets.len(),
            members.join(", ")
        );
        let _ = writeln!(
            out,
            "# [[check]]\n# use    = \"length-match\"\n# on     = [\"{group}\"]\n# limit  = \"3 mm\"\n# source = \"…\""
        );
    }
    out.push('\n');
}

fn singles<'n>(nets: &'n Nets, paired: &BTreeSet<usize>) -> Vec<&'n str> {
    let mut names: Vec<&str> = nets
        .iter()
        .filter(|(id, _)| id.is_some() && !paired.contains(&id.index()))
        .map(|(_, net)| net.name.as_str())
        .collect();
    names.sort_unstable();
    names
}

fn supply(out: &mut String, rails: &BTreeSet<String>) {
    if rails.is_empty() {
        comment(out, "No net has filled copper: if the board has planes, fill all zones and save it.");
        return;
    }
    let names: Vec<String> = rails.iter().map(|name| quoted(name)).collect();
    comment(out, "Nets with filled copper, which carry supply or ground:");
    let _ = writeln!(out, "#\n# [groups.supply]\n# nets    = [{}]\n# current = \"1 A\"", names.join(", "));
}
