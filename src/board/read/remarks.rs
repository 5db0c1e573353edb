//! Notes and doubts while reading: repeats of one kind are counted, not listed.

use crate::board::{Doubt, LayerSet, Note};
use crate::source::Span;
use rustc_hash::FxHashMap;

/// What was remarked so far.
#[derive(Debug, Default)]
pub(super) struct Remarks<'a> {
    list: Vec<Remark>,
    unknown: FxHashMap<(&'static str, &'a str), usize>,
    by_message: FxHashMap<String, usize>,
}

#[derive(Debug)]
struct Remark {
    message: String,
    span: Span,
    count: u32,
    /// Layers in doubt; `None` for a note.
    layers: Option<LayerSet>,
}

impl<'a> Remarks<'a> {
    /// A fact that puts no copper in question.
    pub(super) fn note(&mut self, span: Span, message: impl Into<String>) {
        self.add(span, None, message.into());
    }

    /// Copper understood only in part.
    pub(super) fn doubt(&mut self, span: Span, layers: LayerSet, message: impl Into<String>) {
        self.add(span, Some(layers), message.into());
    }

    /// A node or word that the reader does not know; `layers` are those whose copper it may belong to.
    pub(super) fn unknown(&mut self, parent: &'static str, kind: &str, head: &'a str, span: Span, layers: LayerSet) {
        if let Some(remark) = self.unknown.get(&(parent, head)).and_then(|&at| self.list.get_mut(at)) {
            remark.count = remark.count.saturating_add(1);
            if !layers.is_empty() {
                remark.layers = Some(remark.layers.unwrap_or_default().or(layers));
            }
            return;
        }
        let message = match head {
            "" => format!("a list without a name in `{parent}`"),
            _ => format!("unknown {kind} `{head}` in `{parent}`"),
        };
        self.unknown.insert((parent, head), self.list.len());
        let layers = (!layers.is_empty()).then_some(layers);
        self.list.push(Remark { message, span, count: 1, layers });
    }

    fn add(&mut self, span: Span, layers: Option<LayerSet>, message: String) {
        if let Some(remark) = self.by_message.get(&message).and_then(|&at| self.list.get_mut(at)) {
            remark.count = remark.count.saturating_add(1);
            remark.layers = match (remark.layers, layers) {
                (Some(one), Some(other)) => Some(one.or(other)),
                (one, other) => one.or(other),
            };
            return;
        }
        self.by_message.insert(message.clone(), self.list.len());
        self.list.push(Remark { message, span, count: 1, layers });
    }

    /// All remarks in order of their first place.
    pub(super) fn into_parts(self) -> (Vec<Note>, Vec<Doubt>) {
        let mut list = self.list;
        list.sort_by_key(|remark| remark.span);
        let (mut notes, mut doubts) = (Vec::new(), Vec::new());
        for Remark { mut message, span, count, layers } in list {
            if count > 1 {
                message = format!("{message}, {count} times");
            }
            match layers {
                None => notes.push(Note { message, span }),
                Some(layers) => doubts.push(Doubt { message, span, layers }),
            }
        }
        (notes, doubts)
    }
}
