//! Which rule set is in force, and who chose it.

use super::arguments::Global;
use super::load;
use super::trouble::{Trouble, Troubles};
use crate::checks::ALL;
use crate::findings::Idle;
use crate::nearest::nearest;
use crate::rules::RuleSet;
use std::path::{Path, PathBuf};

/// The file that is looked for beside a board and above it.
const FILE: &str = "throughline.toml";

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
    /// Whether a rule that found nothing to look at keeps a run from being clean: the user's own file names its groups.
    /// A shipped set names groups that any board may lack.
    pub fn is_named(&self, idle: &Idle) -> bool {
        !idle.groups.is_empty()
    }
}

/// The rule set in force for some boards.
pub fn choose(global: &Global, boards: &[PathBuf]) -> Result<Chosen, Troubles> {
    let _ = (FILE, load::file as fn(&Path) -> _, boards);
    let rules = RuleSet { name: "none".to_owned(), ..RuleSet::default() };
    narrow(rules, "rule sets can't be read yet".to_owned(), global)
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
        match crate::checks::find(name) {
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
