//! Fills the model straight from the tokens of one file, one reader per construct.
//!
//! Two promises: a file that is not understood as a whole is a [`Fault`] with its place; copper that is understood only
//! in part is a [`Doubt`] on its layers. Nothing that could be copper is dropped without one of the two.

mod class;
mod dimension;
mod drawing;
mod fields;
mod footprint;
mod frame;
mod graphic;
mod header;
mod layers;
mod nets;
mod pad;
mod pad_form;
mod project;
mod remarks;
mod setup;
mod text;
mod track;
mod via;
mod zone;

pub use project::read_project;

use super::{Board, Nets};
use crate::source::{Cursor, Fault, Item, Limits, Read, SourceFile, Span, Word};
use crate::table::Table;
use layers::LayerTable;
use nets::NetNumbers;
use remarks::Remarks;
use std::sync::Arc;

/// Reads a board file. `name` is what the board is called in reports.
///
/// # Errors
/// A [`Fault`] if the text is no board file, is damaged, or lies beyond a limit.
pub fn read(name: &str, source: Arc<SourceFile>) -> Result<Board, Fault> {
    read_within(name, source, &Limits::default())
}

/// [`read`] with limits other than the standard ones.
///
/// # Errors
/// As [`read`].
pub fn read_within(name: &str, source: Arc<SourceFile>, limits: &Limits) -> Result<Board, Fault> {
    let mut reading = Reading::new(&source, limits).map_err(|fault| *fault)?;
    reading.whole().map_err(|fault| *fault)?;
    if reading.layers.is_late() || reading.numbers.is_late() || reading.version_late {
        // A table stood behind items that need it: read again with the tables known.
        let (layers, numbers, version) = (reading.layers, reading.numbers, reading.board.version);
        reading = Reading::new(&source, limits).map_err(|fault| *fault)?;
        reading.board.version = version;
        reading.board.layers.clone_from(layers.copper());
        reading.layers = layers.settled();
        reading.numbers = numbers.settled(&mut reading.board.nets);
        reading.whole().map_err(|fault| *fault)?;
    }
    let mut board = reading.into_board().map_err(|fault| *fault)?;
    name.clone_into(&mut board.name);
    Ok(board)
}

/// One pass over one file.
struct Reading<'a> {
    source: &'a Arc<SourceFile>,
    cursor: Cursor<'a>,
    limits: Limits,
    board: Board,
    layers: LayerTable<'a>,
    numbers: NetNumbers,
    defaults: setup::Defaults,
    remarks: Remarks<'a>,
    /// Scratch for rings, so that each is stored at its exact size.
    ring: Vec<crate::geometry::Point>,
    /// Where the stackup holds a word or a value that has no place there: two sheets may have run into one.
    unclear_stackup: Option<Span>,
    /// The format version stood behind a zone.
    version_late: bool,
    /// Points made from curves so far.
    made_points: u32,
}

impl<'a> Reading<'a> {
    fn new(source: &'a Arc<SourceFile>, limits: &Limits) -> Read<Self> {
        Ok(Self {
            source,
            cursor: Cursor::new(source, limits)?,
            limits: *limits,
            board: empty_board(source),
            layers: LayerTable::default(),
            numbers: NetNumbers::default(),
            defaults: setup::Defaults::default(),
            remarks: Remarks::default(),
            ring: Vec::new(),
            unclear_stackup: None,
            version_late: false,
            made_points: 0,
        })
    }

    fn whole(&mut self) -> Read<()> {
        self.cursor.root("kicad_pcb")?;
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Node(head) => self.top_level(head)?,
                Item::Word(word) => {
                    return Err(self.cursor.fault(
                        word.span(),
                        "a stray word between the items",
                        "expected `(` or `)`",
                    ));
                }
            }
        }
        self.cursor.finish()
    }

    fn top_level(&mut self, head: Word<'a>) -> Read<()> {
        match head.text {
            "segment" => self.segment(head),
            "arc" => self.arc_track(head),
            "via" => self.via(head),
            "net" => self.net_row(),
            "footprint" | "module" => self.footprint(head),
            "zone" => self.zone(head),
            "gr_line" | "gr_arc" | "gr_circle" | "gr_rect" | "gr_poly" | "gr_curve" => self.board_drawing(head),
            "gr_text" | "gr_text_box" => self.board_text(head),
            "dimension" => self.dimension(head),
            "target" | "table" => self.uncounted_copper(head),
            "version" => self.version(head),
            "general" => self.general(),
            "title_block" => self.title_block(),
            "layers" => self.layer_table(),
            "setup" => self.setup(),
            "net_class" => self.net_class(),
            // Views, recipes and texts: no copper of their own (the tracks of a tuning pattern also stand alone).
            "host" | "generator" | "generator_version" | "page" | "paper" | "property" | "group" | "generated"
            | "image" | "embedded_fonts" | "embedded_files" | "variants" | "point" => self.cursor.leave(),
            _ => self.unknown_node("kicad_pcb", head),
        }
    }

    fn into_board(mut self) -> Read<Board> {
        if let Some(span) = self.layers.used_without_table() {
            let mut fault =
                self.cursor.fault(span, "the board has no layer table", "this item names a layer of the missing table");
            fault.help = Some("expected `(layers …)` with the copper layers before the first item".to_owned());
            return Err(fault);
        }
        self.settle_drills();
        self.judge_stackup();
        if let Some((span, count)) = self.cursor.rounded() {
            let message = match count {
                1 => "1 number is finer than 1 nm and was rounded".to_owned(),
                _ => format!("{count} numbers are finer than 1 nm and were rounded"),
            };
            self.remarks.note(span, message);
        }
        if let Some(span) = self.cursor.broken_string() {
            let all = self.board.layers.all();
            self.remarks.doubt(span, all, "a string runs over a line break: a missing quote may hide what follows");
        }
        let Self { mut board, remarks, .. } = self;
        (board.notes, board.doubts) = remarks.into_parts();
        board.pads.shrink();
        board.tracks.shrink();
        board.vias.shrink();
        board.fills.shrink();
        board.graphics.shrink();
        Ok(board)
    }
}

fn empty_board(source: &Arc<SourceFile>) -> Board {
    Board {
        name: String::new(),
        source: Arc::clone(source),
        version: None,
        revision: String::new(),
        layers: super::CopperLayers::default(),
        thickness: None,
        stackup: None,
        nets: Nets::new(),
        classes: Vec::new(),
        footprints: Table::new(),
        pads: Table::new(),
        tracks: Table::new(),
        vias: Table::new(),
        zones: Table::new(),
        fills: Table::new(),
        graphics: Table::new(),
        outline: Vec::new(),
        notes: Vec::new(),
        doubts: Vec::new(),
    }
}
