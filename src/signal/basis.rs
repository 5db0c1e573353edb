//! The stackup that counts, made complete for the solver.

use super::{Lacking, NoBasis};
use crate::board::stackup::DielectricKind;
use crate::board::{Board, CopperLayers, LayerId, Stackup, StackupEntry};
use crate::field::{Dielectric, Dispersion, Frequency, Mask, Metal, Roughness};
use crate::source::Span;
use crate::units::Length;

/// What is assumed beyond the board file.
#[derive(Debug, Clone, PartialEq)]
pub struct Assumptions {
    /// A stackup that the rule set states. It is used whatever the board file has; `stackup-missing` tells where the two
    /// differ. One without entries stands for one that does not fit the board.
    pub stackup: Option<Stackup>,
    /// The frequency at which permittivities and loss tangents hold. 1 GHz if nobody says otherwise: common practice of
    /// laminate data sheets.
    pub frequency: Frequency,
    /// Peak-to-valley roughness Rz of the foils; [`ROUGHNESS`] if `None`.
    pub roughness: Option<Length>,
}

impl Default for Assumptions {
    fn default() -> Self {
        Self { stackup: None, frequency: Frequency::ghz(1.0), roughness: None }
    }
}

/// Whose stackup it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BasisOrigin {
    /// The board file's.
    Board,
    /// The board file's, which looks as if nobody had entered it: used, and to be said wherever its numbers are.
    Placeholder,
    /// The rule set's.
    RuleSet,
}

/// The stackup that counts. Every value is there; what was assumed is said.
#[derive(Debug, Clone, PartialEq)]
pub struct Basis {
    /// Whose it is.
    pub origin: BasisOrigin,
    /// Copper layers from the top.
    pub foils: Vec<Foil>,
    /// The sheets between each foil and the next, from the top; one entry fewer than foils.
    pub gaps: Vec<Vec<Sheet>>,
    /// Mask on the top.
    pub top: Coat,
    /// Mask on the bottom.
    pub bottom: Coat,
    /// Frequency at which the dielectrics' values hold.
    pub frequency: Frequency,
    /// Peak-to-valley roughness of the foils.
    pub roughness: Length,
    /// The roughness was assumed, not stated.
    pub roughness_assumed: bool,
}

/// A copper layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foil {
    /// Thickness.
    pub thickness: Length,
    /// The narrow side of its traces faces the top of the board. Etching leaves a trace widest on the sheet it was
    /// etched on.
    pub narrow_up: bool,
    /// What fills the space beside its traces: the sheet pressed over them. On an outer layer nothing does.
    pub fill: Option<Sheet>,
}

/// A dielectric sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// Thickness after pressing.
    pub thickness: Length,
    /// Permittivity and loss tangent (0 where none is stated).
    pub dielectric: Dielectric,
    /// Whether the loss tangent is stated.
    pub lossy: bool,
}

/// Solder mask of one side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coat {
    /// Its thicknesses and material.
    pub mask: Mask,
    /// How it is known.
    pub origin: CoatOrigin,
}

/// How a mask is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CoatOrigin {
    /// The stackup states thickness and permittivity.
    Stated,
    /// The stackup names a mask; a value it does not state is common practice.
    Completed,
    /// The stackup names none; one as common practice has it is assumed.
    Assumed,
}

/// Roughness of foils where none is stated. Common practice, no source: standard foil is 4 to 8 µm on its treated side.
pub const ROUGHNESS: Length = Length::nm(5_000.0);
/// The narrow side of a trace is narrower by this many foil thicknesses, both flanks together. Common practice: half to
/// once the thickness on outer layers.
pub const ETCH: f64 = 1.0;
/// Mask over laminate, over and beside copper, and its material, where nothing is stated. A fabricator's stackup page;
/// the loss tangent from memory.
pub const MASK: Mask = Mask {
    on_board: Length::nm(20_000.0),
    over_copper: Length::nm(12_000.0),
    beside_copper: Length::nm(12_000.0),
    dielectric: Dielectric::new(3.8, 0.025),
};

impl Basis {
    /// The stackup that counts for a board.
    ///
    /// # Errors
    /// What is missing.
    pub fn new(board: &Board, assumptions: &Assumptions) -> Result<Self, NoBasis> {
        if let Some(stated) = &assumptions.stackup {
            return Self::of(&board.layers, stated, BasisOrigin::RuleSet, assumptions);
        }
        let own = board.stackup.as_ref().ok_or(NoBasis::Missing)?;
        let made_up = own.looks_like_placeholder();
        let origin = if made_up { BasisOrigin::Placeholder } else { BasisOrigin::Board };
        Self::of(&board.layers, own, origin, assumptions)
    }

    /// A stackup of these copper layers.
    ///
    /// # Errors
    /// What is missing.
    pub fn of(
        layers: &CopperLayers,
        stackup: &Stackup,
        origin: BasisOrigin,
        assumptions: &Assumptions,
    ) -> Result<Self, NoBasis> {
        complete(layers, stackup, origin, assumptions)
    }

    /// A copper layer.
    #[must_use]
    pub fn foil(&self, layer: LayerId) -> Option<&Foil> {
        self.foils.get(usize::from(layer.0))
    }

    /// The sheets between a layer and the one below it.
    #[must_use]
    pub fn below(&self, layer: LayerId) -> &[Sheet] {
        self.gaps.get(usize::from(layer.0)).map_or(&[], Vec::as_slice)
    }

    /// Clear height between the facing sides of two layers, foils between them included.
    #[must_use]
    pub fn clear(&self, one: LayerId, other: LayerId) -> Length {
        let (upper, lower) = (one.min(other), one.max(other));
        let sheets: Length =
            (upper.0..lower.0).flat_map(|layer| self.below(LayerId(layer))).map(|sheet| sheet.thickness).sum();
        let foils: Length =
            (upper.0.saturating_add(1)..lower.0).filter_map(|layer| Some(self.foil(LayerId(layer))?.thickness)).sum();
        sheets + foils
    }

    /// Height between the middles of two foils: what a barrel adds to a way.
    #[must_use]
    pub fn height(&self, one: LayerId, other: LayerId) -> Length {
        let thickness = |layer| self.foil(layer).map_or(Length::ZERO, |foil| foil.thickness);
        if one == other { Length::ZERO } else { self.clear(one, other) + (thickness(one) + thickness(other)) / 2.0 }
    }

    /// Copper and its roughness.
    #[must_use]
    pub const fn metal(&self) -> Metal {
        Metal::copper(Roughness::Cannonball(self.roughness))
    }

    /// How the dielectrics change with frequency.
    #[must_use]
    pub const fn dispersion(&self) -> Dispersion {
        Dispersion::Debye(self.frequency)
    }
}

fn complete(
    layers: &CopperLayers,
    stackup: &Stackup,
    origin: BasisOrigin,
    assumptions: &Assumptions,
) -> Result<Basis, NoBasis> {
    let lacking = |what, span| NoBasis::Incomplete { what, span };
    let mut foils: Vec<(Length, Span)> = Vec::new();
    let mut gaps: Vec<Vec<(Sheet, DielectricKind)>> = Vec::new();
    let mut masks: [Option<Coat>; 2] = [None, None];
    let coppers = stackup.entries.iter().filter_map(StackupEntry::copper);
    if !coppers.eq(layers.ids()) || layers.is_empty() {
        return Err(lacking(Lacking::Foil, stackup.span));
    }
    for entry in &stackup.entries {
        match entry {
            StackupEntry::Copper { thickness, span, .. } => {
                if !foils.is_empty() && gaps.last().is_none_or(Vec::is_empty) {
                    return Err(lacking(Lacking::Sheet, *span));
                }
                let thickness = thickness.ok_or_else(|| lacking(Lacking::FoilThickness, *span))?;
                sensible(thickness, 1.0, *span)?;
                foils.push((thickness, *span));
                gaps.push(Vec::new());
            }
            StackupEntry::Dielectric {
                kind: DielectricKind::Mask,
                thickness,
                permittivity,
                loss_tangent,
                span,
                ..
            } => {
                let coat = coat(*thickness, *permittivity, *loss_tangent);
                sensible(coat.mask.over_copper, coat.mask.dielectric.permittivity, *span)?;
                if let Some(slot) = masks.get_mut(usize::from(!foils.is_empty())) {
                    *slot = Some(coat);
                }
            }
            StackupEntry::Dielectric { kind, thickness, permittivity, loss_tangent, span, .. } => {
                // A sheet outside all copper carries no field that matters here.
                let Some(gap) = gaps.last_mut() else { continue };
                let thickness = thickness.ok_or_else(|| lacking(Lacking::SheetThickness, *span))?;
                let permittivity = permittivity.ok_or_else(|| lacking(Lacking::Permittivity, *span))?;
                sensible(thickness, permittivity, *span)?;
                let dielectric = Dielectric::new(permittivity, loss_tangent.unwrap_or(0.0));
                gap.push((Sheet { thickness, dielectric, lossy: loss_tangent.is_some() }, *kind));
            }
        }
    }
    gaps.truncate(foils.len().saturating_sub(1));
    let assumed = Coat { mask: MASK, origin: CoatOrigin::Assumed };
    let [top, bottom] = masks.map(|coat| coat.unwrap_or(assumed));
    Ok(Basis {
        origin,
        foils: (0..foils.len()).filter_map(|at| Some(foil(at, foils.get(at)?.0, foils.len(), &gaps))).collect(),
        gaps: gaps.into_iter().map(|gap| gap.into_iter().map(|(sheet, _)| sheet).collect()).collect(),
        top,
        bottom,
        frequency: assumptions.frequency,
        roughness: assumptions.roughness.unwrap_or(ROUGHNESS),
        roughness_assumed: assumptions.roughness.is_none(),
    })
}

/// Which way a foil's traces are narrow, and what fills the space beside them. They stand on the core they were etched
/// on, and the prepreg of the other side is pressed over them. Between two cores or two prepregs the outer sheet is
/// pressed on last.
fn foil(at: usize, thickness: Length, count: usize, gaps: &[Vec<(Sheet, DielectricKind)>]) -> Foil {
    let above = at.checked_sub(1).and_then(|above| gaps.get(above)?.last());
    let below = gaps.get(at).and_then(|gap| gap.first());
    let (narrow_up, fill) = match (above, below) {
        (None, _) => (true, None),
        (_, None) => (false, None),
        (Some((upper, upper_kind)), Some((lower, lower_kind))) => {
            let up = if upper_kind == lower_kind { 2 * at < count } else { *lower_kind == DielectricKind::Core };
            (up, Some(if up { *upper } else { *lower }))
        }
    };
    Foil { thickness, narrow_up, fill }
}

fn coat(thickness: Option<Length>, permittivity: Option<f64>, loss_tangent: Option<f64>) -> Coat {
    let origin = if thickness.is_some() && permittivity.is_some() { CoatOrigin::Stated } else { CoatOrigin::Completed };
    let dielectric = Dielectric::new(
        permittivity.unwrap_or(MASK.dielectric.permittivity),
        loss_tangent.unwrap_or(MASK.dielectric.loss_tangent),
    );
    // One stated figure is the thickness everywhere.
    let mask = thickness.map_or(Mask { dielectric, ..MASK }, |thickness| Mask {
        on_board: thickness,
        over_copper: thickness,
        beside_copper: thickness,
        dielectric,
    });
    Coat { mask, origin }
}

/// Refuses what can't be.
fn sensible(thickness: Length, permittivity: f64, span: Span) -> Result<(), NoBasis> {
    let good = thickness.to_nm() > 0.0 && thickness.to_nm().is_finite() && (1.0..=100.0).contains(&permittivity);
    if good { Ok(()) } else { Err(NoBasis::Incomplete { what: Lacking::Sense, span }) }
}
