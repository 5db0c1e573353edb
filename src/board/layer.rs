//! Copper layers in physical order, and sets of them.

use crate::source::Span;

/// A copper layer: its position from the top, from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
pub struct LayerId(pub u8);

/// One copper layer of the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CopperLayer {
    /// Name as items refer to it.
    pub name: String,
    /// The user's display name, if another.
    pub alias: Option<String>,
    /// Where the table names it.
    pub span: Span,
}

/// The copper layers, top to bottom.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CopperLayers {
    layers: Vec<CopperLayer>,
}

impl CopperLayers {
    /// From the layers in physical order, top first. At most 64 are kept (the reader refuses more).
    #[must_use]
    pub fn new(layers: Vec<CopperLayer>) -> Self {
        Self { layers }
    }

    /// Number of copper layers.
    #[must_use]
    pub fn len(&self) -> usize {
        self.layers.len()
    }

    /// Whether the board has no copper layer.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.layers.is_empty()
    }

    /// The ids, top to bottom.
    pub fn ids(&self) -> impl DoubleEndedIterator<Item = LayerId> + use<> {
        (0..u8::try_from(self.layers.len()).unwrap_or(u8::MAX)).map(LayerId)
    }

    /// The id of a layer by the table's name.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<LayerId> {
        self.layers.iter().position(|layer| layer.name == name).and_then(|at| u8::try_from(at).ok()).map(LayerId)
    }

    /// A layer's name; empty for an id of another board.
    #[must_use]
    pub fn name(&self, id: LayerId) -> &str {
        self.layers.get(usize::from(id.0)).map_or("", |layer| &layer.name)
    }

    /// A layer by id.
    #[must_use]
    pub fn get(&self, id: LayerId) -> Option<&CopperLayer> {
        self.layers.get(usize::from(id.0))
    }

    /// The top copper layer.
    #[must_use]
    pub fn top(&self) -> Option<LayerId> {
        self.ids().next()
    }

    /// The bottom copper layer.
    #[must_use]
    pub fn bottom(&self) -> Option<LayerId> {
        self.ids().next_back()
    }

    /// All copper layers as a set.
    #[must_use]
    pub fn all(&self) -> LayerSet {
        self.ids().collect()
    }
}

/// A set of copper layers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct LayerSet(u64);

impl LayerSet {
    /// No layer.
    pub const EMPTY: Self = Self(0);

    /// One layer.
    #[must_use]
    pub fn one(layer: LayerId) -> Self {
        Self(1u64.checked_shl(u32::from(layer.0)).unwrap_or(0))
    }

    /// All layers from one to another, inclusive, in either order.
    #[must_use]
    pub fn span(one: LayerId, other: LayerId) -> Self {
        (one.0.min(other.0)..=one.0.max(other.0)).map(LayerId).collect()
    }

    /// Whether a layer is in the set.
    #[must_use]
    pub fn contains(self, layer: LayerId) -> bool {
        self.0 & Self::one(layer).0 != 0
    }

    /// Adds a layer.
    pub fn insert(&mut self, layer: LayerId) {
        self.0 |= Self::one(layer).0;
    }

    /// Layers in both.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// Layers in this set and not in the other.
    #[must_use]
    pub const fn minus(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// Layers in either.
    #[must_use]
    pub const fn or(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether no layer is in the set.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Number of layers.
    #[must_use]
    pub const fn len(self) -> u32 {
        self.0.count_ones()
    }

    /// The layers, top to bottom.
    pub fn iter(self) -> impl DoubleEndedIterator<Item = LayerId> {
        (0..64).map(LayerId).filter(move |&layer| self.contains(layer))
    }
}

impl FromIterator<LayerId> for LayerSet {
    fn from_iter<I: IntoIterator<Item = LayerId>>(layers: I) -> Self {
        layers.into_iter().fold(Self::EMPTY, |mut set, layer| {
            set.insert(layer);
            set
        })
    }
}
