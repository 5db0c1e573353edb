//! What `width` prints, refuses and exits with.

use crate::run::Folder;
use crate::schema::differences;
use crate::support::{Board, Generation, Stack, starters};
use serde_json::Value;
use throughline::report::WIDTH_SCHEMA;

/// Six layers as a fab's sheet has them: 0.1 mm outside, 0.13 mm inside, no loss tangent in the middle.
const RULES: &str = r#"[stackup]
source    = "sheet of 3 March"
roughness = "2 um"
layer = [
  { mask    = "green",  thickness = "12.5 um", permittivity = 3.8 },
  { copper  = "F.Cu",   thickness = "35 um" },
  { prepreg = "3313",   thickness = "0.1 mm",  permittivity = 4.05, loss-tangent = 0.019 },
  { copper  = "L2",     thickness = "15.2 um" },
  { core    = "2116",   thickness = "0.13 mm", permittivity = 4.2,  loss-tangent = 0.018 },
  { copper  = "In2.Cu", thickness = "15.2 um" },
  { prepreg = "7628",   thickness = "0.2 mm",  permittivity = 4.4 },
  { copper  = "B.Cu",   thickness = "35 um" },
]

[groups.lanes]
proposed = true
rate     = "16 GT/s"

[[check]]
use   = "via-stub"
on    = ["lanes"]
limit = "0.4 mm"
"#;

fn rules(text: &str) -> Folder {
    let folder = Folder::new();
    folder.write("fab.toml", text);
    folder
}

/// A board with planes on its inner layers.
fn board(stack: Stack, generation: Generation) -> Folder {
    let folder = Folder::new();
    let mut board: Board = starters::planes("logger");
    board.fill();
    board.stack = stack;
    folder.write("logger.kicad_pcb", board.text(generation));
    folder.write("throughline.toml", "[groups.lanes]\nproposed = true\n");
    folder
}

#[test]
fn a_table_of_gaps() {
    let ran = rules(RULES).run(&[
        "width",
        "--on",
        "fab.toml",
        "--layer",
        "L1",
        "--target",
        "85 ohm ±5 %",
        "--gap",
        "0.13 mm",
        "--gap",
        "6 mil",
    ]);
    assert_eq!((ran.code(), ran.err()), (0, ""));
    insta::assert_snapshot!(ran.out(), @r"
    stackup  from the rule set, fab.toml:1:2
    rules  fab.toml, named on the command line

    Pairs of 85 ohm ±5 % on `F.Cu`
      planes   none above; below `L2`, 0.1 mm away; no board shows which layers are planes:
               `--plane-above` and `--plane-below` name others
      trace    0.035 mm thick, its upper side 0.035 mm narrower than drawn (etching)
      mask     on the upper face, 0.0125 mm, permittivity 3.8
      fab      at least 0.1 mm wide, 0.1 mm apart
      values   permittivity and loss tangent as stated for 1 GHz
      loss     at 8 GHz, the Nyquist frequency of 16 GT/s, fab.toml:17:12; foils with a roughness Rz of
               2 um

    gap mm  width mm   ohm  common ohm  ps/mm   dB/mm
      0.13     0.176  84.9        27.8  5.701  0.0355
     0.152     0.185  85.0        26.7  5.724  0.0352

    With a tenth less and a tenth more, in ohm
    gap mm  width mm   height -10 %   height +10 %      width -10 %      width +10 %  permittivity -10 %  permittivity +10 %
      0.13     0.176  81.2 (-4.4 %)  88.2 (+3.8 %)  ! 91.2 (+7.4 %)  ! 79.0 (-6.9 %)       88.3 (+4.0 %)       81.9 (-3.5 %)
     0.152     0.185  81.0 (-4.7 %)  88.6 (+4.2 %)  ! 91.0 (+7.1 %)  ! 79.4 (-6.6 %)       88.5 (+4.1 %)       82.0 (-3.6 %)

    No other copper lies beside the traces: a pour nearer than about three heights lowers the impedance.
    Height is all dielectric between the trace and its planes, permittivity that of all sheets (the
    mask's stays). Where the width changes the middles of the legs stay, so the gap changes by as much.
    The solver puts its own error at no more than 0.2 %. ! is outside 85 ohm ±5 %.
    ");
}

#[test]
fn a_board_shows_its_planes() {
    let folder = board(Stack::four(), Generation::V8);
    let ran =
        folder.run(&["width", "--on", ".", "--layer", "F.Cu", "--target", "50 ohm", "--single", "--rate", "8 GT/s"]);
    assert_eq!((ran.code(), ran.err()), (0, ""));
    insta::assert_snapshot!(ran.out(), @r"
    board  logger.kicad_pcb: 4 copper layers, 1 net, format 20240108
    stackup  from the board file
    rules  throughline.toml, the nearest one to the board

    Single lines of 50 ohm on `F.Cu`
      planes   none above; below `In1.Cu`, 0.1 mm away, 91 % poured
      trace    0.035 mm thick, its upper side 0.035 mm narrower than drawn (etching)
      mask     on the upper face, 0.015 mm, permittivity 3.8
      fab      at least 0.1 mm wide
      values   permittivity and loss tangent as stated for 1 GHz
      loss     at 4 GHz, the Nyquist frequency of 8 GT/s; foils with a roughness Rz of 5 um, as common
               practice has it

    width mm   ohm  ps/mm   dB/mm
       0.171  50.0  5.971  0.0250

    With a tenth less and a tenth more, in ohm
    width mm   height -10 %   height +10 %    width -10 %    width +10 %  permittivity -10 %  permittivity +10 %
       0.171  47.0 (-6.0 %)  52.8 (+5.6 %)  52.8 (+5.4 %)  47.6 (-4.9 %)       52.2 (+4.3 %)       48.1 (-3.8 %)

    No other copper lies beside the traces: a pour nearer than about three heights lowers the impedance.
    Height is all dielectric between the trace and its planes, permittivity that of all sheets (the
    mask's stays). The solver puts its own error at no more than 0.2 %.
    ");
    // Between the planes there is nothing to draw on, but planes can be named.
    let inner = ["width", "--on", ".", "--layer", "In1.Cu", "--target", "50 ohm", "--single", "--width", "0.2 mm"];
    let ran = folder.run(&inner);
    assert!(ran.out().contains("none above; below `In2.Cu`, 0.465 mm away, "), "{}", ran.out());
    let ran = folder.run(&[&inner[..], &["--plane-above", "F.Cu", "--plane-below", "none"]].concat());
    assert!(ran.out().contains("above `F.Cu`, 0.1 mm away, 0 % poured; none below"), "{}", ran.out());
}

#[test]
fn a_stackup_that_looks_made_up_is_said_loudly() {
    let mut made_up = Stack::four();
    for sheet in made_up.sheets.iter_mut().filter(|sheet| matches!(sheet.kind, "core" | "prepreg")) {
        (sheet.thickness, sheet.permittivity) = (0.22, 4.5);
    }
    let folder = board(made_up, Generation::V8);
    let ran = folder.run(&["width", "--on", ".", "--layer", "F.Cu", "--target", "50 ohm", "--single"]);
    assert_eq!(ran.code(), 0);
    insta::assert_snapshot!(ran.err(), @r"
    warning the board file's stackup looks as if nobody had entered it: all that follows is only as
      │ true as it is
      help: state what the fab will build in the rule file: `[stackup]`
    ");
    insta::assert_snapshot!(ran.out().lines().take(12).collect::<Vec<_>>().join("\n"), @r"
    board  logger.kicad_pcb: 4 copper layers, 1 net, format 20240108
    stackup  from the board file, where it looks made up
    rules  throughline.toml, the nearest one to the board

    Single lines of 50 ohm on `F.Cu`
      beware   the board file's stackup looks as if nobody had entered it: all that follows is only as
               true as it is. Ask the fab for the stackup it will build.
      planes   none above; below `In1.Cu`, 0.22 mm away, 91 % poured
      trace    0.035 mm thick, its upper side 0.035 mm narrower than drawn (etching)
      mask     on the upper face, 0.015 mm, permittivity 3.8
      fab      at least 0.1 mm wide
      values   permittivity and loss tangent as stated for 1 GHz
    ");
}

#[test]
fn without_a_stackup_nothing_is_told() {
    let arguments = ["width", "--on", ".", "--layer", "F.Cu", "--target", "50 ohm"];
    insta::assert_snapshot!(board(Stack::four(), Generation::V5).run(&arguments).refused(), @r"
    error there is no stackup
          [logger.kicad_pcb:12:8]
     12 │     (0 F.Cu signal)
        │        ────
        │              the layers are named here, a stackup is not

      help: state what the fab will build in the rule file (`[stackup]`), or in the board setup
    ");
    let folder = board(Stack::four(), Generation::V8);
    let text = folder.read("logger.kicad_pcb").replacen("(epsilon_r 4.05)", "", 1);
    folder.write("logger.kicad_pcb", text);
    insta::assert_snapshot!(folder.run(&arguments).refused(), @r#"
    error the stackup does not state the permittivity of a dielectric
          [logger.kicad_pcb:47:5]
     47 │       (layer "dielectric 1"
        │        ─────
        │              in the board's stackup
     48 │         (type "prepreg")
     49 │         (thickness 0.1)

      help: state what the fab will build in the rule file (`[stackup]`), or in the board setup
    "#);
    let bare = board(Stack::four(), Generation::V8);
    bare.write("logger.kicad_pcb", starters::planes("logger").text(Generation::V8));
    insta::assert_snapshot!(bare.run(&arguments).refused(), @r"
    error no layer above or below `F.Cu` is poured, so it has no plane
      help: fill the zones and save the board, or name planes with `--plane-above` and
            `--plane-below`; `none` twice means that there is none
    ");
    insta::assert_snapshot!(
        rules("[groups.lanes]\nproposed = true\n").run(&["width", "--on", "fab.toml", "--layer", "L1", "--target", "50 ohm"]).refused(),
        @r"
    error `fab.toml` states no stackup
      help: add `[stackup]`, or name a board
    "
    );
    let unfit = board(Stack::two().unstated(), Generation::V8);
    unfit.write("throughline.toml", RULES);
    insta::assert_snapshot!(unfit.run(&arguments).refused(), @r"
    error the stackup has 4 copper layers and the board 2
         [throughline.toml:1:2]
     1 │ [stackup]
       │  ───────
       │         on board `logger`

      help: the board has `F.Cu`, `B.Cu`
    ");
}

#[test]
fn what_can_not_be_met_has_a_reason_and_no_number() {
    let folder = rules(RULES);
    let on = ["width", "--on", "fab.toml", "--layer", "F.Cu", "--report", "csv"];
    let say = |arguments: &[&str]| {
        let ran = folder.run(&[&on[..], arguments].concat());
        assert_eq!(ran.err(), "");
        let unmet: Vec<String> =
            ran.out().lines().skip(1).map(|line| line.rsplit(",,").next().unwrap().to_owned()).collect();
        format!("{} {}", ran.code(), unmet.join("; "))
    };
    insta::assert_snapshot!(say(&["--target", "120 ohm", "--gap", "0.15 mm"]), @r#"1 "takes a width of 0.081 mm, below the fab's 0.1 mm""#);
    insta::assert_snapshot!(say(&["--target", "400 ohm", "--gap", "0.15 mm"]), @"1 out of reach: 165.8 ohm is the nearest");
    insta::assert_snapshot!(say(&["--target", "60 ohm", "--width", "0.15 mm"]), @r#"1 "takes a gap of 0.029 mm, below the fab's 0.1 mm""#);
    insta::assert_snapshot!(say(&["--target", "130 ohm", "--width", "0.15 mm"]), @"1 out of reach: 106.6 ohm is the nearest");
    insta::assert_snapshot!(say(&["--target", "50 ohm", "--single", "--plane-above", "none", "--plane-below", "none"]), @"2 not solved: the section has neither plane nor ground: there is no return path");
}

#[test]
fn a_gap_can_be_looked_for_and_a_line_told() {
    let folder = rules(RULES);
    let on = ["width", "--on", "fab.toml", "--layer", "In2.Cu", "--target", "90 ohm", "--report", "json"];
    let told = |arguments: &[&str]| -> Value {
        let ran = folder.run(&[&on[..], arguments].concat());
        assert_eq!((ran.code(), ran.err()), (0, ""));
        let report: Value = serde_json::from_str(ran.out()).unwrap();
        assert_eq!(differences(WIDTH_SCHEMA, &report), [""; 0]);
        report["choices"][0].clone()
    };
    let gap = told(&["--width", "0.11 mm"])["line"]["gap_mm"].as_f64().unwrap();
    let line = told(&["--width", "0.11 mm", "--gap", &format!("{gap} mm")])["line"].clone();
    assert!((line["impedance_ohm"].as_f64().unwrap() / 90.0 - 1.0).abs() < 0.005, "{line}");
    assert_eq!(line["loss_db_per_mm"], Value::Null, "the prepreg below has no loss tangent");
    assert_eq!(line["loss_missing"], "the stackup does not state a loss tangent");
    // Rectangular copper is wider in all, so its impedance is lower.
    let square = told(&["--width", "0.11 mm", "--gap", &format!("{gap} mm"), "--etch", "0 %"])["line"].clone();
    assert!(square["impedance_ohm"].as_f64() < line["impedance_ohm"].as_f64(), "{square}");
}

#[test]
fn arguments_that_make_no_sense_are_refused() {
    let folder = rules(RULES);
    let on = ["width", "--on", "fab.toml", "--target", "90 ohm", "--layer"];
    let refused = |arguments: &[&str]| folder.run(&[&on[..], arguments].concat()).refused().to_owned();
    insta::assert_snapshot!(refused(&["In2.Cv"]), @r"
    error there is no copper layer `In2.Cv`
      help: did you mean `In2.Cu`?
    ");
    insta::assert_snapshot!(refused(&["L9"]), @r"
    error there is no copper layer `L9`
      help: did you mean `L2`?
    ");
    insta::assert_snapshot!(refused(&["L1", "--plane-above", "L2"]), @r"
    error `L2` does not lie above `F.Cu`
      help: layers above: none
    ");
    insta::assert_snapshot!(refused(&["L2", "--plane-above", "L3"]), @r"
    error `L3` does not lie above `L2`
      help: layers above: F.Cu
    ");
    insta::assert_snapshot!(refused(&["L1", "--single", "--gap", "0.1 mm"]), @r"
    error a single line has no gap
      help: leave out `--gap` or `--single`
    ");
    insta::assert_snapshot!(refused(&["L1", "--rules", "serial-16g"]), @r"
    error `fab.toml` is a rule file
      help: a rule file is its own rule set; leave out `--rules`, or name a board
    ");
    for (arguments, said) in [
        (&["--gap", "0.1 mn"][..], "unknown unit `mn`; expected a length such as `0.15 mm`; did you mean `mm`?"),
        (&["--width", "0 mm"], "expected more than zero"),
        (&["--width", "1 cm"], "expected at most 5 mm"),
        (&["--etch", "400 %"], "expected 0 % to 300 %"),
        (&["--rate", "8 GHz"], "`8 GHz` is a frequency; expected a symbol rate such as `16 GT/s`"),
    ] {
        let told = refused(&[&["L1"][..], arguments].concat());
        assert!(told.contains(said), "{told}");
    }
    let target = folder.run(&["width", "--on", "fab.toml", "--layer", "L1", "--target", "0 ohm"]);
    assert!(target.refused().contains("expected 1 ohm to 500 ohm"), "{}", target.err());
    folder.write(
        "two.toml",
        RULES.replacen("[stackup]", "[[stackup]]\nboards = [\"a\"]", 1)
            + &RULES.split("[groups").next().unwrap().replacen("[stackup]", "[[stackup]]\nboards = [\"b\"]", 1),
    );
    insta::assert_snapshot!(folder.run(&["width", "--on", "two.toml", "--layer", "L1", "--target", "50 ohm"]).refused(), @r"
    error `two.toml` states 2 stackups: two.toml:1:1, two.toml:24:1
      help: name the board that is meant
    ");
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let folder = rules(RULES);
    let run = |jobs: &str| {
        folder
            .run(&[
                "width", "--on", "fab.toml", "--layer", "L3", "--target", "90 ohm", "--gap", "0.1 mm", "--gap",
                "0.15 mm", "--gap", "0.2 mm", "--jobs", jobs,
            ])
            .out()
            .to_owned()
    };
    let one = run("1");
    assert_eq!(one, run("2"));
    assert_eq!(one, run("5"));
}
