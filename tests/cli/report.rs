//! What reports print, for verdicts made by hand.

use crate::made::with_run;
use crate::schema::differences;
use serde_json::Value;
use throughline::report;
use throughline::source::excerpt::Look;

#[test]
fn the_text_report() {
    insta::assert_snapshot!(with_run(|run| report::text(run, &Look::PLAIN)), @r#"
    board  boards/base.kicad_pcb: 2 copper layers, 2 nets, format 20171130
    rules  recorder.toml, named on the command line
           left out on the command line: net-open

    error  pair-skew  pair `CORE_TX0`, J1.12 to U1.A3
        `CORE_TX0_P` is 0.4 mm longer than `CORE_TX0_N`
        0.4 mm; limit 0.3 mm, set at recorder.toml:4:9
        boards/base.kicad_pcb:4:4: layer `F.Cu`, x 10, y 10 mm
           [boards/base.kicad_pcb:4:4]
       4 │   (segment (start 10 10) (end 14.5 10) (width 0.15) (layer F.Cu) (net 1))
         │    ─────────────────────
         │                  the longer leg
       5 │   (segment (start 10 10.4) (end 14.1 10.4) (width 0.15) (layer F.Cu) (net 2))
         │    ───────────────────────
         │                   the shorter leg: layer `F.Cu`, x 10, y 10.4 mm
        to do: lengthen `CORE_TX0_N` by 0.4 mm
        fingerprint eb22ce11ba6b9e42

    warning  via-stub  via `CORE_TX0_N`
        1.1 mm of the barrel hang below the lowest layer used
        1.1 mm; limit 0.4 mm, set at recorder.toml:9:9
        boards/base.kicad_pcb:7:4: layer `B.Cu`, x 21.5, y 12.25 mm
           [boards/base.kicad_pcb:7:4]
       7 │   (via (at 21.5 12.25) (size 0.45) (drill 0.2) (layers F.Cu B.Cu) (net 2))
         │    ────────────
         │              the barrel ends here
        fingerprint bea67312479c89af
        1 more of this kind, 2 in all:
          via `CORE_TX0_P`; 0.4004 mm; layer `B.Cu`, x 20.5, y 12.25 mm; base.kicad_pcb:6:4  7eb94afc71668795

    not checked  plane-gap  pair `CORE_RX0`
        the board has no stackup
        fingerprint 19dbf09851dca718
        1 more of this kind, 2 in all:
          pair `CORE_TX0`; base.kicad_pcb  90b52a28d4511f9a

    not checked  no net matches `SENSE*`
            [recorder.toml:18:7]
       18 │ on = ["bus"]
          │       ─────
          │             on board `base`
        did you mean `SENSOR`?

    not checked  1 rule found nothing to look at
        length-match  group `bus` selects nothing here  recorder.toml:17:1

    check         examined  passed  errors  warnings  notes  not checked
    length-match         0       -       -         -      -            -
    pair-skew            2       1       1         -      -            -
    plane-gap            2       -       -         -      -            2
    via-stub             2       -       -         2      -            -
    2 not checked, plane-gap: the board has no stackup

    On reading boards/base.kicad_pcb:
        1:2  in doubt: the board file has no edge
        8:4  unknown node `barcode` in `kicad_pcb`, 1 time

    1 error, 2 warnings, 2 not checked, 1 passed
    fails: a finding is at or above the fail level `error`
    "#);
}

#[test]
fn the_line_report() {
    insta::assert_snapshot!(with_run(report::line), @r#"
    boards/base.kicad_pcb:4:4: error pair-skew pair `CORE_TX0`, J1.12 to U1.A3: `CORE_TX0_P` is 0.4 mm longer than `CORE_TX0_N` (0.4 mm; limit 0.3 mm, set at recorder.toml:4:9)
    boards/base.kicad_pcb:7:4: warning via-stub via `CORE_TX0_N`: 1.1 mm of the barrel hang below the lowest layer used (1.1 mm; limit 0.4 mm, set at recorder.toml:9:9)
    boards/base.kicad_pcb:6:4: warning via-stub via `CORE_TX0_P`: 0.4 mm of the barrel hang below the lowest layer used (0.4004 mm; limit 0.4 mm, set at recorder.toml:9:9)
    boards/base.kicad_pcb:1:1: unchecked plane-gap pair `CORE_RX0`: the board has no stackup
    boards/base.kicad_pcb:1:1: unchecked plane-gap pair `CORE_TX0`: the board has no stackup
    recorder.toml:18:7: unchecked rules no net matches `SENSE*`
    recorder.toml:17:1: unchecked length-match nothing to look at: group `bus` selects nothing here
    "#);
}

#[test]
fn colour_changes_nothing_but_colour() {
    let look = Look { colour: true, ..Look::PLAIN };
    let (plain, coloured) = with_run(|run| (report::text(run, &Look::PLAIN), report::text(run, &look)));
    let mut stripped = String::new();
    let mut rest = coloured.as_str();
    while let Some((before, after)) = rest.split_once("\u{1b}[") {
        stripped.push_str(before);
        rest = after.split_once('m').unwrap().1;
    }
    stripped.push_str(rest);
    let trimmed = |text: &str| text.lines().map(|line| line.trim_end().to_owned()).collect::<Vec<_>>();
    assert!(coloured.len() > plain.len());
    assert_eq!(trimmed(&stripped), trimmed(&plain));
}

#[test]
fn the_json_report_is_what_its_schema_says() {
    let report: Value = serde_json::from_str(&with_run(report::json)).unwrap();
    assert_eq!(differences(report::CHECK_SCHEMA, &report), [""; 0]);
    // The check of the schema can fail.
    let mut broken = report.clone();
    broken["verdicts"][0]["outcome"] = "fine".into();
    broken["ledger"][0]["extra"] = 1.into();
    broken["boards"][0].as_object_mut().unwrap().remove("name");
    let wrong = differences(report::CHECK_SCHEMA, &broken);
    assert_eq!(wrong.len(), 3, "{wrong:?}");

    insta::assert_snapshot!(serde_json::to_string_pretty(&report["verdicts"][0]).unwrap(), @r#"
    {
      "fingerprint": "eb22ce11ba6b9e42",
      "check": "pair-skew",
      "outcome": "error",
      "baseline": null,
      "waiver": null,
      "level": "error",
      "board": "base",
      "subject": {
        "kind": "pair",
        "name": "CORE_TX0",
        "ends": [
          "J1.12",
          "U1.A3"
        ]
      },
      "message": "`CORE_TX0_P` is 0.4 mm longer than `CORE_TX0_N`",
      "missing": null,
      "value": {
        "number": 0.4,
        "unit": "mm"
      },
      "limit": {
        "number": 0.3,
        "unit": "mm",
        "origin": {
          "file": "recorder.toml",
          "line": 4,
          "column": 9
        }
      },
      "help": "lengthen `CORE_TX0_N` by 0.4 mm",
      "place": {
        "file": "boards/base.kicad_pcb",
        "line": 4,
        "column": 4,
        "layer": "F.Cu",
        "x_mm": 10.0,
        "y_mm": 10.0,
        "label": "the longer leg"
      },
      "related": [
        {
          "file": "boards/base.kicad_pcb",
          "line": 5,
          "column": 4,
          "layer": "F.Cu",
          "x_mm": 10.0,
          "y_mm": 10.4,
          "label": "the shorter leg"
        }
      ]
    }
    "#);
    insta::assert_snapshot!(report["whole"].to_string(), @r#"{"status":"findings","fail_on":"error","examined":6,"passed":1,"errors":1,"warnings":2,"notes":0,"unchecked":2,"known":0,"waived":0}"#);
    insta::assert_snapshot!(report["idle"].to_string(), @r#"[{"check":"length-match","level":"error","groups":["bus"],"origin":{"file":"recorder.toml","line":17,"column":1},"counts":true}]"#);
}
