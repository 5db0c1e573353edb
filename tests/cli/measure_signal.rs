//! Ohms, ps and dB that `measure` prints, and the reasons where there are none.

use crate::run::Folder;
use crate::schema::differences;
use crate::support::{Board, Generation, starters};
use serde_json::Value;
use throughline::report::MEASURE_SCHEMA;

const RULES: &str = "[groups.link]\npairs = [\"LINK_{P,N}\"]\nimpedance = \"95 ohm\"\nrate = \"16 GT/s\"\n";

fn folder(board: &mut Board, rules: &str) -> Folder {
    board.fill();
    let folder = Folder::new();
    folder.write("throughline.toml", rules);
    folder.write("logger.kicad_pcb", board.text(Generation::V8));
    folder
}

fn json(folder: &Folder) -> Value {
    let report: Value = serde_json::from_str(folder.run(&["measure", ".", "--report", "json"]).out()).unwrap();
    assert_eq!(differences(MEASURE_SCHEMA, &report), [""; 0]);
    report["boards"][0].clone()
}

fn signal(board: &Value) -> &Value {
    &board["pairs"][0]["legs"][0]["signal"]
}

#[test]
fn loss_and_its_shares_at_half_the_rate() {
    let board = json(&folder(&mut starters::straight_pair("logger"), RULES));
    let loss = &signal(&board)["loss"];
    assert_eq!(loss["at_ghz"], 8.0);
    let share = |name: &str| loss[name].as_f64().unwrap();
    assert!(share("metal_db") > 0.1 && share("dielectric_db") > 0.1, "{loss}");
    assert_eq!(loss["barrels_db"], 0.0);
    assert!((share("total_db") - share("metal_db") - share("dielectric_db")).abs() < 0.002);
    assert_eq!(signal(&board)["not_known"], serde_json::json!({}));
    assert_eq!(board["basis"]["not_known"], Value::Null);
}

/// 14 mm of a pair on an outer layer: 5.5 to 6.1 ps and 0.015 to 0.06 dB a millimetre at 8 GHz. From memory.
#[test]
fn delay_and_loss_of_straight_legs() {
    let board = json(&folder(&mut starters::straight_pair("logger"), RULES));
    let (time, loss) = (signal(&board)["p_ps"].as_f64().unwrap(), signal(&board)["loss"]["total_db"].as_f64().unwrap());
    assert!((77.0..86.0).contains(&time), "{time}");
    assert_eq!(signal(&board)["skew_ps"], 0.0);
    assert!((0.2..0.85).contains(&loss), "{loss}");
}

#[test]
fn a_placeholder_is_said_to_be_one() {
    let mut board = starters::straight_pair("logger");
    for sheet in board.stack.sheets.iter_mut().filter(|sheet| ["prepreg", "core"].contains(&sheet.kind)) {
        (sheet.thickness, sheet.permittivity) = (0.2, 4.5);
    }
    let folder = folder(&mut board, RULES);
    let ran = folder.run(&["measure"]);
    let said = "stackup  a placeholder: it looks as if nobody had entered it; ohms, ps and dB are no better than it\n";
    assert!(ran.out().contains(said), "{}", ran.out());
    let board = json(&folder);
    assert_eq!(board["stackup"]["from"], "placeholder");
    assert!(signal(&board)["impedance"]["typical_ohm"].is_f64());
}

/// The farthest from the target is worst, not the farthest from the median.
#[test]
fn the_worst_place_is_held_against_the_target() {
    let bent = || starters::bent_pair("logger", &[(7.0, 4.85), (7.5, 4.35), (8.5, 4.35), (9.0, 4.85)]);
    let worst = |rules: &str| {
        let board = json(&folder(&mut bent(), rules));
        let impedance = &signal(&board)["impedance"];
        (impedance["worst"]["ohm"].clone(), impedance["least_ohm"].clone(), impedance["most_ohm"].clone())
    };
    let (ohm, least, most) = worst(RULES);
    assert!(ohm == most && least != most, "the lone stretch is farther above 95 ohm than the pair is below");
    let (ohm, least, _) = worst(&RULES.replace("95 ohm", "110 ohm"));
    assert_eq!(ohm, least);
}

/// A part of the way that is not known leaves what is known, and says how much is missing.
#[test]
fn a_part_that_is_not_known_is_said() {
    let ring = crate::support::rectangle((9.0, 3.0), (11.0, 7.0));
    let mut board = starters::straight_pair("logger");
    board.keepout(&["In1.Cu", "In2.Cu"], &ring);
    board.fill();
    // Under the middle of the pair a second zone, which is not filled.
    board.zone("GND", &["In1.Cu"], &ring);
    let folder = Folder::new();
    folder.write("throughline.toml", RULES);
    folder.write("logger.kicad_pcb", board.text(Generation::V8));
    let text = folder.run(&["measure"]);
    let line = text.out().lines().find(|line| line.starts_with("LINK ")).unwrap();
    assert!(line.contains("+?") && line.ends_with('?'), "{line}");
    assert!(text.out().contains("  ?  of ohms, ps and dB in 1 row: a zone that should be its plane has no fill\n"));
    let board = json(&folder);
    let signal = signal(&board);
    let missing = signal["impedance"]["not_known_mm"].as_f64().unwrap();
    assert!((1.5..3.5).contains(&missing), "{signal}");
    assert!(signal["impedance"]["typical_ohm"].is_f64());
    assert!(signal["p_ps"].is_null() && signal["loss"].is_null());
    for name in ["impedance", "p", "n", "loss"] {
        let reason = signal["not_known"][name].as_str().unwrap();
        assert!(reason.starts_with("a zone that should be its plane has no fill"), "{name}: {reason}");
    }
}

#[test]
fn without_a_loss_tangent_loss_alone_is_missing() {
    let mut board = starters::straight_pair("logger");
    for sheet in &mut board.stack.sheets {
        sheet.loss = 0.0;
    }
    board.fill();
    let text = board.text(Generation::V8);
    let stated: String = text.lines().filter(|line| !line.contains("loss_tangent")).collect::<Vec<_>>().join("\n");
    let folder = Folder::new();
    folder.write("throughline.toml", RULES);
    folder.write("logger.kicad_pcb", stated);
    let board = json(&folder);
    let signal = signal(&board);
    assert!(signal["impedance"]["typical_ohm"].is_f64() && signal["p_ps"].is_f64());
    assert_eq!(signal["loss"], Value::Null);
    assert_eq!(signal["not_known"]["loss"], "the stackup does not state a loss tangent");
    assert_eq!(signal["not_known"].as_object().unwrap().len(), 1);
}
