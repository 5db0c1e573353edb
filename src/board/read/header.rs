//! What stands before the items: format version, thickness, title block.

use super::Reading;
use crate::source::{Item, Read, Word};
use crate::units::Length;

/// The newest format version that real boards were seen with.
pub(super) const NEWEST_SEEN: u64 = 20_260_206;

impl<'a> Reading<'a> {
    pub(super) fn version(&mut self, head: Word<'a>) -> Read<()> {
        let word = self.cursor.only_word("a version number")?;
        let Ok(version) = word.text.parse::<u64>() else {
            return Err(self.cursor.fault(
                word.span(),
                "the format version is not a number",
                "expected a version number",
            ));
        };
        if version > NEWEST_SEEN {
            let message = format!("format version {version} is newer than any that this reader was tested with");
            self.remarks.note(head.span(), message);
        }
        // What a fill means depends on the version.
        self.version_late |= !self.board.zones.is_empty() && self.board.version.is_none();
        self.board.version = Some(version);
        Ok(())
    }

    pub(super) fn general(&mut self) -> Read<()> {
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Node(head) if head.text == "thickness" => {
                    let thickness = self.width("a thickness in mm")?;
                    self.board.thickness = Some(nanometres(thickness));
                }
                Item::Node(_) => self.cursor.leave()?,
                Item::Word(_) => {}
            }
        }
        Ok(())
    }

    pub(super) fn title_block(&mut self) -> Read<()> {
        while let Some(item) = self.cursor.next()? {
            match item {
                Item::Node(head) if head.text == "rev" => {
                    self.board.revision = self.cursor.only_word("a revision")?.value().into_owned();
                }
                Item::Node(_) => self.cursor.leave()?,
                Item::Word(_) => {}
            }
        }
        Ok(())
    }
}

/// Grid to length.
pub(super) const fn nanometres(value: i64) -> Length {
    Length::nm(crate::geometry::to_f64(value))
}
