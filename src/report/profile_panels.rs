//! The panels of a profile's picture: impedance, planes, running skew, reflection.

use super::plot::{Anchor, Frame, Label, Svg, text_width};
use super::profile_key::Gaps;
use super::profiled::Profiled;
use crate::field::{Impedance, Time};
use crate::measure::{ProfilePiece, Whole};
use crate::signal::{Leg, Plane, Role};
use crate::units::Length;

/// The left and right edge of every panel.
pub const SIDES: [f64; 2] = [92.0, 1176.0];
const LENGTHS: Label<'_> = Label { name: "position", unit: "mm" };
const OHMS: Label<'_> = Label { name: "impedance", unit: "ohm" };
/// A piece is drawn at least so wide, in pixels, that it is seen.
const SEEN: f64 = 2.0;
/// Pieces nearer than this are neighbours.
const NEAR: Length = Length::nm(10.0);

/// The impedance along the way.
pub fn impedance(svg: &mut Svg, profiled: &Profiled<'_>, gaps: &mut Gaps, top: f64, bottom: f64) -> Frame {
    let profile = &profiled.profile;
    let known = profile.pieces.iter().filter_map(|piece| piece.impedance.ok().flatten());
    let range = range(known.map(Impedance::to_ohms).chain(band(profiled).into_iter().flatten()));
    let frame = Frame::new([0.0, profile.length.to_mm()], range, SIDES, [top, bottom]);
    frame.grid(svg);
    target(svg, profiled, &frame);
    let mut unknown = runs(&profile.pieces, |piece| piece.impedance.is_err());
    let start = |run: &[&ProfilePiece]| run.first().map_or(Length::ZERO, |piece| piece.axis[0]);
    unknown.sort_by(|a, b| start(a).total_cmp(&start(b)));
    for run in unknown {
        if let (Some(first), Some(last)) = (run.first(), run.last())
            && let Err(doubt) = first.impedance
        {
            gaps.draw(svg, &frame, [first.axis[0].to_mm(), last.axis[1].to_mm()], "mm", &doubt.to_string());
        }
    }
    for piece in profile.pieces.iter().filter(|piece| piece.role == Role::Land) {
        let [[left, _], [right, low]] = frame.column(piece.axis.map(Length::to_mm));
        svg.rect("land", [left, low - 5.0], [right.max(left + 0.6), low], None);
    }
    for run in runs(&profile.pieces, |piece| matches!(piece.impedance, Ok(Some(_)))) {
        curve(svg, profiled, &frame, &run);
    }
    frame.axes(svg, LENGTHS, OHMS);
    gaps.write(svg);
    frame
}

/// Neighbouring pieces of one leg of which something holds, together.
fn runs(pieces: &[ProfilePiece], holds: impl Fn(&ProfilePiece) -> bool) -> Vec<Vec<&ProfilePiece>> {
    let mut found: Vec<Vec<&ProfilePiece>> = Vec::new();
    for leg in [Leg::P, Leg::N] {
        let mut open = false;
        for piece in pieces.iter().filter(|piece| piece.leg == leg) {
            if !holds(piece) {
                open = false;
                continue;
            }
            match found.last_mut().filter(|_| open) {
                Some(run)
                    if run.last().is_some_and(|last| {
                        piece.axis[0] <= last.axis[1] + NEAR && last.impedance.err() == piece.impedance.err()
                    }) =>
                {
                    run.push(piece);
                }
                _ => found.push(vec![piece]),
            }
            open = true;
        }
    }
    found
}

/// A stretch of neighbouring pieces as steps: a level for each, thin lines between them.
fn curve(svg: &mut Svg, profiled: &Profiled<'_>, frame: &Frame, run: &[&ProfilePiece]) {
    let mut before: Option<[f64; 2]> = None;
    for piece in run {
        let Ok(Some(impedance)) = piece.impedance else { continue };
        let y = frame.y.at(impedance.to_ohms());
        let [from, to] = piece.axis.map(|at| frame.x.within(at.to_mm()));
        if let Some(before) = before.filter(|before| (before[1] - y).abs() > 0.05) {
            svg.line("join", before, [from, y]);
        }
        let class = match (profiled.profile.is_pair(), piece.mate, piece.leg) {
            (false, ..) | (true, Some(_), _) => "both",
            (true, None, Leg::P) => "legp",
            (true, None, Leg::N) => "legn",
        };
        svg.polyline(class, &[[from, y], [to.max(from + SEEN), y]]);
        before = Some([to, y]);
    }
}

/// The group's target band.
fn band(profiled: &Profiled<'_>) -> Option<[f64; 2]> {
    let target = &profiled.profile.aim.impedance.as_ref()?.value;
    Some([target.low().base(), target.high().base()])
}

fn target(svg: &mut Svg, profiled: &Profiled<'_>, frame: &Frame) {
    let (Some([low, high]), Some(target)) = (band(profiled), &profiled.profile.aim.impedance) else { return };
    let [left, right] = frame.x.pixels;
    let [top, bottom] = [high, low].map(|ohms| frame.y.within(ohms));
    if bottom > top {
        svg.rect("band", [left, top], [right, bottom], None);
        svg.line("bandedge", [left, top], [right, top]);
        svg.line("bandedge", [left, bottom], [right, bottom]);
    }
    let middle = frame.y.within(target.value.value.base());
    svg.line("aim", [left, middle], [right, middle]);
}

/// A range that holds all values, with some room.
fn range(values: impl Iterator<Item = f64>) -> [f64; 2] {
    let (low, high) = values
        .filter(|value| value.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
    if low > high {
        return [0.0, 100.0];
    }
    let room = ((high - low) * 0.08).max(2.0);
    [(low - room).max(0.0), high + room]
}

/// Rows of the strip.
pub const STRIP: f64 = 60.0;
const ROW: f64 = 18.0;

/// The layer of each stretch, and the planes above and below it.
pub fn strip(svg: &mut Svg, profiled: &Profiled<'_>, frame: &Frame, top: f64) {
    let pieces: Vec<&ProfilePiece> = profiled.profile.pieces.iter().filter(|piece| piece.leg == Leg::P).collect();
    let plane = |plane: &Option<Plane>| match plane {
        None => Cell { class: "none", text: "none".to_owned() },
        Some(plane) => Cell {
            class: if plane.partial { "part" } else { "cell" },
            text: format!("{} {}", profiled.layer(plane.layer), plane.height),
        },
    };
    let unknown = || Cell { class: "none", text: String::new() };
    let rows: [(&str, Vec<Cell>); 3] = [
        ("layer", pieces.iter().map(|piece| Cell { class: "cell", text: profiled.layer(piece.layer) }).collect()),
        (
            "above",
            pieces.iter().map(|piece| if piece.role == Role::Land { unknown() } else { plane(&piece.above) }).collect(),
        ),
        (
            "below",
            pieces.iter().map(|piece| if piece.role == Role::Land { unknown() } else { plane(&piece.below) }).collect(),
        ),
    ];
    let mut y = top;
    for (name, cells) in rows {
        svg.text("small", Anchor::End, [SIDES[0] - 7.0, y + 12.5], name);
        let mut at = 0;
        while let Some(cell) = cells.get(at) {
            let same = cells.iter().skip(at).take_while(|other| *other == cell).count();
            let (first, last) = (pieces.get(at), pieces.get(at + same - 1));
            if let (Some(first), Some(last)) = (first, last) {
                draw(svg, frame, [first.axis[0], last.axis[1]], y, cell);
            }
            at += same;
        }
        y += ROW;
    }
}

#[derive(PartialEq)]
struct Cell {
    class: &'static str,
    text: String,
}

fn draw(svg: &mut Svg, frame: &Frame, span: [Length; 2], y: f64, cell: &Cell) {
    let [[left, _], [right, _]] = frame.column(span.map(Length::to_mm));
    if right - left < 0.3 || cell.text.is_empty() {
        return;
    }
    svg.rect(cell.class, [left, y + 1.0], [right, y + ROW - 2.0], Some(&cell.text));
    if text_width(&cell.text) < right - left {
        svg.text("small halo", Anchor::Middle, [f64::midpoint(left, right), y + 12.5], &cell.text);
    }
}

/// The running skew of a pair.
pub fn skew(svg: &mut Svg, profiled: &Profiled<'_>, gaps: &mut Gaps, top: f64, bottom: f64) -> Frame {
    let profile = &profiled.profile;
    let Whole::Pair(signal) = &profile.whole else {
        return Frame::new([0.0, 1.0], [0.0, 1.0], SIDES, [top, bottom]);
    };
    let values = profile.running.iter().filter_map(|point| Some(point.sample.value?.to_ps()));
    let (low, high) = values
        .chain(signal.skew.iter().map(|skew| skew.to_ps()))
        .fold((-0.5_f64, 0.5_f64), |(low, high), value| (low.min(value), high.max(value)));
    let room = (high - low) * 0.06;
    let length = profile.length.to_mm();
    let frame = Frame::new([0.0, length], [low - room, high + room], SIDES, [top, bottom]);
    frame.grid(svg);
    let zero = frame.y.at(0.0);
    svg.line("zero", [SIDES[0], zero], [SIDES[1], zero]);
    // From the last known place to the next, for the first doubt before a sample leaves the rest unknown.
    let why = signal.peak.as_ref().err().map(ToString::to_string).unwrap_or_default();
    let mut known = 0.0;
    let mut open = false;
    for point in &profile.running {
        let at = point.sample.p.to_mm();
        match (point.sample.value, open) {
            (None, _) => open = true,
            (Some(_), true) => {
                gaps.draw(svg, &frame, [known, at], "mm", &why);
                (known, open) = (at, false);
            }
            (Some(_), false) => known = at,
        }
    }
    if open {
        gaps.draw(svg, &frame, [known, length], "mm", &why);
    }
    if profile.running.is_empty() {
        gaps.draw(svg, &frame, [0.0, length], "mm", &why);
    }
    let mut line: Vec<[f64; 2]> = Vec::new();
    for point in &profile.running {
        let Some(value) = point.sample.value else {
            flush(svg, &mut line);
            continue;
        };
        if !point.follows {
            flush(svg, &mut line);
        }
        line.push([frame.x.within(point.sample.p.to_mm()), frame.y.at(value.to_ps())]);
    }
    flush(svg, &mut line);
    if let Ok(end) = &signal.skew {
        svg.circle("solid", [SIDES[1], frame.y.at(end.to_ps())], 3.5);
    }
    frame.axes(svg, LENGTHS, Label { name: "P minus N", unit: "ps" });
    gaps.write(svg);
    frame
}

fn flush(svg: &mut Svg, line: &mut Vec<[f64; 2]>) {
    if line.len() > 1 {
        svg.polyline("skew", line);
    } else if let Some(at) = line.first() {
        svg.circle("solid", *at, 1.5);
    }
    line.clear();
}

/// What a reflectometer would show.
pub fn reflection(svg: &mut Svg, profiled: &Profiled<'_>, gaps: &mut Gaps, top: f64, bottom: f64) -> Frame {
    let reflection = &profiled.profile.reflection;
    let rise = reflection.probe.rise;
    let [first, last] = [rise * -1.0, reflection.round_trip + rise * 4.0].map(Time::to_ps);
    let samples = reflection.samples.as_deref().unwrap_or_default();
    let seen = samples.iter().map(|echo| echo.apparent.to_ohms().clamp(0.0, MOST_OHMS));
    let frame = Frame::new(
        [first, last],
        range(seen.chain([reflection.probe.source.to_ohms()]).chain(band(profiled).into_iter().flatten())),
        SIDES,
        [top, bottom],
    );
    frame.grid(svg);
    target(svg, profiled, &frame);
    match (&reflection.samples, &reflection.until) {
        (Err(why), _) => gaps.draw(svg, &frame, [first, last], "ps", &why.to_string()),
        (Ok(_), Some((from, why))) => {
            gaps.draw(svg, &frame, [from.to_ps().max(first), last], "ps", &why.to_string());
        }
        (Ok(_), None) => {}
    }
    let points: Vec<[f64; 2]> = samples
        .iter()
        .filter(|echo| echo.apparent.to_ohms().is_finite())
        .map(|echo| [frame.x.within(echo.time.to_ps()), frame.y.within(echo.apparent.to_ohms())])
        .collect();
    if points.len() > 1 {
        svg.polyline("echo", &points);
    }
    frame.axes(
        svg,
        Label { name: "time since the edge went in, there and back", unit: "ps" },
        Label { name: "apparent impedance", unit: "ohm" },
    );
    gaps.write(svg);
    frame
}

/// An open end would need a picture without end.
const MOST_OHMS: f64 = 1_000.0;
