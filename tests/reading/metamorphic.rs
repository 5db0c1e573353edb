//! The same board in another dress is the same board: other white space, other line ends, other order, other ids.

use crate::support::{fixtures, read_text};
use proptest::prelude::*;
use throughline::board::{Board, LayerSet, NetId};
use throughline::source::Limits;
use throughline::source::lexer::{Lexer, TokenKind};

/// A board as text without places and ids, its items sorted.
fn canonical(board: &Board) -> String {
    let net = |id: NetId| board.nets.name(id);
    let layers = |set: LayerSet| set.iter().map(|layer| board.layers.name(layer)).collect::<Vec<_>>();
    let mut lines = Vec::new();
    for (_, one) in board.nets.iter() {
        lines.push(format!("net {}", one.name));
    }
    for class in &board.classes {
        let members: Vec<_> = class.nets.iter().map(|&id| net(id)).collect();
        let mut sorted = members.clone();
        sorted.sort_unstable();
        lines.push(format!(
            "class {} {sorted:?} {:?} {:?} {:?}",
            class.name, class.track_width, class.via_drill, class.pair_gap
        ));
    }
    for part in board.footprints.values() {
        lines.push(format!(
            "part {} {} {} {:?} {:?} {} {} {:?} {:?}",
            part.reference,
            part.value,
            part.library,
            part.side,
            part.at,
            part.angle,
            part.unfitted,
            part.net_ties,
            part.jumpers
        ));
    }
    for pad in board.pads.values() {
        lines.push(format!(
            "pad {} {} {:?} {:?} {} {:?} {:?} {:?} {:?} {} {} {:?} {:?} {} {:?} {} {:?} {:?}",
            board.footprints[pad.footprint].reference,
            pad.number,
            pad.kind,
            pad.at,
            pad.angle,
            pad.size,
            layers(pad.layers),
            pad.shapes,
            pad.on_layer,
            pad.remove_unused,
            pad.keep_ends,
            layers(pad.fill_layers),
            pad.drill,
            net(pad.net),
            pad.function,
            pad.ball,
            pad.package_length,
            pad.back_drills
        ));
    }
    for track in board.tracks.values() {
        let layer = board.layers.name(track.layer);
        lines.push(format!("track {:?} {} {layer} {} {}", track.path, track.width, net(track.net), track.bare));
    }
    for via in board.vias.values() {
        lines.push(format!(
            "via {:?} {} {:?} {:?} {:?} {} {} {} {:?} {:?} {}",
            via.at,
            via.size,
            via.sizes,
            via.drill,
            layers(via.layers()),
            via.micro,
            via.remove_unused,
            via.keep_ends,
            layers(via.fill_layers),
            via.back_drills,
            net(via.net)
        ));
    }
    for (id, zone) in board.zones.iter() {
        let fills: Vec<_> = board
            .fills
            .values()
            .filter(|fill| fill.zone == id)
            .map(|fill| (board.layers.name(fill.layer), &fill.shape, fill.island))
            .collect();
        lines.push(format!(
            "zone {:?} {} {:?} {:?} {} {} {} {} {fills:?}",
            zone.kind,
            net(zone.net),
            layers(zone.layers),
            zone.outline,
            zone.clearance,
            zone.min_thickness,
            zone.hatched,
            zone.name
        ));
    }
    for graphic in board.graphics.values() {
        let part = graphic.footprint.map(|id| board.footprints[id].reference.as_str());
        let layer = board.layers.name(graphic.layer);
        lines.push(format!("graphic {:?} {layer} {} {part:?} {}", graphic.shapes, net(graphic.net), graphic.text));
    }
    for piece in &board.outline {
        lines.push(format!("edge {:?}", piece.path));
    }
    for note in &board.notes {
        lines.push(format!("note {}", note.message));
    }
    for doubt in &board.doubts {
        lines.push(format!("doubt {} {:?}", doubt.message, layers(doubt.layers)));
    }
    lines.sort();
    let sheets: Vec<_> = board
        .stackup
        .iter()
        .flat_map(|stackup| &stackup.entries)
        .map(|entry| (entry.copper(), entry.thickness()))
        .collect();
    format!(
        "{:?} {} {:?} {:?} {sheets:?}\n{}",
        board.version,
        board.revision,
        board.thickness,
        layers(board.layers.all()),
        lines.join("\n")
    )
}

fn same(name: &str, text: &str, dressed: &str, what: &str) {
    let want = canonical(&read_text(name, text).unwrap());
    let got = canonical(&read_text(name, dressed).unwrap_or_else(|report| panic!("{what}: {report}")));
    if got != want {
        let differing = want.lines().zip(got.lines()).find(|(want, got)| want != got);
        panic!("{name}, {what}: {differing:?}");
    }
}

/// All tokens as text.
fn tokens(text: &str) -> Vec<&str> {
    let mut lexer = Lexer::new(text, &Limits::default());
    let mut tokens = Vec::new();
    loop {
        let token = lexer.next_token();
        if token.kind == TokenKind::End {
            return tokens;
        }
        tokens.push(&text[token.span.start as usize..token.span.end as usize]);
    }
}

/// The children of the root, each as text, behind the root's head.
fn children(text: &str) -> Vec<String> {
    let (mut depth, mut children) = (0, Vec::new());
    for token in tokens(text) {
        depth += i32::from(token == "(");
        match (depth, token) {
            (0 | 1, _) => {}
            (2, "(") => children.push("(".to_owned()),
            _ => {
                let child: &mut String = children.last_mut().unwrap();
                child.push(' ');
                child.push_str(token);
            }
        }
        depth -= i32::from(token == ")");
    }
    children
}

fn head(child: &str) -> &str {
    child[2..].split(' ').next().unwrap()
}

/// Whether items may need a child that comes before them.
fn is_header(child: &str) -> bool {
    !matches!(
        head(child),
        "footprint" | "module" | "segment" | "arc" | "via" | "zone" | "group" | "generated" | "dimension"
    ) && !head(child).starts_with("gr_")
}

/// A shuffle that a number decides.
fn shuffle<T>(list: &mut [T], mut seed: u64) {
    for at in (1..list.len()).rev() {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        list.swap(at, (seed >> 33) as usize % (at + 1));
    }
}

#[test]
fn line_ends_do_not_matter() {
    for (name, text) in fixtures() {
        let unix = text.replace("\r\n", "\n");
        same(&name, &text, &unix, "LF");
        same(&name, &text, &unix.replace('\n', "\r\n"), "CRLF");
        same(&name, &text, &format!("\u{feff}{text}"), "byte-order mark");
        same(&name, &text, text.trim_end(), "no line end at the end");
    }
}

#[test]
fn white_space_does_not_matter() {
    for (name, text) in fixtures() {
        same(&name, &text, &tokens(&text).join(" "), "one line");
        same(&name, &text, &tokens(&text).join("\n"), "one token per line");
        let tight = tokens(&text).join(" ").replace("( ", "(").replace(" )", ")").replace(") (", ")(");
        same(&name, &text, &tight, "no space around parentheses");
    }
}

#[test]
fn ids_do_not_matter() {
    for (name, text) in fixtures() {
        let mut number = 0;
        let mut after_id = false;
        let renamed: Vec<String> = tokens(&text)
            .into_iter()
            .map(|token| {
                number += 1;
                let replaced =
                    if after_id { format!("\"{number:08x}-0000-4000-8000-00000000beef\"") } else { token.to_owned() };
                after_id = matches!(token, "uuid" | "tstamp");
                replaced
            })
            .collect();
        let renamed = renamed.join(" ");
        assert!(renamed.contains("beef"));
        same(&name, &text, &renamed, "new ids");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn order_of_items_does_not_matter(seed: u64) {
        for (name, text) in fixtures() {
            let (head, mut items): (Vec<_>, Vec<_>) = children(&text).into_iter().partition(|child| is_header(child));
            shuffle(&mut items, seed);
            let shuffled = format!("(kicad_pcb {} {})", head.join("\n"), items.join("\n"));
            same(&name, &text, &shuffled, "items in another order");
        }
    }

    /// The format wants its header first; a file that breaks this is still read right.
    #[test]
    fn even_late_tables_are_found(seed: u64) {
        for (name, text) in fixtures() {
            let mut all = children(&text);
            shuffle(&mut all, seed);
            let shuffled = format!("(kicad_pcb {})", all.join("\n"));
            same(&name, &text, &shuffled, "everything in another order");
        }
    }
}
