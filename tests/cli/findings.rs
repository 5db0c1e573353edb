//! Verdicts in order, counted and stamped.

use crate::made::{board, rules, runs, verdict};
use throughline::checks::{Message, Outcome, RuleRun, Verdict};
use throughline::findings::{Fingerprint, Judgement, Verdicts, Whole, causes, sentence};
use throughline::geometry::Point;
use throughline::rules::{Level, RuleSet};
use throughline::units::Length;

fn whole(verdicts: &[Verdict], fail_on: Level) -> Whole {
    let (rules, board) = (rules(), board("base"));
    let runs = rules
        .rules
        .iter()
        .map(|rule| RuleRun {
            rule,
            verdicts: verdicts.iter().filter(|verdict| verdict.check == rule.check).cloned().collect(),
        })
        .collect();
    Judgement::new(vec![Verdicts { board: &board, runs }]).whole(fail_on, false, |idle| idle.check == "length-match")
}

fn one(rules: &RuleSet, check: &'static str, outcome: Outcome) -> Verdict {
    verdict(rules, check, "pair", "CORE_TX0", outcome)
}

#[test]
fn a_run_is_clean_only_if_everything_that_counts_was_judged() {
    let rules = rules();
    let pass = |check| one(&rules, check, Outcome::Pass);
    let fail = |check, level| one(&rules, check, Outcome::Fail(level));
    let missing = || Outcome::Unchecked { missing: Message::new("no stackup") };
    let all = [pass("pair-skew"), pass("via-stub"), pass("plane-gap"), pass("length-match")];
    let with = |more: Verdict| all.iter().cloned().chain([more]).collect::<Vec<_>>();

    assert_eq!(whole(&all, Level::Error), Whole::Clean);
    assert_eq!(whole(&with(fail("pair-skew", Level::Error)), Level::Error), Whole::Findings);
    assert_eq!(whole(&with(fail("via-stub", Level::Warning)), Level::Error), Whole::Clean);
    assert_eq!(whole(&with(fail("via-stub", Level::Warning)), Level::Warning), Whole::Findings);
    assert_eq!(whole(&with(one(&rules, "plane-gap", missing())), Level::Error), Whole::NotJudged);
    // The check of a milder rule could not be judged: it counts only from that level on.
    assert_eq!(whole(&with(one(&rules, "via-stub", missing())), Level::Error), Whole::Clean);
    assert_eq!(whole(&with(one(&rules, "via-stub", missing())), Level::Warning), Whole::NotJudged);
    // A group that the user names and the board lacks.
    assert_eq!(whole(&all[..3], Level::Error), Whole::NotJudged);
    // One that nobody named.
    assert_eq!(whole(&[all[0].clone(), all[2].clone(), all[3].clone()], Level::Error), Whole::Clean);
    // A finding settles it, whatever could not be judged.
    let both = [fail("pair-skew", Level::Error), one(&rules, "plane-gap", missing())];
    assert_eq!(whole(&both, Level::Error), Whole::Findings);
}

#[test]
fn the_worst_comes_first_and_order_of_arrival_does_not_show() {
    let (rules, board) = (rules(), board("base"));
    let listing = |turn: usize| {
        let mut runs = runs(&rules);
        for run in &mut runs {
            let by = turn % run.verdicts.len().max(1);
            run.verdicts.rotate_left(by);
        }
        let judgement = Judgement::new(vec![Verdicts { board: &board, runs }]);
        let lines: Vec<String> = judgement
            .entries
            .iter()
            .map(|entry| format!("{} {} {}", entry.verdict.check, entry.verdict.subject.name, entry.fingerprint))
            .collect();
        lines.join("\n")
    };
    insta::assert_snapshot!(listing(0), @r#"
    pair-skew CORE_TX0 eb22ce11ba6b9e42
    via-stub CORE_TX0_N bea67312479c89af
    via-stub CORE_TX0_P 7eb94afc71668795
    plane-gap CORE_RX0 19dbf09851dca718
    plane-gap CORE_TX0 90b52a28d4511f9a
    pair-skew CORE_RX0 763a9980dcb29ab6
    "#);
    assert_eq!(listing(0), listing(1));
}

/// Recomputes one by hand, as the documentation of [`Fingerprint`] says.
#[test]
fn a_fingerprint_is_the_documented_hash() {
    let (rules, board) = (rules(), board("base"));
    let judgement = Judgement::new(vec![Verdicts { board: &board, runs: runs(&rules) }]);
    let skew = judgement.findings().next().unwrap();
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for text in ["throughline finding 1", "pair-skew", "base", "pair", "CORE_TX0", "J1.12", "U1.A3", "F.Cu", "0"] {
        for byte in text.bytes().chain([0]) {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
    assert_eq!(skew.fingerprint, Fingerprint(hash));
    assert_eq!(skew.fingerprint.to_string(), format!("{hash:016x}"));
}

#[test]
fn a_fingerprint_does_not_move_with_value_message_or_line_and_tells_equals_apart() {
    let (rules, board) = (rules(), board("base"));
    let prints = |change: &dyn Fn(&mut Verdict)| {
        let mut runs = runs(&rules);
        runs.iter_mut().flat_map(|run| &mut run.verdicts).for_each(change);
        let judgement = Judgement::new(vec![Verdicts { board: &board, runs }]);
        let mut prints: Vec<_> = judgement.entries.iter().map(|entry| entry.fingerprint).collect();
        prints.sort();
        prints
    };
    let plain = prints(&|_| {});
    let changed = prints(&|verdict| {
        verdict.value = Some(Length::mm(7.0).into());
        verdict.message = Message::new("something else");
        if let Some(place) = &mut verdict.place {
            place.span.start += 1;
            place.at = place.at.map(|at| Point::new(at.x + 5_000_000, at.y + 1_000_000));
        }
    });
    assert_eq!(plain, changed);
    let same_net = prints(&|verdict| {
        if verdict.check == "via-stub" {
            verdict.subject.name = "CORE_TX0_P".into();
        }
    });
    assert_eq!(same_net.len(), 6);
    assert!(same_net.windows(2).all(|pair| pair[0] != pair[1]));
    assert_ne!(plain, same_net);
}

#[test]
fn repeats_of_one_cause_are_one_group() {
    let (rules, board) = (rules(), board("base"));
    let judgement = Judgement::new(vec![Verdicts { board: &board, runs: runs(&rules) }]);
    let causes = causes(judgement.findings());
    let sizes: Vec<_> = causes.iter().map(|cause| (cause.entries[0].verdict.check, cause.entries.len())).collect();
    assert_eq!(sizes, [("pair-skew", 1), ("via-stub", 2), ("plane-gap", 2)]);
}

#[test]
fn many_verdicts_are_counted_even_if_not_all_are_kept() {
    let (rules, board) = (rules(), board("base"));
    let many = (0..20_005).map(|at| verdict(&rules, "pair-skew", "net", &format!("N{at:05}"), Outcome::Pass));
    let fail = one(&rules, "pair-skew", Outcome::Fail(Level::Error));
    let verdicts = many.chain([fail]).collect();
    let runs = vec![RuleRun { rule: &rules.rules[0], verdicts }];
    let judgement = Judgement::new(vec![Verdicts { board: &board, runs }]);
    let row = &judgement.ledger.rows[0];
    assert_eq!((row.examined, row.passed, row.errors, row.left_out), (20_006, 20_005, 1, 6));
    assert_eq!(judgement.entries.len(), 20_000);
    assert_eq!(judgement.entries[0].verdict.outcome, Outcome::Fail(Level::Error), "the worst is kept");
}

#[test]
fn sentences_take_their_values() {
    let message = Message::new("{net} at {at} is {value} off, {unknown} {")
        .with("net", "A\u{1b}[2J\nB")
        .with("at", Point::new(1_500_000, -250))
        .with("value", Length::mm(0.15));
    assert_eq!(sentence(&message), "`A?[2J?B` at x 1.5, y 0 mm is 0.15 mm off, {unknown} {");
}
