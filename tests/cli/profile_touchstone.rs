//! Channels as Touchstone files: lawful numbers, and the delay and skew that `measure` tells.

use crate::run::Folder;
use crate::support::{Board, Generation, Pad, Part, starters};
use serde_json::Value;

const RULES: &str = "[groups.link]\npairs = [\"LINK_{P,N}\"]\nnets = [\"SENSE\"]\nrate = \"8 GT/s\"\n";

/// A pair with a bump on P, and a net through two vias.
fn board() -> Board {
    let mut board = starters::bent_pair("logger", &[(7.0, 4.85), (7.5, 4.35), (8.5, 4.35), (9.0, 4.85)]);
    let land = |number: &str, net: &str| Pad::rect(number, (0.0, 0.0), (0.6, 0.4)).net(net);
    for (name, x) in [("U2", 4.0), ("U3", 14.0)] {
        board.part(Part::new(name, (x, 8.0)).pad(land("1", "SENSE")));
    }
    board.track("SENSE", "F.Cu", 0.2, &[(4.0, 8.0), (14.0, 8.0)]);
    board.fill();
    board
}

/// Frequencies in hertz with the matrix at each.
type Points = Vec<(f64, Vec<Vec<[f64; 2]>>)>;

/// A file's frequencies and matrices, ports in the file's order.
fn read(text: &str, ports: usize) -> Points {
    let mut lines = text.lines().filter(|line| !line.starts_with('!'));
    assert_eq!(lines.next(), Some("# HZ S RI R 50"));
    let numbers: Vec<f64> = lines.flat_map(str::split_whitespace).map(|number| number.parse().unwrap()).collect();
    let size = 1 + 2 * ports * ports;
    assert_eq!(numbers.len() % size, 0);
    let point = |point: &[f64]| {
        let mut rows: Vec<Vec<[f64; 2]>> =
            point[1..].chunks(2 * ports).map(|row| row.chunks(2).map(|value| [value[0], value[1]]).collect()).collect();
        if ports == 2 {
            // Two ports alone are written column by column.
            let column = rows[0][1];
            rows[0][1] = rows[1][0];
            rows[1][0] = column;
        }
        (point[0], rows)
    };
    numbers.chunks(size).map(point).collect()
}

/// No wave gets more out of it than went in, and it is the same both ways.
fn is_lawful(points: &Points) {
    for (hertz, rows) in points {
        let ports = rows.len();
        for (one, row) in rows.iter().enumerate() {
            for (other, [a, b]) in row.iter().enumerate() {
                let [c, d] = rows[other][one];
                assert!((a - c).hypot(b - d) < 1e-7, "{one} {other} at {hertz}");
            }
        }
        // The greatest gain by repeated application of S and its adjoint.
        let mut wave: Vec<[f64; 2]> = (0..ports).map(|port| [[1.0, 0.6, 0.4, 0.3][port], 0.3]).collect();
        let mut gain = 0.0;
        for _ in 0..60 {
            let out: Vec<[f64; 2]> =
                (0..ports).map(|row| sum((0..ports).map(|at| times(rows[row][at], wave[at])))).collect();
            let back: Vec<[f64; 2]> =
                (0..ports).map(|row| sum((0..ports).map(|at| times(conj(rows[at][row]), out[at])))).collect();
            let size = back.iter().map(|[a, b]| a * a + b * b).sum::<f64>().sqrt();
            gain = size / wave.iter().map(|[a, b]| a * a + b * b).sum::<f64>().sqrt();
            wave = back.iter().map(|[a, b]| [a / size, b / size]).collect();
        }
        assert!(gain <= 1.0 + 1e-7, "gain {gain} at {hertz} Hz");
    }
}

fn times([a, b]: [f64; 2], [c, d]: [f64; 2]) -> [f64; 2] {
    [a * c - b * d, a * d + b * c]
}

fn conj([a, b]: [f64; 2]) -> [f64; 2] {
    [a, -b]
}

fn sum(values: impl Iterator<Item = [f64; 2]>) -> [f64; 2] {
    values.fold([0.0, 0.0], |[a, b], [c, d]| [a + c, b + d])
}

/// The delay of a wave in ps, from how its phase turns between 5 and 10 GHz.
fn delay(points: &Points, wave: impl Fn(&[Vec<[f64; 2]>]) -> [f64; 2]) -> f64 {
    let turns = points[249..=499].windows(2).map(|two| {
        let [re, im] = times(wave(&two[1].1), conj(wave(&two[0].1)));
        -im.atan2(re)
    });
    turns.sum::<f64>() / (std::f64::consts::TAU * (points[499].0 - points[249].0)) * 1e12
}

#[test]
fn a_pair_has_four_ports() {
    let folder = Folder::new();
    folder.write("throughline.toml", RULES);
    folder.write("logger.kicad_pcb", board().text(Generation::V8));
    let ran = folder.run(&["profile", ".", "--pair", "LINK", "--report", "touchstone"]);
    assert_eq!((ran.code(), ran.err()), (0, ""));
    let notes: Vec<&str> = ran.out().lines().take_while(|line| line.starts_with('!')).collect();
    let version = env!("CARGO_PKG_VERSION");
    insta::assert_snapshot!(notes.join("\n").replace(version, "VERSION"), @r#"
    ! pair LINK, board logger: J1.1/J1.2 to U1.1/U1.2
    ! throughline VERSION
    ! port 1: J1.1
    ! port 2: J1.2
    ! port 3: U1.1
    ! port 4: U1.2
    ! assumed: foils with 5 um roughness (Rz)
    "#);
    let points = read(ran.out(), 4);
    assert_eq!((points.len(), points[0].0, points.last().unwrap().0), (1000, 20e6, 20e9));
    is_lawful(&points);
    let json = folder.run(&["measure", ".", "--report", "json"]);
    let measured: Value = serde_json::from_str(json.out()).unwrap();
    let signal = &measured["boards"][0]["pairs"][0]["legs"][0]["signal"];
    let told = |name: &str| signal[name].as_f64().unwrap();
    // The differential wave takes what the legs take on average. Conductors and dispersion change that by less than 1 %.
    let half = |[re, im]: [f64; 2], sign: f64| [0.5 * sign * re, 0.5 * sign * im];
    let differential = |s: &[Vec<[f64; 2]>]| {
        sum([half(s[2][0], 1.0), half(s[2][1], -1.0), half(s[3][0], -1.0), half(s[3][1], 1.0)].into_iter())
    };
    let mean = f64::midpoint(told("p_ps"), told("n_ps"));
    let through = delay(&points, differential);
    assert!((through / mean - 1.0).abs() < 0.015, "{through} {mean}");
    // Where P runs alone it is longer, and nothing else sets the legs apart.
    let skew = delay(&points, |s| s[2][0]) - delay(&points, |s| s[3][1]);
    assert!((skew - told("skew_ps")).abs() < 0.5, "{skew} {signal}");
    // And what is lost at half the rate is what the shares add up to.
    let [re, im] = differential(&points[199].1);
    assert!((points[199].0 - 4e9).abs() < 1.0);
    let lost = -20.0 * re.hypot(im).log10();
    assert!((lost - signal["loss"]["total_db"].as_f64().unwrap()).abs() < 0.1, "{lost} {signal}");
}

#[test]
fn a_net_has_two() {
    let folder = Folder::new();
    folder.write("throughline.toml", RULES);
    folder.write("logger.kicad_pcb", board().text(Generation::V8));
    let ran = folder.run(&["profile", ".", "--net", "SENSE", "--report", "touchstone=out.s2p"]);
    assert_eq!((ran.code(), ran.out(), ran.err()), (0, "", ""));
    let points = read(&folder.read("out.s2p"), 2);
    is_lawful(&points);
    let through = points.iter().map(|(_, rows)| rows[1][0][0].hypot(rows[1][0][1]));
    assert!(through.clone().all(|size| (0.8..1.0).contains(&size)), "{:?}", through.reduce(f64::min));
}
