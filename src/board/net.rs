//! Nets and their names.

use crate::source::Span;
use crate::table::{Id, Table};
use rustc_hash::FxHashMap;

crate::id! {
    /// A net of one board. Row 0 is "no net".
    NetId
}

impl NetId {
    /// The unconnected net: two items that have it are not connected by it.
    #[must_use]
    pub fn none() -> Self {
        Self::from_row(0)
    }

    /// Whether this is a real net.
    #[must_use]
    pub fn is_some(self) -> bool {
        self.row() != 0
    }
}

/// One net.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Net {
    /// Name as the file has it, string escapes resolved, `{slash}` and overbars kept.
    pub name: String,
    /// Where the name first stands.
    pub span: Span,
}

/// The nets of a board by id and by name.
#[derive(Debug, Clone, Default)]
pub struct Nets {
    table: Table<NetId, Net>,
    by_name: FxHashMap<String, NetId>,
}

impl Nets {
    /// A table that holds only the unconnected net.
    #[must_use]
    pub fn new() -> Self {
        let mut nets = Self::default();
        nets.intern("", Span::default());
        nets
    }

    /// The id of a name, made on first sight.
    pub fn intern(&mut self, name: &str, span: Span) -> NetId {
        if let Some(&id) = self.by_name.get(name) {
            return id;
        }
        let id = self.table.push(Net { name: name.to_owned(), span });
        self.by_name.insert(name.to_owned(), id);
        id
    }

    /// The id of a name.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<NetId> {
        self.by_name.get(name).copied()
    }

    /// A net's name.
    #[must_use]
    pub fn name(&self, id: NetId) -> &str {
        self.table.get(id).map_or("", |net| &net.name)
    }

    /// All real nets with their ids, in order of first sight.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (NetId, &Net)> + ExactSizeIterator {
        self.table.iter()
    }

    /// Number of rows, the unconnected net included.
    #[must_use]
    pub fn len(&self) -> usize {
        self.table.len()
    }

    /// Whether there is no row at all.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.table.is_empty()
    }
}
