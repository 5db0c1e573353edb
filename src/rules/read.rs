//! From a rule file and all that it extends to one flat rule set.

use super::extend::{self, Files};
use super::sheet::{did_you_mean, fault_at, list};
use super::stackup_lay::{self, judge_stackups, lay_stackups};
use super::stackup_statement::StackupStatement;
use super::statement::{CheckStatement, GroupStatement};
use super::waiver_files::{self, Waived};
use super::{At, CheckSchema, Group, Level, Origin, Rule, RuleSet, SwitchedOff};
use crate::source::{Fault, SourceFile};
use crate::units::Quantity;
use std::cmp::Ordering;
use std::sync::Arc;

/// Reads a rule file and all that it extends. `schemas` says which checks there are and what they accept; `load`
/// reads an extended file by its path (relative to the place that `source` is named from) or says why it can't.
///
/// # Errors
/// All faults of all files: the outermost file first, then in the order in which files are named; within a file from
/// top to bottom.
pub fn read(
    source: Arc<SourceFile>,
    schemas: &[CheckSchema],
    load: &mut dyn FnMut(&str) -> Result<Arc<SourceFile>, String>,
) -> Result<RuleSet, Vec<Fault>> {
    let mut files = extend::read(&source, schemas, load);
    let mut faults = std::mem::take(&mut files.faults);
    for statements in &mut files.statements {
        faults.append(&mut statements.faults);
    }
    let groups = lay_groups(&files);
    let checks = lay_checks(&files, &mut faults);
    let stackups = lay_stackups(&files, &mut faults);
    let waived = waiver_files::read(&mut files, schemas, load, &mut faults);
    judge_stackups(&stackups, files.partial, &mut faults);
    judge_groups(&groups, files.partial, &mut faults);
    judge_checks(&checks, &groups, files.partial, &mut faults);
    if faults.is_empty() {
        return Ok(flatten(&source, &files, groups, checks, stackups, waived));
    }
    let rank = |fault: &Fault| files.named.iter().position(|file| Arc::ptr_eq(file, &fault.file));
    faults.sort_by(|a, b| (rank(a), a.span, &a.message, &a.label).cmp(&(rank(b), b.span, &b.message, &b.label)));
    faults.dedup_by(|a, b| Arc::ptr_eq(&a.file, &b.file) && a.span == b.span && a.message == b.message);
    Err(faults)
}

/// A check as laid over from all files.
struct Laid {
    check: CheckStatement,
    /// How many statements there are of it.
    statements: usize,
}

/// Groups by name, later keys over earlier ones. What a group selects (nets, pairs, proposed) is one thing: a file
/// that states any of it replaces all of it.
fn lay_groups(files: &Files) -> Vec<GroupStatement> {
    let mut laid: Vec<GroupStatement> = Vec::new();
    for group in files.statements.iter().flat_map(|statements| &statements.groups) {
        let Some(under) = laid.iter_mut().find(|under| under.name == group.name) else {
            laid.push(group.clone());
            continue;
        };
        let over = group.clone();
        if over.nets.is_some() || over.pairs.is_some() || over.proposed.is_some() {
            (under.nets, under.pairs, under.proposed) = (over.nets, over.pairs, over.proposed);
        }
        under.rate = over.rate.or(under.rate.take());
        under.impedance = over.impedance.or(under.impedance.take());
        under.current = over.current.or(under.current.take());
        under.faulty |= over.faulty;
        under.origin = over.origin;
    }
    laid
}

/// Checks by name and groups, later keys over earlier ones.
fn lay_checks(files: &Files, faults: &mut Vec<Fault>) -> Vec<Laid> {
    let mut laid: Vec<Laid> = Vec::new();
    for statements in &files.statements {
        for check in &statements.checks {
            let Some(under) = laid.iter_mut().find(|under| same(&under.check, check)) else {
                laid.push(Laid { check: check.clone(), statements: 1 });
                continue;
            };
            under.statements += 1;
            if Arc::ptr_eq(&under.check.origin.file, &statements.file) {
                let first = under.check.origin.file.line_column(under.check.name.span.start).line;
                let message = format!("`{}` is stated twice for the same groups", check.schema.name);
                let help = "put all keys into one `[[check]]`".to_owned();
                faults.push(fault_at(&check.name, message, format!("first stated in line {first}"), Some(help)));
                continue;
            }
            lay(&mut under.check, check.clone());
        }
    }
    laid
}

/// Whether two statements are of the same check on the same groups, in any order.
fn same(a: &CheckStatement, b: &CheckStatement) -> bool {
    a.schema.name == b.schema.name && names(a) == names(b)
}

/// The names of a check's groups, sorted.
fn names(check: &CheckStatement) -> Vec<&str> {
    let mut names: Vec<&str> = check.on.iter().map(|name| name.value.as_str()).collect();
    names.sort_unstable();
    names
}

fn lay(under: &mut CheckStatement, over: CheckStatement) {
    // A source speaks for the numbers it was written beside, not for those that replace them.
    if over.limit.is_some() || over.warn.is_some() {
        under.source = None;
    }
    under.warn = over.warn.or(under.warn.take());
    under.limit = over.limit.or(under.limit.take());
    under.level = over.level.or(under.level.take());
    under.source = over.source.or(under.source.take());
    under.settings.extend(over.settings);
    under.on = over.on;
    under.faulty |= over.faulty;
    under.origin = over.origin;
    under.name = over.name;
}

/// `partial`: not all could be read, so that what is lacking says nothing.
fn judge_groups(groups: &[GroupStatement], partial: bool, faults: &mut Vec<Fault>) {
    for group in groups.iter().filter(|group| !group.faulty && !partial) {
        let some = group.nets.as_ref().is_some_and(|nets| !nets.is_empty())
            || group.pairs.as_ref().is_some_and(|pairs| !pairs.is_empty())
            || group.proposed.as_ref().is_some_and(|proposed| proposed.value);
        if !some {
            let label = "expected `nets`, `pairs` or `proposed = true`";
            faults.push(fault_at(&group.origin, format!("group `{}` selects nothing", group.name), label, None));
        }
    }
}

fn judge_checks(checks: &[Laid], groups: &[GroupStatement], partial: bool, faults: &mut Vec<Fault>) {
    for laid in checks {
        let check = &laid.check;
        let mut unknown = false;
        for name in &check.on {
            if !partial && groups.iter().all(|group| group.name != name.value) {
                unknown = true;
                let known: Vec<&str> = groups.iter().map(|group| group.name.as_str()).collect();
                let help = did_you_mean(&name.value, known.iter().copied())
                    .unwrap_or_else(|| format!("state it: `[groups.{}]`", name.value));
                let label = "not a group of this rule set";
                faults.push(fault_at(&name.origin, format!("unknown group `{}`", name.value), label, Some(help)));
            }
        }
        if check.faulty || unknown {
            continue;
        }
        if let Some(At { value: None, origin }) = &check.level {
            if !partial
                && check.schema.groups
                && laid.statements == 1
                && check.limit.is_none()
                && !check.schema.limit.is_empty()
            {
                faults.push(nothing_to_switch_off(check, checks, origin));
            }
            continue;
        }
        judge_limits(check, partial, faults);
    }
}

fn judge_limits(check: &CheckStatement, partial: bool, faults: &mut Vec<Fault>) {
    let name = check.schema.name;
    let Some(limit) = &check.limit else {
        if let Some(dimension) = check.schema.limit.first().filter(|_| !partial && !check.schema.tolerance) {
            let help = format!("add a line such as `limit = \"{}\"`", dimension.example());
            let label = format!("`{name}` needs `limit`");
            faults.push(fault_at(&check.name, "no limit is stated".to_owned(), label, Some(help)));
        }
        return;
    };
    let Some(warn) = &check.warn else { return };
    let order = warn.value.compare(limit.value);
    if matches!(order, Some(Ordering::Less | Ordering::Equal)) {
        return;
    }
    // Told where the later file speaks: that is where it can be changed.
    let at_warn = Arc::ptr_eq(&warn.origin.file, &check.origin.file);
    let (here, other) = if at_warn { (warn, limit) } else { (limit, warn) };
    let (key, other_key) = if at_warn { ("warn", "limit") } else { ("limit", "warn") };
    let message = match order {
        None => "`warn` and `limit` have different units".to_owned(),
        Some(_) => format!("`warn` of {} is beyond the `limit` of {}", print(warn), print(limit)),
    };
    let elsewhere = !Arc::ptr_eq(&warn.origin.file, &limit.origin.file);
    let label = if elsewhere {
        format!("`{other_key}` is stated at {}", other.origin)
    } else {
        format!("`{other_key}` is {}", print(other))
    };
    let help = elsewhere.then(|| format!("state `{other_key}` beside this `{key}`"));
    faults.push(fault_at(&here.origin, message, label, help));
}

/// A quantity as it was written, without the quotes.
fn print(at: &At<Quantity>) -> String {
    at.origin.written().trim_matches(['"', '\'']).to_owned()
}

fn nothing_to_switch_off(check: &CheckStatement, all: &[Laid], origin: &Origin) -> Fault {
    let others: Vec<String> = all
        .iter()
        .filter(|other| other.check.schema.name == check.schema.name && !same(&other.check, check))
        .map(|other| {
            format!(
                "on = [{}]",
                names(&other.check).iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ")
            )
        })
        .collect();
    let help = if others.is_empty() {
        "no extended set holds this check".to_owned()
    } else {
        format!("it is held with {}; name the same groups", list(&others))
    };
    let message = format!("there is no `{}` on these groups to switch off", check.schema.name);
    fault_at(origin, message, "this would change nothing", Some(help))
}

fn flatten(
    source: &Arc<SourceFile>,
    files: &Files,
    groups: Vec<GroupStatement>,
    checks: Vec<Laid>,
    stackups: Vec<StackupStatement>,
    waived: Waived,
) -> RuleSet {
    let mut rules = Vec::new();
    let mut switched_off = Vec::new();
    for Laid { check, .. } in checks {
        let level = check.level.as_ref().map_or(Some(check.schema.level), |level| level.value);
        let Some(level) = level else {
            let on = names(&check).into_iter().map(str::to_owned).collect();
            switched_off.push(SwitchedOff { check: check.schema.name, on, origin: check.origin });
            continue;
        };
        rules.push(rule(check, level));
    }
    let unused = |group: &&GroupStatement| {
        let on = |name: &At<String>| name.value == group.name;
        rules.iter().all(|rule: &Rule| !rule.on.iter().any(on))
            && switched_off.iter().all(|off: &SwitchedOff| !off.on.contains(&group.name))
    };
    let warnings = groups
        .iter()
        .filter(unused)
        .map(|group| {
            let used: Vec<&str> = rules.iter().flat_map(|rule| &rule.on).map(|name| name.value.as_str()).collect();
            let help = did_you_mean(&group.name, used);
            fault_at(&group.origin, format!("no check looks at group `{}`", group.name), "nothing is held here", help)
        })
        .collect();
    let groups = groups
        .into_iter()
        .map(|group| Group {
            name: group.name,
            nets: group.nets.unwrap_or_default(),
            pairs: group.pairs.unwrap_or_default(),
            proposed: group.proposed.filter(|proposed| proposed.value).map(|proposed| proposed.origin),
            rate: group.rate,
            impedance: group.impedance,
            current: group.current,
            origin: group.origin,
        })
        .collect();
    RuleSet {
        name: source.name().to_owned(),
        files: files.statements.iter().map(|statements| Arc::clone(&statements.file)).collect(),
        groups,
        rules,
        switched_off,
        stackups: stackup_lay::flatten(stackups),
        waivers: waived.waivers,
        waiver_files: waived.files,
        warnings,
    }
}

fn rule(check: CheckStatement, level: Level) -> Rule {
    Rule {
        check: check.schema.name,
        on: check.on,
        warn: check.warn,
        limit: check.limit,
        level,
        source: check.source,
        settings: check.settings,
        origin: check.origin,
    }
}
