//! What a verdict says, as data: a fixed sentence with named values. Reports fill it in; checks format nothing.

use crate::geometry::Point;
use crate::units::Quantity;

/// A value that a sentence names.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A quantity, printed in its unit.
    Quantity(Quantity),
    /// A name (net, layer, part and pad), printed in backquotes.
    Name(String),
    /// Plain text chosen from fixed words.
    Word(&'static str),
    /// A place on the board.
    Point(Point),
}

/// A sentence such as `"{leg} is {value} longer than {mate}"` with the values that its braces name.
#[derive(Debug, Clone, PartialEq)]
pub struct Message {
    /// The sentence: lower case, no final dot.
    pub template: &'static str,
    /// Values by the names in braces.
    pub values: Vec<(&'static str, Value)>,
}

impl Message {
    /// A sentence without values.
    #[must_use]
    pub const fn new(template: &'static str) -> Self {
        Self { template, values: Vec::new() }
    }

    /// Adds a named value.
    #[must_use]
    pub fn with(mut self, key: &'static str, value: impl Into<Value>) -> Self {
        self.values.push((key, value.into()));
        self
    }
}

impl From<Quantity> for Value {
    fn from(value: Quantity) -> Self {
        Self::Quantity(value)
    }
}
impl From<crate::units::Length> for Value {
    fn from(value: crate::units::Length) -> Self {
        Self::Quantity(Quantity::Length(value))
    }
}
impl From<String> for Value {
    fn from(value: String) -> Self {
        Self::Name(value)
    }
}
impl From<&str> for Value {
    fn from(value: &str) -> Self {
        Self::Name(value.to_owned())
    }
}
impl From<Point> for Value {
    fn from(value: Point) -> Self {
        Self::Point(value)
    }
}
