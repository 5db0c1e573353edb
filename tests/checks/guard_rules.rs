//! Holding the whole-board checks over drawn boards: opens, shorts, fills, stackup.

use crate::route_rules::{self, open, sentence, word};
use crate::support::{Board as Drawn, Pad, Part, starters};
use throughline::board::Board;
use throughline::checks::{Outcome, Verdict};
use throughline::rules::Rule;

/// What a check says of a drawn board.
pub fn run(check: &str, drawn: &Drawn) -> Vec<Verdict> {
    run_on(check, &open(drawn))
}

/// The same of a board already read.
pub fn run_on(check: &str, board: &Board) -> Vec<Verdict> {
    let rule = Rule { on: Vec::new(), limit: None, ..route_rules::rule(check, None, 1.0) };
    route_rules::run_on(board, &rule, &[], &[])
}

/// What is not a pass: subject, outcome, sentence, and what is missing of an unchecked one.
pub fn said(verdicts: &[Verdict]) -> Vec<String> {
    let said = |verdict: &Verdict| {
        let missing = match &verdict.outcome {
            Outcome::Unchecked { missing } => [" | ", missing.template].concat(),
            Outcome::Pass | Outcome::Fail(_) => String::new(),
        };
        format!("{} {} {}: {}{missing}", word(verdict), verdict.subject.kind, verdict.subject.name, sentence(verdict))
    };
    verdicts.iter().filter(|verdict| verdict.outcome != Outcome::Pass).map(said).collect()
}

/// Where the findings are, in millimetres, with the layer's number.
pub fn places(verdicts: &[Verdict]) -> Vec<((f64, f64), u8)> {
    let failed = verdicts.iter().filter(|verdict| verdict.outcome != Outcome::Pass);
    let places = failed.map(|verdict| verdict.place.clone().expect("a finding has a place"));
    places
        .map(|place| {
            let at = place.at.expect("a point");
            ((crate::support::from_nm(at.x), crate::support::from_nm(at.y)), place.layer.expect("a layer").0)
        })
        .collect()
}

/// A clean board: a pair on top, a net `SLOW` that goes below and back, GND planes, filled.
pub fn clean() -> Drawn {
    let mut drawn = unfilled();
    drawn.fill();
    drawn
}

/// The same, its planes not filled.
pub fn unfilled() -> Drawn {
    let mut drawn = starters::straight_pair("clean");
    for (name, at) in [("R1", (4.0, 8.0)), ("R2", (16.0, 8.0))] {
        drawn.part(Part::new(name, at).pad(Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net("SLOW")));
    }
    drawn.track("SLOW", "F.Cu", 0.15, &[(4.0, 8.0), (6.0, 8.0)]);
    drawn.via("SLOW", (6.0, 8.0));
    drawn.track("SLOW", "B.Cu", 0.15, &[(6.0, 8.0), (14.0, 8.0)]);
    drawn.via("SLOW", (14.0, 8.0));
    drawn.track("SLOW", "F.Cu", 0.15, &[(14.0, 8.0), (16.0, 8.0)]);
    drawn
}

#[test]
fn a_clean_board_passes_them_all() {
    for (check, subjects) in [("net-open", 3), ("net-short", 4), ("stale-fill", 2), ("stackup-missing", 1)] {
        let verdicts = run(check, &clean());
        assert_eq!(said(&verdicts), Vec::<String>::new());
        assert_eq!(verdicts.len(), subjects, "{check} has true numbers of subjects");
    }
}
