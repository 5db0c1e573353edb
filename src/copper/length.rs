//! The length rule: what counts, apart.

use super::height;
use super::route::{Step, StepKind};
use crate::board::{LayerId, PadId, Stackup};
use crate::units::Length;
use std::collections::BTreeMap;

/// The words of [`LENGTH_RULE`] as a literal, for doc comments.
#[macro_export]
macro_rules! length_rule {
    () => {
        "\
The length of a route is the centre-line length of its tracks and arcs; copper drawn twice counts once. Inside a \
terminal pad it is the straight line from where the centre line last crosses the pad's outline to the pad's anchor. A \
via, or a plated hole on the way, adds the height of its barrel between the middles of the copper layers it is used \
on; without a stackup that height is unknown, and only routes with the same barrels compare. A plated hole at an end \
of the route adds no barrel. Ends that miss a centre line but lie in its copper are joined by a straight line; so are \
the contacts of a fill or of graphic copper. A length that a terminal pad declares inside its package is added. Of \
several ways the shortest counts, and track comes before fill; a second way is named."
    };
}

/// The length rule in words, for reports and explain pages.
pub const LENGTH_RULE: &str = crate::length_rule!();

/// A route's length by contribution. The sum is the routed length.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Contributions {
    /// Straight tracks, centre line.
    pub tracks: Length,
    /// Arc tracks, centre line.
    pub arcs: Length,
    /// Straight lines inside terminal pads, from where the centre line last crosses the outline to the anchor.
    pub pads: Length,
    /// Straight lines that join ends which miss a centre line but lie in its copper: inside vias, pads on the way,
    /// touching tracks.
    pub joins: Length,
    /// Straight lines through fills and graphic copper: the true way of the current is longer and wider.
    pub fills: Length,
    /// Lengths that the terminal pads declare inside their packages.
    pub package: Length,
    /// Barrels used, by the layers each joins (upper, lower), in walking order.
    pub barrels: Vec<(LayerId, LayerId)>,
    /// Sum of the barrels used; `None` if their heights are not known (no stackup).
    pub vias: Option<Length>,
}

impl Contributions {
    /// All but the barrels.
    #[must_use]
    pub fn planar(&self) -> Length {
        self.tracks + self.arcs + self.pads + self.joins + self.fills + self.package
    }

    /// The routed length; `None` if a barrel's height is unknown.
    #[must_use]
    pub fn total(&self) -> Option<Length> {
        self.vias.map(|vias| self.planar() + vias)
    }

    /// How much longer this is than another. Barrels between the same layers cancel, so this may be known where the
    /// totals are not.
    #[must_use]
    pub fn longer_than(&self, other: &Self) -> Option<Length> {
        if let (Some(one), Some(two)) = (self.total(), other.total()) {
            return Some(one - two);
        }
        (self.spans() == other.spans()).then(|| self.planar() - other.planar())
    }

    /// How often each barrel span occurs.
    fn spans(&self) -> BTreeMap<(LayerId, LayerId), u32> {
        let mut spans = BTreeMap::new();
        for &span in &self.barrels {
            *spans.entry(span).or_default() += 1;
        }
        spans
    }
}

/// Adds up the steps of a route.
pub(super) fn contributions(
    steps: &[(Step, bool)],
    stackup: Option<&Stackup>,
    ends: (PadId, PadId),
    package: Length,
) -> Contributions {
    let mut sum = Contributions { package, vias: Some(Length::ZERO), ..Contributions::default() };
    for (step, straight) in steps {
        if step.layer != step.to_layer {
            let span = (step.layer.min(step.to_layer), step.layer.max(step.to_layer));
            sum.barrels.push(span);
            let height = height::between(stackup, span.0, span.1).map(Length::nm);
            sum.vias = sum.vias.zip(height).map(|(vias, height)| vias + height);
            continue;
        }
        let share = match step.kind {
            StepKind::Track(_) if *straight => &mut sum.joins,
            StepKind::Track(_) if matches!(step.path, crate::geometry::Path::Arc(_)) => &mut sum.arcs,
            StepKind::Track(_) => &mut sum.tracks,
            StepKind::Pad(pad) if pad == ends.0 || pad == ends.1 => &mut sum.pads,
            StepKind::Pad(_) | StepKind::Via(_) | StepKind::Hole(_) => &mut sum.joins,
            StepKind::Fill(_) | StepKind::Graphic(_) => &mut sum.fills,
        };
        *share += step.length;
    }
    sum
}
