//! Signals of real boards: what must hold whatever the copper. Needs the folder named by `THROUGHLINE_BOARDS`.

use std::path::PathBuf;
use std::sync::Arc;
use throughline::board::{Board, read};
use throughline::copper::Copper;
use throughline::copper::pair::{Legs, match_legs, walked};
use throughline::signal::{Assumptions, Leg, Role, Signals};
use throughline::source::SourceFile;
use throughline::units::Length;

fn boards() -> Vec<Board> {
    let Some(folder) = std::env::var_os("THROUGHLINE_BOARDS") else { return Vec::new() };
    let (mut files, mut folders) = (Vec::new(), vec![PathBuf::from(folder)]);
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "kicad_pcb") {
                files.push(path);
            }
        }
    }
    files.sort();
    let board = |file: &PathBuf| {
        let name = file.file_stem()?.to_string_lossy().into_owned();
        read(&name, Arc::new(SourceFile::new(name.clone(), std::fs::read_to_string(file).ok()?))).ok()
    };
    // The smaller ones: tests are not optimised.
    files.iter().filter(|file| file.metadata().is_ok_and(|data| data.len() < 700_000)).filter_map(board).collect()
}

#[test]
fn pieces_cover_each_leg_and_numbers_are_sound() {
    for board in boards() {
        let copper = Copper::new(&board);
        copper.prepare();
        let signals = Signals::new(&copper, Assumptions::default());
        if signals.basis().is_err() {
            continue;
        }
        let mut all: Vec<Legs> = Vec::new();
        for pair in &copper.pairs().pairs {
            let routes = |net| copper.routes(net).routes.as_slice();
            all.extend(match_legs(&board, routes(pair.p), routes(pair.n)).legs);
        }
        all.truncate(6);
        signals.prepare(&[], &all.iter().collect::<Vec<_>>());
        for legs in &all {
            let name = format!("{} {}", board.name, board.nets.name(legs.p.net));
            let line = signals.pair(legs).unwrap();
            for (leg, route) in [(Leg::P, &legs.p), (Leg::N, &legs.n)] {
                let of = |piece: &throughline::signal::Piece| match (&piece.mate, leg) {
                    (Some(mate), Leg::N) => mate[1] - mate[0],
                    (None, leg) if piece.leg != leg => Length::ZERO,
                    _ => piece.length(),
                };
                let sum: Length = line.pieces.iter().map(of).sum();
                assert!((sum - walked(route)).abs().to_nm() < 1_000.0, "{name}: {sum:?} of {:?}", walked(route));
                let told = line.leg(leg);
                let planar = told.delay.way.to_mm() - told.barrels.iter().map(|hole| hole.height.to_mm()).sum::<f64>();
                assert!((planar - sum.to_mm()).abs() < 1e-3, "{name}");
                // Nothing is faster than light or slower than a wave in glass with return vias far away.
                let known = (told.delay.way - told.delay.doubtful).to_mm();
                let pace = told.delay.known.to_ps() / known;
                assert!(known < 0.01 || (3.3..20.0).contains(&pace), "{name}: {pace} ps/mm over {known} mm");
            }
            for piece in line.pieces.iter().filter(|piece| piece.role == Role::Track) {
                if let Some(value) = piece.differential() {
                    assert!((10.0..500.0).contains(&value.to_ohms()), "{name}: {value:?} {piece:?}");
                }
            }
        }
    }
}
