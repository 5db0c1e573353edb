//! Tracks: `segment` and `arc`.

use super::Reading;
use super::fields::Unknown;
use super::layers::Placed;
use crate::board::{LayerSet, NetId, Track};
use crate::geometry::{Arc, Path, Point};
use crate::source::{Item, Read, Span, Word};

#[derive(Default)]
struct Draft<'a> {
    start: Option<Point>,
    mid: Option<Point>,
    end: Option<Point>,
    width: Option<i64>,
    placed: Placed,
    net: Option<NetId>,
    uuid: Option<Span>,
    /// Named a second, non-copper layer.
    names: u32,
    unknown: Vec<Unknown<'a>>,
}

impl<'a> Reading<'a> {
    pub(super) fn segment(&mut self, head: Word<'a>) -> Read<()> {
        let draft = self.track_fields(head)?;
        let start = draft.start.ok_or_else(|| self.lacks(head, "start", "(start X Y)"))?;
        let end = draft.end.ok_or_else(|| self.lacks(head, "end", "(end X Y)"))?;
        self.track(head, "segment", Path::Line(start, end), &draft)
    }

    pub(super) fn arc_track(&mut self, head: Word<'a>) -> Read<()> {
        let draft = self.track_fields(head)?;
        let start = draft.start.ok_or_else(|| self.lacks(head, "start", "(start X Y)"))?;
        let mid = draft.mid.ok_or_else(|| self.lacks(head, "mid", "(mid X Y)"))?;
        let end = draft.end.ok_or_else(|| self.lacks(head, "end", "(end X Y)"))?;
        self.track(head, "arc", Path::Arc(Arc { start, mid, end }), &draft)
    }

    fn track_fields(&mut self, _head: Word<'a>) -> Read<Draft<'a>> {
        let mut draft = Draft::default();
        while let Some(item) = self.cursor.next()? {
            let Item::Node(head) = item else { continue };
            match head.text {
                "start" => draft.start = Some(self.point()?),
                "mid" => draft.mid = Some(self.point()?),
                "end" => draft.end = Some(self.point()?),
                "width" => draft.width = Some(self.width("a track width in mm")?),
                "layer" => self.layer_names(head, &mut draft.placed)?,
                "layers" => {
                    draft.names += 1;
                    self.layer_names(head, &mut draft.placed)?;
                }
                "net" => draft.net = Some(self.net(head)?),
                "tstamp" | "uuid" | "id" => draft.uuid = self.id_span()?,
                "status" | "locked" | "solder_mask_margin" => self.cursor.leave()?,
                _ => self.unknown_child(&mut draft.unknown, head)?,
            }
        }
        Ok(draft)
    }

    fn track(&mut self, head: Word<'a>, kind: &'static str, path: Path, draft: &Draft<'a>) -> Read<()> {
        let width = draft.width.ok_or_else(|| self.lacks(head, "width", "(width W)"))?;
        let Some(layer) = self.single_copper(head, &draft.placed)? else { return Ok(()) };
        self.doubt_unknown(kind, &draft.unknown, LayerSet::one(layer));
        self.board.tracks.push(Track {
            path,
            width,
            layer,
            net: draft.net.unwrap_or(NetId::none()),
            bare: draft.names > 0,
            span: head.span(),
            uuid: draft.uuid,
        });
        Ok(())
    }
}
