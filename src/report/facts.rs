//! The facts of a verdict as words, shared by the reports that people read.

use crate::board::Board;
use crate::checks::{Place, Subject};
use crate::findings::{Entry, point_words, sentence};
use crate::source::{excerpt::head, printable_name};

/// `net `LANE1_TX_P`, J1.12 to U1.A3`; a subject of several names has each in its own quotes.
pub fn subject_words(subject: &Subject) -> String {
    named_words(subject.kind, &subject.name, &subject.ends)
}

/// The same from kind, name and ends.
pub fn named_words(kind: &str, name: &str, ends: &[String]) -> String {
    let name = printable_name(name);
    let mut text = match &*name {
        "" => format!("the {kind}"),
        name if kind.ends_with('s') => format!("{kind} `{}`", name.replace(", ", "`, `")),
        name => format!("{kind} `{name}`"),
    };
    let ends: Vec<_> = ends.iter().map(|end| printable_name(end)).collect();
    match ends.as_slice() {
        [] => {}
        [end] => text.push_str(&format!(" at {end}")),
        [one, other] => text.push_str(&format!(", {one} to {other}")),
        ends => text.push_str(&format!(", ends {}", ends.join(", "))),
    }
    text
}

/// `0.412 mm; limit 0.3 mm, set at serial-16g.toml:14:10`, as far as it is known.
pub fn value_words(entry: &Entry<'_>) -> Option<String> {
    let verdict = &entry.verdict;
    let limit = verdict.limit.as_ref().map(|limit| {
        let bound = verdict.value.map_or_else(|| limit.value.to_string(), |value| limit.value.print_beside(value));
        let written = limit.in_another_unit().map_or_else(String::new, |text| format!(" ({})", printable_name(text)));
        format!("limit {bound}{written}, set at {}", limit.origin)
    });
    let parts: Vec<_> = value_only(entry).into_iter().chain(limit).collect();
    (!parts.is_empty()).then(|| parts.join("; "))
}

/// The measured value, with as many decimals as it takes to tell it from its limit.
pub fn value_only(entry: &Entry<'_>) -> Option<String> {
    let verdict = &entry.verdict;
    verdict
        .value
        .map(|value| verdict.limit.as_ref().map_or_else(|| value.to_string(), |limit| value.print_beside(limit.value)))
}

/// `base.kicad_pcb:1234:3`.
pub fn file_place(board: &Board, place: Option<&Place>) -> String {
    let name = printable_name(board.source.name());
    let at = place.map(|place| board.source.line_column(head(&board.source, place.span).start));
    at.map_or_else(|| format!("{name}:1:1"), |at| format!("{name}:{}:{}", at.line, at.column))
}

/// `layer `In2.Cu`, x 103.25, y 88.1 mm`, as far as it is known.
pub fn board_place(board: &Board, place: &Place) -> Option<String> {
    let layer = place.layer.map(|layer| format!("layer `{}`", printable_name(board.layers.name(layer))));
    let at = place.at.map(point_words);
    let parts: Vec<_> = layer.into_iter().chain(at).collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// What stands at a place: its label, then where it is on the board.
pub fn place_words(board: &Board, place: &Place) -> String {
    let label = sentence(&place.label);
    match board_place(board, place) {
        Some(at) if label.is_empty() => at,
        Some(at) => format!("{label}: {at}"),
        None => label,
    }
}
