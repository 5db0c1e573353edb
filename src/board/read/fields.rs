//! Small fields that many constructs share: points, flags, unknown children, ids.

use super::Reading;
use crate::board::LayerSet;
use crate::geometry::Point;
use crate::source::{Fault, Item, Read, Span, Word};

/// A child of a copper item that the reader does not know.
#[derive(Debug, Clone, Copy)]
pub(super) struct Unknown<'a> {
    head: Word<'a>,
    /// `node` or `word`.
    kind: &'static str,
    /// Copper layers it names.
    layers: LayerSet,
}

impl<'a> Unknown<'a> {
    /// An unknown word among the children.
    pub(super) const fn word(head: Word<'a>) -> Self {
        Self { head, kind: "word", layers: LayerSet::EMPTY }
    }
}

impl<'a> Reading<'a> {
    /// `X Y` and the end of the node.
    pub(super) fn point(&mut self) -> Read<Point> {
        let point = self.open_point()?;
        self.cursor.end()?;
        Ok(point)
    }

    /// `X Y`, staying in the node.
    pub(super) fn open_point(&mut self) -> Read<Point> {
        let x = self.cursor.length("an x coordinate in mm")?;
        let y = self.cursor.length("a y coordinate in mm")?;
        Ok(Point::new(x, y))
    }

    /// `X Y [ANGLE] …` and the end of the node; words such as `unlocked` may follow.
    pub(super) fn placement(&mut self) -> Read<(Point, f64)> {
        let point = self.open_point()?;
        let mut angle = None;
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) if word.text == "unlocked" => {}
                Item::Word(word) if angle.is_none() => {
                    angle = Some(self.cursor.number_of(word, "an angle in degrees")?);
                }
                Item::Word(word) => return Err(self.cursor.fault(word.span(), "a value too many", "expected `)`")),
                Item::Node(_) => self.cursor.leave()?,
            }
        }
        Ok((point, angle.unwrap_or(0.0)))
    }

    /// A width or diameter, which cannot be negative, as the node's only value.
    pub(super) fn width(&mut self, what: &str) -> Read<i64> {
        let width = self.open_width(what)?;
        self.cursor.end()?;
        Ok(width)
    }

    /// A width or diameter, staying in the node.
    pub(super) fn open_width(&mut self, what: &str) -> Read<i64> {
        let word = self.cursor.word(what)?;
        self.width_of(word, what)
    }

    /// A word as a width or diameter.
    pub(super) fn width_of(&mut self, word: Word<'a>, what: &str) -> Read<i64> {
        let width = self.cursor.length_of(word, what)?;
        if width < 0 {
            return Err(self.cursor.fault(word.span(), format!("{what} cannot be negative"), "expected 0 or more"));
        }
        Ok(width)
    }

    /// A flag in any of its dresses: `(x)`, `(x yes)`, `(x no)`, `(x true)`, `(x none)`.
    pub(super) fn flag(&mut self) -> Read<bool> {
        let mut value = true;
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) => {
                    value = match word.text {
                        "yes" | "true" => true,
                        "no" | "false" | "none" => false,
                        _ => {
                            let message = format!("`{}` is neither yes nor no", word.text);
                            return Err(self.cursor.fault(word.span(), message, "expected `yes` or `no`"));
                        }
                    };
                }
                Item::Node(_) => self.cursor.leave()?,
            }
        }
        Ok(value)
    }

    /// `uuid`, `tstamp` or `id`: where its text is.
    pub(super) fn id_span(&mut self) -> Read<Option<Span>> {
        let mut span = None;
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) => span = span.or(Some(word.text_span())),
                Item::Node(_) => self.cursor.leave()?,
            }
        }
        Ok(span)
    }

    /// An unknown node that is not a child of a copper item. If copper layers are named inside, it may be copper.
    pub(super) fn unknown_node(&mut self, parent: &'static str, head: Word<'a>) -> Read<()> {
        let layers = self.layers_inside(head, false)?;
        self.remarks.unknown(parent, "node", head.text, head.span(), layers);
        Ok(())
    }

    /// A known node whose shape is not worked out: a doubt if it lies on copper.
    pub(super) fn uncounted_copper(&mut self, head: Word<'a>) -> Read<()> {
        let layers = self.layers_inside(head, false)?;
        if !layers.is_empty() {
            let message = format!("the copper of a `{}` is not worked out", head.text);
            self.remarks.doubt(head.span(), layers, message);
        }
        Ok(())
    }

    /// Copper layers named by `layer` or `layers` anywhere inside the node that was just entered, which is left. `any`:
    /// by whatever child.
    fn layers_inside(&mut self, head: Word<'a>, any: bool) -> Read<LayerSet> {
        let (mut found, mut edge) = (LayerSet::EMPTY, false);
        let (mut depth, mut naming) = (0_usize, any || matches!(head.text, "layer" | "layers"));
        loop {
            match self.cursor.next()? {
                // The edge bounds the copper of every layer.
                None if depth == 0 && edge => return Ok(self.board.layers.all()),
                None if depth == 0 => return Ok(found),
                None => (depth, naming) = (depth - 1, any),
                Some(Item::Node(inner)) => {
                    depth += 1;
                    naming = any || matches!(inner.text, "layer" | "layers");
                }
                Some(Item::Word(word)) if naming => {
                    found = found.or(self.layers.copper_named(&word.value()));
                    edge |= self.layers.is_edge(word.text);
                }
                Some(Item::Word(_)) => {}
            }
        }
    }

    /// An unknown child of a copper item: skipped here, put in doubt once the item's layers are known.
    /// A copper layer that it names may be one of the item's, with the child's own head garbled.
    pub(super) fn unknown_child(&mut self, unknown: &mut Vec<Unknown<'a>>, head: Word<'a>) -> Read<()> {
        let layers = self.layers_inside(head, true)?.or(self.layers.copper_named(&head.value()));
        unknown.push(Unknown { head, kind: "node", layers });
        Ok(())
    }

    /// Puts a copper item in doubt for its unknown children.
    pub(super) fn doubt_unknown(&mut self, parent: &'static str, unknown: &[Unknown<'a>], layers: LayerSet) {
        for child in unknown {
            self.remarks.unknown(parent, child.kind, child.head.text, child.head.span(), layers.or(child.layers));
        }
    }

    /// A fault for a child that an item cannot do without.
    pub(super) fn lacks(&self, item: Word<'a>, child: &str, form: &str) -> Box<Fault> {
        self.cursor.fault(
            item.span(),
            format!("`{}` without `{child}`", item.text),
            format!("expected `{form}` in here"),
        )
    }
}
