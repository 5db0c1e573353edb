//! Which planes accompany a route, and for how long it goes without.

use crate::board::{LayerId, NetId};
use crate::checks::Facts;
use crate::copper::Route;
use crate::copper::reference::PlaneSide;
use crate::units::Length;
use std::collections::{BTreeMap, BTreeSet};

/// What accompanies the part of a route, or of both legs of a pair, on one layer.
#[derive(Debug, Clone, PartialEq)]
pub struct ReferenceRow {
    /// Layer of the route.
    pub layer: LayerId,
    /// Layer of the plane above or below; `None` if there is none on either side.
    pub plane: Option<LayerId>,
    /// Nets of the plane, in order of name.
    pub nets: Vec<String>,
    /// Length without the plane, both legs together; the whole length if there is no plane.
    pub bare: Length,
    /// The longest stretch of it.
    pub longest: Length,
    /// Zones without a fill, or filled with a mesh, may cover it in truth.
    pub doubtful: bool,
}

/// The reference of some routes that belong together; copper of `own` nets is no plane.
pub(super) fn rows(facts: &Facts<'_>, routes: &[&Route], own: &[NetId]) -> Vec<ReferenceRow> {
    let mut found: BTreeMap<(LayerId, Option<LayerId>), Found<'_>> = BTreeMap::new();
    for route in routes {
        for part in facts.copper.reference(route, own, Length::ZERO) {
            let sides: Vec<&PlaneSide> = part.above.iter().chain(&part.below).collect();
            if sides.is_empty() {
                let row = found.entry((part.layer, None)).or_default();
                row.add(part.length);
                row.doubtful |= part.doubt.is_some();
            }
            for side in sides {
                let row = found.entry((side.layer, Some(side.plane))).or_default();
                row.nets.extend(side.nets.iter().map(|(net, _)| facts.board.nets.name(*net)));
                row.doubtful |= side.doubt.is_some();
                side.uncovered.iter().for_each(|stretch| row.add(stretch.length()));
            }
        }
    }
    let row = |((layer, plane), found): ((LayerId, Option<LayerId>), Found<'_>)| ReferenceRow {
        layer,
        plane,
        nets: found.nets.into_iter().map(str::to_owned).collect(),
        bare: found.bare,
        longest: found.longest,
        doubtful: found.doubtful,
    };
    found.into_iter().map(row).collect()
}

/// A row being gathered.
#[derive(Default)]
struct Found<'n> {
    nets: BTreeSet<&'n str>,
    bare: Length,
    longest: Length,
    doubtful: bool,
}

impl Found<'_> {
    fn add(&mut self, bare: Length) {
        self.bare += bare;
        if self.longest.total_cmp(&bare).is_lt() {
            self.longest = bare;
        }
    }
}
