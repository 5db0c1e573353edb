//! Places and messages in SARIF's terms.

use crate::rules::Origin;
use crate::source::excerpt::head;
use crate::source::{Fault, SourceFile, Span};
use serde_json::{Value, json};

/// A place in a file. The region is what is marked in excerpts: on one line and short, since hosts show a finding of a
/// change only if all its lines are part of it.
pub fn physical(file: &SourceFile, span: Span) -> Value {
    let head = head(file, span);
    let (start, end) = (file.line_column(head.start), file.line_column(head.end));
    json!({
        "artifactLocation": { "uri": uri(file.name()) },
        "region": {
            "startLine": start.line,
            "startColumn": start.column,
            "endLine": end.line,
            "endColumn": end.column,
        },
    })
}

/// Adds a key to an object.
pub fn put(object: &mut Value, key: &str, value: Value) {
    if let Some(object) = object.as_object_mut() {
        object.insert(key.to_owned(), value);
    }
}

/// Where a rule file states something.
pub fn origin_location(origin: &Origin) -> Value {
    json!({ "physicalLocation": physical(&origin.file, origin.span) })
}

/// Where a fault is.
pub fn fault_location(fault: &Fault) -> Value {
    let mut location = json!({ "physicalLocation": physical(&fault.file, fault.span) });
    if !fault.label.is_empty() {
        put(&mut location, "message", message(&fault.label));
    }
    location
}

/// A message. The standard doubles braces, which stand for arguments otherwise, and reads `[text](id)` as a link.
pub fn message(text: &str) -> Value {
    json!({ "text": literal(text) })
}

/// A text without links and arguments.
pub fn literal(text: &str) -> String {
    let text = text.replace('{', "{{").replace('}', "}}");
    if text.contains("](") { text.replace('[', "\\[") } else { text }
}

/// The text of a link to a related place.
pub fn link(text: &str, id: usize) -> String {
    let escaped = text.replace('\\', "\\\\").replace('[', "\\[").replace(']', "\\]");
    format!("[{}]({id})", escaped.replace('{', "{{").replace('}', "}}"))
}

/// A path as a URI reference: relative ones stay relative.
pub fn uri(path: &str) -> String {
    let forward = path.replace('\\', "/");
    let mut uri = String::new();
    let drive = forward.as_bytes().get(1) == Some(&b':');
    if forward.starts_with('/') || drive {
        uri.push_str(if drive { "file:///" } else { "file://" });
    }
    for (at, byte) in forward.bytes().enumerate() {
        let plain = byte.is_ascii_alphanumeric() || b"-._~/".contains(&byte) || (byte == b':' && at == 1 && drive);
        if plain {
            uri.push(char::from(byte));
        } else {
            uri.push_str(&format!("%{byte:02X}"));
        }
    }
    uri
}
