//! One channel from end to end: what its picture and its values say, and which channel is meant.

use crate::run::Folder;
use crate::support::{Board, Generation, Pad, Part, Stack, starters};

const RULES: &str = "\
[groups.link]
pairs = [\"LINK_{P,N}\"]
impedance = \"95 ohm ±10 %\"
rate = \"16 GT/s\"
";

fn folder(board: &mut Board, rules: &str) -> Folder {
    board.fill();
    folder_of(board, rules)
}

fn folder_of(board: &Board, rules: &str) -> Folder {
    let folder = Folder::new();
    folder.write("throughline.toml", rules);
    folder.write("logger.kicad_pcb", board.text(Generation::V8));
    folder
}

/// A pair that runs side by side, opens to a bump on P, and goes on.
fn bent() -> Board {
    starters::bent_pair("logger", &[(7.0, 4.85), (7.5, 4.35), (8.5, 4.35), (9.0, 4.85)])
}

/// A net on three parts, through a via and its return, with a neck before U3.
fn branched() -> Board {
    let mut board = starters::planes("logger");
    let land = |number: &str, net: &str| Pad::rect(number, (0.0, 0.0), (0.6, 0.4)).net(net);
    for (name, x, y) in [("U2", 4.0, 5.0), ("U3", 16.0, 5.0), ("R1", 10.0, 2.0)] {
        board.part(Part::new(name, (x, y)).pad(land("1", "SENSE")));
    }
    board.track("SENSE", "F.Cu", 0.2, &[(4.0, 5.0), (10.0, 5.0), (10.0, 2.0)]);
    board.track("SENSE", "F.Cu", 0.2, &[(10.0, 5.0), (14.0, 5.0)]);
    board.track("SENSE", "F.Cu", 0.1, &[(14.0, 5.0), (16.0, 5.0)]);
    board
}

/// What stands in the picture, from above to below as written.
fn texts(svg: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut rest = svg;
    while let Some(at) = rest.find("<text ") {
        rest = &rest[at..];
        let (start, end) = (rest.find('>').unwrap() + 1, rest.find("</text>").unwrap());
        let class = rest.split("class=\"").nth(1).unwrap().split('"').next().unwrap();
        if class != "small" {
            found.push(rest[start..end].to_owned());
        }
        rest = &rest[end..];
    }
    found
}

/// Every tag is closed in its turn, and no text breaks out of its own.
fn is_well_formed(svg: &str) {
    let mut open: Vec<&str> = Vec::new();
    let mut rest = svg;
    while let Some(at) = rest.find('<') {
        assert!(!rest[..at].contains('>'), "a stray `>` before {}", &rest[at..]);
        let end = at + rest[at..].find('>').unwrap();
        let tag = &rest[at + 1..end];
        assert!(!tag.contains('<'), "{tag}");
        assert_eq!(tag.matches('"').count() % 2, 0, "{tag}");
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name));
        } else if !tag.ends_with('/') {
            open.push(tag.split(' ').next().unwrap());
        }
        rest = &rest[end + 1..];
    }
    assert!(open.is_empty() && rest.trim().is_empty());
}

fn numbers(points: &str) -> Vec<[f64; 2]> {
    let pair = |pair: &str| pair.split(',').map(|number| number.parse().unwrap()).collect::<Vec<f64>>();
    points.split(' ').map(pair).map(|at| [at[0], at[1]]).collect()
}

/// The points of every polyline of a class.
fn curves(svg: &str, class: &str) -> Vec<Vec<[f64; 2]>> {
    let lines = svg.lines().filter(|line| line.starts_with(&format!("<polyline class=\"{class}\"")));
    lines.map(|line| numbers(line.split("points=\"").nth(1).unwrap().split('"').next().unwrap())).collect()
}

/// The left and right edge of every rectangle of a class.
fn columns(svg: &str, class: &str) -> Vec<[f64; 2]> {
    let value = |line: &str, name: &str| -> f64 {
        line.split(&format!(" {name}=\"")).nth(1).unwrap().split('"').next().unwrap().parse().unwrap()
    };
    let boxes = svg.lines().filter(|line| line.starts_with(&format!("<rect class=\"{class}\"")));
    boxes.map(|line| [value(line, "x"), value(line, "x") + value(line, "width")]).collect()
}

#[test]
fn the_picture_says() {
    let folder = folder(&mut bent(), RULES);
    let ran = folder.run(&["profile", "logger.kicad_pcb", "--pair", "LINK"]);
    assert_eq!((ran.code(), ran.err()), (0, ""));
    is_well_formed(ran.out());
    insta::assert_snapshot!(texts(ran.out()).join("\n"), @r#"
    pair LINK: J1.1/J1.2 to U1.1/U1.2
    board logger, 4 copper layers; nets LINK_P, LINK_N; 14.414 mm along P
    89.3 ohm typical, 89.3 to 103.5 ohm; delay P 83.18 ps, N 80.71 ps; skew 2.47 ps, at its peak 2.47 ps
    0.66 dB lost at 8 GHz: metal 0.34, dielectrics 0.32, barrels 0.00
    stackup of the board file
    Impedance along the way
    position, mm
    impedance, ohm
    F.Cu
    none
    In1.Cu 0.1 mm
    Running skew: delay of P minus delay of N where the legs run side by side; the dot: end to end, 2.47 ps
    position, mm
    P minus N, ps
    Predicted reflection at J1.1/J1.2
    time since the edge went in, there and back, ps
    apparent impedance, ohm
    Marks
    1
    P
    0.000
    0.00
    F.Cu, 17, 4.85
    contact J1.1
    2
    N
    0.000
    0.00
    F.Cu, 17, 5.15
    contact J1.2
    3
    P
    14.414
    83.18
    F.Cu, 3, 4.85
    pad U1.1
    4
    N
    14.000
    80.71
    F.Cu, 3, 5.15
    pad U1.2
    "#);
    assert!(
        ran.out()
            .contains("Gaussian edge, 42.5 ps from 10 to 90 % (3 dB down at half of 16 GT/s); source and load 95 ohm")
    );
    for foreign in ["http://", "https://", "url(http", "<script", "<image", "@import", "<foreignObject"] {
        let found = ran.out().replace("http://www.w3.org/2000/svg", "").contains(foreign);
        assert!(!found, "the picture needs {foreign}");
    }
}

/// The curves are inside their frames, go from end to end, and nothing is hatched where all is known.
#[test]
fn the_picture_shows_all_of_a_channel_that_is_known() {
    let folder = folder(&mut bent(), RULES);
    let ran = folder.run(&["profile", ".", "--pair", "LINK"]);
    let svg = ran.out();
    let gaps = columns(svg, "gap");
    assert_eq!(gaps.len(), 1, "only the legend's");
    let echo = curves(svg, "echo");
    assert_eq!(echo.len(), 1);
    assert!(echo[0].windows(2).all(|two| two[0][0] < two[1][0]), "time goes to the right");
    assert!(echo[0].first().unwrap()[0] < 110.0 && echo[0].last().unwrap()[0] > 1150.0);
    for class in ["both", "legp", "legn", "skew", "echo"] {
        for [x, y] in curves(svg, class).into_iter().flatten() {
            assert!((91.9..1176.1).contains(&x) && y > 0.0, "{class} {x} {y}");
        }
    }
    assert!(!curves(svg, "legp").is_empty() && !curves(svg, "skew").is_empty());
}

#[test]
fn values_for_a_spreadsheet() {
    let folder = folder(&mut bent(), RULES);
    let ran = folder.run(&["profile", ".", "--pair", "LINK", "--report", "csv"]);
    assert_eq!((ran.code(), ran.err()), (0, ""));
    let lines: Vec<&str> = ran.out().lines().filter(|line| !line.starts_with("reflection")).collect();
    insta::assert_snapshot!(lines.join("\n"), @r#"
    kind,leg,from_mm,to_mm,n_from_mm,n_to_mm,layer,x_mm,y_mm,to_x_mm,to_y_mm,width_mm,n_width_mm,gap_from_mm,gap_to_mm,plane_above,above_mm,plane_below,below_mm,ohm,time_ps,skew_ps,reflected,what,not_known
    piece,P,0,0.15,,,F.Cu,17,4.85,16.85,4.85,,,,,,,,,,,,,land,"inside a land, whose impedance is not the track's"
    piece,N,0,0.15,,,F.Cu,17,5.15,16.85,5.15,,,,,,,,,,,,,land,"inside a land, whose impedance is not the track's"
    piece,both,0.15,8,0.15,8,F.Cu,16.85,4.85,9,4.85,0.16,0.16,0.14,0.14,,,In1.Cu,0.1,89.34,,,,track,
    piece,P,8,10.414214,,,F.Cu,9,4.85,7,4.85,0.16,,,,,,In1.Cu,0.1,103.485,,,,track,
    piece,N,8,10,,,F.Cu,9,5.15,7,5.15,0.16,,,,,,In1.Cu,0.1,103.485,,,,track,
    piece,both,10.414214,14.264214,10,13.85,F.Cu,7,4.85,3.15,4.85,0.16,0.16,0.14,0.14,,,In1.Cu,0.1,89.34,,,,track,
    piece,P,14.264214,14.414214,,,F.Cu,3.15,4.85,3,4.85,,,,,,,,,,,,,land,"inside a land, whose impedance is not the track's"
    piece,N,13.85,14,,,F.Cu,3.15,5.15,3,5.15,,,,,,,,,,,,,land,"inside a land, whose impedance is not the track's"
    pad,P,0,0,,,F.Cu,17,4.85,,,,,,,,,,,,0,,,contact J1.1,
    pad,N,0,0,,,F.Cu,17,5.15,,,,,,,,,,,,0,,,contact J1.2,
    pad,P,14.414214,14.414214,,,F.Cu,3,4.85,,,,,,,,,,,,83.182,,,pad U1.1,
    pad,N,14,14,,,F.Cu,3,5.15,,,,,,,,,,,,80.712,,,pad U1.2,
    skew,both,0.15,0.15,0.15,0.15,F.Cu,16.85,4.85,,,,,,,,,,,,,0,,,
    skew,both,8,8,8,8,F.Cu,9,4.85,,,,,,,,,,,,,0,,,
    skew,both,10.414214,10.414214,10,10,F.Cu,7,4.85,,,,,,,,,,,,,2.469,,,
    skew,both,14.264214,14.264214,13.85,13.85,F.Cu,3.15,4.85,,,,,,,,,,,,,2.469,,,
    "#);
    let echo: Vec<&str> = ran.out().lines().filter(|line| line.starts_with("reflection")).collect();
    assert!(echo.len() > 60);
    let columns = |line: &str| line.split('"').step_by(2).map(|open| open.matches(',').count()).sum::<usize>();
    assert!(ran.out().lines().all(|line| columns(line) == columns(ran.out().lines().next().unwrap())));
}

/// A net that changes sides through a via beside two return vias, and goes on through a neck to a ball.
#[test]
fn what_stands_on_the_way() {
    let mut board = starters::planes("logger");
    board.part(Part::new("J7", (4.0, 5.0)).pad(Pad::rect("3", (0.0, 0.0), (0.6, 0.4)).net("SENSE")));
    let mut balls = Part::new("U9", (16.0, 5.0)).bottom();
    for (row, y) in [-1.2, -0.4, 0.4, 1.2].into_iter().enumerate() {
        for (column, x) in [-1.2, -0.4, 0.4, 1.2].into_iter().enumerate() {
            let net = if (row, column) == (1, 0) { "SENSE" } else { "GND" };
            balls = balls.pad(Pad::circle(&format!("{row}{column}"), (x, y), 0.35).net(net));
        }
    }
    board.part(balls);
    let ball = board.pad_at("U9.10");
    board.track("SENSE", "F.Cu", 0.2, &[(4.0, 5.0), (9.0, 5.0)]);
    board.via("SENSE", (9.0, 5.0));
    board.via("GND", (9.0, 5.8));
    board.via("GND", (9.0, 4.2));
    board.track("SENSE", "B.Cu", 0.2, &[(9.0, 5.0), (13.0, ball.1)]);
    board.track("SENSE", "B.Cu", 0.1, &[(13.0, ball.1), ball]);
    let folder = folder(&mut board, "[groups.sense]\nnets = [\"SENSE\"]\nrate = \"4 GT/s\"\n");
    let ran = folder.run(&["profile", ".", "--net", "SENSE", "--report", "csv", "--report", "svg=out.svg"]);
    let marks: Vec<&str> =
        ran.out().lines().filter(|line| ["pad,", "barrel", "neck"].iter().any(|kind| line.starts_with(kind))).collect();
    insta::assert_snapshot!(marks.join("\n"), @r#"
    pad,,0,0,,,F.Cu,4,5,,,,,,,,,,,,0,,,contact J7.3,
    barrel,,5,5,,,F.Cu,9,5,,,,,,,,,,,55.073,29.873,,,"barrel F.Cu to B.Cu, 55.1 ohm, 6.51 ps",
    neck,,9.01995,10.64495,,,B.Cu,14.625,5.4,,,,,,,,,,,,69.969,,,"neck 0.1 mm wide for 1.625 mm, else 0.2 mm",
    pad,,10.81995,10.81995,,,B.Cu,14.8,5.4,,,,,,,,,,,,71.002,,,ball U9.10,
    "#);
    let said = texts(&folder.read("out.svg"));
    let key = said.iter().position(|text| text == "Marks").unwrap();
    insta::assert_snapshot!(said[key..].join(" "), @r#"Marks 1  0.000 0.00 F.Cu, 4, 5 contact J7.3 2  5.000 29.87 F.Cu, 9, 5 barrel F.Cu to B.Cu, 55.1 ohm, 6.51 ps 3  10.645 69.97 B.Cu, 14.625, 5.4 neck 0.1 mm wide for 1.625 mm, else 0.2 mm 4  10.820 71.00 B.Cu, 14.8, 5.4 ball U9.10"#);
}

/// A stretch over a zone without fill is hatched, has its reason, and no curve crosses it.
#[test]
fn what_is_not_known_is_hatched() {
    let ring = crate::support::rectangle((9.0, 3.0), (11.0, 7.0));
    let mut board = starters::straight_pair("logger");
    board.keepout(&["In1.Cu", "In2.Cu"], &ring);
    board.fill();
    // Under the middle of the pair a second zone, which is not filled.
    board.zone("GND", &["In1.Cu"], &ring);
    let folder = folder_of(&board, RULES);
    let ran = folder.run(&["profile", ".", "--pair", "LINK", "--report", "svg", "--report", "csv=out.csv"]);
    let svg = ran.out();
    let gaps = columns(svg, "gap");
    assert!(gaps.len() > 1, "{}", folder.read("out.csv"));
    let [left, right] = gaps[1];
    for curve in curves(svg, "both") {
        for two in curve.windows(2) {
            assert!(
                two[1][0] <= left + 0.1 || two[0][0] >= right - 0.1,
                "a curve crosses the gap: {two:?} {left} {right}"
            );
        }
    }
    let said = texts(svg).join("\n");
    assert!(said.contains("not known: a zone that should be its plane has no fill"), "{said}");
    let csv = folder.read("out.csv");
    assert!(csv.lines().any(|line| line.starts_with("piece,both") && line.ends_with("has no fill")), "{csv}");
    let ran = folder.run(&["profile", ".", "--pair", "LINK", "--report", "touchstone=out.s4p"]);
    insta::assert_snapshot!(ran.refused(), @r#"
    error no Touchstone file of pair `LINK`: a zone that should be its plane has no fill
      help: the picture shows where: `--report svg=PATH`
    "#);
}

#[test]
fn without_a_rate_the_edge_is_a_usual_one_and_said_to_be() {
    let folder = folder(&mut branched(), "[groups.sense]\nnets = [\"SENSE\"]\n");
    let svg = folder.run(&["profile", ".", "--net", "SENSE", "--from", "U2", "--to", "U3"]);
    let said = "Gaussian edge, 35 ps from 10 to 90 % (no rate is known; common practice); source and load 50 ohm \
                (no target is known; common practice)";
    assert!(svg.out().contains(said));
    let asked =
        ["profile", ".", "--net", "SENSE", "--from", "U2", "--to", "U3", "--rise", "60 ps", "--source", "75 ohm"];
    let said = "Gaussian edge, 60 ps from 10 to 90 % (as asked for); source and load 75 ohm (as asked for)";
    assert!(folder.run(&asked).out().contains(said));
}

#[test]
fn a_placeholder_is_said_in_the_picture_and_beside_it() {
    let mut board = starters::straight_pair("logger");
    for sheet in board.stack.sheets.iter_mut().filter(|sheet| ["prepreg", "core"].contains(&sheet.kind)) {
        (sheet.thickness, sheet.permittivity) = (0.2, 4.5);
    }
    let folder = folder(&mut board, RULES);
    let ran = folder.run(&["profile", ".", "--pair", "LINK"]);
    assert_eq!(ran.code(), 0);
    assert!(texts(ran.out()).iter().any(|text| text.starts_with("The stackup is a placeholder")));
    insta::assert_snapshot!(ran.err(), @r#"
    warning the stackup looks as if nobody had entered it; every ohm and ps rests on it
      help: state what the fab will build in the rule file: `[stackup]`
    "#);
}

/// Looked at from the other end it is the same channel, mirrored.
#[test]
fn from_the_other_end() {
    let folder = folder(&mut branched(), "[groups.sense]\nnets = [\"SENSE\"]\n");
    let pieces = |ends: [&str; 2]| -> Vec<(f64, String)> {
        let ran =
            folder.run(&["profile", ".", "--net", "SENSE", "--from", ends[0], "--to", ends[1], "--report", "csv"]);
        let rows = ran.out().lines().filter(|line| line.starts_with("piece")).map(|line| {
            let cells: Vec<&str> = line.split(',').collect();
            (cells[3].parse::<f64>().unwrap() - cells[2].parse::<f64>().unwrap(), cells[19].to_owned())
        });
        rows.collect()
    };
    let (forth, back) = (pieces(["U2", "U3"]), pieces(["U3", "U2"]));
    assert!(forth.len() > 3 && forth.len() == back.len());
    for (one, other) in forth.iter().zip(back.iter().rev()) {
        assert!((one.0 - other.0).abs() < 2e-6 && one.1 == other.1, "{one:?} {other:?}");
    }
}

#[test]
fn which_channel_is_meant() {
    let mut board = branched();
    for (name, x) in [("U1", 3.0), ("J1", 17.0)] {
        let pad = |number: &str, y: f64, net: &str| Pad::rect(number, (0.0, y), (0.3, 0.2)).net(net);
        board.part(Part::new(name, (x, 8.0)).pad(pad("1", -0.15, "LINK_P")).pad(pad("2", 0.15, "LINK_N")));
    }
    for (net, y) in [("LINK_P", 7.85), ("LINK_N", 8.15)] {
        board.track(net, "F.Cu", 0.16, &[(3.0, y), (17.0, y)]);
    }
    board.part(Part::new("R9", (10.0, 1.0)).pad(Pad::rect("1", (0.0, 0.0), (0.4, 0.4)).net("SPARE")));
    let folder = folder(&mut board, RULES);
    let refused = |arguments: &[&str]| folder.run(&[&["profile", "."], arguments].concat()).refused().to_owned();
    insta::assert_snapshot!(refused(&["--pair", "LINQ"]), @r#"
    error no pair of this board is called `LINQ`
      help: did you mean `LINK`?
    "#);
    insta::assert_snapshot!(refused(&["--pair", "LINK_N"]), @r#"
    error no pair of this board is called `LINK_N`
      help: it is a net, a leg of the pair `LINK`
    "#);
    insta::assert_snapshot!(refused(&["--pair", "GEOPHONE"]), @r#"
    error no pair of this board is called `GEOPHONE`
      help: `throughline measure` lists the pairs of a board
    "#);
    insta::assert_snapshot!(refused(&["--net", "SENCE"]), @r#"
    error no net of this board is called `SENCE`
      help: did you mean `SENSE`?
    "#);
    insta::assert_snapshot!(refused(&["--net", "SENSE"]), @r#"
    error net `SENSE` has 3 ways that fit, of 3
      help: choose one with `--from` and `--to`, a pad or a part: R1.1 to U2.1, R1.1 to U3.1, U2.1 to
            U3.1
    "#);
    insta::assert_snapshot!(refused(&["--net", "SENSE", "--from", "U2", "--to", "J1"]), @r#"
    error net `SENSE` has no way from `U2` to `J1`
      help: it has R1.1 to U2.1, R1.1 to U3.1, U2.1 to U3.1
    "#);
    insta::assert_snapshot!(refused(&["--net", "SPARE"]), @r#"error copper joins no two pads of net `SPARE`"#);
    insta::assert_snapshot!(refused(&["--net", "SENSE", "--to", "U3", "--report", "touchstone=out.s4p"]), @r#"
    error a net has two ports, but the Touchstone file ends in `.s4p`
      help: name it `.s2p`
    "#);
    assert_eq!(folder.run(&["profile", ".", "--net", "SENSE", "--from", "R1.1", "--to", "U3"]).code(), 0);
    assert!(refused(&[]).contains("--pair <NAME>"), "a channel must be named");
    assert!(refused(&["--pair", "LINK", "--rise", "35 mm"]).contains("'35 mm' for '--rise <TIME>'"));
}

#[test]
fn without_a_stackup_there_is_no_profile() {
    let mut board = starters::straight_pair("logger");
    board.stack = Stack::four().unstated();
    let ran = folder(&mut board, RULES).run(&["profile", ".", "--pair", "LINK"]);
    insta::assert_snapshot!(ran.refused(), @r#"
    error no profile on board `logger`: there is no stackup
      help: state what the fab will build in the rule file: `[stackup]`
    "#);
}

#[test]
fn a_folder_of_two_boards_asks_which() {
    let folder = folder(&mut bent(), RULES);
    folder.write("other.kicad_pcb", "");
    insta::assert_snapshot!(folder.run(&["profile", ".", "--pair", "LINK"]).refused(), @r#"
    error `.` holds 2 boards
      help: name one of `logger.kicad_pcb`, `other.kicad_pcb`
    "#);
    assert_eq!(folder.run(&["profile", "logger.kicad_pcb", "--pair", "LINK", "--report", "svg=x.svg"]).out(), "");
    assert!(folder.read("x.svg").starts_with("<svg "));
}

#[test]
fn names_that_would_break_a_picture() {
    let mut board = starters::planes("logger");
    let net = "A<B>&\"C";
    for (name, x) in [("U1", 3.0), ("J1", 17.0)] {
        board.part(Part::new(name, (x, 5.0)).pad(Pad::rect("1", (0.0, 0.0), (0.3, 0.2)).net(net)));
    }
    board.track(net, "F.Cu", 0.16, &[(3.0, 5.0), (17.0, 5.0)]);
    let ran = folder(&mut board, RULES).run(&["profile", ".", "--net", net]);
    assert_eq!((ran.code(), ran.err()), (0, ""));
    is_well_formed(ran.out());
    assert!(texts(ran.out())[0].contains("A&lt;B&gt;&amp;&quot;C"), "{:?}", texts(ran.out())[0]);
}

#[test]
fn the_same_bytes_for_any_number_of_threads() {
    let folder = folder(&mut bent(), RULES);
    let run = |jobs: &str| {
        let files = ["--report", "svg", "--report", "csv=out.csv", "--report", "touchstone=out.s4p"];
        let ran = folder.run(&[&["profile", ".", "--pair", "LINK", "--jobs", jobs], &files[..]].concat());
        (ran.out().to_owned(), folder.read("out.csv"), folder.read("out.s4p"))
    };
    assert_eq!(run("1"), run("7"));
}
