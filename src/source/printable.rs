//! Text from files, made safe to print: a board file may hold anything, a terminal obeys some of it.

use std::borrow::Cow;

/// Whether a character may not reach a terminal: controls (tab and line feed apart) and marks that turn or hide text.
fn is_unsafe(c: char) -> bool {
    (c.is_control() && c != '\t' && c != '\n')
        || matches!(c, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}')
}

/// Puts a mark in place of every character that must not reach a terminal; the line end of either kind stays. The mark
/// takes as many bytes as what it stands for, so offsets stay what they were.
#[must_use]
pub fn printable(text: &str) -> Cow<'_, str> {
    let mut followed = text.chars().zip(text.chars().skip(1).chain(std::iter::once(' ')));
    if !followed.any(|(c, next)| is_unsafe(c) && (c, next) != ('\r', '\n')) {
        return Cow::Borrowed(text);
    }
    let mut next = text.chars();
    let mark = |c: char| {
        next.next();
        match (is_unsafe(c), c.len_utf8()) {
            (false, _) => c,
            (true, _) if c == '\r' && next.clone().next() == Some('\n') => c,
            (true, 1) => '?',
            (true, 2) => '·',
            (true, _) => '\u{FFFD}',
        }
    };
    Cow::Owned(text.chars().map(mark).collect())
}

/// The same for a name within a sentence: line ends and tabs are marked too.
#[must_use]
pub fn printable_name(text: &str) -> Cow<'_, str> {
    match printable(text) {
        clean if clean.contains(['\r', '\n', '\t']) => Cow::Owned(clean.replace(['\r', '\n', '\t'], "?")),
        clean => clean,
    }
}
