//! The nets of a board by every form of their names that a pattern may mean.

use crate::board::{NetId, Nets};
use crate::copper::pair_name::plain;
use crate::rules::Glob;
use std::collections::BTreeMap;

/// How many near names a problem lists.
const NEAREST: usize = 3;

/// One form of a net's name. A pattern without `/` looks at the last part of the path too.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Form {
    /// The path before the last part, with its `/`; empty for a whole name.
    pub folder: String,
    /// What a pattern is held against.
    pub text: String,
    /// Overbar marks stripped and `{slash}` resolved.
    pub plain: bool,
}

/// A net with the forms of its name.
#[derive(Debug)]
pub(super) struct Entry {
    pub id: NetId,
    pub name: String,
    forms: Vec<Form>,
}

impl Entry {
    /// The forms that a pattern is held against.
    pub fn forms(&self, pattern: &str) -> impl Iterator<Item = &Form> {
        let whole = pattern.contains('/');
        self.forms.iter().filter(move |form| !whole || form.folder.is_empty())
    }

    /// The forms in which a leg may be marked: a leg is marked in the last part of a path, not in its folders.
    pub fn leg_forms(&self, pattern: &str) -> impl Iterator<Item = &Form> {
        let last_part = !pattern.contains('/') && self.name.contains('/');
        self.forms(pattern).filter(move |form| !last_part || !form.folder.is_empty())
    }
}

/// The nets of a board, sorted by name.
#[derive(Debug)]
pub(super) struct Names {
    pub entries: Vec<Entry>,
    raw: BTreeMap<String, usize>,
    plain: BTreeMap<String, Vec<usize>>,
}

impl Names {
    /// All named nets.
    pub fn of(nets: &Nets) -> Self {
        let named = nets.iter().filter(|(id, net)| id.is_some() && !net.name.is_empty());
        let mut entries: Vec<Entry> =
            named.map(|(id, net)| Entry { id, name: net.name.clone(), forms: forms(&net.name) }).collect();
        entries.sort_by(|a, b| a.name.cmp(&b.name));
        let mut names = Self { entries: Vec::new(), raw: BTreeMap::new(), plain: BTreeMap::new() };
        for (at, entry) in entries.iter().enumerate() {
            names.raw.insert(entry.name.clone(), at);
            names.plain.entry(plain_path(&entry.name)).or_default().push(at);
        }
        names.entries = entries;
        names
    }

    /// The nets whose names fit, in order of name.
    pub fn matching<'n>(&'n self, glob: &'n Glob, pattern: &'n str) -> impl Iterator<Item = &'n Entry> + 'n {
        self.entries
            .iter()
            // A net's own name always names it, whatever marks it contains.
            .filter(move |entry| entry.name == pattern || entry.forms(pattern).any(|form| glob.matches(&form.text)))
    }

    /// The nets that have this name in the same kind of form.
    pub fn same_form(&self, form: &Form, text: &str) -> Vec<&Entry> {
        let whole = format!("{}{text}", form.folder);
        let found: &[usize] = if form.plain {
            self.plain.get(&whole).map_or(&[], Vec::as_slice)
        } else {
            self.raw.get(&whole).map_or(&[], std::slice::from_ref)
        };
        found.iter().filter_map(|&at| self.entries.get(at)).collect()
    }

    /// The nets that a name names: the whole name as the board has it, else the first kind of form that any has.
    pub fn named(&self, name: &str) -> Vec<&Entry> {
        if let Some(entry) = self.raw.get(name).and_then(|&at| self.entries.get(at)) {
            return vec![entry];
        }
        let kinds = [(true, true), (false, false), (false, true)];
        let fits = |entry: &&Entry, whole: bool, plain: bool| {
            entry.forms(name).any(|form| form.folder.is_empty() == whole && form.plain == plain && form.text == name)
        };
        kinds
            .into_iter()
            .map(|(whole, plain)| self.entries.iter().filter(|entry| fits(entry, whole, plain)).collect::<Vec<_>>())
            .find(|found| !found.is_empty())
            .unwrap_or_default()
    }

    /// The names nearest to a pattern; case doesn't count.
    pub fn nearest(&self, pattern: &str) -> Vec<&str> {
        let texts = self.entries.iter().map(|entry| {
            let last = entry.name.rsplit('/').next().unwrap_or(&entry.name);
            (if pattern.contains('/') { entry.name.as_str() } else { last }, entry.name.as_str())
        });
        nearest(pattern, texts)
    }
}

/// The names nearest to a pattern, best first. Each comes as the text to compare and the text to show.
pub(super) fn nearest<'n>(pattern: &str, names: impl Iterator<Item = (&'n str, &'n str)> + Clone) -> Vec<&'n str> {
    let Ok(glob) = Glob::parse(&pattern.to_lowercase()) else { return Vec::new() };
    let reach = glob.reach();
    let mut near: Vec<(usize, &str)> =
        names.clone().filter_map(|(text, shown)| Some((glob.edits(&text.to_lowercase(), reach)?, shown))).collect();
    near.sort_unstable();
    near.dedup();
    near.truncate(NEAREST);
    if near.is_empty() {
        // Neighbours swapped in a short name: two edits to a glob, one to a reader.
        let name = crate::nearest::nearest(pattern, names.clone().map(|(text, _)| text));
        near.extend(names.filter(|(text, _)| Some(*text) == name).take(1).map(|(_, shown)| (0, shown)));
    }
    near.into_iter().map(|(_, shown)| shown).collect()
}

/// The forms of a name: whole and last part, as the board has them and plain.
fn forms(name: &str) -> Vec<Form> {
    let form = |folder: &str, text: String, plain| Form { folder: folder.to_owned(), text, plain };
    let mut forms = vec![form("", name.to_owned(), false)];
    let whole = plain_path(name);
    let marked = whole != name;
    if marked {
        forms.push(form("", whole, true));
    }
    if let Some(cut) = name.rfind('/') {
        let (folder, last) = name.split_at(cut + 1);
        forms.push(form(folder, last.to_owned(), false));
        if marked {
            forms.push(form(&plain_path(folder), plain(last), true));
        }
    }
    forms
}

/// A path with each part plain: cut at `/` first, since a resolved `{slash}` is no separator.
fn plain_path(name: &str) -> String {
    name.split('/').map(plain).collect::<Vec<_>>().join("/")
}
