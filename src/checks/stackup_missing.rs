//! `stackup-missing`: a stackup that is missing, incomplete or made up.

use super::stackup_compare::differences;
use super::{Facts, Message, Outcome, Place, Stated, Subject, Verdict};
use crate::board::stackup::DielectricKind;
use crate::board::{LayerSet, Stackup, StackupEntry};
use crate::declare_check;
use crate::rules::{Level, Rule};
use crate::source::Span;
use crate::units::Length;

/// Sums of a stackup and the board's stated thickness agree on nearly all boards; up to this much apart was seen on
/// boards with a true stackup.
const THICKNESS_SLACK: Length = Length::mm(0.2);

declare_check! {
    /// # What is measured
    /// Whether the board file has a stackup that barrel lengths, delays and impedances can rest on:
    ///
    /// - there is one;
    /// - it names every copper layer, in order, and states each foil's thickness;
    /// - between neighbouring foils there is a dielectric, with thickness and permittivity;
    /// - it does not look like one that nobody entered: several dielectrics, all equally thick, all of permittivity 4.5;
    /// - its sum agrees with the board thickness to 0.2 mm.
    ///
    /// Loss tangents and the solder mask are not asked for here.
    ///
    /// A stackup that the rule set states (`[stackup]`) is used in place of the file's. Where the file has one too that
    /// somebody entered, the two must agree: foils and the dielectric between neighbouring foils to 1 um, permittivity
    /// to 1 % (of several sheets, that of one as good as all), the sum to 0.2 mm.
    ///
    /// # Why it matters
    /// Heights and materials decide impedance, delay and the length of barrels. Without them these are not checked;
    /// with made-up ones they are wrong, and nothing else in the file shows it.
    ///
    /// # How to read a finding
    /// The place is the entry of the stackup. A stackup that looks made up (53 of 89 public multilayer ones did) is still
    /// used, and findings that rest on it are only as good as it is. `unchecked` means that the rule set's stackup has
    /// other copper layers than the board; nothing then rests on heights, not on the file's either.
    ///
    /// # How to correct it
    /// Ask the fab for the stackup it will build (thickness after pressing, permittivity, foil thickness), enter it in
    /// the board setup and save the board, or state it in the rule file.
    ///
    /// # Sources
    /// Common practice. The look of untouched stackups and the agreement of sums (289 of 293 boards) were counted on
    /// public boards.
    pub StackupMissing {
        name: "stackup-missing",
        summary: "a stackup that is missing, incomplete or made up",
        limit: &[],
        level: Level::Warning,
        groups: false,
        parameters: &[],
    }
    run = run;
}

fn run(facts: &Facts<'_>, rule: &Rule) -> Vec<Verdict> {
    let board = facts.board;
    if board.layers.is_empty() {
        return Vec::new();
    }
    if let Some(stated) = facts.stated {
        return match &stated.unfit {
            Some(_) => vec![unfit(facts, stated)],
            None => held_against_own(facts, rule, stated),
        };
    }
    let Some(stackup) = &board.stackup else {
        let mut verdict = passed(facts);
        verdict.outcome = Outcome::Fail(rule.level);
        verdict.message = Message::new("the board file has no stackup");
        verdict.help = Some(Message::new("enter the stackup that the fab confirmed, and save the board"));
        verdict.place = board.layers.get(crate::board::LayerId(0)).map(|layer| Place {
            span: layer.span,
            at: None,
            layer: None,
            label: Message::new("the layers are named here, a stackup is not"),
        });
        return vec![verdict];
    };
    let mut faults = gaps(facts, stackup);
    if stackup.looks_like_placeholder() {
        faults.push(Fault {
            subject: String::new(),
            span: stackup.span,
            message: Message::new("the stackup looks as if nobody had entered it: all dielectrics are alike"),
        });
    }
    if let (Some(total), Some(thickness)) = (stackup.total(), board.thickness)
        && (total - thickness).abs() > THICKNESS_SLACK
    {
        faults.push(Fault {
            subject: String::new(),
            span: stackup.span,
            message: Message::new("the stackup is {total} thick and the board {thickness}")
                .with("total", total)
                .with("thickness", thickness),
        });
    }
    if faults.is_empty() {
        return vec![passed(facts)];
    }
    faults
        .into_iter()
        .map(|fault| {
            let mut verdict = passed(facts);
            verdict.outcome = Outcome::Fail(rule.level);
            if !fault.subject.is_empty() {
                verdict.subject = Subject { kind: "layer", name: fault.subject, ends: Vec::new() };
            }
            verdict.message = fault.message;
            verdict.help = Some(Message::new("enter the stackup that the fab confirmed, and save the board"));
            verdict.place =
                Some(Place { span: fault.span, at: None, layer: None, label: Message::new("in the stackup") });
            verdict
        })
        .collect()
}

/// A stackup of the rule set that the board can't have.
fn unfit(facts: &Facts<'_>, stated: &Stated<'_>) -> Verdict {
    let missing = Message::new("the stackup that the rule set states at {at} does not fit the board")
        .with("at", stated.rules.origin.to_string());
    Verdict { message: missing.clone(), outcome: Outcome::Unchecked { missing }, ..passed(facts) }
}

/// The rule set's stackup is in force; where the board file has a real one of its own, the two should agree.
fn held_against_own(facts: &Facts<'_>, rule: &Rule, stated: &Stated<'_>) -> Vec<Verdict> {
    let board = facts.board;
    let at = || stated.rules.origin.to_string();
    let own = board.stackup.as_ref().filter(|own| !own.looks_like_placeholder());
    let mut verdicts: Vec<Verdict> = Vec::new();
    let finding = |subject: Subject, span: Option<Span>, message: Message| Verdict {
        subject,
        outcome: Outcome::Fail(rule.level),
        message: message.with("at", at()),
        help: Some(Message::new("let both say what the fab will build; checks use the rule set's")),
        place: span.map(|span| Place { span, at: None, layer: None, label: Message::new("in the board's stackup") }),
        ..passed(facts)
    };
    for difference in own.map(|own| differences(own, &stated.stackup)).unwrap_or_default() {
        let (layer, lower) = difference.layers;
        let name = |layer| board.layers.name(layer);
        let (kind, names) = match lower {
            None => ("layer", name(layer).to_owned()),
            Some(lower) => ("layers", [name(layer), name(lower)].join(", ")),
        };
        let message = difference.message.with("layer", name(layer)).with("lower", lower.map_or("", name));
        let subject = Subject { kind, name: names, ends: Vec::new() };
        verdicts.push(finding(subject, Some(difference.span), message));
    }
    if let (Some(total), Some(thickness)) = (stated.stackup.total(), board.thickness)
        && (total - thickness).abs() > THICKNESS_SLACK
    {
        let message =
            Message::new("the stackup that the rule set states at {at} is {total} thick and the board {thickness}")
                .with("total", total)
                .with("thickness", thickness);
        let span = board.stackup.as_ref().map(|own| own.span);
        verdicts.push(finding(passed(facts).subject, span, message));
    }
    if verdicts.is_empty() {
        let message = Message::new("the rule set states the stackup, at {at}").with("at", at());
        verdicts.push(Verdict { message, ..passed(facts) });
    }
    verdicts
}

fn passed(facts: &Facts<'_>) -> Verdict {
    Verdict {
        check: "stackup-missing",
        subject: Subject { kind: "board", name: facts.board.name.clone(), ends: Vec::new() },
        outcome: Outcome::Pass,
        value: None,
        limit: None,
        message: Message::new("the stackup is complete"),
        help: None,
        place: None,
        related: Vec::new(),
        layers: LayerSet::EMPTY,
    }
}

/// Something wrong with a stackup.
struct Fault {
    /// The layer, if it is one layer's fault.
    subject: String,
    span: Span,
    message: Message,
}

/// What the stackup lacks.
fn gaps(facts: &Facts<'_>, stackup: &Stackup) -> Vec<Fault> {
    let board = facts.board;
    let mut faults = Vec::new();
    let mut fault = |subject: &str, span: Span, message: Message| {
        faults.push(Fault { subject: subject.to_owned(), span, message: message.with("layer", subject) });
    };
    for layer in board.layers.ids().filter(|&layer| stackup.position(layer).is_none()) {
        fault(board.layers.name(layer), stackup.span, Message::new("the stackup lacks the copper layer {layer}"));
    }
    let positions: Vec<_> = board.layers.ids().filter_map(|layer| stackup.position(layer)).collect();
    if !positions.is_sorted() {
        faults.push(Fault {
            subject: String::new(),
            span: stackup.span,
            message: Message::new("the stackup names the copper layers in another order than the board"),
        });
        return faults;
    }
    let mut fault = |subject: &str, span: Span, message: Message| {
        faults.push(Fault { subject: subject.to_owned(), span, message: message.with("layer", subject) });
    };
    // Sheets since the last foil; `None` before the first.
    let mut sheets: Option<usize> = None;
    for entry in &stackup.entries {
        match entry {
            StackupEntry::Copper { layer, thickness, span } => {
                let name = board.layers.name(*layer);
                if sheets == Some(0) {
                    fault(name, *span, Message::new("no dielectric stands between {layer} and the foil above it"));
                }
                if thickness.is_none_or(|thickness| thickness <= Length::ZERO) {
                    fault(name, *span, Message::new("the foil {layer} has no thickness"));
                }
                sheets = Some(0);
            }
            StackupEntry::Dielectric { kind: DielectricKind::Mask, .. } => {}
            StackupEntry::Dielectric { name, thickness, permittivity, span, .. } => {
                sheets = sheets.map(|count| count + 1);
                if thickness.is_none_or(|thickness| thickness <= Length::ZERO) {
                    fault(name, *span, Message::new("the dielectric {layer} has no thickness"));
                }
                if permittivity.is_none_or(|permittivity| permittivity < 1.0) {
                    fault(name, *span, Message::new("the dielectric {layer} has no permittivity"));
                }
            }
        }
    }
    faults
}
