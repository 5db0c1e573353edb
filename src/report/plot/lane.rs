//! A lane over a frame with numbered marks.

use super::{Anchor, Svg, text_width};

/// What a mark looks like; each shape is told from the others without colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Symbol {
    /// A filled disc.
    Disc,
    /// A filled triangle.
    Triangle,
    /// A filled square.
    Square,
    /// A ring.
    Ring,
    /// An open diamond.
    Diamond,
}

/// A mark to set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pin {
    /// Its number in the key.
    pub number: usize,
    /// Where, in pixels.
    pub x: f64,
    /// How it looks.
    pub symbol: Symbol,
}

/// The lane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lane {
    /// Its lower edge.
    pub bottom: f64,
    /// How far down each mark's line goes.
    pub line_to: f64,
}

/// Height of a lane; room for rows of symbols that would cover each other, and for a row of numbers.
impl Lane {
    /// Its height in pixels.
    pub const HEIGHT: f64 = 48.0;
    const ROWS: usize = 3;
    const ROW: f64 = 11.0;
    const SIZE: f64 = 4.2;

    /// Sets marks, which are in order. Numbers of marks that are near each other are drawn as one: `3-6`.
    pub fn draw(&self, svg: &mut Svg, pins: &[Pin]) {
        for pin in pins {
            svg.line("mark", [pin.x, self.bottom - 2.0], [pin.x, self.line_to]);
        }
        for group in groups(pins) {
            for (row, pin) in group.iter().enumerate() {
                let up = [0.0, 1.0, 2.0].get(row % Self::ROWS).copied().unwrap_or(0.0);
                Self::symbol(svg, pin.symbol, [pin.x, self.bottom - 8.0 - up * Self::ROW]);
            }
            if let Some((middle, label)) = label(group) {
                svg.text("small", Anchor::Middle, [middle, self.bottom - Self::HEIGHT + 11.0], &label);
            }
        }
    }

    /// A symbol with its middle at a place.
    pub fn symbol(svg: &mut Svg, symbol: Symbol, [x, y]: [f64; 2]) {
        let s = Self::SIZE;
        match symbol {
            Symbol::Disc => svg.circle("solid", [x, y], s),
            Symbol::Ring => svg.circle("open", [x, y], s),
            Symbol::Triangle => svg.polygon("solid", &[[x - s, y + s * 0.8], [x + s, y + s * 0.8], [x, y - s]]),
            Symbol::Square => svg.rect("solid", [x - s * 0.9, y - s * 0.9], [x + s * 0.9, y + s * 0.9], None),
            Symbol::Diamond => svg.polygon("open", &[[x - s, y], [x, y - s * 1.2], [x + s, y], [x, y + s * 1.2]]),
        }
    }
}

/// Marks whose numbers would cover each other, together.
fn groups(pins: &[Pin]) -> Vec<&[Pin]> {
    let mut starts: Vec<usize> = (0..pins.len()).collect();
    loop {
        let mut merged = false;
        let ends: Vec<usize> = starts.iter().skip(1).copied().chain([pins.len()]).collect();
        let mut kept: Vec<usize> = Vec::new();
        let mut right = f64::NEG_INFINITY;
        for (&start, &end) in starts.iter().zip(&ends) {
            let group = pins.get(start..end).unwrap_or_default();
            let Some((middle, text)) = label(group) else { continue };
            let half = text_width(&text) / 2.0;
            if middle - half < right {
                merged = true;
            } else {
                kept.push(start);
            }
            right = middle + half;
        }
        starts = kept;
        if !merged {
            break;
        }
    }
    let ends = starts.iter().skip(1).copied().chain([pins.len()]);
    starts.iter().zip(ends).filter_map(|(&start, end)| pins.get(start..end)).collect()
}

/// A group's number or numbers, and the middle of its marks.
fn label(group: &[Pin]) -> Option<(f64, String)> {
    let (first, last) = (group.first()?, group.last()?);
    let numbers = || group.iter().map(|pin| pin.number);
    let text = match (numbers().min(), numbers().max()) {
        (Some(least), Some(most)) if least < most => format!("{least}-{most}"),
        _ => first.number.to_string(),
    };
    Some((f64::midpoint(first.x, last.x), text))
}

#[cfg(test)]
mod tests {
    use super::{Pin, Symbol, groups};

    #[test]
    fn near_numbers_are_drawn_as_one() {
        let pins: Vec<Pin> = [0.0, 3.0, 200.0, 230.0, 231.0]
            .into_iter()
            .zip(1..)
            .map(|(x, number)| Pin { number, x, symbol: Symbol::Disc })
            .collect();
        let sizes: Vec<usize> = groups(&pins).iter().map(|group| group.len()).collect();
        assert_eq!(sizes, [2, 1, 2]);
        assert_eq!(groups(&[]).len(), 0);
    }

    #[test]
    fn many_at_one_place_are_one_group() {
        let pins: Vec<Pin> = (1..40).map(|number| Pin { number, x: 5.0, symbol: Symbol::Ring }).collect();
        assert_eq!(groups(&pins).len(), 1);
    }
}
