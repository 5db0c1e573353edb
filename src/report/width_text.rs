//! Widths and gaps for people.

use super::table::{Side, Table};
use super::width::{Widths, mm, ohms, percent, unmet_words};
use super::{Paint, StackupOf};
use crate::board::LayerId;
use crate::field::{Impedance, Undetermined};
use crate::signal::{Coat, CoatOrigin};
use crate::source::excerpt::Look;
use crate::source::{printable_name, wrap};
use crate::units::{Length, Quantity, decimal};
use crate::width::{Drawn, Spread};
use std::fmt::Write;

/// Said of a stackup that nobody seems to have entered, before anything that rests on it.
pub const MADE_UP: &str =
    "the board file's stackup looks as if nobody had entered it: all that follows is only as true as it is";

/// The report.
#[must_use]
pub fn width_text(widths: &Widths<'_>, look: &Look) -> String {
    let paint = Paint { on: look.colour };
    let mut out = widths.source.clone();
    out.push_str(&stackup_line(widths));
    let _ = writeln!(out, "rules  {}", printable_name(&widths.rules));
    let kind = if widths.is_pair() { "Pairs" } else { "Single lines" };
    let layer = name(widths, widths.wanted.layer);
    let _ = writeln!(out, "\n{}", paint.strong(&format!("{kind} of {} on `{layer}`", widths.target)));
    if matches!(widths.stackup, StackupOf::Placeholder) {
        note(&mut out, look, "beware", &format!("{MADE_UP}. Ask the fab for the stackup it will build."));
    }
    surroundings(&mut out, widths, look);
    out.push('\n');
    out.push_str(&lines(widths, paint));
    if widths.choices.iter().any(|choice| choice.line.is_ok()) {
        let _ = writeln!(out, "\n{}", paint.strong("With a tenth less and a tenth more, in ohm"));
        out.push_str(&spreads(widths, paint));
        footnotes(&mut out, widths, look);
    }
    out
}

fn name(widths: &Widths<'_>, layer: LayerId) -> String {
    printable_name(widths.layers.name(layer)).into_owned()
}

fn stackup_line(widths: &Widths<'_>) -> String {
    widths.stackup.line().unwrap_or_else(|| match widths.stackup {
        StackupOf::Placeholder => "stackup  from the board file, where it looks made up\n".to_owned(),
        _ => "stackup  from the board file\n".to_owned(),
    })
}

/// A labelled line, wrapped.
fn note(out: &mut String, look: &Look, label: &str, text: &str) {
    for (row, line) in wrap(text, look.width.saturating_sub(11)).lines().enumerate() {
        let _ = writeln!(out, "  {:7}  {line}", if row == 0 { label } else { "" });
    }
}

/// What lies around the trace and what was taken for granted.
fn surroundings(out: &mut String, widths: &Widths<'_>, look: &Look) {
    let (basis, wanted) = (widths.basis, &widths.wanted);
    let [above, below] = widths.planes;
    let plane = |side: &str, plane: Option<super::PlaneOf>| {
        let Some(plane) = plane else { return format!("none {side}") };
        let clear = basis.clear(wanted.layer, plane.layer);
        let poured = plane.poured.map_or_else(String::new, |share| format!(", {} % poured", decimal(share * 100.0, 0)));
        format!("{side} `{}`, {clear:.4} away{poured}", name(widths, plane.layer))
    };
    let mut text = format!("{}; {}", plane("above", above), plane("below", below));
    if widths.planes.iter().flatten().any(|plane| plane.poured.is_none()) {
        text.push_str("; no board shows which layers are planes: `--plane-above` and `--plane-below` name others");
    }
    note(out, look, "planes", &text);
    if let Some(foil) = basis.foil(wanted.layer) {
        let narrower = foil.thickness * wanted.etch;
        let side = if foil.narrow_up { "upper" } else { "lower" };
        let etched = if narrower > Length::ZERO {
            format!("its {side} side {narrower:.4} narrower than drawn (etching)")
        } else {
            "rectangular".to_owned()
        };
        note(out, look, "trace", &format!("{:.4} thick, {etched}", foil.thickness));
    }
    for (side, plane, coat) in [("upper", above, &basis.top), ("lower", below, &basis.bottom)] {
        if plane.is_none() {
            note(out, look, "mask", &mask(side, coat));
        }
    }
    let apart = if widths.is_pair() { format!(", {} apart", wanted.least_gap) } else { String::new() };
    note(out, look, "fab", &format!("at least {} wide{apart}", wanted.least_width));
    let frequency = Quantity::Frequency(basis.frequency.to_hertz());
    note(out, look, "values", &format!("permittivity and loss tangent as stated for {frequency}"));
    match (&widths.rate, widths.nyquist()) {
        (Some(rate), Some(nyquist)) => {
            let origin = rate.origin.as_ref().map_or_else(String::new, |origin| format!(", {origin}"));
            let rough = um(basis.roughness);
            let assumed = if basis.roughness_assumed { ", as common practice has it" } else { "" };
            let text = format!(
                "at {nyquist}, the Nyquist frequency of {}{origin}; foils with a roughness Rz of {rough}{assumed}",
                rate.value
            );
            note(out, look, "loss", &text);
        }
        _ => note(out, look, "loss", "not told: no rate is stated; `--rate` states one"),
    }
}

fn um(length: Length) -> String {
    format!("{} um", decimal(length.to_nm() / 1e3, 2))
}

fn mask(side: &str, coat: &Coat) -> String {
    let mask = coat.mask;
    let thickness = if (mask.on_board - mask.over_copper).abs() > Length::nm(0.5) {
        format!("{:.4} on the board, {:.4} over copper", mask.on_board, mask.over_copper)
    } else {
        format!("{:.4}", mask.on_board)
    };
    let origin = match coat.origin {
        CoatOrigin::Stated => "",
        CoatOrigin::Completed => "; what the stackup does not state of it is common practice",
        CoatOrigin::Assumed => "; the stackup names none, so this is common practice",
    };
    format!("on the {side} face, {thickness}, permittivity {}{origin}", mask.dielectric.permittivity)
}

fn lines(widths: &Widths<'_>, paint: Paint) -> String {
    use Side::{Left, Right};
    let mut table = Table::new(&[
        ("gap mm", Right),
        ("width mm", Right),
        ("ohm", Right),
        ("common ohm", Right),
        ("ps/mm", Right),
        ("dB/mm", Right),
        ("", Left),
    ]);
    for choice in &widths.choices {
        table.row(match &choice.line {
            Ok(drawn) => line_cells(widths, drawn),
            Err(unmet) => {
                let mut cells = vec![String::new(); 6];
                if let (Some(gap), Some(first)) = (choice.gap, cells.first_mut()) {
                    *first = mm(gap);
                }
                cells.push(unmet_words(widths, unmet));
                cells
            }
        });
    }
    table.render(paint)
}

fn line_cells(widths: &Widths<'_>, drawn: &Drawn) -> Vec<String> {
    let (loss, remark) = match drawn.loss {
        None => (String::new(), None),
        Some(Ok(loss)) => (format!("{:.4}", loss.to_db_per_metre() / 1e3), None),
        Some(Err(doubt)) => ("?".to_owned(), Some(format!("loss not known: {doubt}"))),
    };
    let outside = widths.is_outside(drawn.impedance).then(|| format!("outside {}", widths.target));
    vec![
        drawn.trace.gap.map_or_else(String::new, mm),
        mm(drawn.trace.width),
        ohms(drawn.impedance),
        drawn.even.map_or_else(String::new, |even| ohms(even * 0.5)),
        format!("{:.3}", drawn.delay.to_ps_per_mm()),
        loss,
        outside.into_iter().chain(remark).collect::<Vec<_>>().join("; "),
    ]
}

fn spreads(widths: &Widths<'_>, paint: Paint) -> String {
    use Side::Right;
    let mut table = Table::new(&[
        ("gap mm", Right),
        ("width mm", Right),
        ("height -10 %", Right),
        ("height +10 %", Right),
        ("width -10 %", Right),
        ("width +10 %", Right),
        ("permittivity -10 %", Right),
        ("permittivity +10 %", Right),
    ]);
    for drawn in widths.choices.iter().filter_map(|choice| choice.line.as_ref().ok()) {
        let mut cells = vec![drawn.trace.gap.map_or_else(String::new, mm), mm(drawn.trace.width)];
        for Spread { less, more, .. } in &drawn.spread {
            cells.extend([less, more].map(|changed| spread_cell(widths, drawn, changed)));
        }
        table.row(cells);
    }
    table.render(paint)
}

fn spread_cell(widths: &Widths<'_>, drawn: &Drawn, changed: &Result<Impedance, Undetermined>) -> String {
    let Ok(changed) = changed else { return "?".to_owned() };
    let mark = if widths.is_outside(*changed) { "! " } else { "" };
    format!("{mark}{} ({:+.1} %)", ohms(*changed), percent(drawn.impedance, *changed))
}

fn footnotes(out: &mut String, widths: &Widths<'_>, look: &Look) {
    let mut text = String::from(
        "No other copper lies beside the traces: a pour nearer than about three heights lowers the impedance. Height is \
         all dielectric between the trace and its planes, permittivity that of all sheets (the mask's stays). ",
    );
    if widths.is_pair() {
        text.push_str("Where the width changes the middles of the legs stay, so the gap changes by as much. ");
    }
    if let Some(error) = widths.error() {
        let _ = write!(text, "The solver puts its own error at no more than {:.1} %. ", (error * 1e3).ceil() / 10.0);
    }
    if widths.target.tolerance.is_some() {
        let _ = write!(text, "! is outside {}. ", widths.target);
    }
    let _ = writeln!(out, "\n{}", wrap(text.trim_end(), look.width.min(100)));
}
