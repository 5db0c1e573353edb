//! Pads.

use super::Reading;
use super::fields::Unknown;
use super::frame::Frame;
use super::header::nanometres;
use super::layers::Placed;
use super::pad_form::PadForm;
use crate::board::via::BackDrill;
use crate::board::{Drill, FillConnection, FootprintId, LayerSet, NetId, Pad, PadKind};
use crate::geometry::Point;
use crate::source::{Item, Read, Span, Word};
use crate::units::Length;

/// Package lengths in mm from here on are leftovers of an overflow, as found in real files.
const LONGEST_PACKAGE: f64 = 100.0;

/// A pad in its footprint's frame.
#[derive(Debug)]
pub(super) struct PadDraft<'a> {
    head: Word<'a>,
    number: Word<'a>,
    kind: PadKind,
    at: Option<Point>,
    angle: f64,
    form: PadForm<'a>,
    stack: Vec<(Word<'a>, PadForm<'a>)>,
    placed: Placed,
    drill: Option<Drill>,
    remove_unused: bool,
    keep_ends: bool,
    fill_layers: Placed,
    back_drills: Vec<BackDrill>,
    fill_connection: Option<FillConnection>,
    net: NetId,
    function: String,
    package_length: Option<Length>,
    ball: bool,
    uuid: Option<Span>,
    machined: Option<Word<'a>>,
    unknown: Vec<Unknown<'a>>,
}

impl<'a> PadDraft<'a> {
    pub(super) fn number(&self) -> String {
        self.number.value().into_owned()
    }

    /// Takes what the footprint says for all its pads, unless the pad says it itself.
    pub(super) fn inherit(&mut self, fill_connection: Option<FillConnection>) {
        self.fill_connection = self.fill_connection.or(fill_connection);
    }
}

impl<'a> Reading<'a> {
    /// `(pad NUMBER TYPE SHAPE …)`.
    pub(super) fn pad(&mut self, head: Word<'a>) -> Read<PadDraft<'a>> {
        let number = self.cursor.word("a pad number")?;
        let kind = self.cursor.word("a pad type such as `smd` or `thru_hole`")?;
        let shape = self.cursor.word("a pad shape such as `rect`")?;
        let mut draft = PadDraft {
            head,
            number,
            kind: PadKind::Surface,
            at: None,
            angle: 0.0,
            form: PadForm::new(shape),
            stack: Vec::new(),
            placed: Placed::default(),
            drill: None,
            remove_unused: false,
            keep_ends: false,
            fill_layers: Placed::default(),
            back_drills: Vec::new(),
            fill_connection: None,
            net: NetId::none(),
            function: String::new(),
            package_length: None,
            ball: false,
            uuid: None,
            machined: None,
            unknown: Vec::new(),
        };
        draft.kind = match kind.text {
            "smd" => PadKind::Surface,
            "thru_hole" => PadKind::Plated,
            "np_thru_hole" => PadKind::Unplated,
            "connect" => PadKind::Contact,
            _ => {
                draft.unknown.push(Unknown::word(kind));
                PadKind::Surface
            }
        };
        while let Some(item) = self.cursor.next()? {
            if let Item::Node(child) = item {
                self.pad_field(child, &mut draft)?;
            }
        }
        Ok(draft)
    }

    fn pad_field(&mut self, child: Word<'a>, draft: &mut PadDraft<'a>) -> Read<()> {
        match child.text {
            "at" => {
                let (at, angle) = self.placement()?;
                (draft.at, draft.angle) = (Some(at), angle);
            }
            "layers" | "layer" => self.layer_names(child, &mut draft.placed)?,
            "drill" => self.pad_drill(draft)?,
            "net" => draft.net = self.net(child)?,
            "pinfunction" => draft.function = self.cursor.only_word("a pin name")?.value().into_owned(),
            "die_length" => self.package_length(draft)?,
            "die_delay" => {
                self.remarks.note(child.span(), "a package delay, which is not taken into account");
                self.cursor.leave()?;
            }
            "property" => {
                while let Some(item) = self.cursor.next()? {
                    match item {
                        Item::Word(word) => draft.ball |= word.text == "pad_prop_bga",
                        Item::Node(_) => self.cursor.leave()?,
                    }
                }
            }
            "zone_connect" => draft.fill_connection = self.fill_connection()?,
            "padstack" => self.pad_stack(draft)?,
            "remove_unused_layers" | "remove_unused_layer" => draft.remove_unused = self.flag()?,
            "keep_end_layers" => draft.keep_ends = self.flag()?,
            "zone_layer_connections" => self.layer_names(child, &mut draft.fill_layers)?,
            "backdrill" | "tertiary_drill" => {
                let drill = self.back_drill(child)?;
                draft.back_drills.extend(drill);
            }
            "front_post_machining" | "back_post_machining" => {
                draft.machined = Some(child);
                self.cursor.leave()?;
            }
            "tstamp" | "uuid" | "id" => draft.uuid = self.id_span()?,
            // Recipes whose result is in the fills, openings of mask and paste, and editor state.
            "pintype"
            | "clearance"
            | "thermal_width"
            | "thermal_gap"
            | "thermal_bridge_width"
            | "thermal_bridge_angle"
            | "solder_mask_margin"
            | "solder_paste_margin"
            | "solder_paste_margin_ratio"
            | "teardrops"
            | "tenting"
            | "locked"
            | "status" => self.cursor.leave()?,
            _ => {
                if !self.form_field(child, &mut draft.form, &mut draft.unknown)? {
                    self.unknown_child(&mut draft.unknown, child)?;
                }
            }
        }
        Ok(())
    }

    /// `(drill [oval] W [H] [(offset X Y)])`, in any part.
    fn pad_drill(&mut self, draft: &mut PadDraft<'a>) -> Read<()> {
        let (mut width, mut height, mut slot) = (None, None, false);
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) if word.text == "oval" => slot = true,
                Item::Word(word) if width.is_none() => width = Some(self.width_of(word, "a drill diameter in mm")?),
                Item::Word(word) if slot && height.is_none() => {
                    height = Some(self.width_of(word, "a slot height in mm")?);
                }
                Item::Word(word) => return Err(self.cursor.fault(word.span(), "a value too many", "expected `)`")),
                Item::Node(child) if child.text == "offset" => draft.form.offset = self.point()?,
                Item::Node(child) => self.unknown_child(&mut draft.unknown, child)?,
            }
        }
        if let Some(width) = width.filter(|&width| width > 0) {
            draft.drill = Some(Drill { width, height: height.filter(|&height| height > 0).unwrap_or(width) });
        }
        Ok(())
    }

    fn package_length(&mut self, draft: &mut PadDraft<'a>) -> Read<()> {
        let word = self.cursor.only_word("a length in mm")?;
        // Sentinels far outside the coordinate limits occur here, so the text is read as a plain number first.
        let plain = self.cursor.number_of(word, "a length in mm")?;
        if plain > 0.0 && plain < LONGEST_PACKAGE {
            draft.package_length = Some(nanometres(self.cursor.length_of(word, "a length in mm")?));
        } else if plain.abs() > 0.0 {
            self.remarks.note(word.span(), "a package length that cannot be true; it is not counted");
        }
        Ok(())
    }

    /// `(padstack (mode M) (layer NAME …) …)`: the pad's own form is that of the top layer.
    fn pad_stack(&mut self, draft: &mut PadDraft<'a>) -> Read<()> {
        while let Some(item) = self.cursor.next()? {
            let Item::Node(child) = item else { continue };
            match child.text {
                "mode" => {
                    let mode = self.cursor.only_word("a pad stack mode")?;
                    if !matches!(mode.text, "normal" | "front_inner_back" | "custom") {
                        draft.unknown.push(Unknown::word(mode));
                    }
                }
                "layer" => {
                    let name = self.cursor.word("a layer name")?;
                    let form = self.stack_form(&draft.form, &mut draft.unknown)?;
                    draft.stack.push((name, form));
                }
                _ => self.unknown_child(&mut draft.unknown, child)?,
            }
        }
        Ok(())
    }

    /// `(zone_connect 0|1|2|3)`.
    pub(super) fn fill_connection(&mut self) -> Read<Option<FillConnection>> {
        Ok(match self.cursor.only_word("a kind of connection from 0 to 3")?.text {
            "0" => Some(FillConnection::Apart),
            "1" => Some(FillConnection::Spokes),
            "2" => Some(FillConnection::Solid),
            "3" => Some(FillConnection::SpokesAtHoles),
            _ => None,
        })
    }

    /// Places a pad. Its position is relative to the footprint; its angle is absolute already.
    pub(super) fn put_pad(&mut self, draft: PadDraft<'a>, frame: &Frame, footprint: FootprintId) -> Read<()> {
        let head = draft.head;
        let local = draft.at.ok_or_else(|| self.lacks(head, "at", "(at X Y)"))?;
        let size = draft.form.size.ok_or_else(|| self.lacks(head, "size", "(size W H)"))?;
        if !draft.placed.stated {
            return Err(self.lacks(head, "layers", "(layers NAME …)"));
        }
        if !draft.placed.named && draft.kind != PadKind::Unplated {
            self.remarks.note(head.span(), "a pad that names no layer has no copper");
        }
        self.doubt_unknown_layer("pad", &draft.placed);
        let at = frame.place(local);
        let mut layers = draft.placed.copper;
        let drill = draft.drill;
        if draft.kind == PadKind::Unplated && drill.is_some_and(|drill| size.0 <= drill.width && size.1 <= drill.height)
        {
            // The hole takes all of it.
            layers = LayerSet::EMPTY;
        }
        if draft.kind == PadKind::Plated && drill.is_none() {
            self.remarks.doubt(head.span(), self.board.layers.all(), "a plated pad without a drill");
        }
        self.doubt_unknown("pad", &draft.unknown, layers);
        if let Some(word) = draft.machined {
            self.remarks.doubt(word.span(), layers, format!("`{}` of a pad is not taken into account", word.text));
        }
        let shapes =
            if layers.is_empty() { Vec::new() } else { self.pad_copper(&draft.form, at, draft.angle, layers)? };
        let mut on_layer = Vec::new();
        for (name, form) in &draft.stack {
            for layer in self.stack_layers(*name).and(layers).iter() {
                let copper = self.pad_copper(form, at, draft.angle, LayerSet::one(layer))?;
                on_layer.retain(|&(on, _)| on != layer);
                on_layer.push((layer, copper));
            }
        }
        self.board.pads.push(Pad {
            footprint,
            number: draft.number.value().into_owned(),
            kind: draft.kind,
            at,
            angle: draft.angle,
            size,
            layers,
            shapes,
            on_layer,
            remove_unused: draft.remove_unused,
            keep_ends: draft.keep_ends,
            fill_layers: draft.fill_layers.copper,
            fill_connection: draft.fill_connection,
            drill,
            back_drills: draft.back_drills,
            net: draft.net,
            function: draft.function,
            package_length: draft.package_length,
            ball: draft.ball,
            span: head.span(),
            uuid: draft.uuid,
        });
        Ok(())
    }
}
