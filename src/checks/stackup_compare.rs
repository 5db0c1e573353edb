//! Two stackups of one board held against each other: the file's and the rule set's.

use super::Message;
use crate::board::{LayerId, Stackup, StackupEntry};
use crate::source::Span;
use crate::units::{Length, Quantity};

/// Thicknesses that differ by less are the same sheet, rounded.
const SAME_THICKNESS: Length = Length::nm(1_000.0);
/// Permittivities that differ by a smaller share are the same. Chosen: laminates are not held closer.
const SAME_PERMITTIVITY: f64 = 0.01;

/// Where two stackups differ.
pub(super) struct Difference {
    /// The layer, or the two that the difference lies between.
    pub layers: (LayerId, Option<LayerId>),
    /// The place in the file of the first stackup.
    pub span: Span,
    /// What differs, with `own` and `stated`, or `by`.
    pub message: Message,
}

/// Where the board's `own` stackup differs from a `stated` one of the same copper layers, from the top. What either
/// leaves out differs in nothing.
pub(super) fn differences(own: &Stackup, stated: &Stackup) -> Vec<Difference> {
    let mut found = Vec::new();
    let mut above: Option<LayerId> = None;
    for entry in &own.entries {
        let StackupEntry::Copper { layer, thickness, span } = entry else { continue };
        if let Some(upper) = above
            && let (Some(ours), Some(theirs)) = (Gap::of(own, upper, *layer), Gap::of(stated, upper, *layer))
        {
            let span = own.between(upper, *layer).and_then(|sheets| sheets.first()).map_or(*span, entry_span);
            found.extend(ours.against(theirs).map(|message| Difference {
                layers: (upper, Some(*layer)),
                span,
                message,
            }));
        }
        if let (Some(ours), Some(theirs)) = (thickness, stated.foil(*layer))
            && (*ours - theirs).abs() > SAME_THICKNESS
        {
            let message =
                Message::new("{layer} is {own} thick in the board file and {stated} in the rule set, at {at}")
                    .with("own", *ours)
                    .with("stated", theirs);
            found.push(Difference { layers: (*layer, None), span: *span, message });
        }
        above = Some(*layer);
    }
    found
}

const fn entry_span(entry: &StackupEntry) -> Span {
    match entry {
        StackupEntry::Copper { span, .. } | StackupEntry::Dielectric { span, .. } => *span,
    }
}

/// The dielectric between two neighbouring foils.
struct Gap {
    height: Length,
    /// That of one sheet as good as all of them for a plate capacitor.
    permittivity: Option<f64>,
}

impl Gap {
    fn of(stackup: &Stackup, upper: LayerId, lower: LayerId) -> Option<Self> {
        let height = stackup.height(upper, lower)?;
        let shares = stackup.between(upper, lower)?.iter().map(|entry| match entry {
            StackupEntry::Dielectric { thickness: Some(thickness), permittivity: Some(permittivity), .. } => {
                Some(thickness.to_nm() / permittivity)
            }
            _ => None,
        });
        let permittivity =
            shares.sum::<Option<f64>>().map(|sum| height.to_nm() / sum).filter(|value| value.is_finite());
        Some(Self { height, permittivity })
    }

    fn against(&self, other: Self) -> Option<Message> {
        if (self.height - other.height).abs() > SAME_THICKNESS {
            return Some(
                Message::new(
                    "between {layer} and {lower} the board file has {own} of dielectric and the rule set {stated}, at \
                     {at}",
                )
                .with("own", self.height)
                .with("stated", other.height),
            );
        }
        let by = self.permittivity? / other.permittivity? - 1.0;
        (by.abs() > SAME_PERMITTIVITY).then(|| {
            Message::new(if by > 0.0 {
                "between {layer} and {lower} the board file's permittivity is {by} above the rule set's, at {at}"
            } else {
                "between {layer} and {lower} the board file's permittivity is {by} below the rule set's, at {at}"
            })
            .with("by", Quantity::Ratio(by.abs()))
        })
    }
}
