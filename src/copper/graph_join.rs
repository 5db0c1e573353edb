//! Joining what meets by centre line: ends on other tracks, crossings, tracks over anchors, ends inside pads and vias.

use super::graph::{NodeId, TOUCH};
use super::graph_draft::{Draft, Part, kind_of};
use crate::geometry::Vector;

/// Splits lines where ends of others lie on them (tees) and where they cross, and lets lines pass through the anchors
/// that they run over.
pub(super) fn join_centre_lines(draft: &mut Draft<'_, '_>) {
    for row in 0..draft.lines.len() {
        let Some(line) = draft.lines.get(row) else { continue };
        let near = draft.lines_near(line.layer, line.path.envelope());
        for other in near.into_iter().filter(|&other| other > row) {
            join_lines(draft, row, other);
        }
    }
    for row in 0..draft.lumps.len() {
        let Some(lump) = draft.lumps.get(row) else { continue };
        let (at, node) = (Vector::from(lump.at), lump.node);
        if !lump.holds(at, TOUCH) {
            continue; // an anchor beside its own copper joins nothing
        }
        let near = draft.lines_near(lump.layer, crate::geometry::Envelope::of_point(lump.at));
        for line in near {
            let foot = draft.lines.get(line).map(|line| line.path.nearest(at));
            if let Some(foot) = foot.filter(|foot| foot.off <= TOUCH) {
                draft.cut(line, foot.along, node);
            }
        }
    }
}

fn join_lines(draft: &mut Draft<'_, '_>, one: usize, other: usize) {
    for (tip, body) in [(one, other), (other, one)] {
        let (Some(line), Some(through)) = (draft.lines.get(tip), draft.lines.get(body)) else { continue };
        let ends = [(0.0, line.path.start()), (line.length, line.path.end())];
        let feet = ends.map(|(along, at)| (along, through.path.nearest(at.into())));
        for (along, foot) in feet {
            if foot.off <= TOUCH
                && let Some(node) = draft.node_on(tip, along)
            {
                draft.cut(body, foot.along, node);
            }
        }
    }
    let (Some(line), Some(through)) = (draft.lines.get(one), draft.lines.get(other)) else { return };
    let inside = |along: f64, length: f64| along > TOUCH && along < length - TOUCH;
    let crossings: Vec<(f64, f64)> = line
        .path
        .crossings(&through.path)
        .into_iter()
        .map(|along| (along, through.path.nearest(line.path.point_at(along)).along))
        .filter(|&(along, over)| inside(along, line.length) && inside(over, through.length))
        .collect();
    for (along, over) in crossings {
        if let Some(node) = draft.node_on(one, along) {
            draft.cut(other, over, node);
        }
    }
}

/// Joins lines to the lumps that their centre lines run into, unless they are joined already by centre lines inside
/// the lump. So a bend inside a via's land keeps its length, and an end beside the anchor gets a straight link.
pub(super) fn join_lumps(draft: &mut Draft<'_, '_>) {
    for row in 0..draft.lumps.len() {
        let Some(lump) = draft.lumps.get(row) else { continue };
        let (envelope, layer, hub) = (lump.envelope(), lump.layer, lump.node);
        let anchor = Vector::from(lump.at);
        let lines = draft.lines_near(layer, envelope);
        let mut contacts: Vec<(f64, usize, f64)> = lines
            .iter()
            .filter_map(|&line| contact(draft, row, line, anchor).map(|(along, off)| (off, line, along)))
            .collect();
        contacts.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.cmp(&other.1)));
        let mut reached = vec![draft.same.find(hub)];
        spread(draft, row, &contacts, &mut reached);
        for at in 0..contacts.len() {
            let Some(&(_, line, along)) = contacts.get(at) else { continue };
            if !touches(draft, line, &reached)
                && let Some(node) = draft.node_on(line, along)
            {
                let kind = draft.lumps.get(row).map(|lump| kind_of(lump.item));
                if let Some(kind) = kind {
                    draft.link(hub, node, kind, 0);
                }
                reached.push(draft.same.find(node));
                spread(draft, row, &contacts, &mut reached);
            }
            draft.settled.insert((line, row));
        }
    }
}

/// Where a line's centre line lies inside a lump, as near to the anchor as it gets: distance from the line's start,
/// and distance from the anchor.
fn contact(draft: &Draft<'_, '_>, lump: usize, line: usize, anchor: Vector) -> Option<(f64, f64)> {
    let (lump, line) = (draft.lumps.get(lump)?, draft.lines.get(line)?);
    let foot = line.path.nearest(anchor);
    if lump.holds(foot.at, TOUCH) {
        return Some((foot.along, foot.off));
    }
    let ends = [(0.0, Vector::from(line.path.start())), (line.length, Vector::from(line.path.end()))];
    if let Some(&(along, at)) = ends.iter().find(|(_, at)| lump.holds(*at, TOUCH)) {
        return Some((along, at.distance(anchor)));
    }
    // Copper with a bay: the line runs through it somewhere else than nearest to the anchor.
    let crossings = crate::geometry::crossings(&line.path, &lump.shapes);
    let (first, second) = (crossings.first()?, crossings.get(1)?);
    let along = first.midpoint(*second);
    Some((along, line.path.point_at(along).distance(anchor)))
}

fn touches(draft: &mut Draft<'_, '_>, line: usize, reached: &[NodeId]) -> bool {
    let Some(line) = draft.lines.get(line) else { return false };
    let nodes: Vec<NodeId> = line.cuts.iter().map(|&(_, node)| node).collect();
    nodes.into_iter().any(|node| reached.contains(&draft.same.find(node)))
}

/// Adds to `reached` what centre lines inside the lump reach from there.
fn spread(draft: &mut Draft<'_, '_>, lump: usize, contacts: &[(f64, usize, f64)], reached: &mut Vec<NodeId>) {
    loop {
        let before = reached.len();
        for &(_, line, _) in contacts {
            let Some(cuts) = draft.lines.get(line).map(|line| line.cuts.clone()) else { continue };
            for pair in cuts.windows(2) {
                let [(_, one), (_, other)] = pair else { continue };
                let (one, other) = (draft.same.find(*one), draft.same.find(*other));
                for (from, to) in [(one, other), (other, one)] {
                    let inside = reached.contains(&from) && !reached.contains(&to) && {
                        let place = draft.place(to);
                        draft.lumps.get(lump).is_some_and(|lump| lump.holds(place.into(), TOUCH))
                    };
                    if inside {
                        reached.push(to);
                    }
                }
            }
        }
        if reached.len() == before {
            return;
        }
    }
}

/// A line or lump's own name for a link through its copper.
pub(super) fn part_kind(draft: &Draft<'_, '_>, part: Part) -> Option<super::StepKind> {
    match part {
        Part::Line(row) => draft.lines.get(row).map(|line| super::StepKind::Track(line.track)),
        Part::Lump(row) => draft.lumps.get(row).map(|lump| kind_of(lump.item)),
    }
}
