//! The keys of a profile's picture: what lines and fills mean, what the numbered marks are, and why there are gaps.

use super::electric;
use super::plot::{Anchor, Frame, Lane, Pin, Svg, Symbol, text_width};
use super::profile_panels::SIDES;
use super::profiled::Profiled;
use crate::geometry::to_f64;
use crate::measure::{Mark, MarkKind, PadSort};
use crate::units::decimal;

/// Gaps of all panels: hatched, lettered, and each letter's reason.
#[derive(Debug, Default)]
pub struct Gaps {
    /// The reasons, by letter.
    reasons: Vec<String>,
    /// Letters that are not written yet, with their places: a hatching drawn later must not hide them.
    letters: Vec<([f64; 2], String)>,
}

impl Gaps {
    /// Hatches a stretch of a frame and gives it a letter.
    pub fn draw(&mut self, svg: &mut Svg, frame: &Frame, [from, to]: [f64; 2], unit: &str, why: &str) {
        let number = |value: f64| decimal(value, 3);
        let (first, last) = (number(from), number(to));
        let place = if first == last { format!("at {first}") } else { format!("{first} to {last}") };
        let place = format!("{place} {unit} not known: {why}");
        // Both legs may lack the same for the same reason.
        if self.reasons.last().is_some_and(|last| last.ends_with(&format!("  {place}"))) {
            return;
        }
        let [[left, top], [right, bottom]] = frame.column([from, to]);
        let right = right.max(left + 1.5);
        svg.rect("gap", [left, top], [right, bottom], Some(why));
        let letter = letter(self.reasons.len());
        let words = format!("not known: {why}");
        let middle = f64::midpoint(left, right);
        let shown = if text_width(&words) < right - left { format!("{letter}  {words}") } else { letter.clone() };
        // Letters of gaps side by side would cover each other on one row.
        let row = [16.0, 30.0, 44.0].get(self.reasons.len() % 3).copied().unwrap_or(16.0);
        self.letters.push(([middle, top + row], shown));
        self.reasons.push(format!("{letter}  {place}"));
    }

    /// Writes the letters of a frame whose hatchings are all drawn.
    pub fn write(&mut self, svg: &mut Svg) {
        for (at, letter) in self.letters.drain(..) {
            svg.text("halo warn", Anchor::Middle, at, &letter);
        }
    }

    /// The reasons as rows from `top` down; where they end.
    pub fn list(&self, svg: &mut Svg, top: f64) -> f64 {
        if self.reasons.is_empty() {
            return top;
        }
        let mut y = top + 14.0;
        svg.text("name", Anchor::Start, [SIDES[0] - 52.0, y], "Gaps");
        for words in self.reasons.iter().take(MOST) {
            y += ROW;
            svg.text("", Anchor::Start, [SIDES[0] - 52.0, y], words);
        }
        more(svg, &mut y, self.reasons.len());
        y + 10.0
    }
}

/// Rows of a key before the rest is left to the CSV report.
const MOST: usize = 48;
const ROW: f64 = 16.0;

fn more(svg: &mut Svg, y: &mut f64, number: usize) {
    if number > MOST {
        *y += ROW;
        let words = format!("and {} more, in the CSV report", number - MOST);
        svg.text("", Anchor::Start, [SIDES[0] - 52.0, *y], &words);
    }
}

/// `a`, `b` … `z`, `aa` …
fn letter(number: usize) -> String {
    let mut text = String::new();
    let mut rest = number;
    loop {
        let digit = u8::try_from(rest % 26).unwrap_or(0);
        text.insert(0, char::from(b'a' + digit));
        if rest < 26 {
            return text;
        }
        rest = rest / 26 - 1;
    }
}

/// How a mark looks.
pub const fn symbol(kind: &MarkKind) -> Symbol {
    match kind {
        MarkKind::Pad { sort: PadSort::Ball, .. } => Symbol::Disc,
        MarkKind::Pad { sort: PadSort::Contact, .. } => Symbol::Triangle,
        MarkKind::Pad { sort: PadSort::Pad, .. } => Symbol::Square,
        MarkKind::Barrel { .. } => Symbol::Ring,
        MarkKind::Neck { .. } => Symbol::Diamond,
    }
}

/// The marks over a frame, at the places that `place` gives them.
pub fn pins(marks: &[Mark], place: impl Fn(&Mark) -> Option<f64>) -> Vec<Pin> {
    let mut pins: Vec<Pin> = marks
        .iter()
        .zip(1..)
        .filter_map(|(mark, number)| Some(Pin { number, x: place(mark)?, symbol: symbol(&mark.kind) }))
        .collect();
    pins.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.number.cmp(&b.number)));
    pins
}

/// What lines, fills and symbols mean, in one or two rows; where they end.
pub fn legend(svg: &mut Svg, profiled: &Profiled<'_>, top: f64) -> f64 {
    let mut key = Row { svg, x: SIDES[0] - 52.0, y: top + 12.0 };
    if profiled.profile.is_pair() {
        key.line("both", "both legs, differential");
        key.line("legp", "P alone, twice its own");
        key.line("legn", "N alone, twice its own");
    } else {
        key.line("both", "impedance");
    }
    if let Some(target) = &profiled.profile.aim.impedance {
        key.swatch("band", &format!("target {}", target.value));
    }
    key.swatch("land", "inside a land");
    key.swatch("gap", "not known");
    key.swatch("part", "plane in part");
    for (symbol, words) in [
        (Symbol::Disc, "ball"),
        (Symbol::Triangle, "contact"),
        (Symbol::Square, "pad"),
        (Symbol::Ring, "barrel"),
        (Symbol::Diamond, "neck"),
    ] {
        key.symbol(symbol, words);
    }
    key.y + 12.0
}

/// A row of a legend.
struct Row<'s> {
    svg: &'s mut Svg,
    x: f64,
    y: f64,
}

impl Row<'_> {
    fn room(&mut self, sample: f64, words: &str) -> [f64; 2] {
        let wide = sample + 6.0 + text_width(words) + 16.0;
        if self.x + wide > SIDES[1] {
            (self.x, self.y) = (SIDES[0] - 52.0, self.y + 18.0);
        }
        let at = [self.x, self.y];
        self.svg.text("small", Anchor::Start, [at[0] + sample + 6.0, at[1]], words);
        self.x += wide;
        at
    }

    fn line(&mut self, class: &str, words: &str) {
        let [x, y] = self.room(34.0, words);
        self.svg.line(class, [x, y - 4.0], [x + 34.0, y - 4.0]);
    }

    fn swatch(&mut self, class: &str, words: &str) {
        let [x, y] = self.room(22.0, words);
        self.svg.rect(class, [x, y - 9.0], [x + 22.0, y + 1.0], None);
    }

    fn symbol(&mut self, symbol: Symbol, words: &str) {
        let [x, y] = self.room(10.0, words);
        Lane::symbol(self.svg, symbol, [x + 5.0, y - 4.0]);
    }
}

/// The marks as rows from `top` down; where they end.
pub fn marks(svg: &mut Svg, profiled: &Profiled<'_>, top: f64) -> f64 {
    let marks = &profiled.profile.marks;
    let left = SIDES[0] - 52.0;
    let columns = [left + 22.0, left + 44.0, left + 100.0, left + 190.0, left + 270.0, left + 430.0];
    let [number, symbol_at, leg, place, time, _] = columns;
    let (at, what) = (left + 350.0, left + 540.0);
    let mut y = top + 14.0;
    svg.text("name", Anchor::Start, [left, y], "Marks");
    svg.text("small", Anchor::End, [place, y], "mm");
    svg.text("small", Anchor::End, [time, y], "ps");
    svg.text("small", Anchor::Start, [at - 60.0, y], "layer, x, y in mm");
    let _ = leg;
    for (mark, row) in marks.iter().zip(1_usize..).take(MOST) {
        y += ROW;
        svg.text("", Anchor::End, [number, y], &row.to_string());
        Lane::symbol(svg, symbol(&mark.kind), [symbol_at, y - 4.0]);
        svg.text("", Anchor::Start, [symbol_at + 16.0, y], profiled.leg(mark.leg));
        svg.text("", Anchor::End, [place, y], &format!("{:.3}", mark.along.to_mm()));
        let delay = mark.delay.map_or_else(|| "?".to_owned(), electric::ps);
        svg.text("", Anchor::End, [time, y], &delay);
        let [x_mm, y_mm] = [mark.at.x, mark.at.y].map(|nm| decimal(to_f64(nm) / 1e6, 3));
        svg.text("", Anchor::Start, [at - 60.0, y], &format!("{}, {x_mm}, {y_mm}", profiled.layer(mark.layer)));
        svg.text("", Anchor::Start, [what, y], &profiled.mark(mark));
    }
    more(svg, &mut y, marks.len());
    y + 10.0
}

#[cfg(test)]
mod tests {
    use super::letter;

    #[test]
    fn letters_go_on_behind_z() {
        assert_eq!(
            [0, 1, 25, 26, 27, 51, 52, 701, 702].map(letter),
            ["a", "b", "z", "aa", "ab", "az", "ba", "zz", "aaa"]
        );
    }
}
