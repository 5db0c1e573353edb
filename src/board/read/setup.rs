//! `setup`: the stackup and, in boards before 2020, the standard via drills.

use super::Reading;
use super::header::nanometres;
use crate::board::stackup::DielectricKind;
use crate::board::{LayerId, Stackup, StackupEntry};
use crate::source::{Item, Read, Span, Word};
use crate::units::Length;

/// Difference between the stackup's sum and the stated board thickness that rounding explains.
const THICKNESS_TOLERANCE: Length = Length::nm(1000.0);

/// Drills that a via takes if neither it nor a net class states one.
#[derive(Debug, Default, Clone, Copy)]
pub(super) struct Defaults {
    pub(super) via_drill: Option<i64>,
    pub(super) microvia_drill: Option<i64>,
}

/// Values of one sheet of a stackup layer.
#[derive(Default)]
struct Sheet {
    thickness: Option<Length>,
    permittivity: Option<f64>,
    loss_tangent: Option<f64>,
    material: String,
    span: Option<Span>,
}

impl<'a> Reading<'a> {
    pub(super) fn setup(&mut self) -> Read<()> {
        while let Some(item) = self.cursor.next()? {
            let Item::Node(head) = item else { continue };
            match head.text {
                "stackup" => self.stackup(head)?,
                "via_drill" => self.defaults.via_drill = Some(self.width("a drill diameter in mm")?),
                "uvia_drill" => self.defaults.microvia_drill = Some(self.width("a drill diameter in mm")?),
                // Design minima, margins, plot settings: rules and habits, no geometry.
                _ => self.cursor.leave()?,
            }
        }
        Ok(())
    }

    fn stackup(&mut self, head: Word<'a>) -> Read<()> {
        let mut entries = Vec::new();
        while let Some(item) = self.cursor.next()? {
            let Item::Node(child) = item else { continue };
            match child.text {
                "layer" => self.stackup_layer(child, &mut entries)?,
                "copper_finish" | "dielectric_constraints" | "edge_connector" | "castellated_pads" | "edge_plating" => {
                    self.cursor.leave()?;
                }
                _ => self.unknown_node("stackup", child)?,
            }
        }
        self.board.stackup = Some(Stackup { entries, span: head.span() });
        Ok(())
    }

    /// One layer. `addsublayer` is a bare word between its properties: what follows belongs to the next sheet.
    fn stackup_layer(&mut self, head: Word<'a>, entries: &mut Vec<StackupEntry>) -> Read<()> {
        let name = self.cursor.word("a layer name")?;
        self.layers.need(name.span());
        let mut kind = "";
        let mut sheets = Vec::new();
        let mut sheet = Sheet { span: Some(head.span()), ..Sheet::default() };
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Word(word) if word.text == "addsublayer" => {
                    let next = Sheet { span: Some(word.span()), ..Sheet::default() };
                    sheets.push(std::mem::replace(&mut sheet, next));
                }
                Item::Word(word) => self.unclear_stackup = self.unclear_stackup.or(Some(word.span())),
                Item::Node(child) => match child.text {
                    "type" => kind = self.cursor.only_word("a type such as `copper` or `core`")?.text,
                    _ => self.sheet_field(child, &mut sheet)?,
                },
            }
        }
        sheets.push(sheet);
        let copper = self.layers.copper_named(&name.value()).iter().next();
        if kind == "copper" {
            self.copper_entry(name, copper, &sheets, entries);
            return Ok(());
        }
        let kind = match kind {
            "core" => DielectricKind::Core,
            "Top Solder Mask" | "Bottom Solder Mask" => DielectricKind::Mask,
            "Top Silk Screen" | "Bottom Silk Screen" | "Top Solder Paste" | "Bottom Solder Paste" => return Ok(()),
            "prepreg" => DielectricKind::Prepreg,
            other => {
                let message = format!("stackup layer type `{other}` is not known; it is taken as a dielectric");
                self.remarks.note(name.span(), message);
                DielectricKind::Prepreg
            }
        };
        entries.extend(sheets.into_iter().map(|sheet| StackupEntry::Dielectric {
            name: name.value().into_owned(),
            kind,
            thickness: sheet.thickness,
            permittivity: sheet.permittivity,
            loss_tangent: sheet.loss_tangent,
            material: sheet.material,
            span: sheet.span.unwrap_or(head.span()),
        }));
        Ok(())
    }

    fn copper_entry(
        &mut self,
        name: Word<'a>,
        layer: Option<LayerId>,
        sheets: &[Sheet],
        entries: &mut Vec<StackupEntry>,
    ) {
        match layer {
            Some(layer) => {
                let thickness = sheets.first().and_then(|sheet| sheet.thickness);
                entries.push(StackupEntry::Copper { layer, thickness, span: name.span() });
            }
            None => {
                let message =
                    format!("the stackup names copper layer `{}`, which is not in the layer table", name.text);
                self.remarks.note(name.span(), message);
            }
        }
    }

    fn sheet_field(&mut self, child: Word<'a>, sheet: &mut Sheet) -> Read<()> {
        match child.text {
            // `locked` may follow: it guards the value in an editor and means nothing here.
            "thickness" => {
                if sheet.thickness.is_some() {
                    self.unclear_stackup = self.unclear_stackup.or(Some(child.span()));
                }
                sheet.thickness = Some(nanometres(self.open_width("a thickness in mm")?));
                self.cursor.leave()?;
            }
            "epsilon_r" => {
                sheet.permittivity = Some(self.cursor.number("a relative permittivity")?).filter(|&value| value > 0.0);
                self.cursor.leave()?;
            }
            "loss_tangent" => {
                sheet.loss_tangent = Some(self.cursor.number("a loss tangent")?).filter(|&value| value > 0.0);
                self.cursor.leave()?;
            }
            "material" => sheet.material = self.cursor.only_word("a material name")?.value().into_owned(),
            "color" => self.cursor.leave()?,
            _ => self.unknown_node("stackup layer", child)?,
        }
        Ok(())
    }

    /// Notes what a person should know before believing the stackup. One that is garbled or contradicts the layer table
    /// is not used: it cannot be told which layer lies where.
    pub(super) fn judge_stackup(&mut self) {
        let Some(stackup) = &self.board.stackup else { return };
        let span = stackup.span;
        if let Some(at) = self.unclear_stackup {
            self.remarks.note(at, "a layer of the stackup is garbled here; the stackup is not used");
            self.board.stackup = None;
            return;
        }
        let coppers = stackup.entries.iter().filter_map(StackupEntry::copper);
        if !coppers.eq(self.board.layers.ids()) {
            self.remarks.note(span, "the stackup and the layer table name different copper layers; it is not used");
            self.board.stackup = None;
            return;
        }
        match (stackup.total(), self.board.thickness) {
            (Some(total), Some(stated)) if (total - stated).abs() > THICKNESS_TOLERANCE => {
                let message = format!(
                    "the stackup is {} mm thick in all, but the board states {} mm",
                    total.to_mm(),
                    stated.to_mm()
                );
                self.remarks.note(span, message);
            }
            (None, _) => self.remarks.note(span, "a layer of the stackup has no thickness"),
            _ => {}
        }
        if stackup.looks_like_placeholder() {
            let message = "the stackup looks like one that nobody entered: all sheets equally thick, permittivity 4.5";
            self.remarks.note(span, message);
        }
    }
}
