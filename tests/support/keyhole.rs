//! A polygon with holes as one ring: each hole is reached by a slit of no width, as board files store fills.

type Grid = (i64, i64);

/// Twice the signed area; positive for clockwise on screen (y down).
pub fn twice_area(ring: &[Grid]) -> i128 {
    (0..ring.len())
        .map(|at| {
            let ((x0, y0), (x1, y1)) = (ring[at], ring[(at + 1) % ring.len()]);
            i128::from(x0) * i128::from(y1) - i128::from(x1) * i128::from(y0)
        })
        .sum()
}

/// Area of a ring, mm².
pub fn area(ring: &[Grid]) -> f64 {
    twice_area(ring).abs() as f64 / 2e12
}

/// Turns a ring so that it runs clockwise on screen, or the other way.
fn oriented(mut ring: Vec<Grid>, clockwise: bool) -> Vec<Grid> {
    ring.dedup();
    if ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    if (twice_area(&ring) > 0) != clockwise {
        ring.reverse();
    }
    ring
}

/// One ring, clockwise on screen, first corner not repeated.
pub fn keyholed(outer: Vec<Grid>, holes: Vec<Vec<Grid>>) -> Vec<Grid> {
    let mut ring = oriented(outer, true);
    let mut holes: Vec<Vec<Grid>> = holes
        .into_iter()
        .map(|hole| oriented(hole, false))
        .filter(|hole| hole.len() >= 3)
        .map(|mut hole| {
            // Start at the leftmost corner: the slit goes from there to the left.
            let first = (0..hole.len()).min_by_key(|&at| hole[at]).expect("a hole has corners");
            hole.rotate_left(first);
            hole
        })
        .collect();
    holes.sort_by_key(|hole| hole[0]);
    for hole in holes {
        let (hx, hy) = hole[0];
        let mut best: Option<(i64, usize)> = None;
        for at in 0..ring.len() {
            let ((ax, ay), (bx, by)) = (ring[at], ring[(at + 1) % ring.len()]);
            if hy < ay.min(by) || hy > ay.max(by) || ax.min(bx) > hx {
                continue;
            }
            let x = if ay == by {
                ax.max(bx)
            } else {
                let share = (hy - ay) as f64 / (by - ay) as f64;
                (ax as f64 + share * (bx - ax) as f64).round() as i64
            };
            if x <= hx && best.is_none_or(|(found, _)| x > found) {
                best = Some((x, at));
            }
        }
        let (x, at) = best.expect("a hole lies inside its outer ring");
        let foot = (x, hy);
        let mut slit = Vec::with_capacity(hole.len() + 3);
        slit.push(foot);
        slit.extend(&hole);
        slit.push(hole[0]);
        slit.push(foot);
        ring.splice(at + 1..at + 1, slit);
    }
    ring.dedup();
    ring
}
