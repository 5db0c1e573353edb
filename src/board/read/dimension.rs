//! Dimensions. Files before 2020 spell out their strokes; newer ones leave them to the editor, so that their copper is not
//! known.

use super::Reading;
use super::fields::Unknown;
use super::frame::Frame;
use super::layers::Placed;
use crate::board::{Graphic, NetId};
use crate::geometry::{Path, Point, Shape};
use crate::source::{Item, Read, Word};

#[derive(Default)]
struct Draft<'a> {
    width: i64,
    placed: Placed,
    /// Point chains: feature lines, crossbar, arrows.
    chains: Vec<Vec<Point>>,
    /// Newer form: its figure is computed by the editor.
    computed: bool,
    unknown: Vec<Unknown<'a>>,
}

impl<'a> Reading<'a> {
    pub(super) fn dimension(&mut self, head: Word<'a>) -> Read<()> {
        let mut draft = Draft::default();
        while let Some(item) = self.cursor.next()? {
            if let Item::Node(child) = item {
                self.dimension_field(child, &mut draft)?;
            }
        }
        self.doubt_unknown_layer(head.text, &draft.placed);
        self.doubt_unknown("dimension", &draft.unknown, draft.placed.copper);
        if draft.placed.copper.is_empty() {
            return Ok(());
        }
        if draft.computed || draft.chains.is_empty() {
            self.remarks.doubt(head.span(), draft.placed.copper, "the copper of a `dimension` is not worked out");
            return Ok(());
        }
        let radius = draft.width / 2;
        let stroke = |(&from, &to): (&Point, &Point)| Shape::Stroke { path: Path::Line(from, to), radius };
        let shapes: Vec<Shape> =
            draft.chains.iter().flat_map(|chain| chain.iter().zip(chain.iter().skip(1)).map(stroke)).collect();
        for layer in draft.placed.copper.iter() {
            let (net, span) = (NetId::none(), head.span());
            let shapes = shapes.clone();
            self.board.graphics.push(Graphic { shapes, layer, net, footprint: None, text: false, span });
        }
        Ok(())
    }

    fn dimension_field(&mut self, child: Word<'a>, draft: &mut Draft<'a>) -> Read<()> {
        match child.text {
            "layer" => self.layer_names(child, &mut draft.placed)?,
            "width" => draft.width = self.width("a stroke width in mm")?,
            "feature1" | "feature2" | "crossbar" | "arrow1a" | "arrow1b" | "arrow2a" | "arrow2b" => {
                while let Some(item) = self.cursor.next()? {
                    match item {
                        Item::Node(inner) if inner.text == "pts" => {
                            let mut chain = Vec::new();
                            self.points(&mut chain)?;
                            draft.chains.push(chain);
                        }
                        Item::Node(inner) => self.unknown_child(&mut draft.unknown, inner)?,
                        Item::Word(_) => {}
                    }
                }
            }
            "gr_text" => {
                let text = self.lettering(child)?;
                self.put_text(&text, &Frame::BOARD, None)?;
            }
            "type" | "pts" | "height" | "orientation" | "leader_length" | "format" | "style" => {
                draft.computed = true;
                self.cursor.leave()?;
            }
            "tstamp" | "uuid" | "id" | "locked" => self.cursor.leave()?,
            _ => self.unknown_child(&mut draft.unknown, child)?,
        }
        Ok(())
    }
}
