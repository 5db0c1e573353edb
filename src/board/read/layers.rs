//! The layer table, and what layer names on items mean.

use super::Reading;
use crate::board::layer::CopperLayer;
use crate::board::{CopperLayers, LayerId, LayerSet};
use crate::source::limits::COPPER_LAYERS;
use crate::source::{Item, Read, SourceFile, Span, Word};
use rustc_hash::FxHashMap;

/// What a layer name stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Meaning {
    Copper(LayerId),
    Edge,
    Other,
}

/// The layers an item names.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Placed {
    /// Copper layers.
    pub(super) copper: LayerSet,
    /// It lies on the board edge.
    pub(super) edge: bool,
    /// A name that no table and no convention knows: it might have been copper.
    pub(super) unknown: Option<Span>,
    /// It has a `layer` or `layers` child.
    pub(super) stated: bool,
    /// It names at least one layer.
    pub(super) named: bool,
    /// Where the first name stands.
    first: Option<Span>,
}

impl Placed {
    /// The first name, empty if there is none.
    pub(super) fn first_name<'s>(&self, source: &'s SourceFile) -> &'s str {
        self.first.map_or("", |span| source.slice(span))
    }

    /// It is on copper or the board edge, or may be.
    pub(super) const fn matters(&self) -> bool {
        !self.copper.is_empty() || self.edge || self.unknown.is_some()
    }
}

/// The layer table of the file.
#[derive(Debug, Default)]
pub(super) struct LayerTable<'a> {
    meanings: FxHashMap<&'a str, Meaning>,
    copper: CopperLayers,
    known: bool,
    late: bool,
    used: Option<Span>,
}

impl LayerTable<'_> {
    /// The table stood behind items that need it.
    pub(super) const fn is_late(&self) -> bool {
        self.late
    }

    /// The same table for a second pass.
    pub(super) fn settled(self) -> Self {
        Self { late: false, used: None, ..self }
    }

    /// The copper layers found so far.
    pub(super) const fn copper(&self) -> &CopperLayers {
        &self.copper
    }

    /// Something at a place needs the table.
    pub(super) fn need(&mut self, span: Span) {
        if !self.known {
            self.used = self.used.or(Some(span));
        }
    }

    /// An item named a layer, and there is no table in the whole file.
    pub(super) const fn used_without_table(&self) -> Option<Span> {
        if self.known { None } else { self.used }
    }

    fn meaning(&self, name: &str) -> Option<Meaning> {
        self.meanings.get(name).copied().or_else(|| {
            if name == "Edge.Cuts" { Some(Meaning::Edge) } else { is_conventional(name).then_some(Meaning::Other) }
        })
    }

    /// Whether the table or a convention knows a name.
    pub(super) fn is_known(&self, name: &str) -> bool {
        self.meaning(name).is_some()
    }

    /// Whether a name stands for the board edge.
    pub(super) fn is_edge(&self, name: &str) -> bool {
        self.meaning(name) == Some(Meaning::Edge)
    }

    /// The copper that a name or wildcard stands for.
    pub(super) fn copper_named(&self, name: &str) -> LayerSet {
        match name {
            "*.Cu" | "*" => self.copper.all(),
            "F&B.Cu" => [self.copper.top(), self.copper.bottom()].into_iter().flatten().collect(),
            _ => match self.meaning(name) {
                Some(Meaning::Copper(id)) => LayerSet::one(id),
                _ => LayerSet::EMPTY,
            },
        }
    }
}

/// A name that stands for several copper layers.
fn is_wildcard(name: &str) -> bool {
    matches!(name, "*.Cu" | "*" | "F&B.Cu")
}

/// Names that items may carry although the table lacks them: technical layers, and inner layers of a footprint that was
/// drawn for boards with more of them.
fn is_conventional(name: &str) -> bool {
    let technical = ["Adhes", "Paste", "SilkS", "Mask", "CrtYd", "Fab", "Silkscreen", "Courtyard"];
    if let Some((side, kind)) = name.split_once('.') {
        if matches!(side, "F" | "B" | "*" | "F&B") && technical.contains(&kind) {
            return true;
        }
        let inner = side.strip_prefix("In").or_else(|| side.strip_prefix("Inner"));
        if kind == "Cu" && inner.is_some_and(|number| number.parse::<u8>().is_ok()) {
            return true;
        }
        if side == "User" && kind.parse::<u8>().is_ok() {
            return true;
        }
    }
    matches!(
        name,
        "Dwgs.User" | "Cmts.User" | "Eco1.User" | "Eco2.User" | "Margin" | "Rescue" | "F.Adhesive" | "B.Adhesive"
    )
}

impl<'a> Reading<'a> {
    /// `(layers (ID NAME TYPE [ALIAS] [hide]) …)`: copper entries in physical order, whatever their ids.
    pub(super) fn layer_table(&mut self) -> Read<()> {
        self.layers.late |= self.layers.used.is_some() && !self.layers.known;
        let mut copper = Vec::new();
        self.layers.meanings.clear();
        while let Some(item) = self.cursor.next()? {
            if let Item::Node(id) = item {
                self.layer_row(id, &mut copper)?;
            }
        }
        self.board.layers = CopperLayers::new(copper);
        self.layers.copper = self.board.layers.clone();
        self.layers.known = true;
        Ok(())
    }

    fn layer_row(&mut self, id: Word<'a>, copper: &mut Vec<CopperLayer>) -> Read<()> {
        if id.text.parse::<u32>().is_err() {
            return Err(self.cursor.fault(id.span(), "a layer without a number", "expected `(NUMBER NAME TYPE)`"));
        }
        let name = self.cursor.word("a layer name")?;
        let kind = self.cursor.word("a layer type such as `signal` or `user`")?;
        let mut alias = None;
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) if !word.quoted && word.text == "hide" => {}
                Item::Word(word) => alias = Some(word.value().into_owned()),
                Item::Node(_) => self.cursor.leave()?,
            }
        }
        let is_copper = match kind.text {
            "signal" | "power" | "mixed" | "jumper" => true,
            "user" | "front" | "back" | "auxiliary" => false,
            _ => {
                let message = format!("layer type `{}` is not known", kind.text);
                let copper = name.text.ends_with(".Cu") || !is_conventional(name.text) && name.text != "Edge.Cuts";
                self.remarks.note(kind.span(), message);
                copper
            }
        };
        let meaning = if is_copper {
            if copper.len() == COPPER_LAYERS {
                let message = format!("more than {COPPER_LAYERS} copper layers");
                return Err(self.cursor.fault(name.span(), message, "one layer too many"));
            }
            let at = u8::try_from(copper.len()).unwrap_or(u8::MAX);
            copper.push(CopperLayer { name: name.value().into_owned(), alias, span: name.text_span() });
            Meaning::Copper(LayerId(at))
        } else if name.text == "Edge.Cuts" {
            Meaning::Edge
        } else {
            Meaning::Other
        };
        if self.layers.meanings.insert(name.text, meaning).is_some() {
            let message = format!("layer `{}` is in the table twice", name.text);
            return Err(self.cursor.fault(name.span(), message, "named before"));
        }
        Ok(())
    }

    /// The names of a `layer` or `layers` child, added to `placed`; leaves the node.
    pub(super) fn layer_names(&mut self, head: Word<'a>, placed: &mut Placed) -> Read<()> {
        placed.stated = true;
        if head.text == "layer" {
            let word = self.cursor.word("a layer name")?;
            self.layer_name(word, placed);
        }
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) if placed.named && word.text == "knockout" => {}
                Item::Word(word) => self.layer_name(word, placed),
                Item::Node(_) => self.cursor.leave()?,
            }
        }
        Ok(())
    }

    fn layer_name(&mut self, word: Word<'a>, placed: &mut Placed) {
        placed.named = true;
        placed.first = placed.first.or(Some(word.text_span()));
        self.layers.need(word.span());
        match self.layers.meaning(word.text) {
            Some(Meaning::Copper(id)) => placed.copper.insert(id),
            Some(Meaning::Edge) => placed.edge = true,
            Some(Meaning::Other) => {}
            None if is_wildcard(word.text) => placed.copper = placed.copper.or(self.layers.copper_named(word.text)),
            None => placed.unknown = placed.unknown.or(Some(word.text_span())),
        }
    }

    /// The one copper layer of a track. A name that is not in the table is a doubt on all layers: it may be copper.
    pub(super) fn single_copper(&mut self, item: Word<'a>, placed: &Placed) -> Read<Option<LayerId>> {
        if !placed.named {
            return Err(self.lacks(item, "layer", "(layer NAME)"));
        }
        let mut layers = placed.copper.iter();
        match (layers.next(), layers.next()) {
            (Some(layer), None) => Ok(Some(layer)),
            (Some(layer), Some(_)) => {
                let message = format!("a `{}` on several copper layers; the first is taken", item.text);
                self.remarks.doubt(item.span(), placed.copper, message);
                Ok(Some(layer))
            }
            (None, _) => {
                if self.layers.known {
                    let span = placed.first.unwrap_or(item.span());
                    let name = placed.first_name(self.source);
                    let message = format!("a `{}` on layer `{name}`, which is not a copper layer", item.text);
                    self.remarks.doubt(span, self.board.layers.all(), message);
                }
                Ok(None)
            }
        }
    }

    /// Remarks names that no table knows: such an item may hold copper that is not seen.
    pub(super) fn doubt_unknown_layer(&mut self, item: &str, placed: &Placed) {
        if let Some(span) = placed.unknown
            && self.layers.known
        {
            let name = self.source.slice(span);
            let message = format!("a `{item}` names layer `{name}`, which is not in the layer table");
            self.remarks.doubt(span, self.board.layers.all(), message);
        }
    }
}
