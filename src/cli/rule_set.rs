//! Which rule set is in force, and who chose it.

use super::arguments::Global;
use super::load;
use super::trouble::{Trouble, Troubles};
use crate::checks::{ALL, find};
use crate::findings::Idle;
use crate::nearest::nearest;
use crate::rules::{self, CheckSchema, Origin, RuleSet, SHIPPED, shipped};
use crate::source::SourceFile;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The file that is looked for beside a board and above it.
pub const FILE: &str = "throughline.toml";
/// The shipped set that is in force if nothing else is named or found.
const DEFAULT: &str = "serial-16g";

/// A rule set and how it came to be in force.
#[derive(Debug)]
pub struct Chosen {
    /// The set, without the checks that the command line leaves out.
    pub rules: RuleSet,
    /// How it was chosen, as half a sentence.
    pub how: String,
    /// Checks that the command line left out of it.
    pub left_out: Vec<&'static str>,
}

impl Chosen {
    /// Whether a rule that found nothing to look at keeps a run from being clean: a file of the user states it and names
    /// its groups. A shipped set names groups that a board may well lack.
    pub fn is_named(&self, idle: &Idle) -> bool {
        !idle.groups.is_empty() && !self.is_shipped(&idle.origin)
    }

    /// Whether a place lies in a set that comes with the program.
    pub fn is_shipped(&self, origin: &Origin) -> bool {
        SHIPPED
            .iter()
            .any(|(name, text)| origin.file.name().strip_suffix(".toml") == Some(name) && origin.file.text() == *text)
    }
}

/// The rule set in force for boards of this folder.
pub fn choose_here(global: &Global) -> Result<Chosen, Troubles> {
    choose_near(global, &[PathBuf::from(".")], "here")
}

/// A rule file as its own rule set.
pub fn choose_file(path: &Path, global: &Global) -> Result<Chosen, Troubles> {
    read(file(path)?, "named on the command line".to_owned(), global)
}

/// The rule set in force for some boards.
pub fn choose(global: &Global, boards: &[PathBuf]) -> Result<Chosen, Troubles> {
    choose_near(global, boards, "beside the board")
}

fn choose_near(global: &Global, boards: &[PathBuf], place: &str) -> Result<Chosen, Troubles> {
    let (source, how) = match &global.rules {
        Some(name) => named(name)?,
        None => match nearest_file(boards)? {
            Some(path) => {
                (file(&path)?, format!("the nearest one{}", if place == "here" { "" } else { " to the board" }))
            }
            None => {
                let how = format!("shipped with throughline: no `{FILE}` {place} or above");
                (shipped_or_trouble(DEFAULT)?, how)
            }
        },
    };
    read(source, how, global)
}

/// Reads a rule set and leaves out what the command line leaves out.
fn read(source: Arc<SourceFile>, how: String, global: &Global) -> Result<Chosen, Troubles> {
    let schemas: Vec<CheckSchema> = ALL.iter().map(|check| check.info().schema).collect();
    let mut load = |path: &str| load::file(Path::new(path)).map(Arc::new).map_err(|trouble| trouble.fact());
    let rules = rules::read(source, &schemas, &mut load)
        .map_err(|faults| Troubles(faults.into_iter().map(|fault| Trouble::Fault(Box::new(fault))).collect()))?;
    narrow(rules, how, global)
}

/// A set by name or by file. A shipped name wins over a file of that name: a file is always reached by a path.
fn named(name: &str) -> Result<(Arc<SourceFile>, String), Troubles> {
    if let Some(source) = shipped(name) {
        return Ok((source, "shipped with throughline, named on the command line".to_owned()));
    }
    let path = Path::new(name);
    if !path.exists() && !name.contains(['/', '\\']) && path.extension().is_none() {
        return Err(shipped_or_trouble(name).err().unwrap_or_else(|| Troubles(Vec::new())));
    }
    Ok((file(path)?, "named on the command line".to_owned()))
}

fn shipped_or_trouble(name: &str) -> Result<Arc<SourceFile>, Troubles> {
    shipped(name).ok_or_else(|| {
        let names: Vec<_> = SHIPPED.iter().map(|(name, _)| *name).collect();
        let near =
            nearest(name, names.iter().copied()).map_or_else(String::new, |near| format!("did you mean `{near}`? "));
        let help =
            format!("{near}shipped sets are {}; a file is named with its ending, `{name}.toml`", names.join(", "));
        Troubles::plain(format!("there is no rule set `{name}`"), Some(help))
    })
}

fn file(path: &Path) -> Result<Arc<SourceFile>, Troubles> {
    load::file(path).map(Arc::new).map_err(|trouble| Troubles(vec![trouble]))
}

/// The rule file in the boards' folder or the nearest folder above it. All boards of one run are held against one set.
fn nearest_file(boards: &[PathBuf]) -> Result<Option<PathBuf>, Troubles> {
    let mut found: Option<(Option<PathBuf>, &Path)> = None;
    for board in boards {
        let folder = if board.is_dir() { board } else { board.parent().unwrap_or(Path::new("")) };
        let file = above(folder);
        match &found {
            None => found = Some((file, board)),
            Some((first, other)) if *first != file => {
                let show = |file: &Option<PathBuf>| {
                    file.as_ref().map_or("none".into(), |file| format!("`{}`", file.display()))
                };
                return Err(Troubles::plain(
                    format!(
                        "`{}` and `{}` have different rule files: {} and {}",
                        other.display(),
                        board.display(),
                        show(first),
                        show(&file)
                    ),
                    Some("name one for all with `--rules`, or check the boards one by one".to_owned()),
                ));
            }
            Some(_) => {}
        }
    }
    Ok(found.and_then(|(file, _)| file))
}

/// The first rule file in a folder or above it, named as the folder was: relative to here if that was.
fn above(folder: &Path) -> Option<PathBuf> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let whole = folder.canonicalize().ok()?;
    let found = whole.ancestors().map(|folder| folder.join(FILE)).find(|file| file.is_file())?;
    if folder.is_absolute() {
        return Some(found);
    }
    let here = Path::new(".").canonicalize().ok()?;
    for (up, ancestor) in here.ancestors().enumerate() {
        if let Ok(rest) = found.strip_prefix(ancestor) {
            return Some((0..up).map(|_| Path::new("..")).chain([rest]).collect());
        }
    }
    Some(found)
}

/// Leaves out what `--only` and `--skip` leave out.
fn narrow(mut rules: RuleSet, how: String, global: &Global) -> Result<Chosen, Troubles> {
    let only = known(&global.only)?;
    let skip = known(&global.skip)?;
    let idle: Vec<_> = only.iter().filter(|name| !rules.rules.iter().any(|rule| rule.check == **name)).collect();
    if let Some(name) = idle.first() {
        return Err(Troubles::plain(format!("the rule set `{}` doesn't ask for the check `{name}`", rules.name), None));
    }
    let wanted = |name: &str| (only.is_empty() || only.contains(&name)) && !skip.contains(&name);
    let mut left_out: Vec<&'static str> =
        ALL.iter().map(|check| check.info().schema.name).filter(|name| !wanted(name)).collect();
    left_out.retain(|name| rules.rules.iter().any(|rule| rule.check == *name));
    rules.rules.retain(|rule| wanted(rule.check));
    Ok(Chosen { rules, how, left_out })
}

/// The names of checks as the table has them.
fn known(names: &[String]) -> Result<Vec<&'static str>, Troubles> {
    let mut found = Vec::new();
    let mut troubles = Vec::new();
    for name in names {
        match find(name) {
            Some(check) => found.push(check.info().schema.name),
            None => troubles.push(unknown(name)),
        }
    }
    if troubles.is_empty() { Ok(found) } else { Err(Troubles(troubles)) }
}

/// Says that a check is not known, and which one may be meant.
pub fn unknown(name: &str) -> Trouble {
    let near = nearest(name, ALL.iter().map(|check| check.info().schema.name));
    let help =
        near.map_or_else(|| "`throughline checks` lists them all".to_owned(), |near| format!("did you mean `{near}`?"));
    Trouble::Plain(format!("there is no check `{name}`"), Some(help))
}
