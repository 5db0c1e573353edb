//! Figures of the board and of footprints: copper and board edge. All others are skipped.

use super::Reading;
use super::drawing::Drawing;
use super::frame::Frame;
use crate::board::graphic::OutlinePiece;
use crate::board::{FootprintId, Graphic, NetId};
use crate::source::{Read, Word};

impl<'a> Reading<'a> {
    pub(super) fn board_drawing(&mut self, head: Word<'a>) -> Read<()> {
        let drawing = self.drawing(head)?;
        self.put_drawing(&drawing, &Frame::BOARD, None)
    }

    /// Puts a figure where it belongs: copper, outline, or nowhere.
    pub(super) fn put_drawing(
        &mut self,
        drawing: &Drawing<'a>,
        frame: &Frame,
        footprint: Option<FootprintId>,
    ) -> Read<()> {
        let placed = &drawing.placed;
        if !placed.named {
            return Err(self.lacks(drawing.head, "layer", "(layer NAME)"));
        }
        self.doubt_unknown_layer(drawing.head.text, placed);
        if placed.edge {
            let span = drawing.head.span();
            let lines = self.centre_lines(drawing, frame)?;
            self.board.outline.extend(lines.into_iter().map(|path| OutlinePiece { path, span }));
        }
        if placed.copper.is_empty() {
            return Ok(());
        }
        self.doubt_unknown("figure", &drawing.unknown, placed.copper);
        if drawing.hatched {
            let message = "a hatched figure on copper; it is taken as solid";
            self.remarks.doubt(drawing.head.span(), placed.copper, message);
        }
        let shapes = self.covered(drawing, frame, false)?;
        for layer in placed.copper.iter() {
            self.board.graphics.push(Graphic {
                shapes: shapes.clone(),
                layer,
                net: drawing.net.unwrap_or(NetId::none()),
                footprint,
                text: false,
                span: drawing.head.span(),
            });
        }
        Ok(())
    }
}
