//! Small fields that many constructs share: points, flags, unknown children, ids.

use super::Reading;
use crate::board::LayerSet;
use crate::geometry::Point;
use crate::source::{Fault, Item, Read, Span, Word};

impl<'a> Reading<'a> {
    /// `X Y` and the end of the node.
    pub(super) fn point(&mut self) -> Read<Point> {
        let point = self.open_point()?;
        self.cursor.leave()?;
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
        let mut angle = 0.0;
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) if word.text == "unlocked" => {}
                Item::Word(word) => angle = self.cursor.number_of(word, "an angle in degrees")?,
                Item::Node(_) => self.cursor.leave()?,
            }
        }
        Ok((point, angle))
    }

    /// A width or diameter, which cannot be negative, as the node's only value.
    pub(super) fn width(&mut self, what: &str) -> Read<i64> {
        let width = self.open_width(what)?;
        self.cursor.leave()?;
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
            return Err(self.cursor.fault(word.span, format!("{what} cannot be negative"), "expected 0 or more"));
        }
        Ok(width)
    }

    /// A flag in any of its dresses: `(x)`, `(x yes)`, `(x no)`, `(x true)`, `(x none)`.
    pub(super) fn flag(&mut self) -> Read<bool> {
        let mut value = true;
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) => value = !matches!(word.text, "no" | "false" | "none"),
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
        let layers = self.layers_inside(head)?;
        self.remarks.unknown(parent, head.text, head.span, layers);
        Ok(())
    }

    /// A known node whose shape is not worked out: a doubt if it lies on copper.
    pub(super) fn uncounted_copper(&mut self, head: Word<'a>) -> Read<()> {
        let layers = self.layers_inside(head)?;
        if !layers.is_empty() {
            let message = format!("the copper of a `{}` is not worked out", head.text);
            self.remarks.doubt(head.span, layers, message);
        }
        Ok(())
    }

    /// Copper layers named by `layer` or `layers` anywhere inside the node that was just entered, which is left.
    fn layers_inside(&mut self, head: Word<'a>) -> Read<LayerSet> {
        let mut found = LayerSet::EMPTY;
        let (mut depth, mut naming) = (0_usize, matches!(head.text, "layer" | "layers"));
        loop {
            match self.cursor.next()? {
                None if depth == 0 => return Ok(found),
                None => (depth, naming) = (depth - 1, false),
                Some(Item::Node(inner)) => {
                    depth += 1;
                    naming = matches!(inner.text, "layer" | "layers");
                }
                Some(Item::Word(word)) if naming => found = found.or(self.layers.copper_named(&word.value())),
                Some(Item::Word(_)) => {}
            }
        }
    }

    /// An unknown child of a copper item: skipped here, put in doubt once the item's layers are known.
    pub(super) fn unknown_child(&mut self, unknown: &mut Vec<Word<'a>>, head: Word<'a>) -> Read<()> {
        unknown.push(head);
        self.cursor.leave()
    }

    /// Puts a copper item in doubt for its unknown children.
    pub(super) fn doubt_unknown(&mut self, parent: &'static str, unknown: &[Word<'a>], layers: LayerSet) {
        for head in unknown {
            self.remarks.unknown(parent, head.text, head.span, layers);
        }
    }

    /// A fault for a child that an item cannot do without.
    pub(super) fn lacks(&self, item: Word<'a>, child: &str, form: &str) -> Box<Fault> {
        self.cursor.fault(item.span, format!("`{}` without `{child}`", item.text), format!("expected `{form}` in here"))
    }
}
