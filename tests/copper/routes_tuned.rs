//! Lengths that the boards' own authors read off while they tuned them: an outside reference. Boards from 2024 on keep
//! the last text of each length-tuning pattern; some were edited afterwards, so most must agree, not all.

use crate::routes_boards::boards;
use throughline::board::{Board, NetId};
use throughline::copper::Copper;

/// One tuning pattern: what was tuned, on which net, and the value shown in millimetres.
struct Tuned {
    mode: String,
    net: String,
    value: f64,
}

/// The tuning patterns of a board file.
fn patterns(board: &Board) -> Vec<Tuned> {
    let text = board.source.text();
    text.split("(generated").skip(1).filter_map(pattern).collect()
}

fn pattern(block: &str) -> Option<Tuned> {
    let after = |key: &str| {
        let from = block.split_once(key)?.1;
        Some(from.trim_start_matches([' ', '"']).split(['"', ')']).next()?.to_owned())
    };
    let status = after("(last_status ").unwrap_or_default();
    let shown = after("(last_tuning ").or_else(|| after("(last_tuning_length "))?;
    let value: f64 = shown.split(' ').next()?.parse().ok()?;
    (status.is_empty() || status == "tuned").then_some(())?;
    Some(Tuned { mode: after("(tuning_mode ")?, net: after("(last_netname ")?, value })
}

/// Lengths between all pads of a net, in millimetres.
fn lengths(copper: &Copper<'_>, net: NetId) -> Vec<f64> {
    let routes = &copper.routes(net).routes;
    routes.iter().filter_map(|route| route.length.total()).map(|length| length.to_mm()).collect()
}

/// Four decimals were written; ends that miss by less than a micrometre count as one.
const NEAR: f64 = 1.5e-3;

#[test]
fn single_lengths_are_what_their_author_read() {
    let (mut near, mut all) = (0u32, 0u32);
    for board in boards() {
        let copper = Copper::new(board);
        for tuned in patterns(board).into_iter().filter(|tuned| tuned.mode == "single") {
            let Some(net) = board.nets.find(&tuned.net) else { continue };
            let best = lengths(&copper, net).into_iter().map(|length| (length - tuned.value).abs());
            let best = best.fold(f64::INFINITY, f64::min);
            println!("{} {} {} mm: off by {:.2} um", board.name, tuned.net, tuned.value, best * 1e3);
            (near, all) = (near + u32::from(best < NEAR), all + 1);
        }
    }
    // The others: two were tuned again later; one counts a dangling end; two count vias with the foils they join.
    assert!(near * 3 >= all * 2, "{near} of {all}");
}

#[test]
fn skews_are_what_their_author_read() {
    let (mut near, mut all) = (0u32, 0u32);
    for board in boards() {
        let copper = Copper::new(board);
        for tuned in patterns(board).into_iter().filter(|tuned| tuned.mode == "diff_pair_skew") {
            let mate = match tuned.net.strip_suffix("_P") {
                Some(stem) => format!("{stem}_N"),
                None => format!("{}_P", tuned.net.trim_end_matches("_N")),
            };
            let (Some(one), Some(other)) = (board.nets.find(&tuned.net), board.nets.find(&mate)) else { continue };
            let ([one], [other]) = (&*lengths(&copper, one), &*lengths(&copper, other)) else { continue };
            let off = (one - other - tuned.value).abs();
            println!("{} {} {} mm: off by {:.2} um", board.name, tuned.net, tuned.value, off * 1e3);
            (near, all) = (near + u32::from(off < NEAR), all + 1);
        }
    }
    assert!(near * 10 >= all * 9, "{near} of {all}");
}
