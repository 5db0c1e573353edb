//! Messages filled in: the only place where a value becomes words.

use crate::checks::{Message, Outcome, Value};
use crate::geometry::{Point, to_f64};
use crate::rules::Level;
use crate::source::printable_name;
use crate::units::decimal;

/// A message with its values in place of its braces. A brace without a value stays as it is.
#[must_use]
pub fn sentence(message: &Message) -> String {
    let mut text = String::new();
    let mut rest = message.template;
    while let Some((before, after)) = rest.split_once('{') {
        text.push_str(before);
        let Some((key, behind)) = after.split_once('}') else {
            text.push('{');
            rest = after;
            continue;
        };
        match message.values.iter().find(|(name, _)| *name == key) {
            Some((_, value)) => text.push_str(&words(value)),
            None => text.push_str(&format!("{{{key}}}")),
        }
        rest = behind;
    }
    text + rest
}

fn words(value: &Value) -> String {
    match value {
        Value::Quantity(quantity) => quantity.to_string(),
        Value::Name(name) => format!("`{}`", printable_name(name)),
        Value::Word(word) => (*word).to_owned(),
        Value::Point(point) => point_words(*point),
    }
}

/// A place on the board: `x 103.25, y 88.1 mm`.
#[must_use]
pub fn point_words(point: Point) -> String {
    format!("x {}, y {} mm", decimal(to_f64(point.x) / 1e6, 3), decimal(to_f64(point.y) / 1e6, 3))
}

/// How a verdict came out, in a word.
#[must_use]
pub const fn outcome_word(outcome: &Outcome) -> &'static str {
    match outcome {
        Outcome::Fail(Level::Error) => "error",
        Outcome::Fail(Level::Warning) => "warning",
        Outcome::Fail(Level::Note) => "note",
        Outcome::Unchecked { .. } => "unchecked",
        Outcome::Pass => "pass",
    }
}
