//! The rule set's stackup on a board: held against the file's own, and what copper and signals get of it.

use crate::guard_rules::{clean, said};
use crate::route_rules::{self, open, rule};
use crate::support::Stack;
use std::sync::Arc;
use throughline::board::{Board, LayerId, StackupEntry};
use throughline::checks::{self, Facts, Stated, Verdict};
use throughline::field::{Dielectric, Frequency, WidebandDebye};
use throughline::rules::{Rule, RuleSet, read};
use throughline::signal::{Basis, BasisOrigin};
use throughline::source::SourceFile;

/// The stackup of `Stack::four` as a rule file.
const SAME: &str = r#"
[stackup]
layer = [
  { mask    = "green",  thickness = "15 um",    permittivity = 3.8 },
  { copper  = "F.Cu",   thickness = "35 um" },
  { prepreg = "3313",   thickness = "0.1 mm",   permittivity = 4.05, loss-tangent = 0.02 },
  { copper  = "In1.Cu", thickness = "17.5 um" },
  { core    = "FR-4",   thickness = "0.465 mm", permittivity = 4.4,  loss-tangent = 0.019 },
  { copper  = "In2.Cu", thickness = "17.5 um" },
  { prepreg = "3313",   thickness = "0.1 mm",   permittivity = 4.05, loss-tangent = 0.02 },
  { copper  = "B.Cu",   thickness = "35 um" },
  { mask    = "green",  thickness = "15 um",    permittivity = 3.8 },
]
"#;

fn set(text: &str) -> RuleSet {
    let schemas: Vec<_> = checks::ALL.iter().map(|check| check.info().schema).collect();
    let file = Arc::new(SourceFile::new("rules.toml", text));
    read(file, &schemas, &mut |_| Err("no other file".to_owned())).unwrap()
}

/// The rule set with one change.
fn changed(from: &str, to: &str) -> RuleSet {
    let text = SAME.replacen(from, to, 1);
    assert_ne!(text, SAME, "{from}");
    set(&text)
}

fn verdicts(set: &RuleSet, board: &Board) -> Vec<Verdict> {
    let stated = Stated::of(set, board);
    let copper = stated.as_ref().unwrap().copper(board);
    let facts = Facts::resting_on(&copper, stated.as_ref(), Vec::new());
    let rule = Rule { on: Vec::new(), limit: None, ..rule("stackup-missing", None, 1.0) };
    checks::find("stackup-missing").unwrap().run(&facts, &rule)
}

#[test]
fn the_same_stackup_twice_is_no_finding() {
    let board = open(&clean());
    let verdicts = verdicts(&set(SAME), &board);
    assert_eq!(verdicts.len(), 1);
    assert_eq!(said(&verdicts), [""; 0]);
    assert_eq!(route_rules::sentence(&verdicts[0]), "the rule set states the stackup, at `rules.toml:2:2`");
}

/// Sheets that are cut otherwise but are as thick and as good together are the same.
#[test]
fn sheets_may_be_cut_otherwise() {
    let two = "{ prepreg = \"106\", thickness = \"0.05 mm\", permittivity = 4.05 },";
    let set = changed(
        "{ prepreg = \"3313\",   thickness = \"0.1 mm\",   permittivity = 4.05, loss-tangent = 0.02 },",
        &format!("{two}\n  {two}"),
    );
    assert_eq!(said(&verdicts(&set, &open(&clean()))), [""; 0]);
}

#[test]
fn each_difference_is_a_finding_and_rounding_is_none() {
    let board = open(&clean());
    let say = |from: &str, to: &str| said(&verdicts(&changed(from, to), &board)).join("\n");
    insta::assert_snapshot!(say("\"17.5 um\"", "\"15.2 um\""), @"error layer In1.Cu: `In1.Cu` is 0.018 mm thick in the board file and 0.015 mm in the rule set, at `rules.toml:2:2`");
    insta::assert_snapshot!(say("\"0.465 mm\"", "\"0.45 mm\""), @"error layers In1.Cu, In2.Cu: between `In1.Cu` and `In2.Cu` the board file has 0.465 mm of dielectric and the rule set 0.45 mm, at `rules.toml:2:2`");
    insta::assert_snapshot!(say("4.05", "3.9"), @"error layers F.Cu, In1.Cu: between `F.Cu` and `In1.Cu` the board file's permittivity is 3.8 % above the rule set's, at `rules.toml:2:2`");
    insta::assert_snapshot!(say("4.4,", "4.6,"), @"error layers In1.Cu, In2.Cu: between `In1.Cu` and `In2.Cu` the board file's permittivity is 4.3 % below the rule set's, at `rules.toml:2:2`");
    insta::assert_snapshot!(say("\"0.465 mm\"", "\"0.7 mm\""), @r"
    error layers In1.Cu, In2.Cu: between `In1.Cu` and `In2.Cu` the board file has 0.465 mm of dielectric and the rule set 0.7 mm, at `rules.toml:2:2`
    error board clean: the stackup that the rule set states at `rules.toml:2:2` is 1.035 mm thick and the board 0.8 mm
    ");
    for (from, to) in
        [("\"17.5 um\"", "\"18.4 um\""), ("\"0.1 mm\"", "\"99.1 um\""), ("4.4,", "4.36,"), ("\"15 um\"", "\"25 um\"")]
    {
        assert_eq!(say(from, to), "", "{from} {to}");
    }
    let whole = verdicts(&changed("\"0.465 mm\"", "\"0.45 mm\""), &board);
    let place = whole[0].place.as_ref().unwrap();
    assert!(
        board.source.text().get(place.span.start as usize..).unwrap().starts_with("layer \"dielectric 2\""),
        "the core"
    );
}

#[test]
fn values_are_brought_to_one_frequency() {
    let text = SAME
        .replacen("[stackup]", "[stackup]\nfrequency = \"1 GHz\"\nroughness = \"2 um\"", 1)
        .replacen("loss-tangent = 0.019", "loss-tangent = 0.019, frequency = \"10 GHz\"", 1)
        .replacen("permittivity = 3.8 }", "permittivity = 3.8, frequency = \"1 MHz\" }", 1);
    let (set, board) = (set(&text), open(&clean()));
    let stated = Stated::of(&set, &board).unwrap();
    let value = |at: usize| match &stated.stackup.entries[at] {
        StackupEntry::Dielectric { permittivity, loss_tangent, .. } => (*permittivity, *loss_tangent),
        StackupEntry::Copper { .. } => panic!("copper"),
    };
    // The mask comes first, but a value without loss tangent can't be moved; the first frequency counts.
    assert_eq!(stated.frequency, Frequency::mhz(1.0));
    assert_eq!(value(0), (Some(3.8), None));
    let moved = |permittivity, loss, from| {
        let there = WidebandDebye::fit(Dielectric::new(permittivity, loss), from).at(Frequency::mhz(1.0));
        (Some(there.permittivity), Some(there.loss_tangent))
    };
    assert_eq!(value(2), moved(4.05, 0.02, Frequency::ghz(1.0)));
    assert_eq!(value(4), moved(4.4, 0.019, Frequency::ghz(10.0)));
    // Towards lower frequencies permittivity rises: by 1.466 ε'' for each of four decades.
    assert!((value(4).0.unwrap() - (4.4 + 4.0 * 1.466 * 4.4 * 0.019)).abs() < 0.02, "{:?}", value(4));
}

#[test]
fn copper_and_signals_rest_on_it() {
    let board = open(&clean());
    let set = changed("[stackup]", "[stackup]\nroughness = \"2 um\"\nfrequency = \"5 GHz\"");
    let set = {
        let text = set.files[0].text().replacen("\"0.465 mm\"", "\"0.2 mm\"", 1);
        self::set(&text)
    };
    let stated = Stated::of(&set, &board);
    let copper = stated.as_ref().unwrap().copper(&board);
    let (top, bottom) = (LayerId(0), LayerId(3));
    // 0.1 + 0.0175 + 0.2 + 0.0175 + 0.1, and half of each outer foil.
    assert!((copper.height(top, bottom).unwrap().to_mm() - 0.47).abs() < 1e-9);
    assert!((copper.stackup().unwrap().height(top, LayerId(1)).unwrap().to_mm() - 0.1).abs() < 1e-9);
    let facts = Facts::resting_on(&copper, stated.as_ref(), Vec::new());
    let basis: &Basis = facts.signals.basis().unwrap();
    assert_eq!((basis.origin, basis.frequency), (BasisOrigin::RuleSet, Frequency::ghz(5.0)));
    assert!(!basis.roughness_assumed && (basis.roughness.to_mm() - 0.002).abs() < 1e-12);
    assert!((basis.height(top, bottom).to_mm() - 0.47).abs() < 1e-9);
}

#[test]
fn one_that_does_not_fit_leaves_nothing_to_rest_on() {
    let mut drawn = clean();
    drawn.stack = Stack::four();
    let board = open(&drawn);
    let set = changed("{ copper  = \"In1.Cu\", thickness = \"17.5 um\" },\n", "");
    let stated = Stated::of(&set, &board);
    let copper = stated.as_ref().unwrap().copper(&board);
    assert_eq!(copper.height(LayerId(0), LayerId(3)), None);
    assert!(board.stackup.is_some(), "though the file has one");
    let facts = Facts::resting_on(&copper, stated.as_ref(), Vec::new());
    assert!(facts.signals.basis().is_err());
    assert_eq!((facts.has_unfit_stackup(), facts.thickness()), (true, None));
    let fault = stated.as_ref().unwrap().unfit.as_ref().unwrap();
    assert_eq!(fault.message, "the stackup has 3 copper layers and the board 4");
}
