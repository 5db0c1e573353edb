//! A profile as comma-separated values (RFC 4180): a line per piece, mark, sample of the running skew and sample of the
//! reflection, told apart by the first column. Lengths in mm; positions along the leg of the line, barrels counted as zero.
//! What is not known is empty, and `not_known` says why.

use super::csv::{place, quoted, thousandth};
use super::electric::ohm_value;
use super::profiled::Profiled;
use crate::field::{Impedance, Time};
use crate::measure::{Echo, Mark, MarkKind, ProfilePiece, SkewPoint, Whole};
use crate::signal::{Plane, Role};
use crate::units::{Length, decimal};

/// Columns. Further ones are only ever added at the end.
const COLUMNS: &[&str] = &[
    "kind",
    "leg",
    "from_mm",
    "to_mm",
    "n_from_mm",
    "n_to_mm",
    "layer",
    "x_mm",
    "y_mm",
    "to_x_mm",
    "to_y_mm",
    "width_mm",
    "n_width_mm",
    "gap_from_mm",
    "gap_to_mm",
    "plane_above",
    "above_mm",
    "plane_below",
    "below_mm",
    "ohm",
    "time_ps",
    "skew_ps",
    "reflected",
    "what",
    "not_known",
];

type Cells = Vec<(&'static str, String)>;

/// The report.
#[must_use]
pub fn profile_csv(profiled: &Profiled<'_>) -> String {
    let mut out = COLUMNS.join(",") + "\n";
    let mut line = |cells: &Cells| {
        let cell = |column: &&str| cells.iter().find(|(name, _)| name == column).map_or("", |(_, cell)| cell);
        out.push_str(&COLUMNS.iter().map(|column| quoted(cell(column))).collect::<Vec<_>>().join(","));
        out.push('\n');
    };
    let profile = &profiled.profile;
    profile.pieces.iter().for_each(|found| line(&piece(profiled, found)));
    profile.marks.iter().for_each(|found| line(&mark(profiled, found)));
    let doubt = match &profile.whole {
        Whole::Pair(signal) => signal.peak.as_ref().err().map(ToString::to_string).unwrap_or_default(),
        Whole::Net(_) => String::new(),
    };
    profile.running.iter().for_each(|found| line(&skew(profiled, found, &doubt)));
    match &profile.reflection.samples {
        Ok(samples) => samples.iter().for_each(|found| line(&echo(found))),
        Err(why) => line(&vec![("kind", "reflection".to_owned()), ("not_known", why.to_string())]),
    }
    if let Some((from, why)) = &profile.reflection.until {
        line(&vec![("kind", "reflection".to_owned()), ("time_ps", time(*from)), ("not_known", why.to_string())]);
    }
    out
}

fn mm(length: Length) -> String {
    decimal(length.to_mm(), 6)
}

fn time(time: Time) -> String {
    thousandth(time.to_ps())
}

fn ohms(impedance: Impedance) -> String {
    thousandth(ohm_value(impedance))
}

fn piece(profiled: &Profiled<'_>, piece: &ProfilePiece) -> Cells {
    let legs = match (profiled.profile.is_pair(), piece.mate) {
        (true, Some(_)) => "both",
        _ => profiled.leg(piece.leg),
    };
    let [[x, y], [to_x, to_y]] = piece.at.map(place);
    let mut cells = vec![
        ("kind", "piece".to_owned()),
        ("leg", legs.to_owned()),
        ("from_mm", mm(piece.along[0])),
        ("to_mm", mm(piece.along[1])),
        ("layer", profiled.board.layers.name(piece.layer).to_owned()),
        ("x_mm", x),
        ("y_mm", y),
        ("to_x_mm", to_x),
        ("to_y_mm", to_y),
        ("n_width_mm", piece.mate_width.map(mm).unwrap_or_default()),
        ("what", role(piece.role).to_owned()),
    ];
    if piece.role == Role::Track {
        cells.push(("width_mm", mm(piece.width)));
    }
    if let Some([from, to]) = piece.mate {
        cells.extend([("n_from_mm", mm(from)), ("n_to_mm", mm(to))]);
    }
    if let Some([from, to]) = piece.gap {
        cells.extend([("gap_from_mm", mm(from)), ("gap_to_mm", mm(to))]);
    }
    let plane = |plane: Plane| {
        let part = if plane.partial { " in part" } else { "" };
        format!("{}{part}", profiled.board.layers.name(plane.layer))
    };
    if let Some(above) = piece.above {
        cells.extend([("plane_above", plane(above)), ("above_mm", mm(above.height))]);
    }
    if let Some(below) = piece.below {
        cells.extend([("plane_below", plane(below)), ("below_mm", mm(below.height))]);
    }
    match &piece.impedance {
        Ok(Some(impedance)) => cells.push(("ohm", ohms(*impedance))),
        Ok(None) => cells.push(("not_known", "inside a land, whose impedance is not the track's".to_owned())),
        Err(doubt) => cells.push(("not_known", doubt.to_string())),
    }
    cells
}

const fn role(role: Role) -> &'static str {
    match role {
        Role::Track => "track",
        Role::Land => "land",
        Role::Area => "area",
    }
}

fn mark(profiled: &Profiled<'_>, mark: &Mark) -> Cells {
    let [x, y] = place(mark.at);
    let (kind, ohm, doubt) = match &mark.kind {
        MarkKind::Pad { .. } => ("pad", None, None),
        MarkKind::Neck { .. } => ("neck", None, None),
        MarkKind::Barrel { line, .. } => {
            ("barrel", line.as_ref().ok().map(|line| ohms(line.0)), line.as_ref().err().map(ToString::to_string))
        }
    };
    let (from, to) = match &mark.kind {
        MarkKind::Neck { from, length, .. } => (*from, *from + *length),
        _ => (mark.along, mark.along),
    };
    vec![
        ("kind", kind.to_owned()),
        ("leg", profiled.leg(mark.leg).to_owned()),
        ("from_mm", mm(from)),
        ("to_mm", mm(to)),
        ("layer", profiled.board.layers.name(mark.layer).to_owned()),
        ("x_mm", x),
        ("y_mm", y),
        ("ohm", ohm.unwrap_or_default()),
        ("time_ps", mark.delay.map(time).unwrap_or_default()),
        ("what", profiled.mark(mark)),
        ("not_known", doubt.unwrap_or_default()),
    ]
}

fn skew(profiled: &Profiled<'_>, point: &SkewPoint, doubt: &str) -> Cells {
    let sample = &point.sample;
    let [x, y] = place(sample.at);
    let unknown = if sample.value.is_none() { doubt } else { "" };
    vec![
        ("kind", "skew".to_owned()),
        ("leg", "both".to_owned()),
        ("from_mm", mm(sample.p)),
        ("to_mm", mm(sample.p)),
        ("n_from_mm", mm(sample.n)),
        ("n_to_mm", mm(sample.n)),
        ("layer", profiled.board.layers.name(sample.layer).to_owned()),
        ("x_mm", x),
        ("y_mm", y),
        ("skew_ps", sample.value.map(time).unwrap_or_default()),
        ("not_known", unknown.to_owned()),
    ]
}

fn echo(echo: &Echo) -> Cells {
    vec![
        ("kind", "reflection".to_owned()),
        ("time_ps", time(echo.time)),
        ("ohm", ohms(echo.apparent)),
        ("reflected", decimal(echo.reflected, 6)),
    ]
}
