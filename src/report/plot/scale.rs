//! From a quantity to a place on the picture.

/// A straight scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// The quantity at both ends.
    pub data: [f64; 2],
    /// Where the ends are, in pixels.
    pub pixels: [f64; 2],
}

impl Scale {
    /// A scale over `data`; one of no extent is widened, so that there is a place for its value.
    #[must_use]
    pub fn new([from, to]: [f64; 2], pixels: [f64; 2]) -> Self {
        let data = if to > from { [from, to] } else { [from - 0.5, from + 0.5] };
        Self { data, pixels }
    }

    /// The place of a value.
    #[must_use]
    pub fn at(&self, value: f64) -> f64 {
        let share = (value - self.data[0]) / (self.data[1] - self.data[0]);
        self.pixels[0] + (self.pixels[1] - self.pixels[0]) * share
    }

    /// The place of a value, or of the nearer end.
    #[must_use]
    pub fn within(&self, value: f64) -> f64 {
        self.at(value.clamp(self.data[0], self.data[1]))
    }
}

#[cfg(test)]
mod tests {
    use super::Scale;

    #[test]
    fn ends_and_middle() {
        let scale = Scale::new([10.0, 20.0], [300.0, 100.0]);
        let places = [10.0, 15.0, 20.0, 25.0].map(|value| format!("{:.3}", scale.at(value)));
        assert_eq!(places, ["300.000", "200.000", "100.000", "0.000"]);
        assert!((scale.within(25.0) - 100.0).abs() < 1e-9);
    }

    #[test]
    fn one_value_is_in_the_middle() {
        assert!((Scale::new([7.0, 7.0], [0.0, 100.0]).at(7.0) - 50.0).abs() < 1e-9);
    }
}
