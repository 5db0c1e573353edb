//! Nets: by number with a table (up to 2024) and by name alone (since).

use super::Reading;
use crate::board::{NetId, Nets};
use crate::source::{Item, Read, Span, Word};
use rustc_hash::FxHashMap;

/// The net table by number.
#[derive(Debug, Default)]
pub(super) struct NetNumbers {
    by_number: FxHashMap<u32, Entry>,
    used_early: FxHashMap<u32, NetId>,
    late: bool,
    table: bool,
    /// A net class named its members before any row of the table.
    classes_early: bool,
}

#[derive(Debug, Clone)]
struct Entry {
    name: String,
    span: Span,
    id: NetId,
}

impl NetNumbers {
    /// A row of the table stood behind an item that needed it.
    pub(super) const fn is_late(&self) -> bool {
        self.late
    }

    /// A net class is about to name its members.
    pub(super) const fn expect_names(&mut self) {
        self.classes_early |= !self.table;
    }

    /// The same table for a second pass, with its nets made in the order of their numbers.
    pub(super) fn settled(mut self, nets: &mut Nets) -> Self {
        self.late = false;
        self.classes_early = false;
        self.used_early.clear();
        let mut numbers: Vec<u32> = self.by_number.keys().copied().collect();
        numbers.sort_unstable();
        for number in numbers {
            if let Some(entry) = self.by_number.get_mut(&number) {
                entry.id = nets.intern(&entry.name, entry.span);
            }
        }
        self
    }
}

/// What a `net` child says.
#[derive(Debug, Clone, Copy)]
pub(super) struct NetWords<'a> {
    first: Option<Word<'a>>,
    second: Option<Word<'a>>,
}

impl<'a> Reading<'a> {
    /// A row `(net N "NAME")` of the net table.
    pub(super) fn net_row(&mut self) -> Read<()> {
        let number = self.cursor.word("a net number")?;
        let name = self.cursor.word("a net name")?;
        self.cursor.leave()?;
        let Ok(key) = number.text.parse::<u32>() else {
            return Err(self.cursor.fault(
                number.span(),
                "the net number is not a whole number",
                "expected a net number",
            ));
        };
        let name_text = name.value();
        self.numbers.late |= self.numbers.used_early.contains_key(&key);
        let first = !self.numbers.table;
        self.numbers.late |= first && (!self.numbers.used_early.is_empty() || self.numbers.classes_early);
        self.numbers.table = true;
        let id = self.board.nets.intern(&name_text, name.text_span());
        let entry = Entry { name: name_text.into_owned(), span: name.text_span(), id };
        if let Some(before) = self.numbers.by_number.insert(key, entry)
            && before.id != id
        {
            return Err(self.cursor.fault(number.span(), format!("net number {key} is given twice"), "given before"));
        }
        Ok(())
    }

    /// The words of a `net` child; leaves the node.
    pub(super) fn net_words(&mut self) -> Read<NetWords<'a>> {
        let mut words = NetWords { first: None, second: None };
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) if words.first.is_none() => words.first = Some(word),
                Item::Word(word) if words.second.is_none() => words.second = Some(word),
                Item::Word(_) => {}
                Item::Node(_) => self.cursor.leave()?,
            }
        }
        Ok(words)
    }

    /// The net that a `net` child names; leaves the node.
    pub(super) fn net(&mut self, head: Word<'a>) -> Read<NetId> {
        let words = self.net_words()?;
        let Some(first) = words.first else {
            return Err(self.cursor.fault(head.span(), "a `net` without a net", "expected a net number or name"));
        };
        match words.second {
            Some(name) => self.numbered_and_named(first, name),
            None if first.quoted || !self.has_table(first) => {
                Ok(self.board.nets.intern(&first.value(), first.text_span()))
            }
            None => self.numbered(first),
        }
    }

    fn has_table(&mut self, word: Word<'a>) -> bool {
        if !self.numbers.table
            && let Ok(number) = word.text.parse()
        {
            // If a table follows, this was a number: remember that it was taken for a name.
            self.numbers.used_early.insert(number, NetId::none());
        }
        self.numbers.table
    }

    fn numbered(&mut self, word: Word<'a>) -> Read<NetId> {
        let Ok(number) = word.text.parse::<u32>() else {
            return Err(self.cursor.fault(
                word.span(),
                "the net number is not a whole number",
                "expected a net number",
            ));
        };
        if let Some(entry) = self.numbers.by_number.get(&number) {
            return Ok(entry.id);
        }
        if let Some(&id) = self.numbers.used_early.get(&number) {
            return Ok(id);
        }
        let id = if number == 0 {
            NetId::none()
        } else {
            self.remarks.note(word.span(), format!("net number {number} is not in the net table"));
            self.board.nets.intern(&format!("<net number {number}>"), word.span())
        };
        self.numbers.used_early.insert(number, id);
        Ok(id)
    }

    /// `(net N "NAME")` of a pad: the number decides where a table has it, and a contradiction is remarked.
    fn numbered_and_named(&mut self, number: Word<'a>, name: Word<'a>) -> Read<NetId> {
        let by_name = self.board.nets.intern(&name.value(), name.text_span());
        let known = number.text.parse::<u32>().is_ok_and(|key| self.numbers.by_number.contains_key(&key));
        if !known {
            return Ok(by_name);
        }
        let by_number = self.numbered(number)?;
        if by_number != by_name {
            let message = format!(
                "net number {} is `{}` in the net table but `{}` here; the number is believed",
                number.text,
                self.board.nets.name(by_number),
                name.value()
            );
            self.remarks.doubt(number.span(), self.board.layers.all(), message);
        }
        Ok(by_number)
    }

    /// `(net_name "NAME")` of a zone, which repeats what its number says.
    pub(super) fn check_net_name(&mut self, net: NetId, name: Word<'a>) {
        let stated = name.value();
        if self.board.nets.name(net) != stated {
            let message = format!(
                "the zone's net number means `{}` but its name says `{stated}`; the number is believed",
                self.board.nets.name(net)
            );
            self.remarks.note(name.span(), message);
        }
    }
}
