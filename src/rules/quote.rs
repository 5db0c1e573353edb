//! Text as a rule file holds it.

/// A text on one line, in quotes.
#[must_use]
pub fn quoted(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => quoted.push_str("\\\""),
            '\\' => quoted.push_str("\\\\"),
            c if c.is_control() => quoted.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => quoted.push(c),
        }
    }
    quoted + "\""
}

/// A key: bare if it may be, else in quotes.
#[must_use]
pub fn key(text: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if !text.is_empty() && text.chars().all(bare) { text.to_owned() } else { quoted(text) }
}
