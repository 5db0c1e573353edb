//! The outer surface of a coating that follows the copper.

/// A conductor on the coated face. Heights are above the face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Left and right edge on the face.
    pub foot: (f64, f64),
    /// Left and right edge of the outer side.
    pub top: (f64, f64),
    /// How far it stands out.
    pub height: f64,
}

/// How thick the coating is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coat {
    /// On the bare face.
    pub flat: f64,
    /// Over a conductor.
    pub over: f64,
    /// Beside a conductor.
    pub beside: f64,
}

/// A bump of the coating.
struct Bump {
    step: Step,
    height: f64,
    sides: (f64, f64),
}

fn bump(step: Step, coat: Coat) -> Option<Bump> {
    let height = step.height + coat.over;
    if height <= coat.flat * (1.0 + 1e-6) {
        return None;
    }
    // Upright sides, even beside leaning copper: the coating is thicker at the knee.
    let sides = (step.foot.0.min(step.top.0) - coat.beside, step.foot.1.max(step.top.1) + coat.beside);
    Some(Bump { step, height, sides })
}

/// The surface from left to right, as corners between the two ends `from` and `to`. Bumps whose coats meet, or nearly
/// so, are one: the gap between them is filled.
pub fn surface(mut steps: Vec<Step>, coat: Coat, (from, to): (f64, f64)) -> Vec<(f64, f64)> {
    steps.sort_by(|one, two| one.foot.0.total_cmp(&two.foot.0));
    let mut line = vec![(from, coat.flat)];
    let mut last: Option<Bump> = None;
    for next in steps.into_iter().filter_map(|step| bump(step, coat)) {
        if let Some(last) = last {
            let slit = 0.1 * (last.height.min(next.height) - coat.flat);
            if next.sides.0 - last.sides.1 < slit {
                if (next.height - last.height).abs() > 1e-6 * coat.over {
                    line.push((last.step.top.1, last.height));
                    line.push((next.step.top.0, next.height));
                }
            } else {
                line.extend([(last.sides.1, last.height), (last.sides.1, coat.flat)]);
                line.extend([(next.sides.0, coat.flat), (next.sides.0, next.height)]);
            }
        } else {
            line.extend([(next.sides.0, coat.flat), (next.sides.0, next.height)]);
        }
        last = Some(next);
    }
    if let Some(last) = last {
        line.extend([(last.sides.1, last.height), (last.sides.1, coat.flat)]);
    }
    line.push((to, coat.flat));
    line
}
