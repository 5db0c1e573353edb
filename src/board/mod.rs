//! The typed model of one board file: what is drawn, where, on which layer, of which net. It judges nothing.

pub mod class;
pub mod footprint;
pub mod graphic;
pub mod layer;
pub mod net;
pub mod note;
pub mod pad;
mod read;
pub mod stackup;
pub mod track;
pub mod via;
pub mod zone;

pub use class::NetClass;
pub use footprint::{Footprint, FootprintId, Side};
pub use graphic::{Graphic, GraphicId, OutlinePiece};
pub use layer::{CopperLayers, LayerId, LayerSet};
pub use net::{Net, NetId, Nets};
pub use note::{Doubt, Note};
pub use pad::{Drill, Pad, PadId, PadKind};
pub use read::{read, read_project, read_within};
pub use stackup::{Stackup, StackupEntry};
pub use track::{Track, TrackId};
pub use via::{Via, ViaId};
pub use zone::{Fill, FillConnection, FillId, Zone, ZoneId, ZoneKind};

use crate::source::SourceFile;
use crate::table::Table;
use crate::units::Length;
use std::sync::Arc;

/// One board as its file states it.
#[derive(Debug)]
pub struct Board {
    /// Name of the board: the file's stem, or the name an assembly gives it.
    pub name: String,
    /// The file's text; every span of the model points into it.
    pub source: Arc<SourceFile>,
    /// The format version number as written; `None` if the file has none.
    pub version: Option<u64>,
    /// `title_block/rev`, empty if absent.
    pub revision: String,
    /// Copper layers, top to bottom.
    pub layers: CopperLayers,
    /// `general/thickness`, if stated.
    pub thickness: Option<Length>,
    /// The stackup, if the file has one.
    pub stackup: Option<Stackup>,
    /// Nets; row 0 is the unconnected net with an empty name.
    pub nets: Nets,
    /// Net classes of the board file or its project file.
    pub classes: Vec<NetClass>,
    /// Footprints in file order.
    pub footprints: Table<FootprintId, Footprint>,
    /// Pads in file order, over all footprints.
    pub pads: Table<PadId, Pad>,
    /// Straight and arc tracks on copper, in file order.
    pub tracks: Table<TrackId, Track>,
    /// Vias in file order.
    pub vias: Table<ViaId, Via>,
    /// Zones in file order: pours, teardrops and rule areas.
    pub zones: Table<ZoneId, Zone>,
    /// Filled polygons and pen strokes of zones on copper.
    pub fills: Table<FillId, Fill>,
    /// Graphic copper of the board and of footprints.
    pub graphics: Table<GraphicId, Graphic>,
    /// Pieces of the board outline, board frame.
    pub outline: Vec<OutlinePiece>,
    /// What the reader wants a person to know: unknown nodes, rounding, odd values.
    pub notes: Vec<Note>,
    /// Copper that was understood only in part. Nothing that depends on it may pass.
    pub doubts: Vec<Doubt>,
}
