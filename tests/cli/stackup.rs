//! A stackup in the rule file: who wins, and that reports say so.

use crate::run::Folder;
use crate::schema::differences;
use crate::support::{Generation, Stack, starters};
use serde_json::Value;
use throughline::report::{CHECK_SCHEMA, MEASURE_SCHEMA};

/// What the fab will build instead of the 0.8 mm that the board states: thinner outside, thicker inside.
const RULES: &str = r#"
[stackup]
source    = "sheet of 3 March"
roughness = "3 um"
layer = [
  { mask    = "green",  thickness = "20 um", permittivity = 3.8 },
  { copper  = "F.Cu",   thickness = "35 um" },
  { prepreg = "1080",   thickness = "0.08 mm", permittivity = 3.9, loss-tangent = 0.018 },
  { copper  = "In1.Cu", thickness = "17.5 um" },
  { core    = "FR-4",   thickness = "0.505 mm", permittivity = 4.4, loss-tangent = 0.016, frequency = "5 GHz" },
  { copper  = "In2.Cu", thickness = "17.5 um" },
  { prepreg = "1080",   thickness = "0.08 mm", permittivity = 3.9, loss-tangent = 0.018 },
  { copper  = "B.Cu",   thickness = "35 um" },
]

[groups.slow]
nets = ["SLOW"]

[[check]]
use = "stackup-missing"

[[check]]
use   = "via-stub"
on    = ["slow"]
limit = "0.1 mm"
"#;

/// A net that goes down to In2 and back, on a board of some stackup.
fn folder(stack: Stack, rules: &str) -> Folder {
    let mut board = starters::straight_pair("logger");
    board.stack = stack;
    for (name, x) in [("R1", 4.0), ("R2", 16.0)] {
        let pad = crate::support::Pad::rect("1", (0.0, 0.0), (0.5, 0.5)).net("SLOW");
        board.part(crate::support::Part::new(name, (x, 8.0)).pad(pad));
    }
    board.track("SLOW", "F.Cu", 0.15, &[(4.0, 8.0), (6.0, 8.0)]);
    board.via("SLOW", (6.0, 8.0));
    board.track("SLOW", "In2.Cu", 0.15, &[(6.0, 8.0), (14.0, 8.0)]);
    board.via("SLOW", (14.0, 8.0));
    board.track("SLOW", "F.Cu", 0.15, &[(14.0, 8.0), (16.0, 8.0)]);
    let folder = Folder::new();
    folder.write("logger.kicad_pcb", board.text(Generation::V8));
    folder.write("throughline.toml", rules);
    folder
}

fn json(folder: &Folder, command: &str, schema: &str) -> Value {
    let report: Value = serde_json::from_str(folder.run(&[command, ".", "--report", "json"]).out()).unwrap();
    assert_eq!(differences(schema, &report), [""; 0]);
    report
}

#[test]
fn it_wins_over_the_board_s_and_differences_are_findings() {
    let folder = folder(Stack::four(), RULES);
    insta::assert_snapshot!(folder.run(&["check", "--report", "line"]).out(), @r"
    logger.kicad_pcb:369:3: error via-stub via `SLOW`: the via of `SLOW` is used from `F.Cu` to `In2.Cu`; its barrel goes on to `B.Cu` (0.124 mm; limit 0.1 mm, set at throughline.toml:25:9)
    logger.kicad_pcb:377:3: error via-stub via `SLOW`: the via of `SLOW` is used from `F.Cu` to `In2.Cu`; its barrel goes on to `B.Cu` (0.124 mm; limit 0.1 mm, set at throughline.toml:25:9)
    logger.kicad_pcb:47:5: warning stackup-missing layers `F.Cu`, `In1.Cu`: between `F.Cu` and `In1.Cu` the board file has 0.1 mm of dielectric and the rule set 0.08 mm, at `throughline.toml:2:2`
    logger.kicad_pcb:58:5: warning stackup-missing layers `In1.Cu`, `In2.Cu`: between `In1.Cu` and `In2.Cu` the board file has 0.465 mm of dielectric and the rule set 0.505 mm, at `throughline.toml:2:2`
    logger.kicad_pcb:69:5: warning stackup-missing layers `In2.Cu`, `B.Cu`: between `In2.Cu` and `B.Cu` the board file has 0.1 mm of dielectric and the rule set 0.08 mm, at `throughline.toml:2:2`
    ");
    let ran = folder.run(&["check"]);
    assert_eq!(ran.code(), 1, "the stub of 0.08 + 0.00875 + 0.035 mm is longer than 0.1 mm");
    insta::assert_snapshot!(ran.out().lines().take(12).collect::<Vec<_>>().join("\n"), @r"
    board  logger.kicad_pcb: 4 copper layers, 4 nets, format 20240108
    stackup  from the rule set, throughline.toml:2:2
    rules  throughline.toml, the nearest one to the board

    error  via-stub  via `SLOW`
        the via of `SLOW` is used from `F.Cu` to `In2.Cu`; its barrel goes on to `B.Cu`
        0.124 mm; limit 0.1 mm, set at throughline.toml:25:9
        logger.kicad_pcb:369:3: layer `In2.Cu`, x 6, y 8 mm
             [logger.kicad_pcb:369:3]
       369 │   (via
           │    ───
           │         in use down to `In2.Cu`
    ");
    let report = json(&folder, "check", CHECK_SCHEMA);
    insta::assert_snapshot!(report["boards"][0]["stackup"].to_string(), @r#"{"from":"rules","origin":{"file":"throughline.toml","line":2,"column":2}}"#);
    let measured = json(&folder, "measure", MEASURE_SCHEMA);
    assert_eq!(measured["boards"][0]["stackup"]["from"], "rules");
    let slow = measured["boards"][0]["nets"].as_array().unwrap().iter().find(|net| net["name"] == "SLOW").unwrap();
    // 0.08 + 0.0175 + 0.505, and half of each foil at the ends; twice.
    assert_eq!(slow["routes"][0]["barrels_mm"], 2.0 * (0.08 + 0.0175 + 0.505 + 0.02625));
    assert!(folder.run(&["measure", "."]).out().contains("\nstackup  from the rule set, throughline.toml:2:2\n"));
}

#[test]
fn it_stands_in_for_a_missing_and_for_a_made_up_one() {
    let mut made_up = Stack::four();
    for sheet in made_up.sheets.iter_mut().filter(|sheet| matches!(sheet.kind, "core" | "prepreg")) {
        (sheet.thickness, sheet.permittivity) = (0.22, 4.5);
    }
    for (stack, without) in [(Stack::four().unstated(), "none"), (made_up, "placeholder")] {
        let folder = folder(stack, RULES);
        let report = json(&folder, "check", CHECK_SCHEMA);
        let verdicts = report["verdicts"].as_array().unwrap();
        let own = verdicts.iter().find(|verdict| verdict["check"] == "stackup-missing").unwrap();
        assert_eq!(own["outcome"], "pass");
        assert_eq!(own["message"], "the rule set states the stackup, at `throughline.toml:2:2`");
        assert!(verdicts.iter().any(|verdict| verdict["check"] == "via-stub" && verdict["value"]["number"] == 0.12375));
        folder.write("throughline.toml", "[[check]]\nuse = \"stackup-missing\"\n");
        assert_eq!(json(&folder, "check", CHECK_SCHEMA)["boards"][0]["stackup"]["from"], without);
    }
}

#[test]
fn one_that_does_not_fit_leaves_all_unchecked() {
    let two = r#"[stackup]
layer = [
  { copper = "L1", thickness = "35 um" },
  { core   = "FR-4", thickness = "0.7 mm", permittivity = 4.4 },
  { copper = "L2", thickness = "35 um" },
]
"#;
    let (_, rest) = RULES.split_once("]\n\n").unwrap();
    let folder = folder(Stack::four(), &format!("{two}\n{rest}"));
    let ran = folder.run(&["check"]);
    assert_eq!(ran.code(), 2);
    insta::assert_snapshot!(ran.out(), @r"
    board  logger.kicad_pcb: 4 copper layers, 4 nets, format 20240108
    stackup  the rule set's at throughline.toml:1:2 does not fit this board; no height is known
    rules  throughline.toml, the nearest one to the board

    not checked  stackup-missing  board `logger`
        the stackup that the rule set states at `throughline.toml:1:2` does not fit the board
        fingerprint 33774554d7fd984a

    not checked  via-stub  via `SLOW`
        the rule set's stackup does not fit the board, so the height between `In2.Cu` and `B.Cu` is not known
        logger.kicad_pcb:369:3: layer `In2.Cu`, x 6, y 8 mm
        fingerprint 1ca475c8e29ebc6d
        1 more of this kind, 2 in all:
          via `SLOW`; layer `In2.Cu`, x 14, y 8 mm; logger.kicad_pcb:377:3  1ca10fc8e29bd944

    not checked  the stackup has 2 copper layers and the board 4
           [throughline.toml:1:2]
       1 │ [stackup]
         │  ───────
         │         on board `logger`
        the board has `F.Cu`, `In1.Cu`, `In2.Cu`, `B.Cu`

    check            examined  passed  errors  warnings  notes  not checked
    stackup-missing         1       -       -         -      -            1
    via-stub                2       -       -         -      -            2
    1 not checked, stackup-missing: the stackup that the rule set states at `throughline.toml:1:2` does not fit the board
    2 not checked, via-stub, such as: the rule set's stackup does not fit the board, so the height between `In2.Cu` and `B.Cu` is not known

    0 errors, 0 warnings, 3 not checked, 0 passed
    not judged: no finding at or above the fail level `error`, but something that counts there could not be checked
    ");
    assert_eq!(json(&folder, "check", CHECK_SCHEMA)["boards"][0]["stackup"]["from"], "unfit");
    let measured = folder.run(&["measure", "."]);
    assert!(
        measured.out().contains("the rule set's at throughline.toml:1:2 does not fit this board"),
        "{}",
        measured.out()
    );
    insta::assert_snapshot!(measured.err(), @r"
    warning the stackup has 2 copper layers and the board 4
         [throughline.toml:1:2]
     1 │ [stackup]
       │  ───────
       │         on board `logger`

      help: the board has `F.Cu`, `In1.Cu`, `In2.Cu`, `B.Cu`
    ");
}

#[test]
fn names_of_copper_are_held_against_the_board_s() {
    for (from, to, said) in [
        ("In1.Cu", "In2.Cu", "`In2.Cu` is copper layer 3 of the board"),
        ("In1.Cu", "Inl.Cu", "the board has no copper layer `Inl.Cu`"),
        ("In1.Cu", "L3", "`L3` is copper layer 3 of the board"),
        ("In1.Cu", "L0", "the board has no copper layer `L0`"),
    ] {
        let rules = RULES.replacen(&format!("\"{from}\""), &format!("\"{to}\""), 1);
        // A name that stands twice is a fault of the file; the other one is out of the way.
        let rules = if to == "In2.Cu" {
            rules.replace(
                "{ copper  = \"In2.Cu\", thickness = \"17.5 um\" },\n  { pre",
                "{ copper  = \"In1.Cu\", thickness = \"17.5 um\" },\n  { pre",
            )
        } else {
            rules
        };
        let ran = folder(Stack::four(), &rules).run(&["check"]);
        assert_eq!(ran.code(), 2, "{to}");
        assert!(ran.out().contains(&format!("not checked  {said}\n")), "{}{}", ran.out(), ran.err());
    }
    let rules = RULES.replacen("\"In1.Cu\"", "\"L2\"", 1).replacen("\"B.Cu\"", "\"l4\"", 1);
    assert_eq!(folder(Stack::four(), &rules).run(&["check"]).code(), 1);
}

#[test]
fn it_is_listed_with_the_limits() {
    let folder = folder(Stack::four(), RULES);
    let listed = folder.run(&["checks"]);
    insta::assert_snapshot!(listed.out().lines().take(3).collect::<Vec<_>>().join("\n"), @r"
    rules  throughline.toml, the nearest one
    stackup  4 copper layers, 0.79 mm in all, for every board  throughline.toml:2:2
    ");
    let explained = folder.run(&["explain", "stackup-missing"]);
    let (_, end) = explained.out().split_once("In force\n").unwrap();
    insta::assert_snapshot!(end, @r"
      rules  throughline.toml, the nearest one
      stackup  4 copper layers, 0.79 mm in all, for every board  throughline.toml:2:2
      warning on the whole board  throughline.toml:19:1

    Stackup at throughline.toml:2:2
      layer            thickness  permittivity  loss tangent     at  stated at
      mask     green     0.02 mm           3.8                       throughline.toml:6:3
      copper   F.Cu     0.035 mm                                     throughline.toml:7:3
      prepreg  1080      0.08 mm           3.9         0.018         throughline.toml:8:3
      copper   In1.Cu  0.0175 mm                                     throughline.toml:9:3
      core     FR-4     0.505 mm           4.4         0.016  5 GHz  throughline.toml:10:3
      copper   In2.Cu  0.0175 mm                                     throughline.toml:11:3
      prepreg  1080      0.08 mm           3.9         0.018         throughline.toml:12:3
      copper   B.Cu     0.035 mm                                     throughline.toml:13:3
      roughness of the foils (Rz) 0.003 mm  throughline.toml:4:13
      source: sheet of 3 March
    ");
    assert!(
        folder
            .run(&["explain", "via-stub"])
            .out()
            .contains("  stackup  4 copper layers, 0.79 mm in all, for every board")
    );
}

#[test]
fn each_board_of_a_run_has_its_own() {
    let general = RULES.replacen("[stackup]", "[[stackup]]", 1);
    let folder = folder(
        Stack::four(),
        &format!(
            "{general}\n[[stackup]]\nboards = [\"cartridge\"]\nlayer = [{{ copper = \"F.Cu\", thickness = \"35 um\" }}, {{ core = \"FR-4\", thickness = \"1.5 mm\", permittivity = 4.4 }}, {{ copper = \"B.Cu\", thickness = \"35 um\" }}]\n"
        ),
    );
    let mut cartridge = crate::support::Board::new("cartridge", Stack::two().unstated());
    cartridge.outline((0.0, 0.0), (10.0, 10.0));
    folder.write("cartridge.kicad_pcb", cartridge.text(Generation::V8));
    let report = json(&folder, "check", CHECK_SCHEMA);
    let of: Vec<String> = report["boards"]
        .as_array()
        .unwrap()
        .iter()
        .map(|board| format!("{} {}", board["name"], board["stackup"]["origin"]["line"]))
        .collect();
    assert_eq!(of, ["\"cartridge\" 27", "\"logger\" 2"]);
}
