//! Writing SVG: shapes and text by class.

use crate::source::printable;
use crate::units::decimal;
use std::fmt::Write;

/// Where a text stands against its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// It begins there.
    Start,
    /// Its middle is there.
    Middle,
    /// It ends there.
    End,
}

/// A picture being drawn.
#[derive(Debug)]
pub struct Svg {
    width: f64,
    body: String,
}

/// Looks by class. The greys differ enough for a printer without colour; nothing is told by colour alone.
const STYLE: &str = "\
text{font-family:sans-serif;font-size:12px;fill:#1a1a1a}
.title{font-size:18px;font-weight:bold}
.name{font-size:13px;font-weight:bold}
.small{font-size:11px}
.halo{paint-order:stroke;stroke:#fff;stroke-width:3px;stroke-linejoin:round}
.warn{font-weight:bold}
.frame{fill:none;stroke:#1a1a1a;stroke-width:1}
.grid{stroke:#dcdcdc;stroke-width:1}
.zero{stroke:#808080;stroke-width:1}
.mark{stroke:#808080;stroke-width:1;stroke-dasharray:1 3}
.band{fill:#dbe9f4}
.bandedge{stroke:#44708f;stroke-width:1;stroke-dasharray:6 3}
.aim{stroke:#44708f;stroke-width:1;stroke-dasharray:1 2}
.both{fill:none;stroke:#08306b;stroke-width:2.2}
.legp{fill:none;stroke:#a63603;stroke-width:2;stroke-dasharray:8 3}
.legn{fill:none;stroke:#a63603;stroke-width:2;stroke-dasharray:2 2}
.join{fill:none;stroke:#08306b;stroke-width:0.8}
.skew{fill:none;stroke:#08306b;stroke-width:2}
.echo{fill:none;stroke:#08306b;stroke-width:2}
.gap{fill:url(#hatch);stroke:#7a7a7a;stroke-width:0.5}
.land{fill:#9a9a9a}
.solid{fill:#1a1a1a;stroke:#1a1a1a;stroke-width:1.3}
.open{fill:#fff;stroke:#1a1a1a;stroke-width:1.3}
.cell{fill:#f0f0f0;stroke:#7a7a7a;stroke-width:0.7}
.part{fill:url(#part);stroke:#7a7a7a;stroke-width:0.7}
.none{fill:none;stroke:#7a7a7a;stroke-width:0.7;stroke-dasharray:2 2}
";

const PATTERNS: &str = "\
<pattern id=\"hatch\" width=\"7\" height=\"7\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\">\
<rect width=\"7\" height=\"7\" fill=\"#fff\"/><rect width=\"1.6\" height=\"7\" fill=\"#8a8a8a\"/></pattern>
<pattern id=\"part\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(-45)\">\
<rect width=\"6\" height=\"6\" fill=\"#f0f0f0\"/><rect width=\"2\" height=\"6\" fill=\"#b5b5b5\"/></pattern>
";

impl Svg {
    /// An empty picture.
    #[must_use]
    pub const fn new(width: f64) -> Self {
        Self { width, body: String::new() }
    }

    /// A straight line.
    pub fn line(&mut self, class: &str, from: [f64; 2], to: [f64; 2]) {
        let [[x1, y1], [x2, y2]] = [from, to].map(|at| at.map(number));
        let _ = writeln!(self.body, "<line class=\"{class}\" x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"/>");
    }

    /// Straight lines from point to point.
    pub fn polyline(&mut self, class: &str, points: &[[f64; 2]]) {
        self.points("polyline", class, points);
    }

    /// A closed shape.
    pub fn polygon(&mut self, class: &str, points: &[[f64; 2]]) {
        self.points("polygon", class, points);
    }

    fn points(&mut self, shape: &str, class: &str, points: &[[f64; 2]]) {
        let places: Vec<String> = points.iter().map(|[x, y]| format!("{},{}", number(*x), number(*y))).collect();
        let _ = writeln!(self.body, "<{shape} class=\"{class}\" points=\"{}\"/>", places.join(" "));
    }

    /// A rectangle between two corners, with a text that viewers show when it is pointed at.
    pub fn rect(&mut self, class: &str, one: [f64; 2], other: [f64; 2], hint: Option<&str>) {
        let [x, y] = [one[0].min(other[0]), one[1].min(other[1])].map(number);
        let [width, height] = [(one[0] - other[0]).abs(), (one[1] - other[1]).abs()].map(number);
        let _ = write!(self.body, "<rect class=\"{class}\" x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"");
        self.close("rect", hint);
    }

    /// A circle.
    pub fn circle(&mut self, class: &str, at: [f64; 2], radius: f64) {
        let [x, y, r] = [at[0], at[1], radius].map(number);
        let _ = writeln!(self.body, "<circle class=\"{class}\" cx=\"{x}\" cy=\"{y}\" r=\"{r}\"/>");
    }

    fn close(&mut self, shape: &str, hint: Option<&str>) {
        match hint {
            Some(hint) => {
                let _ = writeln!(self.body, "><title>{}</title></{shape}>", escaped(hint));
            }
            None => self.body.push_str("/>\n"),
        }
    }

    /// A line of text.
    pub fn text(&mut self, class: &str, anchor: Anchor, at: [f64; 2], text: &str) {
        let [x, y] = at.map(number);
        let _ = writeln!(
            self.body,
            "<text class=\"{class}\" x=\"{x}\" y=\"{y}\" text-anchor=\"{}\">{}</text>",
            word(anchor),
            escaped(text)
        );
    }

    /// A line of text from below to above, its middle at a place.
    pub fn upright(&mut self, class: &str, at: [f64; 2], text: &str) {
        let [x, y] = at.map(number);
        let _ = writeln!(
            self.body,
            "<text class=\"{class}\" transform=\"translate({x} {y}) rotate(-90)\" text-anchor=\"middle\">{}</text>",
            escaped(text)
        );
    }

    /// The file. `title` and `description` are for those who don't see the picture.
    #[must_use]
    pub fn finish(self, height: f64, title: &str, description: &str) -> String {
        let [width, height] = [self.width, height].map(number);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" \
             viewBox=\"0 0 {width} {height}\" role=\"img\" aria-labelledby=\"title description\">\n\
             <title id=\"title\">{}</title>\n<desc id=\"description\">{}</desc>\n\
             <style>\n{STYLE}</style>\n<defs>\n{PATTERNS}</defs>\n\
             <rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>\n{}</svg>\n",
            escaped(title),
            escaped(description),
            self.body
        )
    }
}

const fn word(anchor: Anchor) -> &'static str {
    match anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    }
}

/// How wide a text of the usual size is at most, in pixels, in any font that a viewer may take: for what must not overlap.
#[must_use]
pub fn text_width(text: &str) -> f64 {
    let letters: f64 =
        text.chars().map(|c| if matches!(c, 'i' | 'l' | '.' | ',' | ':' | ' ') { 4.0 } else { 7.4 }).sum();
    letters + 2.0
}

/// A tenth of a pixel is seen, a hundredth is not.
fn number(value: f64) -> String {
    decimal(value, 2)
}

/// Text as XML takes it. Control characters are shown, not written.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in printable(text).chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // XML knows neither these nor most control characters.
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            letter if letter.is_control() => out.push(' '),
            letter => out.push(letter),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::{Anchor, Svg};

    #[test]
    fn names_can_not_break_out() {
        let mut svg = Svg::new(10.0);
        svg.text("small", Anchor::Start, [0.0, 0.0], "</text><script>&\"\u{1b}[1m\u{0}");
        let text = svg.finish(10.0, "<", "\u{ffff}");
        assert!(text.contains("&lt;/text&gt;&lt;script&gt;&amp;&quot;"), "{text}");
        assert!(!text.contains('\u{1b}') && !text.contains('\u{0}') && !text.contains('\u{ffff}'));
    }

    #[test]
    fn numbers_are_short() {
        let mut svg = Svg::new(10.0);
        svg.line("grid", [1.0 / 3.0, 2.0], [-0.000_1, 100.25]);
        assert!(svg.body.contains("x1=\"0.33\" y1=\"2\" x2=\"0\" y2=\"100.25\""), "{}", svg.body);
    }
}
