//! The report in SARIF 2.1.0 (OASIS standard, errata 01), for hosts that show findings beside the files they are in.
//!
//! One run with one tool. Rules are the checks that the rule set asks for, each with its page. Results are failures,
//! what could not be judged (kind `open`), and what is waived (suppressed) or known from a baseline; passes are only
//! counted, in the ledger of the run's properties. What keeps the run as a whole from being judged stands in the
//! invocation's notifications. Times, host names and absolute paths have no part in it, so equal runs are equal files.

use super::Run;
use super::run::{VERSION, counted, level_word};
use super::sarif_place::{fault_location, message, origin_location, put};
use super::sarif_result::{entry_result, waiver_result};
use super::sarif_rule::{WAIVER, rules};
use super::text::idle_words;
use crate::findings::{Standing, Whole};
use crate::rules::Level;
use serde_json::{Value, json};

/// The schema that the report follows, where the standard publishes it.
const SCHEMA: &str = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";
/// Results listed. Hosts keep about so many of a run, and need not keep the worst.
const MOST: usize = 5_000;

/// The report.
#[must_use]
pub fn sarif(run: &Run<'_, '_>) -> String {
    let judgement = run.judgement;
    let rules = rules(run);
    let row = |check: &str| rules.iter().position(|rule| rule.get("id").and_then(Value::as_str) == Some(check));
    let wanted = |standing| standing != Standing::Pass;
    let mut results: Vec<Value> = super::accepted::waiver_findings(run)
        .into_iter()
        .map(|(level, fault)| waiver_result(level, fault, row(WAIVER)))
        .collect();
    let all = results.len() + judgement.standing(wanted).count();
    let entries = judgement.standing(wanted).take(MOST.saturating_sub(results.len()));
    results.extend(entries.map(|entry| entry_result(run, entry, row(entry.verdict.check))));
    results.truncate(MOST);
    // A host tells runs of one commit apart by this: one per set of boards.
    let names: Vec<&str> = judgement.boards.iter().map(|board| board.name.as_str()).collect();
    let document = json!({
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": "throughline",
                "version": VERSION,
                "semanticVersion": VERSION,
                "rules": rules,
            } },
            "automationDetails": { "id": format!("throughline/{}", names.join("+")) },
            "columnKind": "unicodeCodePoints",
            "invocations": [{
                "executionSuccessful": run.whole != Whole::NotJudged,
                "exitCode": exit_code(run.whole),
                "exitCodeDescription": exit_words(run.whole),
                "toolExecutionNotifications": execution(run, all.saturating_sub(results.len())),
                "toolConfigurationNotifications": configuration(run),
            }],
            "results": results,
            "properties": properties(run),
        }],
    });
    format!("{document:#}\n")
}

const fn exit_code(whole: Whole) -> u8 {
    match whole {
        Whole::Clean => 0,
        Whole::Findings => 1,
        Whole::NotJudged => 2,
    }
}

const fn exit_words(whole: Whole) -> &'static str {
    match whole {
        Whole::Clean => "everything that counts was judged, and nothing is at or above the fail level",
        Whole::Findings => "a finding is at or above the fail level",
        Whole::NotJudged => "something that counts was not judged",
    }
}

fn notification(level: Level, text: &str) -> Value {
    json!({ "level": level_word(level), "message": message(text) })
}

/// What was not judged, by check and reason, and what the report leaves out.
fn execution(run: &Run<'_, '_>, left_out: usize) -> Vec<Value> {
    let mut list = Vec::new();
    for row in &run.judgement.ledger.rows {
        for reason in &row.reasons {
            let like = if reason.count > 1 && reason.is_filled() { ", such as" } else { "" };
            let text = format!("{} not checked, {}{like}: {}", reason.count, row.check, reason.text);
            list.push(notification(if row.level >= run.fail_on { Level::Error } else { Level::Warning }, &text));
        }
        if row.left_out > 0 {
            let text = format!("{} verdicts of {} are counted but not listed", row.left_out, row.check);
            list.push(notification(Level::Warning, &text));
        }
    }
    if left_out > 0 {
        let left_out = counted(u64::try_from(left_out).unwrap_or(u64::MAX), "result");
        list.push(notification(Level::Warning, &format!("{left_out} beyond the worst {MOST} not listed")));
    }
    for name in &run.left_out {
        list.push(notification(Level::Note, &format!("{name} was left out on the command line")));
    }
    list
}

/// What the rule set asks for and no board has.
fn configuration(run: &Run<'_, '_>) -> Vec<Value> {
    let level = |counts: bool| if counts { Level::Error } else { Level::Warning };
    let problems = run.problems.iter().map(|problem| {
        let mut value = notification(level(problem.counts), &problem.fault.message);
        put(&mut value, "locations", json!([fault_location(&problem.fault)]));
        value
    });
    let idle = run.judgement.ledger.idle.iter().map(|idle| {
        let counts = run.unseen.iter().any(|unseen| std::ptr::eq(*unseen, idle));
        let text = format!("{} found nothing to look at: {}", idle.check, idle_words(idle));
        let mut value = notification(level(counts), &text);
        put(&mut value, "locations", json!([origin_location(&idle.origin)]));
        value
    });
    problems.chain(idle).collect()
}

/// The ledger and what else a gate wants to keep.
fn properties(run: &Run<'_, '_>) -> Value {
    let ledger = &run.judgement.ledger;
    json!({
        "rules": run.rules.name,
        "chosen": run.chosen,
        "failOn": level_word(run.fail_on),
        "asOf": super::accepted::day(run),
        "baseline": run.baseline,
        "fixed": run.judgement.fixed.as_ref().map(Vec::len),
        "ledger": ledger.rows.iter().map(|row| json!({
            "check": row.check,
            "examined": row.examined,
            "passed": row.passed,
            "errors": row.errors,
            "warnings": row.warnings,
            "notes": row.notes,
            "unchecked": row.unchecked,
            "known": row.known,
            "waived": row.waived,
        })).collect::<Vec<_>>(),
    })
}
