//! `net_class` nodes of boards up to 2020.

use super::Reading;
use super::header::nanometres;
use crate::board::NetClass;
use crate::source::{Item, Read};

impl Reading<'_> {
    /// `(net_class NAME "text" (clearance C) (trace_width W) … (add_net N) …)`.
    pub(super) fn net_class(&mut self) -> Read<()> {
        self.numbers.expect_names();
        let name = self.cursor.word("a net class name")?;
        let mut class =
            NetClass { name: name.value().into_owned(), file: self.source.name().to_owned(), ..NetClass::default() };
        while let Some(item) = self.cursor.next()? {
            let Item::Node(head) = item else { continue };
            let field = match head.text {
                "clearance" => &mut class.clearance,
                "trace_width" => &mut class.track_width,
                "via_dia" => &mut class.via_diameter,
                "via_drill" => &mut class.via_drill,
                "uvia_dia" => &mut class.microvia_diameter,
                "uvia_drill" => &mut class.microvia_drill,
                "diff_pair_width" => &mut class.pair_width,
                "diff_pair_gap" => &mut class.pair_gap,
                "add_net" => {
                    let net = self.cursor.only_word("a net name")?;
                    match self.board.nets.find(&net.value()) {
                        // The unconnected net is listed too.
                        Some(id) if !id.is_some() => {}
                        Some(id) => class.nets.push(id),
                        None => {
                            let message = format!("net class `{}` names a net that the board lacks", class.name);
                            self.remarks.note(net.span(), message);
                        }
                    }
                    continue;
                }
                _ => {
                    self.unknown_node("net_class", head)?;
                    continue;
                }
            };
            *field = Some(nanometres(self.cursor.only_length("a length in mm")?));
        }
        class.nets.sort_unstable();
        class.nets.dedup();
        self.board.classes.push(class);
        Ok(())
    }
}
