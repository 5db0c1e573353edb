//! Net classes from the project file beside a board: JSON, since 2021.
//!
//! Membership moved over the years: a list in each class (file versions up to 2), then one class per net, later several,
//! and always patterns. Whatever is present is taken.

use crate::board::{Board, NetClass, NetId};
use crate::source::{Fault, SourceFile, Span};
use crate::table::Id;
use crate::units::Length;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The class of nets that belong to no other.
const STANDARD: &str = "Default";

/// First version of the settings in which a net may belong to several classes.
const FIRST_WITH_SEVERAL: i64 = 4;

#[derive(Deserialize)]
struct Project {
    net_settings: Option<NetSettings>,
}

#[derive(Deserialize)]
struct NetSettings {
    classes: Option<Vec<Class>>,
    meta: Option<Meta>,
    netclass_assignments: Option<BTreeMap<String, Option<Assignment>>>,
    netclass_patterns: Option<Vec<Pattern>>,
}

#[derive(Deserialize)]
struct Meta {
    version: Option<i64>,
}

#[derive(Deserialize)]
struct Class {
    name: Option<String>,
    clearance: Option<f64>,
    track_width: Option<f64>,
    via_diameter: Option<f64>,
    via_drill: Option<f64>,
    microvia_diameter: Option<f64>,
    microvia_drill: Option<f64>,
    diff_pair_width: Option<f64>,
    diff_pair_gap: Option<f64>,
    priority: Option<i64>,
    nets: Option<Vec<String>>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Assignment {
    One(String),
    Several(Vec<String>),
}

#[derive(Deserialize)]
struct Pattern {
    netclass: Option<String>,
    pattern: Option<String>,
}

/// Adds the net classes of a project file to a board; they replace classes of the same name, and never change copper.
///
/// # Errors
/// A [`Fault`] if the text is not JSON, or a value that is needed is of another type.
pub fn read_project(board: &mut Board, source: &Arc<SourceFile>) -> Result<(), Fault> {
    let project: Project = serde_json::from_str(source.text()).map_err(|error| fault(source, &error))?;
    let Some(settings) = project.net_settings else { return Ok(()) };
    let mut classes: Vec<NetClass> = Vec::new();
    let mut members: Vec<(String, String)> = Vec::new();
    for class in settings.classes.unwrap_or_default() {
        let name = class.name.clone().unwrap_or_default();
        members.extend(class.nets.iter().flatten().map(|net| (name.clone(), net.clone())));
        classes.push(net_class(class, name, source.name()));
    }
    for (net, assignment) in settings.netclass_assignments.into_iter().flatten() {
        match assignment {
            Some(Assignment::One(class)) => members.push((class, net)),
            Some(Assignment::Several(list)) => members.extend(list.into_iter().map(|class| (class, net.clone()))),
            None => {}
        }
    }
    let several = settings.meta.and_then(|meta| meta.version).is_some_and(|version| version >= FIRST_WITH_SEVERAL);
    let mut assigned = vec![false; board.nets.len()];
    for (class, net) in &members {
        if let Some(id) = board.nets.find(net) {
            join(&mut classes, class, id, &mut assigned);
        }
    }
    for Pattern { netclass, pattern } in settings.netclass_patterns.unwrap_or_default() {
        let (Some(class), Some(pattern)) = (netclass, pattern) else { continue };
        let matching: Vec<NetId> = board
            .nets
            .iter()
            .filter(|&(id, net)| {
                let free = several || !assigned.get(id.index()).copied().unwrap_or(true);
                id.is_some() && free && matches(&pattern, &net.name)
            })
            .map(|(id, _)| id)
            .collect();
        for id in matching {
            join(&mut classes, &class, id, &mut assigned);
        }
    }
    let rest: Vec<NetId> = board
        .nets
        .iter()
        .map(|(id, _)| id)
        .filter(|&id| id.is_some() && !assigned.get(id.index()).copied().unwrap_or(true))
        .collect();
    for id in rest {
        join(&mut classes, STANDARD, id, &mut assigned);
    }
    for class in &mut classes {
        class.nets.sort_unstable();
        class.nets.dedup();
    }
    board.classes.retain(|old| classes.iter().all(|new| new.name != old.name));
    board.classes.append(&mut classes);
    Ok(())
}

fn net_class(class: Class, name: String, file: &str) -> NetClass {
    let length =
        |value: Option<f64>| value.filter(|&mm| (0.0..1e4).contains(&mm)).map(|mm| Length::nm((mm * 1e6).round()));
    NetClass {
        name,
        track_width: length(class.track_width),
        clearance: length(class.clearance),
        via_diameter: length(class.via_diameter),
        via_drill: length(class.via_drill),
        microvia_diameter: length(class.microvia_diameter),
        microvia_drill: length(class.microvia_drill),
        pair_width: length(class.diff_pair_width),
        pair_gap: length(class.diff_pair_gap),
        nets: Vec::new(),
        priority: class.priority.unwrap_or(0),
        file: file.to_owned(),
    }
}

/// A class that is named but not described gets no members, because nothing is known of it; its nets are not standard.
fn join(classes: &mut [NetClass], name: &str, net: NetId, assigned: &mut [bool]) {
    if let Some(class) = classes.iter_mut().find(|class| class.name == name) {
        class.nets.push(net);
    }
    if let Some(flag) = assigned.get_mut(net.index()) {
        *flag = true;
    }
}

/// Whether a pattern with `*` (any text) and `?` (one character) matches a whole name. Linear in name × stars.
fn matches(pattern: &str, name: &str) -> bool {
    let (pattern, name): (Vec<char>, Vec<char>) = (pattern.chars().collect(), name.chars().collect());
    let (mut p, mut n) = (0, 0);
    let mut retry: Option<(usize, usize)> = None;
    while let Some(&character) = name.get(n) {
        match pattern.get(p) {
            Some('*') => {
                retry = Some((p + 1, n));
                p += 1;
            }
            Some(&wanted) if wanted == '?' || wanted == character => {
                p += 1;
                n += 1;
            }
            _ => match &mut retry {
                Some((after, from)) => {
                    *from += 1;
                    (p, n) = (*after, *from);
                }
                None => return false,
            },
        }
    }
    pattern.get(p..).is_none_or(|rest| rest.iter().all(|&c| c == '*'))
}

fn fault(source: &Arc<SourceFile>, error: &serde_json::Error) -> Fault {
    let line = error.line().saturating_sub(1);
    let start = source.line_starts().get(line).copied().unwrap_or(0);
    let at = start.saturating_add(u32::try_from(error.column().saturating_sub(1)).unwrap_or(0));
    let text = error.to_string();
    let reason = match text.split(" at line ").next() {
        _ if error.is_eof() => "the file ends early".to_owned(),
        reason => reason.unwrap_or_default().replace("f64", "a number").replace("i64", "a whole number"),
    };
    Fault {
        message: "the project file cannot be read".to_owned(),
        file: Arc::clone(source),
        span: Span::new(at, at.saturating_add(1)),
        label: reason,
        help: Some("net classes are taken from it; the board itself is not affected".to_owned()),
    }
}
