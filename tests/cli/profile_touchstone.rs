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

/// A file's frequencies in hertz and matrices, ports in the file's order.
fn read(text: &str, ports: usize) -> Vec<(f64, Vec<Vec<[f64; 2]>>)> {
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
fn is_lawful(points: &[(f64, Vec<Vec<[f64; 2]>>)]) {
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

/// The delay of a way through, in ps, from how its phase turns between the first two frequencies.
fn delay(points: &[(f64, Vec<Vec<[f64; 2]>>)], to: usize, from: usize, at: usize) -> f64 {
    let [(f1, s1), (f2, s2)] = &points[at..at + 2] else { panic!() };
    let [re, im] = times(s2[to][from], conj(s1[to][from]));
    -im.atan2(re) / (std::f64::consts::TAU * (f2 - f1)) * 1e12
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
    // Through P and through N: what `measure` says, but for dispersion.
    let json = folder.run(&["measure", ".", "--report", "json"]);
    let measured: Value = serde_json::from_str(json.out()).unwrap();
    let signal = &measured["boards"][0]["pairs"][0]["legs"][0]["signal"];
    let told = |name: &str| signal[name].as_f64().unwrap();
    // Averaged over a beat of reflections, 5 to 10 GHz.
    let mean = |to: usize, from: usize| (250..500).map(|at| delay(&points, to, from, at)).sum::<f64>() / 250.0;
    let (p, n) = (mean(2, 0), mean(3, 1));
    assert!((p / told("p_ps") - 1.0).abs() < 0.03, "{p} {signal}");
    assert!((n / told("n_ps") - 1.0).abs() < 0.03, "{n} {signal}");
    assert!((p - n - told("skew_ps")).abs() < 0.6, "{p} {n} {signal}");
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
