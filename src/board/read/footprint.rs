//! Footprints (`footprint`, before 2020 `module`) and what they hold.

use super::Reading;
use super::drawing::Drawing;
use super::frame::Frame;
use super::layers::Placed;
use super::pad::PadDraft;
use super::text::Lettering;
use crate::board::{FillConnection, Footprint, Side};
use crate::geometry::Point;
use crate::source::{Item, Read, Span, Word};

/// A footprint whose place may not be known yet.
#[derive(Default)]
struct Draft<'a> {
    library: String,
    reference: String,
    value: String,
    at: Option<Point>,
    angle: f64,
    placed: Placed,
    uuid: Option<Span>,
    unfitted: bool,
    net_ties: Vec<Vec<String>>,
    jumpers: Vec<Vec<String>>,
    repeats_are_jumpers: bool,
    fill_connection: Option<FillConnection>,
    pads: Vec<PadDraft<'a>>,
    drawings: Vec<Drawing<'a>>,
    texts: Vec<Lettering<'a>>,
}

impl<'a> Reading<'a> {
    pub(super) fn footprint(&mut self, head: Word<'a>) -> Read<()> {
        let mut draft = Draft::default();
        let mut named = false;
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) if !named => {
                    named = true;
                    draft.library = word.value().into_owned();
                }
                Item::Word(_) => {}
                Item::Node(child) => self.footprint_field(child, &mut draft)?,
            }
        }
        self.put_footprint(head, draft)
    }

    fn footprint_field(&mut self, child: Word<'a>, draft: &mut Draft<'a>) -> Read<()> {
        match child.text {
            "pad" => {
                let pad = self.pad(child)?;
                draft.pads.push(pad);
            }
            "fp_line" | "fp_arc" | "fp_circle" | "fp_rect" | "fp_poly" | "fp_curve" => {
                let drawing = self.drawing(child)?;
                if drawing.placed.matters() || !drawing.placed.named {
                    draft.drawings.push(drawing);
                }
            }
            "fp_text" => self.footprint_text(child, draft)?,
            "fp_text_box" => {
                let text = self.lettering(child)?;
                draft.texts.push(text);
            }
            "property" => self.footprint_property(child, draft)?,
            "zone" => self.zone(child)?,
            "layer" => self.layer_names(child, &mut draft.placed)?,
            "at" => {
                let (at, angle) = self.placement()?;
                (draft.at, draft.angle) = (Some(at), angle);
            }
            "uuid" | "tstamp" | "id" => draft.uuid = self.id_span()?,
            "attr" => {
                while let Some(item) = self.cursor.next()? {
                    match item {
                        Item::Word(word) => draft.unfitted |= word.text == "dnp",
                        Item::Node(_) => self.cursor.leave()?,
                    }
                }
            }
            "net_tie_pad_groups" => {
                while let Some(item) = self.cursor.next()? {
                    match item {
                        Item::Word(word) => draft.net_ties.push(pad_numbers(&word.value())),
                        Item::Node(_) => self.cursor.leave()?,
                    }
                }
            }
            "zone_connect" => draft.fill_connection = self.fill_connection()?,
            "jumper_pad_groups" => self.jumper_groups(draft)?,
            "duplicate_pad_numbers_are_jumpers" => draft.repeats_are_jumpers = self.flag()?,
            "dimension" | "fp_table" | "table" => self.uncounted_copper(child)?,
            // Texts, defaults whose result is in fills and openings, views and editor state.
            "version"
            | "generator"
            | "generator_version"
            | "tedit"
            | "descr"
            | "tags"
            | "path"
            | "sheetname"
            | "sheetfile"
            | "locked"
            | "placed"
            | "autoplace_cost90"
            | "autoplace_cost180"
            | "solder_mask_margin"
            | "solder_paste_margin"
            | "solder_paste_ratio"
            | "solder_paste_margin_ratio"
            | "clearance"
            | "thermal_width"
            | "thermal_gap"
            | "private_layers"
            | "model"
            | "group"
            | "image"
            | "embedded_fonts"
            | "embedded_files"
            | "component_classes"
            | "units"
            | "point"
            | "stackup" => {
                self.cursor.leave()?;
            }
            _ => self.unknown_node("footprint", child)?,
        }
        Ok(())
    }

    /// `(fp_text reference U1 …)`, `(fp_text value X …)`, `(fp_text user ANY …)`.
    fn footprint_text(&mut self, child: Word<'a>, draft: &mut Draft<'a>) -> Read<()> {
        let kind = self.cursor.word("`reference`, `value` or `user`")?;
        let text = self.lettering(child)?;
        match kind.text {
            "reference" => draft.reference = text.value(),
            "value" => draft.value = text.value(),
            _ => {}
        }
        if text.matters() {
            draft.texts.push(text);
        }
        Ok(())
    }

    /// `(property "Reference" "U1" …)`: a text too, since 2023.
    fn footprint_property(&mut self, child: Word<'a>, draft: &mut Draft<'a>) -> Read<()> {
        let name = self.cursor.word("a property name")?;
        let text = self.lettering(child)?;
        match name.text {
            "Reference" => draft.reference = text.value(),
            "Value" => draft.value = text.value(),
            _ => {}
        }
        if text.matters() {
            draft.texts.push(text);
        }
        Ok(())
    }

    /// `(jumper_pad_groups ("1" "2") …)`.
    fn jumper_groups(&mut self, draft: &mut Draft<'a>) -> Read<()> {
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) => draft.jumpers.push(pad_numbers(&word.value())),
                Item::Node(first) => {
                    let mut group = vec![first.value().into_owned()];
                    while let Some(item) = self.cursor.next()? {
                        match item {
                            Item::Word(word) => group.push(word.value().into_owned()),
                            Item::Node(_) => self.cursor.leave()?,
                        }
                    }
                    draft.jumpers.push(group);
                }
            }
        }
        Ok(())
    }

    /// The side a part sits on, by its layer: the bottom copper whatever its name, or a technical layer of the bottom.
    fn side(&self, placed: &Placed) -> Side {
        let layers = &self.board.layers;
        let bottom = layers.bottom().filter(|&bottom| Some(bottom) != layers.top());
        let below = placed.copper.is_empty() && placed.first_name(self.source).starts_with("B.");
        if below || bottom.is_some_and(|bottom| placed.copper.contains(bottom)) { Side::Bottom } else { Side::Top }
    }

    fn put_footprint(&mut self, head: Word<'a>, mut draft: Draft<'a>) -> Read<()> {
        let at = match draft.at {
            Some(at) => at,
            None if draft.pads.is_empty() && draft.drawings.is_empty() => Point::default(),
            None => return Err(self.lacks(head, "at", "(at X Y)")),
        };
        let frame = Frame::new(at, draft.angle);
        let side = self.side(&draft.placed);
        if draft.repeats_are_jumpers {
            draft.jumpers.extend(repeated(&draft.pads).into_iter().map(|number| vec![number]));
        }
        let id = self.board.footprints.push(Footprint {
            reference: draft.reference,
            value: draft.value,
            library: draft.library,
            side,
            at,
            angle: draft.angle,
            uuid: draft.uuid.map(|span| self.source.slice(span).to_owned()).unwrap_or_default(),
            unfitted: draft.unfitted,
            net_ties: draft.net_ties,
            jumpers: draft.jumpers,
            span: head.span(),
        });
        for mut pad in draft.pads {
            pad.inherit(draft.fill_connection);
            self.put_pad(pad, &frame, id)?;
        }
        for drawing in &draft.drawings {
            self.put_drawing(drawing, &frame, Some(id))?;
        }
        for text in &draft.texts {
            self.put_text(text, &frame, Some(id))?;
        }
        Ok(())
    }
}

/// Pad numbers of one group, as in `"1, 2"`.
fn pad_numbers(group: &str) -> Vec<String> {
    group.split(',').map(|number| number.trim().to_owned()).filter(|number| !number.is_empty()).collect()
}

/// Pad numbers that more than one pad carries, in order.
fn repeated(pads: &[PadDraft<'_>]) -> Vec<String> {
    let mut numbers: Vec<String> = pads.iter().map(PadDraft::number).filter(|number| !number.is_empty()).collect();
    numbers.sort_unstable();
    let mut repeated: Vec<String> =
        numbers.iter().zip(numbers.iter().skip(1)).filter(|(a, b)| a == b).map(|(a, _)| a.clone()).collect();
    repeated.dedup();
    repeated
}
