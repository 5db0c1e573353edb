//! `throughline width`: what to draw for a wanted impedance.

use super::arguments::{Global, WidthArguments};
use super::outcome::Exit;
use super::output::{self, Format, Streams, deliver};
use super::trouble::Troubles;
use super::width_input::{Source, open};
use crate::board::{CopperLayers, LayerId};
use crate::checks::stackup_stated::find;
use crate::field::{Frequency, Impedance};
use crate::nearest::nearest;
use crate::report::{self, PlaneOf, Rate, Widths};
use crate::source::excerpt::{Gravity, Notice};
use crate::units::{Length, Quantity};
use crate::width::{Fixed, Planes, Unmet, Wanted, choices};

/// Reports of this command, the default first.
const FORMATS: &[Format] = &[Format::Text, Format::Csv, Format::Json];
/// Gaps to choose from, if none is named: usual ones, from the fab's least on.
const GAPS: [f64; 10] = [0.075, 0.1, 0.125, 0.15, 0.175, 0.2, 0.25, 0.3, 0.4, 0.5];
/// How many of them.
const CHOICES: usize = 7;
/// A layer of which at least this share is poured is taken for a plane.
const PLANE: f64 = 0.3;

/// Runs the command.
pub fn run(arguments: &WidthArguments, global: &Global, streams: &Streams) -> Result<Exit, Troubles> {
    let reports = global.reports(FORMATS).map_err(|fact| Troubles::plain(fact, None))?;
    let source = open(&arguments.on, global)?;
    let layer = named(&source.layers, &arguments.layer)?;
    let planes = planes(arguments, &source, layer)?;
    let rate = rate(arguments, &source);
    let wanted = Wanted {
        layer,
        planes,
        target: Impedance::ohms(arguments.target.value.base()),
        fixed: fixed(arguments)?,
        least_width: arguments.least_width,
        least_gap: arguments.least_gap,
        etch: arguments.etch,
        frequency: rate.as_ref().map(|rate| Frequency::hertz(rate.value.base() / 2.0)),
    };
    let widths = Widths {
        source: source.line.clone(),
        rules: source.rules.clone(),
        stackup: source.stackup.clone(),
        layers: &source.layers,
        basis: &source.basis,
        planes: [planes.above, planes.below].map(|plane| {
            plane.map(|layer| PlaneOf { layer, poured: source.copper.as_ref().map(|poured| poured(layer)) })
        }),
        target: arguments.target,
        rate,
        choices: choices(&source.basis, &wanted),
        wanted,
    };
    if source.basis.origin == crate::signal::BasisOrigin::Placeholder {
        let notice = Notice {
            gravity: Gravity::Warning,
            text: report::MADE_UP.to_owned(),
            excerpt: None,
            help: Some("state what the fab will build in the rule file: `[stackup]`".to_owned()),
        };
        output::complain(&notice.render(&streams.complaints()));
    }
    deliver(&reports, streams, |format, look| match format {
        Format::Csv => report::width_csv(&widths),
        Format::Json => report::width_json(&widths),
        _ => report::width_text(&widths, look),
    })?;
    Ok(exit(&widths))
}

/// Clean if there is something to draw, a finding if nothing meets the target, not judged if the solver could not tell.
fn exit(widths: &Widths<'_>) -> Exit {
    let unsolved = |unmet: &Unmet| matches!(unmet, Unmet::Unsolved(_));
    let lines = || widths.choices.iter().map(|choice| choice.line.as_ref());
    if lines().any(|line| line.is_ok()) {
        Exit::Clean
    } else if lines().any(|line| line.is_err_and(unsolved)) {
        Exit::NotJudged
    } else {
        Exit::Findings
    }
}

fn fixed(arguments: &WidthArguments) -> Result<Fixed, Troubles> {
    if arguments.single {
        if !arguments.gap.is_empty() {
            return Err(Troubles::plain(
                "a single line has no gap",
                Some("leave out `--gap` or `--single`".to_owned()),
            ));
        }
        return Ok(arguments.width.map_or(Fixed::Single, Fixed::SingleWidth));
    }
    let gaps = arguments.gap.clone();
    Ok(match (arguments.width, gaps.is_empty()) {
        (None, true) => Fixed::Gaps(usual_gaps(arguments.least_gap)),
        (None, false) => Fixed::Gaps(gaps),
        (Some(width), true) => Fixed::Width(width),
        (Some(width), false) => Fixed::Both(width, gaps),
    })
}

/// The least gap and usual ones above it.
fn usual_gaps(least: Length) -> Vec<Length> {
    let wider = GAPS.map(Length::mm).into_iter().filter(|gap| !gap.within(least));
    let mut gaps: Vec<Length> = std::iter::once(least).chain(wider).take(CHOICES).collect();
    if gaps.len() == 1 {
        gaps.extend([1.5, 2.0, 3.0].map(|times| least * times));
    }
    gaps
}

/// The copper layer of a name.
fn named(layers: &CopperLayers, name: &str) -> Result<LayerId, Troubles> {
    find(layers, name).ok_or_else(|| {
        let names: Vec<&str> = layers.ids().map(|id| layers.name(id)).collect();
        let help = nearest(name, names.iter().copied()).map_or_else(
            || format!("copper layers are {}", names.join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        Troubles::plain(format!("there is no copper layer `{name}`"), Some(help))
    })
}

/// The planes that were named, and the nearest for those that were not.
fn planes(arguments: &WidthArguments, source: &Source, layer: LayerId) -> Result<Planes, Troubles> {
    let above = (0..layer.0).rev().map(LayerId);
    let below = source.layers.ids().skip(usize::from(layer.0) + 1);
    let side = |wanted: &Option<String>, outward, side| {
        plane(source, wanted.as_deref(), outward, (side, source.layers.name(layer)))
    };
    let found = Planes {
        above: side(&arguments.plane_above, above.collect(), "above")?,
        below: side(&arguments.plane_below, below.collect(), "below")?,
    };
    let said = |wanted: &Option<String>| wanted.as_deref() == Some("none");
    if found == Planes::default() && !(said(&arguments.plane_above) && said(&arguments.plane_below)) {
        let fact = format!("no layer above or below `{}` is poured, so it has no plane", source.layers.name(layer));
        let help = "fill the zones and save the board, or name planes with `--plane-above` and `--plane-below`; \
                    `none` twice means that there is none";
        return Err(Troubles::plain(fact, Some(help.to_owned())));
    }
    Ok(found)
}

/// One plane: by its name, or the nearest poured layer outward. Where no board shows what is poured, the next layer.
fn plane(
    source: &Source,
    wanted: Option<&str>,
    outward: Vec<LayerId>,
    (side, of): (&str, &str),
) -> Result<Option<LayerId>, Troubles> {
    match wanted {
        Some("none") => Ok(None),
        Some(name) => {
            let found = named(&source.layers, name)?;
            if outward.contains(&found) {
                return Ok(Some(found));
            }
            let names: Vec<&str> = outward.iter().map(|&id| source.layers.name(id)).collect();
            let help = if names.is_empty() { "none".to_owned() } else { names.join(", ") };
            Err(Troubles::plain(format!("`{name}` does not lie {side} `{of}`"), Some(format!("layers {side}: {help}"))))
        }
        None => Ok(match &source.copper {
            Some(poured) => outward.into_iter().find(|&layer| poured(layer) >= PLANE),
            None => outward.into_iter().next(),
        }),
    }
}

/// The rate that was named, else the one that all groups of the rule set share.
fn rate(arguments: &WidthArguments, source: &Source) -> Option<Rate> {
    if let Some(value) = arguments.rate {
        return Some(Rate { value, origin: None });
    }
    let (first, rest) = source.rates.split_first()?;
    let same = rest.iter().all(|other| other.value == first.value);
    same.then(|| Rate { value: first.value, origin: Some(first.origin.clone()) })
        .filter(|rate| matches!(rate.value, Quantity::Rate(value) if value > 0.0))
}
