//! Typed tables: rows are addressed by an id that only the table itself hands out.

use std::marker::PhantomData;
use std::ops::{Index, IndexMut};

/// An id of a row in a [`Table`].
pub trait Id: Copy + Eq + Ord + std::hash::Hash + std::fmt::Debug {
    /// The id of row `row`.
    fn from_row(row: u32) -> Self;
    /// The row this id names.
    fn row(self) -> u32;
    /// The row as a `usize`, for side arrays that run parallel to the table.
    fn index(self) -> usize {
        self.row() as usize
    }
}

/// Declares a newtype over `u32` that is an [`Id`].
#[macro_export]
macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
        pub struct $name(u32);
        impl $crate::table::Id for $name {
            fn from_row(row: u32) -> Self {
                Self(row)
            }
            fn row(self) -> u32 {
                self.0
            }
        }
    };
}

/// Rows of `T`, addressed by `I`. Rows are never removed, so an id stays valid for the table's life.
#[derive(Debug, Clone, PartialEq)]
pub struct Table<I, T> {
    rows: Vec<T>,
    id: PhantomData<I>,
}

impl<I, T> Default for Table<I, T> {
    fn default() -> Self {
        Self { rows: Vec::new(), id: PhantomData }
    }
}

impl<I: Id, T> Table<I, T> {
    /// An empty table.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a row and returns its id. Rows beyond `u32::MAX` are impossible: the reader's object limit is lower.
    pub fn push(&mut self, row: T) -> I {
        let id = I::from_row(u32::try_from(self.rows.len()).unwrap_or(u32::MAX));
        self.rows.push(row);
        id
    }

    /// Number of rows.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether the table has no rows.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// The row of an id, or `None` if the id is of another, longer table.
    #[must_use]
    pub fn get(&self, id: I) -> Option<&T> {
        self.rows.get(id.index())
    }

    /// The row of an id, to be changed.
    #[must_use]
    pub fn get_mut(&mut self, id: I) -> Option<&mut T> {
        self.rows.get_mut(id.index())
    }

    /// All rows in order.
    pub fn values(&self) -> std::slice::Iter<'_, T> {
        self.rows.iter()
    }

    /// All ids in order.
    pub fn ids(&self) -> impl DoubleEndedIterator<Item = I> + ExactSizeIterator + use<I, T> {
        (0..u32::try_from(self.rows.len()).unwrap_or(u32::MAX)).map(I::from_row)
    }

    /// All rows with their ids, in order.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (I, &T)> + ExactSizeIterator {
        self.ids().zip(self.rows.iter())
    }

    /// The rows as a slice.
    #[must_use]
    pub fn as_slice(&self) -> &[T] {
        &self.rows
    }

    /// All rows in order, to be changed.
    pub fn values_mut(&mut self) -> std::slice::IterMut<'_, T> {
        self.rows.iter_mut()
    }

    /// Releases memory that rows don't use.
    pub fn shrink(&mut self) {
        self.rows.shrink_to_fit();
    }
}

// An id is minted by `push` alone and rows are never removed, so the row exists.
#[allow(clippy::indexing_slicing)]
impl<I: Id, T> Index<I> for Table<I, T> {
    type Output = T;
    fn index(&self, id: I) -> &T {
        &self.rows[id.index()]
    }
}

#[allow(clippy::indexing_slicing)]
impl<I: Id, T> IndexMut<I> for Table<I, T> {
    fn index_mut(&mut self, id: I) -> &mut T {
        &mut self.rows[id.index()]
    }
}

impl<I: Id, T> FromIterator<T> for Table<I, T> {
    fn from_iter<X: IntoIterator<Item = T>>(rows: X) -> Self {
        Self { rows: rows.into_iter().collect(), id: PhantomData }
    }
}
