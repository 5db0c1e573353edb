//! A board and verdicts made by hand, for reports that need no reader and no check.

use std::sync::Arc;
use throughline::board::{Board, CopperLayers, Doubt, LayerId, LayerSet, Nets, Note, layer::CopperLayer};
use throughline::checks::{Message, Outcome, Place, RuleRun, Subject, Verdict};
use throughline::findings::{Idle, Judgement, Verdicts};
use throughline::geometry::Point;
use throughline::report::{Problem, Run};
use throughline::rules::{At, Level, Origin, Rule, RuleSet};
use throughline::source::{Fault, SourceFile, Span};
use throughline::table::Table;
use throughline::units::{Length, Quantity};

/// The board's text. Every place of a verdict is found in it by its words.
pub const TEXT: &str = "\
(kicad_pcb (version 20171130)
  (net 1 CORE_TX0_P)
  (net 2 CORE_TX0_N)
  (segment (start 10 10) (end 14.5 10) (width 0.15) (layer F.Cu) (net 1))
  (segment (start 10 10.4) (end 14.1 10.4) (width 0.15) (layer F.Cu) (net 2))
  (via (at 20.5 12.25) (size 0.45) (drill 0.2) (layers F.Cu B.Cu) (net 1))
  (via (at 21.5 12.25) (size 0.45) (drill 0.2) (layers F.Cu B.Cu) (net 2))
  (barcode x)
)
";

const RULES: &str = "\
[[check]]
use = \"pair-skew\"
on = [\"core\"]
limit = \"0.3 mm\"

[[check]]
use = \"via-stub\"
on = [\"core\"]
limit = \"0.4 mm\"
level = \"warning\"

[[check]]
use = \"plane-gap\"
on = [\"core\"]

[[check]]
use = \"length-match\"
on = [\"bus\"]
";

pub fn span(text: &str, words: &str) -> Span {
    let at = text.find(words).unwrap();
    Span::new(u32::try_from(at).unwrap(), u32::try_from(at + words.len()).unwrap())
}

pub fn board(name: &str) -> Board {
    let layer = |name: &str| CopperLayer { name: name.into(), alias: None, span: Span::default() };
    let note = |message: &str, words: &str| Note { message: message.into(), span: span(TEXT, words) };
    let mut nets = Nets::new();
    nets.intern("CORE_TX0_P", span(TEXT, "CORE_TX0_P"));
    nets.intern("CORE_TX0_N", span(TEXT, "CORE_TX0_N"));
    Board {
        name: name.into(),
        source: Arc::new(SourceFile::new(format!("boards/{name}.kicad_pcb"), TEXT)),
        version: Some(20_171_130),
        revision: String::new(),
        layers: CopperLayers::new(vec![layer("F.Cu"), layer("B.Cu")]),
        thickness: None,
        stackup: None,
        nets,
        classes: Vec::new(),
        footprints: Table::new(),
        pads: Table::new(),
        tracks: Table::new(),
        vias: Table::new(),
        zones: Table::new(),
        fills: Table::new(),
        graphics: Table::new(),
        outline: Vec::new(),
        notes: vec![note("unknown node `barcode` in `kicad_pcb`, 1 time", "barcode")],
        doubts: vec![Doubt {
            message: "the board file has no edge".into(),
            span: span(TEXT, "kicad_pcb"),
            layers: LayerSet::EMPTY,
        }],
    }
}

pub fn rules() -> RuleSet {
    let file = Arc::new(SourceFile::new("recorder.toml", RULES));
    let at = |words: &str| Origin { file: Arc::clone(&file), span: span(RULES, words) };
    let limit = |mm: f64, words: &str| Some(At { value: Length::mm(mm).into(), origin: at(words) });
    let rule = |check: &'static str, group: &str, level: Level, limit: Option<At<Quantity>>| Rule {
        check,
        on: vec![At { value: group.to_owned(), origin: at(&format!("\"{group}\"")) }],
        warn: None,
        limit,
        level,
        source: None,
        settings: std::collections::BTreeMap::new(),
        origin: at(&format!("use = \"{check}\"")),
    };
    RuleSet {
        name: "recorder.toml".into(),
        groups: Vec::new(),
        rules: vec![
            rule("pair-skew", "core", Level::Error, limit(0.3, "\"0.3 mm\"")),
            rule("via-stub", "core", Level::Warning, limit(0.4, "\"0.4 mm\"")),
            rule("plane-gap", "core", Level::Error, None),
            rule("length-match", "bus", Level::Error, None),
        ],
        ..RuleSet::default()
    }
}

pub fn place(words: &str, at: (f64, f64), layer: u8, label: &'static str) -> Place {
    Place {
        span: span(TEXT, words),
        at: Some(Point::new((at.0 * 1e6) as i64, (at.1 * 1e6) as i64)),
        layer: Some(LayerId(layer)),
        label: Message::new(label),
    }
}

pub fn verdict(rules: &RuleSet, check: &'static str, kind: &'static str, name: &str, outcome: Outcome) -> Verdict {
    let rule = rules.rules.iter().find(|rule| rule.check == check).unwrap();
    Verdict {
        check,
        subject: Subject { kind, name: name.into(), ends: Vec::new() },
        outcome,
        value: None,
        limit: rule.limit.clone(),
        message: Message::new("nothing to say"),
        help: None,
        place: None,
        related: Vec::new(),
        layers: LayerSet::EMPTY,
    }
}

fn skew(rules: &RuleSet) -> Verdict {
    let by = Length::mm(0.4);
    Verdict {
        subject: Subject { kind: "pair", name: "CORE_TX0".into(), ends: vec!["J1.12".into(), "U1.A3".into()] },
        value: Some(by.into()),
        message: Message::new("{long} is {by} longer than {short}")
            .with("long", "CORE_TX0_P")
            .with("by", by)
            .with("short", "CORE_TX0_N"),
        help: Some(Message::new("lengthen {short} by {by}").with("short", "CORE_TX0_N").with("by", by)),
        place: Some(place("segment (start 10 10)", (10.0, 10.0), 0, "the longer leg")),
        related: vec![place("segment (start 10 10.4)", (10.0, 10.4), 0, "the shorter leg")],
        ..verdict(rules, "pair-skew", "pair", "", Outcome::Fail(Level::Error))
    }
}

fn stub(rules: &RuleSet, net: &str, mm: f64, words: &str, x: f64) -> Verdict {
    Verdict {
        value: Some(Length::mm(mm).into()),
        message: Message::new("{length} of the barrel hang below the lowest layer used").with("length", Length::mm(mm)),
        place: Some(place(words, (x, 12.25), 1, "the barrel ends here")),
        ..verdict(rules, "via-stub", "via", net, Outcome::Fail(Level::Warning))
    }
}

/// One run per rule, in their order.
pub fn runs(rules: &RuleSet) -> Vec<RuleRun<'_>> {
    let unchecked = |name: &str| {
        let missing = Message::new("the board has no stackup");
        verdict(rules, "plane-gap", "pair", name, Outcome::Unchecked { missing })
    };
    let verdicts = vec![
        vec![verdict(rules, "pair-skew", "pair", "CORE_RX0", Outcome::Pass), skew(rules)],
        vec![
            stub(rules, "CORE_TX0_P", 0.4004, "via (at 20.5", 20.5),
            stub(rules, "CORE_TX0_N", 1.1, "via (at 21.5", 21.5),
        ],
        vec![unchecked("CORE_TX0"), unchecked("CORE_RX0")],
        vec![],
    ];
    rules.rules.iter().zip(verdicts).map(|(rule, verdicts)| RuleRun { rule, verdicts }).collect()
}

/// The whole run over one board, for a reporter.
pub fn with_run<R>(report: impl Fn(&Run<'_, '_>) -> R) -> R {
    with_runs(runs, report)
}

/// The same with other verdicts.
pub fn with_runs<R>(runs: impl Fn(&RuleSet) -> Vec<RuleRun<'_>>, report: impl Fn(&Run<'_, '_>) -> R) -> R {
    let (rules, board) = (rules(), board("base"));
    let judgement = Judgement::new(vec![Verdicts { board: &board, runs: runs(&rules) }]);
    let named = |idle: &Idle| !idle.groups.is_empty();
    report(&Run {
        judgement: &judgement,
        rules: &rules,
        chosen: "named on the command line".into(),
        problems: vec![Problem {
            fault: Fault {
                message: "no net matches `SENSE*`".into(),
                file: Arc::clone(&rules.rules[3].origin.file),
                span: span(RULES, "\"bus\""),
                label: "on board `base`".into(),
                help: Some("did you mean `SENSOR`?".into()),
            },
            counts: true,
        }],
        left_out: vec!["net-open"],
        fail_on: Level::Error,
        whole: judgement.whole(Level::Error, true, named),
        unseen: judgement.ledger.idle.iter().collect(),
        as_of: throughline::units::Date::new(2027, 2, 20).unwrap(),
        baseline: None,
    })
}

/// Runs of so many failures, each of a net of its own; every tenth in other words than the rest, so that there are many
/// causes.
pub fn many(rules: &RuleSet, count: usize) -> Vec<RuleRun<'_>> {
    let failure = |at: usize| {
        let words: &'static str = Box::leak(format!("fault of kind {} in {{net}}", at % 30).into_boxed_str());
        let name = format!("NET_{at:05}");
        Verdict {
            message: Message::new(words).with("net", name.as_str()),
            value: Some(Length::mm(1.0 + at as f64 / 1e4).into()),
            place: Some(place("via (at 20.5", (20.5, 12.25), 1, "here")),
            ..verdict(rules, "pair-skew", "net", &name, Outcome::Fail(Level::Error))
        }
    };
    let failures = |rule: &Rule| if rule.check == "pair-skew" { (0..count).map(failure).collect() } else { Vec::new() };
    rules.rules.iter().map(|rule| RuleRun { rule, verdicts: failures(rule) }).collect()
}

/// One failure of a net with the given name.
pub fn named<'r>(rules: &'r RuleSet, name: &str) -> Vec<RuleRun<'r>> {
    let failure = |rule: &Rule| Verdict {
        message: Message::new("{net} is wrong").with("net", name),
        related: vec![place("via (at 21.5", (21.5, 12.25), 1, "the other")],
        ..verdict(rules, rule.check, "net", name, Outcome::Fail(Level::Error))
    };
    let of = |rule: &Rule| if rule.check == "pair-skew" { vec![failure(rule)] } else { Vec::new() };
    rules.rules.iter().map(|rule| RuleRun { rule, verdicts: of(rule) }).collect()
}
