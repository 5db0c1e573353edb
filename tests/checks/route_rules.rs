//! Holding one check over a drawn board: rules and groups made by hand.

use crate::support::{Board as Drawn, Generation, Pad, Part, Stack};
use std::collections::BTreeMap;
use std::sync::Arc;
use throughline::board::{Board, read};
use throughline::checks::{self, Facts, Outcome, Pair, Selection, Value, Verdict};
use throughline::copper::Copper;
use throughline::rules::{At, Level, Origin, Rule, Setting};
use throughline::source::{SourceFile, Span};
use throughline::units::{Dimension, Length, Quantity, Target};

/// A value stated in a rule file that does not matter.
pub fn at<T>(value: T) -> At<T> {
    At { value, origin: Origin { file: Arc::new(SourceFile::new("test.toml", "")), span: Span::default() } }
}

/// A rule on group `group` with limits in millimetres.
pub fn rule(check: &str, warn: Option<f64>, limit: f64) -> Rule {
    let length = |mm| at(Quantity::Length(Length::mm(mm)));
    Rule {
        check: checks::find(check).expect("the check exists").info().schema.name,
        on: vec![at("group".to_owned())],
        warn: warn.map(length),
        limit: Some(length(limit)),
        level: Level::Error,
        source: None,
        settings: BTreeMap::new(),
        origin: at(()).origin,
    }
}

/// The same with a setting.
pub fn with(mut rule: Rule, key: &'static str, setting: Setting) -> Rule {
    rule.settings.insert(key, at(setting));
    rule
}

/// A drawn board as the crate reads it.
pub fn open(drawn: &Drawn) -> Board {
    let text = drawn.text(Generation::V10);
    read(&drawn.name, Arc::new(SourceFile::new(format!("{}.kicad_pcb", drawn.name), text))).expect("it reads")
}

/// Runs a rule over a board whose `group` holds these nets and these pairs (by the legs' names).
pub fn run(drawn: &Drawn, rule: &Rule, nets: &[&str], pairs: &[(&str, &str)]) -> Vec<Verdict> {
    run_on(&open(drawn), rule, nets, pairs)
}

/// The same on a board already read.
pub fn run_on(board: &Board, rule: &Rule, nets: &[&str], pairs: &[(&str, &str)]) -> Vec<Verdict> {
    run_group(board, rule, nets, pairs, Selection::default())
}

/// A group's symbol rate in GT/s and target impedance.
pub fn fast(rate: f64, impedance: &str) -> Selection {
    let target = Target::parse(impedance, Dimension::Impedance).expect("a target");
    Selection { rate: Some(at(Quantity::Rate(rate * 1e9))), impedance: Some(at(target)), ..Selection::default() }
}

/// The same with what the group states beside its members.
pub fn run_group(board: &Board, rule: &Rule, nets: &[&str], pairs: &[(&str, &str)], group: Selection) -> Vec<Verdict> {
    let net = |name: &&str| board.nets.find(name).unwrap_or_else(|| panic!("no net {name}"));
    let copper = Copper::new(board);
    let selection = Selection {
        group: "group".into(),
        nets: nets.iter().map(net).collect(),
        pairs: pairs
            .iter()
            .map(|(p, n)| Pair {
                name: p.strip_suffix("_P").unwrap_or(p).to_owned(),
                p: net(p),
                n: net(n),
                proposed: false,
            })
            .collect(),
        ..group
    };
    let facts = Facts::new(&copper, vec![selection]);
    checks::find(rule.check).expect("the check exists").run(&facts, rule)
}

/// The only verdict.
#[track_caller]
pub fn only(verdicts: Vec<Verdict>) -> Verdict {
    assert_eq!(verdicts.len(), 1, "{verdicts:#?}");
    verdicts.into_iter().next().unwrap()
}

/// A verdict's value in millimetres.
#[track_caller]
pub fn value(verdict: &Verdict) -> f64 {
    match verdict.value {
        Some(Quantity::Length(length)) => length.to_mm(),
        other => panic!("{other:?} is no length: {}", sentence(verdict)),
    }
}

/// `pass`, `note`, `warning`, `error` or `unchecked`.
pub fn word(verdict: &Verdict) -> &'static str {
    match verdict.outcome {
        Outcome::Pass => "pass",
        Outcome::Fail(Level::Note) => "note",
        Outcome::Fail(Level::Warning) => "warning",
        Outcome::Fail(Level::Error) => "error",
        Outcome::Unchecked { .. } => "unchecked",
    }
}

/// What a verdict says, filled in as a person would read it.
pub fn sentence(verdict: &Verdict) -> String {
    let mut text = verdict.message.template.to_owned();
    for (key, value) in &verdict.message.values {
        let value = match value {
            Value::Quantity(quantity) => quantity.to_string(),
            Value::Name(name) => format!("`{name}`"),
            Value::Word(word) => (*word).to_owned(),
            Value::Point(point) => format!("{point:?}"),
        };
        text = text.replace(&format!("{{{key}}}"), &value);
    }
    assert!(!text.contains('{'), "unfilled: {text}");
    text
}

/// Holds that only these verdicts are not passes: subject and ends, outcome, place in millimetres.
#[track_caller]
pub fn findings(verdicts: &[Verdict]) -> Vec<(String, &'static str, (f64, f64))> {
    verdicts
        .iter()
        .filter(|verdict| verdict.outcome != Outcome::Pass)
        .map(|verdict| {
            let at = verdict.place.as_ref().and_then(|place| place.at).expect("a finding has a place");
            let place = (crate::support::from_nm(at.x), crate::support::from_nm(at.y));
            (format!("{} {}", verdict.subject.name, verdict.subject.ends.join(" ")), word(verdict), place)
        })
        .collect()
}

/// A part with one pad `1`, half a millimetre square.
pub fn land(reference: &str, net: &str, at: (f64, f64)) -> Part {
    Part::new(reference, at).pad(Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net(net))
}

/// A board with U1.1 at (5, 5) and J1.1 at (15, 5) on net `A`.
pub fn two_lands(stack: Stack) -> Drawn {
    let mut drawn = Drawn::new("two-lands", stack);
    drawn.outline((0.0, 0.0), (20.0, 12.0));
    drawn.part(land("U1", "A", (5.0, 5.0)));
    drawn.part(land("J1", "A", (15.0, 5.0)));
    drawn
}
