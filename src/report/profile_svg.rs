//! A profile as a picture: impedance along the way, layers and planes, running skew, the predicted reflection, and the keys.

use super::plot::{Anchor, Lane, Svg};
use super::profile_key::{Gaps, legend, marks, pins};
use super::profile_panels::{self as panels, STRIP};
use super::profiled::Profiled;
use super::{StackupOf, electric};
use crate::measure::{PairSignal, Whole};
use crate::source::printable_name;

/// The width of the picture; its height follows from what it holds.
const WIDTH: f64 = 1200.0;
const LEFT: f64 = 40.0;
/// Room below a frame for its numbers and its name.
const FOOT: f64 = 44.0;

/// The picture.
#[must_use]
pub fn profile_svg(profiled: &Profiled<'_>) -> String {
    let profile = &profiled.profile;
    let title = format!("{} {}: {}", profiled.kind(), printable_name(&profile.name), profiled.ends());
    let mut svg = Svg::new(WIDTH);
    let mut gaps = Gaps::default();
    svg.text("title", Anchor::Start, [LEFT, 30.0], &title);
    let mut y = 50.0;
    for words in head(profiled) {
        svg.text(if words.warn { "warn" } else { "" }, Anchor::Start, [LEFT, y], &words.text);
        y += 17.0;
    }
    y = legend(&mut svg, profiled, y);

    // Lanes are drawn once their frames are known, and behind nothing that they would hide.
    let lane = y + Lane::HEIGHT + 14.0;
    heading(&mut svg, y + 8.0, "Impedance along the way");
    let bottom = lane + 230.0;
    let frame = panels::impedance(&mut svg, profiled, &mut gaps, lane, bottom);
    let on_axis = pins(&profile.marks, |mark| Some(frame.x.within(mark.axis.to_mm())));
    Lane { bottom: lane, line_to: bottom + FOOT + STRIP }.draw(&mut svg, &on_axis);
    y = bottom + FOOT;
    panels::strip(&mut svg, profiled, &frame, y);
    y += STRIP + 4.0;

    if profile.is_pair() {
        heading(&mut svg, y + 14.0, &running(profiled));
        let (top, bottom) = (y + 22.0, y + 172.0);
        for pin in &on_axis {
            svg.line("mark", [pin.x, top], [pin.x, bottom]);
        }
        panels::skew(&mut svg, profiled, &mut gaps, top, bottom);
        y = bottom + FOOT;
    }

    heading(&mut svg, y + 14.0, &format!("Predicted reflection at {}", profile.from.join("/")));
    svg.text("small", Anchor::Start, [LEFT, y + 30.0], &profiled.probe());
    let lane = y + Lane::HEIGHT + 38.0;
    let bottom = lane + 230.0;
    let frame = panels::reflection(&mut svg, profiled, &mut gaps, lane, bottom);
    let in_time = pins(&profile.marks, |mark| Some(frame.x.within(mark.delay?.to_ps() * 2.0)));
    Lane { bottom: lane, line_to: bottom }.draw(&mut svg, &in_time);
    y = bottom + FOOT;

    y = gaps.list(&mut svg, y);
    y = marks(&mut svg, profiled, y);
    for words in foot(profiled) {
        y += 15.0;
        svg.text("small", Anchor::Start, [LEFT, y], &words);
    }
    svg.finish(y + 16.0, &title, &profiled.whole().join(". "))
}

fn heading(svg: &mut Svg, y: f64, words: &str) {
    svg.text("name", Anchor::Start, [LEFT, y], words);
}

fn running(profiled: &Profiled<'_>) -> String {
    let end = match &profiled.profile.whole {
        Whole::Pair(PairSignal { skew: Ok(skew), .. }) => format!("; the dot: end to end, {} ps", electric::ps(*skew)),
        _ => String::new(),
    };
    format!("Running skew: delay of P minus delay of N where the legs run side by side{end}")
}

struct Words {
    text: String,
    warn: bool,
}

/// What the channel is, and what its numbers rest on.
fn head(profiled: &Profiled<'_>) -> Vec<Words> {
    let profile = &profiled.profile;
    let plain = |text: String| Words { text, warn: false };
    let layers = profiled.board.layers.len();
    let nets = profile.nets.iter().map(|net| printable_name(net)).collect::<Vec<_>>().join(", ");
    let mut lines = vec![plain(format!(
        "board {}, {layers} copper layers; {} {nets}; {} along {}",
        printable_name(&profiled.board.name),
        if profile.nets.len() > 1 { "nets" } else { "net" },
        profile.length,
        if profile.is_pair() { "P" } else { "the route" },
    ))];
    lines.extend(wrapped(&profiled.whole()).into_iter().map(plain));
    match &profiled.stackup {
        StackupOf::Placeholder => lines.push(Words {
            text: "The stackup is a placeholder: it looks as if nobody had entered it. Ohms, ps and dB are no better \
                   than it."
                .to_owned(),
            warn: true,
        }),
        StackupOf::Rules(origin) => lines.push(plain(format!("stackup of the rule set, {origin}"))),
        StackupOf::Board | StackupOf::Nobody | StackupOf::Unfit(_) => {
            lines.push(plain("stackup of the board file".to_owned()));
        }
    }
    lines
}

/// Sentences on as few lines as hold them.
fn wrapped(sentences: &[String]) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for sentence in sentences {
        match lines.last_mut().filter(|line| line.chars().count() + sentence.chars().count() < 165) {
            Some(line) => {
                line.push_str("; ");
                line.push_str(sentence);
            }
            None => lines.push(sentence.clone()),
        }
    }
    lines
}

/// How to read the picture, and what it leaves out.
fn foot(profiled: &Profiled<'_>) -> Vec<String> {
    let profile = &profiled.profile;
    let mut lines = vec![format!(
        "Positions count along {}, barrels as zero. Impedance inside a land is not the track's and is not drawn; in the \
         reflection a land counts as its track.",
        if profile.is_pair() { "P" } else { "the route" }
    )];
    if profile.is_pair() {
        lines.push(
            "What N has alone is laid, by length, over what P has between the same stretches side by side.".to_owned(),
        );
    }
    if profile.aside > 0 {
        lines.push(format!(
            "{} hang off the way and are left out of the reflection.",
            super::run::counted(u64::try_from(profile.aside).unwrap_or(u64::MAX), "branch or route")
        ));
    }
    if profile.reflection.lossless {
        lines.push(
            "The stackup does not state every loss tangent: the reflection takes such dielectrics as lossless."
                .to_owned(),
        );
    }
    let assumed = electric::assumed(&profile.basis);
    if !assumed.is_empty() {
        lines.push(format!("Assumed: {assumed}."));
    }
    lines
}
