//! Zones: pours with their filled copper, teardrops, rule areas.
//!
//! A filled polygon has two meanings. Files up to 2024 that lack `(filled_areas_thickness no)` hold the path of a round
//! pen of the zone's minimum thickness, so the copper reaches half the pen further; all others hold the copper itself.

use super::Reading;
use super::fields::Unknown;
use super::layers::Placed;
use crate::board::{Fill, FillConnection, LayerId, LayerSet, NetId, Zone, ZoneKind};
use crate::geometry::{Path, Point, Shape};
use crate::source::{Item, Read, Span, Word};

/// Last format version in which a missing `filled_areas_thickness` means a pen.
const LAST_WITH_PEN: u64 = 20_241_229;

/// Copper of a zone before its pen and net are known.
struct Copper {
    layer: Option<LayerId>,
    ring: Vec<Point>,
    island: bool,
    /// Drawn with the pen in any case.
    stroke: bool,
    span: Span,
}

#[derive(Default)]
struct Draft<'a> {
    net: Option<NetId>,
    net_name: Option<Word<'a>>,
    placed: Placed,
    outline: Vec<Vec<Point>>,
    copper: Vec<Copper>,
    clearance: i64,
    connection: FillConnection,
    min_thickness: Option<i64>,
    exact: Option<bool>,
    hatched: bool,
    name: String,
    teardrop: bool,
    keepout: bool,
    uuid: Option<Span>,
    unknown: Vec<Unknown<'a>>,
}

impl<'a> Reading<'a> {
    pub(super) fn zone(&mut self, head: Word<'a>) -> Read<()> {
        let mut draft = Draft::default();
        while let Some(item) = self.cursor.next()? {
            if let Item::Node(child) = item {
                self.zone_field(child, &mut draft)?;
            }
        }
        self.put_zone(head, draft)
    }

    fn zone_field(&mut self, child: Word<'a>, draft: &mut Draft<'a>) -> Read<()> {
        match child.text {
            "filled_polygon" => self.filled_polygon(child, draft)?,
            "fill_segments" => self.fill_segments(draft)?,
            "polygon" => {
                while let Some(item) = self.cursor.next()? {
                    let Item::Node(inner) = item else { continue };
                    match inner.text {
                        "pts" => {
                            let mut ring = Vec::new();
                            self.points(&mut ring)?;
                            draft.outline.push(ring);
                        }
                        _ => self.unknown_node("polygon", inner)?,
                    }
                }
            }
            "net" => draft.net = Some(self.net(child)?),
            "net_name" => draft.net_name = Some(self.cursor.only_word("a net name")?),
            "layer" | "layers" => self.layer_names(child, &mut draft.placed)?,
            "min_thickness" => draft.min_thickness = Some(self.width("a thickness in mm")?),
            "filled_areas_thickness" => draft.exact = Some(!self.flag()?),
            "connect_pads" => self.connect_pads(draft)?,
            "fill" => self.fill_settings(draft)?,
            "name" => draft.name = self.cursor.only_word("a zone name")?.value().into_owned(),
            "attr" => {
                while let Some(item) = self.cursor.next()? {
                    match item {
                        Item::Node(inner) if inner.text == "teardrop" => {
                            draft.teardrop = true;
                            self.cursor.leave()?;
                        }
                        Item::Node(inner) => self.unknown_child(&mut draft.unknown, inner)?,
                        Item::Word(_) => {}
                    }
                }
            }
            "keepout" => {
                draft.keepout = true;
                self.cursor.leave()?;
            }
            "uuid" | "tstamp" | "id" => draft.uuid = self.id_span()?,
            // Recipes and editor state.
            "hatch" | "priority" | "locked" | "placement" | "property" => self.cursor.leave()?,
            _ => self.unknown_child(&mut draft.unknown, child)?,
        }
        Ok(())
    }

    fn connect_pads(&mut self, draft: &mut Draft<'a>) -> Read<()> {
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Node(inner) if inner.text == "clearance" => {
                    draft.clearance = self.cursor.only_length("a clearance in mm")?;
                }
                Item::Node(inner) => self.unknown_node("connect_pads", inner)?,
                Item::Word(word) => match word.text {
                    "yes" => draft.connection = FillConnection::Solid,
                    "no" => draft.connection = FillConnection::Apart,
                    "thru_hole_only" => draft.connection = FillConnection::SpokesAtHoles,
                    _ => {}
                },
            }
        }
        Ok(())
    }

    /// Settings of the pour. Whether it is filled is decided by its polygons, never by the flag here.
    fn fill_settings(&mut self, draft: &mut Draft<'a>) -> Read<()> {
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Node(inner) if inner.text == "mode" => {
                    draft.hatched |= self.cursor.only_word("a fill mode")?.text == "hatch";
                }
                Item::Node(inner) => match inner.text {
                    "arc_segments"
                    | "thermal_gap"
                    | "thermal_bridge_width"
                    | "smoothing"
                    | "radius"
                    | "island_removal_mode"
                    | "island_area_min"
                    | "hatch_thickness"
                    | "hatch_gap"
                    | "hatch_orientation"
                    | "hatch_smoothing_level"
                    | "hatch_smoothing_value"
                    | "hatch_border_algorithm"
                    | "hatch_min_hole_area" => self.cursor.leave()?,
                    _ => self.unknown_child(&mut draft.unknown, inner)?,
                },
                // A word that is no flag may be the rest of a garbled `filled_polygon`.
                Item::Word(word) if matches!(word.text, "yes" | "no") => {}
                Item::Word(word) => draft.unknown.push(Unknown::word(word)),
            }
        }
        Ok(())
    }

    fn filled_polygon(&mut self, head: Word<'a>, draft: &mut Draft<'a>) -> Read<()> {
        let mut placed = Placed::default();
        let mut island = false;
        let mut rings: Vec<Vec<Point>> = Vec::new();
        while let Some(item) = self.cursor.next()? {
            let Item::Node(child) = item else { continue };
            match child.text {
                "layer" => self.layer_names(child, &mut placed)?,
                "island" => island = self.flag()?,
                "pts" => {
                    let mut ring = std::mem::take(&mut self.ring);
                    ring.clear();
                    let read = self.points(&mut ring);
                    if ring.len() > 1 && ring.first() == ring.last() {
                        ring.pop();
                    }
                    rings.push(ring.as_slice().to_vec());
                    self.ring = ring;
                    read?;
                }
                _ => self.unknown_child(&mut draft.unknown, child)?,
            }
        }
        if rings.is_empty() {
            return Err(self.lacks(head, "pts", "(pts (xy X Y) …)"));
        }
        self.doubt_unknown_layer("filled_polygon", &placed);
        if placed.named && placed.copper.is_empty() {
            // Filled mask or silk; an unknown name was put in doubt above.
            return Ok(());
        }
        if rings.len() > 1 {
            let layers = if placed.named { placed.copper } else { self.board.layers.all() };
            self.remarks.doubt(head.span(), layers, "a filled polygon of several rings; each is taken as copper");
        }
        let layer = placed.copper.iter().next();
        draft.copper.extend(rings.into_iter().map(|ring| Copper {
            layer,
            ring,
            island,
            stroke: false,
            span: head.span(),
        }));
        Ok(())
    }

    /// `(fill_segments (pts (xy) (xy)) …)`: strokes of the pen, in boards up to 2018.
    fn fill_segments(&mut self, draft: &mut Draft<'a>) -> Read<()> {
        let mut layer = Placed::default();
        while let Some(item) = self.cursor.next()? {
            let Item::Node(child) = item else { continue };
            match child.text {
                "layer" => self.layer_names(child, &mut layer)?,
                "pts" => {
                    let mut ring = Vec::with_capacity(2);
                    self.points(&mut ring)?;
                    let layer = layer.copper.iter().next();
                    draft.copper.push(Copper { layer, ring, island: false, stroke: true, span: child.span() });
                }
                _ => self.unknown_child(&mut draft.unknown, child)?,
            }
        }
        Ok(())
    }

    fn put_zone(&mut self, head: Word<'a>, draft: Draft<'a>) -> Read<()> {
        let kind = if draft.teardrop {
            ZoneKind::Teardrop
        } else if draft.keepout {
            ZoneKind::RuleArea
        } else {
            ZoneKind::Pour
        };
        let layers = draft.placed.copper;
        if !draft.placed.named {
            return Err(self.lacks(head, "layer", "(layer NAME)"));
        }
        self.doubt_unknown_layer("zone", &draft.placed);
        let filled: LayerSet = draft.copper.iter().filter_map(|copper| copper.layer).collect();
        self.doubt_unknown("zone", &draft.unknown, layers.or(filled));
        let net = draft.net.unwrap_or(NetId::none());
        if let Some(name) = draft.net_name
            && kind != ZoneKind::RuleArea
        {
            self.check_net_name(net, name);
        }
        let min_thickness = draft.min_thickness.unwrap_or(0);
        let zone = self.board.zones.push(Zone {
            kind,
            net,
            layers,
            outline: draft.outline,
            clearance: draft.clearance,
            connection: draft.connection,
            min_thickness,
            hatched: draft.hatched,
            name: draft.name,
            span: head.span(),
            uuid: draft.uuid,
        });
        if draft.copper.is_empty() {
            return Ok(());
        }
        let pen = self.pen(head, draft.exact, draft.min_thickness, layers.or(filled));
        for copper in draft.copper {
            let Some(layer) = copper.layer.or_else(|| self.only_layer(&copper, layers)) else { continue };
            let radius = if copper.stroke { min_thickness / 2 } else { pen };
            let shape = match *copper.ring.as_slice() {
                [] => continue,
                [at] => Shape::Stroke { path: Path::Line(at, at), radius },
                [from, to] => Shape::Stroke { path: Path::Line(from, to), radius },
                _ => Shape::Area { ring: copper.ring, radius },
            };
            self.board.fills.push(Fill { zone, layer, net, shape, island: copper.island, span: copper.span });
        }
        Ok(())
    }

    /// The layer of a polygon that names none: the zone's, if it has only one. Copper on a mask zone is none.
    fn only_layer(&mut self, copper: &Copper, layers: LayerSet) -> Option<LayerId> {
        let mut all = layers.iter();
        match (all.next(), all.next()) {
            (Some(layer), None) => Some(layer),
            (None, _) => None,
            (Some(_), Some(_)) => {
                self.remarks.doubt(copper.span, layers, "a filled polygon that does not say on which layer it lies");
                None
            }
        }
    }

    /// How far copper reaches beyond the polygons of a zone.
    fn pen(&mut self, head: Word<'a>, exact: Option<bool>, thickness: Option<i64>, layers: LayerSet) -> i64 {
        let drawn = match (exact, self.board.version) {
            (Some(exact), _) => !exact,
            (None, Some(version)) => version <= LAST_WITH_PEN,
            (None, None) => {
                let message = "without a format version it is not known whether fills are drawn with a pen";
                self.remarks.doubt(head.span(), layers, message);
                true
            }
        };
        if !drawn {
            return 0;
        }
        if thickness.is_none() {
            self.remarks.doubt(head.span(), layers, "a zone drawn with a pen of unknown thickness");
        }
        thickness.unwrap_or(0) / 2
    }
}
