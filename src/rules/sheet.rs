//! A rule file as TOML with spans: its values by kind, each fault at its place.

use super::{At, Origin};
use crate::nearest::nearest;
use crate::source::{Fault, SourceFile, Span};
use crate::units::{Dimension, ParseError, Quantity, Target, Unit, expected};
use std::ops::{Range, RangeInclusive};
use std::sync::Arc;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value with its span.
pub(super) type Value<'i> = Spanned<DeValue<'i>>;

/// One file while it is read.
pub(super) struct Sheet<'f> {
    /// The file.
    pub file: &'f Arc<SourceFile>,
    /// What was found wrong so far.
    pub faults: Vec<Fault>,
    /// Bytes of the file that can be made sense of.
    readable: usize,
}

impl<'f> Sheet<'f> {
    /// Parses the file. What the TOML reader finds wrong is noted; what it could still read is returned.
    pub fn parse(file: &'f Arc<SourceFile>) -> (Self, DeTable<'f>) {
        let (root, mut errors) = DeTable::parse_recoverable(file.text());
        let mut sheet = Self { file, faults: Vec::new(), readable: file.text().len() };
        let start = |error: &toml::de::Error| error.span().map_or(file.text().len(), |span| span.start);
        errors.sort_by_key(start);
        // A list that is not closed swallows the rest of the file, and each line of it is an error of its own.
        let swallowed = errors.iter().any(|error| error.message().starts_with("unclosed array,"));
        let mut line = 0;
        for error in &errors {
            let at = start(error);
            if std::mem::replace(&mut line, file.line_column(span(&(at..at)).start).line) == line {
                continue;
            }
            let (message, label) = match error.message().split_once(", expected ") {
                Some((message, expected)) => (message, format!("expected {expected}")),
                None => (error.message(), "not valid TOML".to_owned()),
            };
            let in_list = swallowed && message.contains("array");
            let help = match message {
                _ if in_list => Some("a list that is opened above is not closed: `]`".to_owned()),
                "string values must be quoted" => {
                    Some("values with a unit are texts: `limit = \"0.15 mm\"`".to_owned())
                }
                _ => None,
            };
            sheet.fault(error.span().unwrap_or(at..at), message, label, help);
            if in_list {
                sheet.readable = at;
                break;
            }
        }
        (sheet, root.into_inner())
    }

    /// All faults. Where the TOML itself is wrong (the first `syntax` of them), others on the same line are only echoes
    /// of that, and so are those in what can't be made sense of.
    pub fn into_faults(mut self, syntax: usize) -> Vec<Fault> {
        let line = |fault: &Fault| fault.file.line_column(fault.span.start).line;
        let rest = self.faults.split_off(syntax.min(self.faults.len()));
        let lines: Vec<u32> = self.faults.iter().map(line).collect();
        let sound = |fault: &Fault| fault.span.start as usize <= self.readable && !lines.contains(&line(fault));
        self.faults.extend(rest.into_iter().filter(sound));
        self.faults
    }

    /// A span of this file.
    pub fn origin(&self, range: Range<usize>) -> Origin {
        Origin { file: Arc::clone(self.file), span: span(&range) }
    }

    /// Notes a fault.
    pub fn fault(
        &mut self,
        at: Range<usize>,
        message: impl Into<String>,
        label: impl Into<String>,
        help: Option<String>,
    ) {
        self.faults.push(Fault {
            message: message.into(),
            file: Arc::clone(self.file),
            span: span(&at),
            label: label.into(),
            help,
        });
    }

    /// Notes that a value is of another kind than wanted.
    pub fn wrong_kind(&mut self, key: &str, value: &Value<'_>, expected: &str) {
        let message = format!("`{key}` is {}", kind(value.get_ref()));
        self.fault(first_line(self.file, value.span()), message, format!("expected {expected}"), None);
    }

    /// Notes a key that nothing here is called, with the nearest that something is.
    pub fn unknown_key(&mut self, place: &str, key: &Spanned<std::borrow::Cow<'_, str>>, known: &[&str]) {
        let help = did_you_mean(key.get_ref(), known.iter().copied())
            .unwrap_or_else(|| format!("{place} takes {}", list(known)));
        let message = format!("unknown key `{}`", key.get_ref());
        self.fault(key.span(), message, format!("not a key of {place}"), Some(help));
    }

    /// A table.
    pub fn table<'v, 'i>(&mut self, key: &str, value: &'v Value<'i>, expected: &str) -> Option<&'v DeTable<'i>> {
        let table = value.get_ref().as_table();
        if table.is_none() {
            self.wrong_kind(key, value, expected);
        }
        table
    }

    /// The values of a list.
    pub fn list<'v, 'i>(&mut self, key: &str, value: &'v Value<'i>, expected: &str) -> Option<&'v [Value<'i>]> {
        if let DeValue::Array(array) = value.get_ref() {
            return Some(array);
        }
        self.wrong_kind(key, value, expected);
        None
    }

    /// A text that isn't blank.
    pub fn text(&mut self, key: &str, value: &Value<'_>, expected: &str) -> Option<At<String>> {
        match value.get_ref() {
            DeValue::String(text) if !text.trim().is_empty() => {
                Some(At { value: text.to_string(), origin: self.origin(value.span()) })
            }
            DeValue::String(_) => {
                self.fault(value.span(), format!("`{key}` is empty"), format!("expected {expected}"), None);
                None
            }
            _ => {
                self.wrong_kind(key, value, expected);
                None
            }
        }
    }

    /// A list of texts.
    pub fn texts(&mut self, key: &str, value: &Value<'_>, expected: &str) -> Option<Vec<At<String>>> {
        let values = self.list(key, value, expected)?;
        let texts: Vec<At<String>> = values.iter().filter_map(|value| self.text(key, value, "a name")).collect();
        (texts.len() == values.len()).then_some(texts)
    }

    /// `true` or `false`.
    pub fn switch(&mut self, key: &str, value: &Value<'_>) -> Option<At<bool>> {
        let switch = value.get_ref().as_bool();
        if switch.is_none() {
            self.wrong_kind(key, value, "`true` or `false`");
        }
        switch.map(|switch| At { value: switch, origin: self.origin(value.span()) })
    }

    /// A quantity of one of `allowed`, none but decibels below zero.
    pub fn quantity(&mut self, key: &str, value: &Value<'_>, allowed: &[Dimension]) -> Option<At<Quantity>> {
        let number = match value.get_ref() {
            DeValue::Integer(number) if number.radix() == 10 => Some(number.as_str()),
            DeValue::Float(number) => Some(number.as_str()),
            _ => None,
        };
        let quantity = match (value.get_ref(), number) {
            (DeValue::String(text), _) => Quantity::parse(text, allowed),
            // Only a count may stand without quotes.
            (_, Some(number)) if allowed.contains(&Dimension::Count) => Quantity::parse(number, &[Dimension::Count]),
            (_, Some(number)) => {
                let unit = allowed.iter().find_map(|&dimension| Unit::usual(dimension)).map_or("", |unit| unit.symbol);
                let help = format!("write it as a text: `{key} = \"{number} {unit}\"`");
                self.fault(
                    value.span(),
                    format!("`{key}` has no unit"),
                    format!("expected {}", expected(allowed)),
                    Some(help),
                );
                return None;
            }
            _ => {
                self.wrong_kind(key, value, &expected(allowed));
                return None;
            }
        };
        match quantity {
            Ok(quantity) if quantity.base() < 0.0 && quantity.dimension() != Dimension::Decibel => {
                self.fault(value.span(), format!("`{key}` is below zero"), "expected zero or more", None);
                None
            }
            Ok(quantity) => Some(At { value: quantity, origin: self.origin(value.span()) }),
            Err(error) => {
                self.unreadable(value, error);
                None
            }
        }
    }

    /// A number without unit in a range; `example` shows what is meant.
    pub fn number(
        &mut self,
        key: &str,
        value: &Value<'_>,
        example: &str,
        range: &RangeInclusive<f64>,
    ) -> Option<At<f64>> {
        let number = match value.get_ref() {
            DeValue::Integer(number) if number.radix() == 10 => number.as_str().replace('_', "").parse::<f64>().ok(),
            DeValue::Float(number) => number.as_str().replace('_', "").parse::<f64>().ok(),
            _ => None,
        };
        let Some(number) = number else {
            self.wrong_kind(key, value, &format!("a number without quotes such as `{key} = {example}`"));
            return None;
        };
        if !range.contains(&number) {
            let label = format!("expected {} to {}", range.start(), range.end());
            self.fault(value.span(), format!("`{key}` is {number}"), label, None);
            return None;
        }
        Some(At { value: number, origin: self.origin(value.span()) })
    }

    /// A value above zero to aim at, with or without tolerance.
    pub fn target(&mut self, key: &str, value: &Value<'_>, dimension: Dimension) -> Option<At<Target>> {
        let DeValue::String(text) = value.get_ref() else {
            self.wrong_kind(key, value, "a value such as `85 ohm \u{b1}10 %`");
            return None;
        };
        match Target::parse(text, dimension) {
            Ok(target) if target.value.base() <= 0.0 => {
                self.fault(value.span(), format!("`{key}` is not above zero"), "expected more than zero", None);
                None
            }
            Ok(target) => Some(At { value: target, origin: self.origin(value.span()) }),
            Err(error) => {
                self.unreadable(value, error);
                None
            }
        }
    }

    /// Notes why a text is not a quantity, at the part of it that is wrong.
    fn unreadable(&mut self, value: &Value<'_>, error: ParseError) {
        let at = self.inside(value, error.range);
        self.fault(at, error.message, format!("expected {}", error.expected), error.help);
    }

    /// The part `range` of a text's value as a range of the file; the whole value where escapes hide the place.
    pub fn inside(&self, value: &Value<'_>, range: Range<usize>) -> Range<usize> {
        let whole = value.span();
        let DeValue::String(text) = value.get_ref() else { return whole };
        let raw = self.file.text().get(whole.clone()).unwrap_or("");
        let plain = raw.len() == text.len() + 2 && raw.get(1..raw.len() - 1) == Some(text.as_ref());
        if !plain || range.is_empty() {
            return whole;
        }
        whole.start + 1 + range.start..whole.start + 1 + range.end
    }
}

/// A fault at the place of a value.
pub(super) fn fault_at(at: &Origin, message: String, label: impl Into<String>, help: Option<String>) -> Fault {
    Fault { message, file: Arc::clone(&at.file), span: at.span, label: label.into(), help }
}

/// A range as a span; the loader's limit keeps files below 4 GiB.
pub(super) fn span(range: &Range<usize>) -> Span {
    let clamp = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
    Span::new(clamp(range.start), clamp(range.end))
}

/// A range cut at the end of its first line, so that a fault of a long value shows where it starts.
fn first_line(file: &SourceFile, range: Range<usize>) -> Range<usize> {
    let text = file.text().get(range.clone()).unwrap_or("");
    range.start..range.start + text.find(['\r', '\n']).unwrap_or(text.len())
}

/// What kind of value it is, with its article.
const fn kind(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "a switch",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// "did you mean `x`?"
pub(super) fn did_you_mean<'n>(name: &str, known: impl IntoIterator<Item = &'n str>) -> Option<String> {
    nearest(name, known).map(|near| format!("did you mean `{near}`?"))
}

/// ""a", "b" or "c"": words of which one is wanted.
pub(super) fn choice(words: &[&str]) -> String {
    let mut text = String::new();
    for (at, word) in words.iter().enumerate() {
        if at > 0 {
            text.push_str(if at + 1 == words.len() { " or " } else { ", " });
        }
        text.push_str(&format!("\"{word}\""));
    }
    text
}

/// "`a`, `b` and `c`".
pub(super) fn list<T: AsRef<str>>(names: &[T]) -> String {
    let mut text = String::new();
    for (at, name) in names.iter().enumerate() {
        if at > 0 {
            text.push_str(if at + 1 == names.len() { " and " } else { ", " });
        }
        text.push('`');
        text.push_str(name.as_ref());
        text.push('`');
    }
    text
}
