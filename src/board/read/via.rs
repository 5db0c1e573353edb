//! Vias: through, blind, buried, laser; pad stacks and back-drills.

use super::Reading;
use super::fields::Unknown;
use super::layers::Placed;
use crate::board::via::BackDrill;
use crate::board::{LayerId, LayerSet, NetId, Via};
use crate::geometry::Point;
use crate::source::{Item, Read, Span, Word};

#[derive(Default)]
struct Draft<'a> {
    at: Option<Point>,
    size: Option<i64>,
    drill: Option<i64>,
    placed: Placed,
    net: Option<NetId>,
    uuid: Option<Span>,
    micro: bool,
    remove_unused: bool,
    keep_ends: bool,
    fill_layers: Placed,
    stack: Vec<(Word<'a>, i64)>,
    back_drills: Vec<BackDrill>,
    machined: Option<Word<'a>>,
    unknown: Vec<Unknown<'a>>,
}

impl<'a> Reading<'a> {
    pub(super) fn via(&mut self, head: Word<'a>) -> Read<()> {
        let mut draft = Draft::default();
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) => match word.text {
                    "micro" => draft.micro = true,
                    // Where it ends decides, not the word: files say `blind` for buried ones too.
                    "blind" | "buried" | "through" | "locked" => {}
                    _ => draft.unknown.push(Unknown::word(word)),
                },
                Item::Node(child) => self.via_field(child, &mut draft)?,
            }
        }
        let at = draft.at.ok_or_else(|| self.lacks(head, "at", "(at X Y)"))?;
        let size = draft.size.ok_or_else(|| self.lacks(head, "size", "(size DIAMETER)"))?;
        let Some((top, bottom)) = self.via_ends(head, &draft.placed)? else { return Ok(()) };
        let layers = LayerSet::span(top, bottom);
        self.doubt_unknown("via", &draft.unknown, layers);
        if let Some(word) = draft.machined {
            self.remarks.doubt(word.span(), layers, format!("`{}` of a via is not taken into account", word.text));
        }
        let sizes = self.sizes(&draft.stack, layers);
        self.board.vias.push(Via {
            at,
            size,
            sizes,
            drill: draft.drill.filter(|&drill| drill > 0),
            top,
            bottom,
            micro: draft.micro,
            remove_unused: draft.remove_unused,
            keep_ends: draft.keep_ends,
            fill_layers: draft.fill_layers.copper,
            back_drills: draft.back_drills,
            net: draft.net.unwrap_or(NetId::none()),
            span: head.span(),
            uuid: draft.uuid,
        });
        Ok(())
    }

    fn via_field(&mut self, head: Word<'a>, draft: &mut Draft<'a>) -> Read<()> {
        match head.text {
            "at" => draft.at = Some(self.point()?),
            "size" => draft.size = Some(self.width("a via diameter in mm")?),
            "drill" => draft.drill = Some(self.width("a drill diameter in mm")?),
            "layers" | "layer" => self.layer_names(head, &mut draft.placed)?,
            "net" => draft.net = Some(self.net(head)?),
            "tstamp" | "uuid" | "id" => draft.uuid = self.id_span()?,
            "remove_unused_layers" | "remove_unused_layer" => draft.remove_unused = self.flag()?,
            "keep_end_layers" => draft.keep_ends = self.flag()?,
            "zone_layer_connections" => self.layer_names(head, &mut draft.fill_layers)?,
            "padstack" => draft.stack = self.via_stack(&mut draft.unknown)?,
            "backdrill" | "tertiary_drill" => {
                let drill = self.back_drill(head)?;
                draft.back_drills.extend(drill);
            }
            "front_post_machining" | "back_post_machining" => {
                draft.machined = Some(head);
                self.cursor.leave()?;
            }
            // Process facts: they move no copper.
            "locked" | "free" | "status" | "teardrops" | "tenting" | "covering" | "plugging" | "capping"
            | "filling" | "solder_mask_margin" => self.cursor.leave()?,
            _ => self.unknown_child(&mut draft.unknown, head)?,
        }
        Ok(())
    }

    /// The list names the two end layers.
    fn via_ends(&mut self, head: Word<'a>, placed: &Placed) -> Read<Option<(LayerId, LayerId)>> {
        if !placed.named {
            return Err(self.lacks(head, "layers", "(layers UPPER LOWER)"));
        }
        let mut ends = placed.copper.iter();
        match (ends.next(), ends.next_back(), placed.unknown) {
            (Some(top), Some(bottom), None) => Ok(Some((top, bottom))),
            (Some(top), None, None) => {
                self.remarks.doubt(head.span(), self.board.layers.all(), "a via that names only one copper layer");
                Ok(Some((top, top)))
            }
            _ => {
                // Without a table this is settled later, as a fault or by a second pass.
                let all = self.board.layers.all();
                if !all.is_empty() {
                    let message = "a via that names a layer which is not copper; it is taken as a through via";
                    self.remarks.doubt(head.span(), all, message);
                }
                Ok(self.board.layers.top().zip(self.board.layers.bottom()))
            }
        }
    }

    /// `(padstack (mode M) (layer NAME (size S)) …)`.
    fn via_stack(&mut self, unknown: &mut Vec<Unknown<'a>>) -> Read<Vec<(Word<'a>, i64)>> {
        let mut stack = Vec::new();
        while let Some(item) = self.cursor.next()? {
            let Item::Node(head) = item else { continue };
            match head.text {
                "mode" => {
                    let mode = self.cursor.only_word("a pad stack mode")?;
                    if !matches!(mode.text, "normal" | "front_inner_back" | "custom") {
                        unknown.push(Unknown::word(mode));
                    }
                }
                "layer" => {
                    let name = self.cursor.word("a layer name")?;
                    while let Some(item) = self.cursor.next()? {
                        match item {
                            Item::Node(child) if child.text == "size" => {
                                stack.push((name, self.width("a via diameter in mm")?));
                            }
                            Item::Node(child) => self.unknown_child(unknown, child)?,
                            Item::Word(_) => {}
                        }
                    }
                }
                _ => self.unknown_child(unknown, head)?,
            }
        }
        Ok(stack)
    }

    fn sizes(&mut self, stack: &[(Word<'a>, i64)], layers: LayerSet) -> Vec<(LayerId, i64)> {
        let mut sizes: Vec<(LayerId, i64)> = Vec::new();
        for &(name, size) in stack {
            for layer in self.stack_layers(name).and(layers).iter() {
                sizes.retain(|&(on, _)| on != layer);
                sizes.push((layer, size));
            }
        }
        sizes.sort_by_key(|&(layer, _)| layer);
        sizes
    }

    /// Layers that an entry of a pad stack is for: a layer name, or `Inner` for all inner ones.
    pub(super) fn stack_layers(&mut self, name: Word<'a>) -> LayerSet {
        if name.text == "Inner" {
            let (top, bottom) = (self.board.layers.top(), self.board.layers.bottom());
            return self.board.layers.ids().filter(|&id| Some(id) != top && Some(id) != bottom).collect();
        }
        let layers = self.layers.copper_named(name.text);
        if layers.is_empty() && !self.layers.is_known(name.text) {
            let message = format!("a pad stack names layer `{}`, which is not in the layer table", name.text);
            self.remarks.doubt(name.span(), self.board.layers.all(), message);
        }
        layers
    }

    /// `(backdrill (size S) (layers OUTER LAST))`.
    pub(super) fn back_drill(&mut self, head: Word<'a>) -> Read<Option<BackDrill>> {
        let (mut diameter, mut ends, mut unknown) = (None, Vec::new(), Vec::new());
        while let Some(item) = self.cursor.next()? {
            let Item::Node(child) = item else { continue };
            match child.text {
                "size" => diameter = Some(self.width("a drill diameter in mm")?),
                "layers" => {
                    while let Some(item) = self.cursor.next()? {
                        match item {
                            Item::Word(word) => ends.extend(self.layers.copper_named(word.text).iter().next()),
                            Item::Node(_) => self.cursor.leave()?,
                        }
                    }
                }
                _ => self.unknown_child(&mut unknown, child)?,
            }
        }
        self.doubt_unknown("backdrill", &unknown, self.board.layers.all());
        let diameter = diameter.ok_or_else(|| self.lacks(head, "size", "(size DIAMETER)"))?;
        if let (Some(&from), Some(&to), 2) = (ends.first(), ends.last(), ends.len()) {
            return Ok(Some(BackDrill { diameter, from, to }));
        }
        let message = format!("a `{}` that does not name two copper layers", head.text);
        self.remarks.doubt(head.span(), self.board.layers.all(), message);
        Ok(None)
    }

    /// Vias without a drill (before 2018) take it from their net class, else from the board's set-up.
    pub(super) fn settle_drills(&mut self) {
        let Self { board, defaults, remarks, .. } = self;
        if board.vias.values().all(|via| via.drill.is_some()) {
            return;
        }
        let mut class_of = vec![None; board.nets.len()];
        for (at, class) in board.classes.iter().enumerate() {
            for net in &class.nets {
                if let Some(slot) = class_of.get_mut(crate::table::Id::index(*net)) {
                    *slot = Some(at);
                }
            }
        }
        let standard = board.classes.iter().position(|class| class.name == "Default");
        for via in board.vias.values_mut().filter(|via| via.drill.is_none()) {
            let own = class_of.get(crate::table::Id::index(via.net)).copied().flatten();
            let stated = [own, standard].into_iter().flatten().find_map(|at| {
                let class = board.classes.get(at)?;
                if via.micro { class.microvia_drill } else { class.via_drill }
            });
            via.drill = stated
                .map(|drill| crate::geometry::from_f64(drill.to_nm()))
                .or(if via.micro { defaults.microvia_drill } else { defaults.via_drill })
                .filter(|&drill| drill > 0);
            if via.drill.is_none() {
                remarks.note(via.span, "a via without a drill, and no net class states one");
            }
        }
    }
}
