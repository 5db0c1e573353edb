//! SARIF 2.1.0: against the rules of the standard and the limits of hosts, and, where it is at hand, against the schema
//! that the standard publishes (`THROUGHLINE_SARIF_SCHEMA` names its file).

use crate::made::{many, named, with_run, with_runs};
use crate::run::Folder;
use crate::schema::differences;
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;
use throughline::report::sarif;

/// What the standard lets each kind of object hold, as far as the report uses it.
const KEYS: &[(&str, &[&str])] = &[
    ("", &["$schema", "version", "runs"]),
    ("runs", &["tool", "automationDetails", "columnKind", "invocations", "results", "properties"]),
    ("driver", &["name", "version", "semanticVersion", "rules"]),
    ("rules", &["id", "name", "shortDescription", "fullDescription", "help", "defaultConfiguration", "properties"]),
    (
        "results",
        &[
            "ruleId",
            "ruleIndex",
            "kind",
            "level",
            "message",
            "locations",
            "partialFingerprints",
            "relatedLocations",
            "suppressions",
            "baselineState",
            "properties",
        ],
    ),
    ("locations", &["physicalLocation", "logicalLocations", "message"]),
    ("relatedLocations", &["id", "physicalLocation", "message"]),
    ("physicalLocation", &["artifactLocation", "region"]),
    ("artifactLocation", &["uri"]),
    ("region", &["startLine", "startColumn", "endLine", "endColumn"]),
    ("logicalLocations", &["name", "fullyQualifiedName"]),
    ("suppressions", &["kind", "status", "justification", "location"]),
    (
        "invocations",
        &[
            "executionSuccessful",
            "exitCode",
            "exitCodeDescription",
            "toolExecutionNotifications",
            "toolConfigurationNotifications",
        ],
    ),
    ("toolExecutionNotifications", &["level", "message", "locations"]),
    ("toolConfigurationNotifications", &["level", "message", "locations"]),
];

fn keys(kind: &str, value: &Value) {
    match value {
        Value::Array(list) => list.iter().for_each(|value| keys(kind, value)),
        Value::Object(object) if kind != "properties" => {
            if let Some((_, known)) = KEYS.iter().find(|(name, _)| *name == kind) {
                let strange = object.keys().find(|key| !known.contains(&key.as_str()));
                assert_eq!(strange, None, "no key of {kind}");
            }
            object.iter().for_each(|(key, value)| keys(key, value));
        }
        _ => {}
    }
}

/// Holds a report to the standard and to what hosts take.
fn hold(text: &str) -> Value {
    let log: Value = serde_json::from_str(text).unwrap();
    if let Some(schema) = std::env::var_os("THROUGHLINE_SARIF_SCHEMA") {
        let schema = std::fs::read_to_string(schema).unwrap();
        assert_eq!(differences(&schema, &log), [""; 0]);
    }
    keys("", &log);
    assert_eq!(log["version"], "2.1.0");
    let run = &log["runs"][0];
    let rules = run["tool"]["driver"]["rules"].as_array().unwrap();
    let mut ids = BTreeSet::new();
    for rule in rules {
        assert!(ids.insert(rule["id"].as_str().unwrap()), "a rule's id is its own");
        for key in ["shortDescription", "fullDescription"] {
            let length = rule[key]["text"].as_str().unwrap().chars().count();
            assert!((1..=1024).contains(&length), "{} {key}: {length}", rule["id"]);
        }
        assert!(!rule["help"]["text"].as_str().unwrap().is_empty());
        assert!(rule["properties"]["tags"].as_array().unwrap().len() <= 10);
        assert!(["error", "warning", "note"].contains(&rule["defaultConfiguration"]["level"].as_str().unwrap()));
    }
    let results = run["results"].as_array().unwrap();
    assert!(results.len() <= 5000);
    let mut prints = BTreeSet::new();
    for result in results {
        let rule = &rules[result["ruleIndex"].as_u64().unwrap() as usize];
        assert_eq!(rule["id"], result["ruleId"]);
        assert_eq!(result["kind"] == "fail", result["level"] != "none", "only failures have a level");
        assert_eq!(result["locations"].as_array().unwrap().len(), 1, "hosts look at the first");
        place(&result["locations"][0]);
        if let Some(print) = result["partialFingerprints"]["throughline/v1"].as_str() {
            assert!(prints.insert(print.to_owned()), "each its own");
        }
        // Hosts show a related place only if the message links to it.
        let text = result["message"]["text"].as_str().unwrap();
        for (at, related) in result["relatedLocations"].as_array().into_iter().flatten().enumerate() {
            assert_eq!(related["id"], at + 1);
            assert!(text.contains(&format!("]({})", at + 1)), "{text}");
            place(related);
        }
    }
    log
}

fn place(location: &Value) {
    let physical = &location["physicalLocation"];
    let uri = physical["artifactLocation"]["uri"].as_str().unwrap();
    assert!(!uri.contains('\\') && !uri.contains(' ') && !uri.starts_with('/'), "{uri}");
    let number = |key: &str| physical["region"][key].as_u64().unwrap();
    assert!(number("startLine") >= 1 && number("startColumn") >= 1);
    assert_eq!(number("startLine"), number("endLine"), "small regions");
    assert!(number("endColumn") > number("startColumn"));
}

#[test]
fn a_made_run_as_sarif() {
    let log = hold(&with_run(sarif));
    let run = &log["runs"][0];
    insta::assert_snapshot!(serde_json::to_string_pretty(&run["results"][0]).unwrap(), @r#"
    {
      "ruleId": "pair-skew",
      "ruleIndex": 1,
      "kind": "fail",
      "level": "error",
      "message": {
        "text": "pair `CORE_TX0`, J1.12 to U1.A3: `CORE_TX0_P` is 0.4 mm longer than `CORE_TX0_N`\n0.4 mm; limit 0.3 mm, set at recorder.toml:4:9\nto do: lengthen `CORE_TX0_N` by 0.4 mm\nsee [the shorter leg: layer `F.Cu`, x 10, y 10.4 mm](1); [the limit](2)"
      },
      "locations": [
        {
          "physicalLocation": {
            "artifactLocation": {
              "uri": "boards/base.kicad_pcb"
            },
            "region": {
              "startLine": 4,
              "startColumn": 4,
              "endLine": 4,
              "endColumn": 25
            }
          },
          "logicalLocations": [
            {
              "name": "CORE_TX0",
              "fullyQualifiedName": "base/CORE_TX0"
            }
          ],
          "message": {
            "text": "the longer leg: layer `F.Cu`, x 10, y 10 mm"
          }
        }
      ],
      "partialFingerprints": {
        "throughline/v1": "eb22ce11ba6b9e42",
        "primaryLocationLineHash": "eb22ce11ba6b9e42:1"
      },
      "properties": {
        "board": "base",
        "subject": {
          "kind": "pair",
          "name": "CORE_TX0",
          "ends": [
            "J1.12",
            "U1.A3"
          ]
        },
        "groups": [
          "core"
        ],
        "ruleLevel": "error",
        "value": {
          "number": 0.4,
          "unit": "mm"
        },
        "limit": {
          "number": 0.3,
          "unit": "mm"
        },
        "place": "layer `F.Cu`, x 10, y 10 mm",
        "x_mm": 10.0,
        "y_mm": 10.0,
        "baseline": null
      },
      "relatedLocations": [
        {
          "physicalLocation": {
            "artifactLocation": {
              "uri": "boards/base.kicad_pcb"
            },
            "region": {
              "startLine": 5,
              "startColumn": 4,
              "endLine": 5,
              "endColumn": 27
            }
          },
          "id": 1,
          "message": {
            "text": "the shorter leg: layer `F.Cu`, x 10, y 10.4 mm"
          }
        },
        {
          "physicalLocation": {
            "artifactLocation": {
              "uri": "recorder.toml"
            },
            "region": {
              "startLine": 4,
              "startColumn": 9,
              "endLine": 4,
              "endColumn": 17
            }
          },
          "id": 2,
          "message": {
            "text": "the limit"
          }
        }
      ]
    }
    "#);
    insta::assert_snapshot!(serde_json::to_string_pretty(&run["invocations"]).unwrap(), @r#"
    [
      {
        "executionSuccessful": true,
        "exitCode": 1,
        "exitCodeDescription": "a finding is at or above the fail level",
        "toolExecutionNotifications": [
          {
            "level": "error",
            "message": {
              "text": "2 not checked, plane-gap: the board has no stackup"
            }
          },
          {
            "level": "note",
            "message": {
              "text": "net-open was left out on the command line"
            }
          }
        ],
        "toolConfigurationNotifications": [
          {
            "level": "error",
            "message": {
              "text": "no net matches `SENSE*`"
            },
            "locations": [
              {
                "physicalLocation": {
                  "artifactLocation": {
                    "uri": "recorder.toml"
                  },
                  "region": {
                    "startLine": 18,
                    "startColumn": 7,
                    "endLine": 18,
                    "endColumn": 12
                  }
                },
                "message": {
                  "text": "on board `base`"
                }
              }
            ]
          },
          {
            "level": "error",
            "message": {
              "text": "length-match found nothing to look at: group `bus` selects nothing here"
            },
            "locations": [
              {
                "physicalLocation": {
                  "artifactLocation": {
                    "uri": "recorder.toml"
                  },
                  "region": {
                    "startLine": 17,
                    "startColumn": 1,
                    "endLine": 17,
                    "endColumn": 21
                  }
                }
              }
            ]
          }
        ]
      }
    ]
    "#);
    let results = run["results"].as_array().unwrap().iter();
    let brief = results.map(|row| format!("{} {} {}", row["ruleId"], row["kind"], row["level"]).replace('"', ""));
    insta::assert_snapshot!(brief.collect::<Vec<_>>().join("\n"), @r#"
    pair-skew fail error
    via-stub fail warning
    via-stub fail warning
    plane-gap open none
    plane-gap open none
    "#);
    let rule = &run["tool"]["driver"]["rules"][1];
    insta::assert_snapshot!(format!("{} {} {}\n{}", rule["id"], rule["name"], rule["defaultConfiguration"], rule["properties"]), @r#"
    "pair-skew" "PairSkew" {"level":"error"}
    {"tags":["copper","signal"],"precision":"high","problem.severity":"error"}
    "#);
    let page = rule["help"]["markdown"].as_str().unwrap();
    assert!(page.starts_with("# What is measured\n") && page.contains("\n# In force\n"), "{page}");
}

#[test]
fn names_that_mean_something_to_sarif_are_taken_literally() {
    let log = hold(&with_runs(|rules| named(rules, "~{RST}[0](1)"), sarif));
    let result = &log["runs"][0]["results"][0];
    insta::assert_snapshot!(result["message"]["text"].as_str().unwrap(), @r#"
    net `~{{RST}}\[0](1)`: `~{{RST}}\[0](1)` is wrong
    limit 0.3 mm, set at recorder.toml:4:9
    see [the other: layer `B.Cu`, x 21.5, y 12.25 mm](1); [the limit](2)
    "#);
}

#[test]
fn no_more_results_than_hosts_keep_and_the_rest_is_counted() {
    let log = hold(&with_runs(|rules| many(rules, 5_123), sarif));
    assert_eq!(log["runs"][0]["results"].as_array().unwrap().len(), 5_000);
    let notes = log["runs"][0]["invocations"][0]["toolExecutionNotifications"].to_string();
    assert!(notes.contains("123 results beyond the worst 5000 not listed"), "{notes}");
}

#[test]
fn the_rerouted_demo_with_waivers_and_a_baseline_as_sarif() {
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    let folder = Folder::new();
    folder
        .write("boards/base board.kicad_pcb", std::fs::read(fixtures.join("recorder-reroute/base.kicad_pcb")).unwrap());
    let rules = std::fs::read_to_string(fixtures.join("recorder/throughline.toml")).unwrap();
    let waiver = |place: &str| {
        format!("\n[[waive]]\ncheck = \"net-open\"\nplace = \"{place}\"\nreason = \"not fitted\"\nuntil = 2027-03-01\n")
    };
    folder.write("throughline.toml", format!("{rules}{}", waiver("0123456789abcdef")));
    let sarif = |more: &[&str]| {
        let ran = folder.run(&[&["check", "boards", "--report", "sarif", "--as-of", "2027-01-01"][..], more].concat());
        (ran.code(), hold(ran.out()))
    };
    let (code, log) = sarif(&[]);
    let run = &log["runs"][0];
    assert_eq!((code, &run["invocations"][0]["exitCode"]), (1, &Value::from(1)));
    assert_eq!(run["automationDetails"]["id"], "throughline/base board");
    let results = || run["results"].as_array().unwrap().iter();
    assert!(results().any(|result| result["ruleId"] == "waiver" && result["level"] == "warning"));
    for check in
        ["net-open", "net-short", "stale-fill", "length-match", "pair-skew", "plane-gap", "via-stub", "pad-neck"]
    {
        assert!(results().any(|result| result["ruleId"] == check && result["kind"] == "fail"), "{check}");
    }
    assert!(results().any(|result| result["kind"] == "open"));
    let uri = &results().last().unwrap()["locations"][0]["physicalLocation"]["artifactLocation"]["uri"];
    assert_eq!(uri, "boards/base%20board.kicad_pcb");

    let open = results().find(|result| result["ruleId"] == "net-open" && result["kind"] == "fail").unwrap();
    let print = open["partialFingerprints"]["throughline/v1"].as_str().unwrap();
    folder.write("throughline.toml", format!("{rules}{}", waiver(print)));
    let waived = sarif(&[]).1;
    let suppressed = waived["runs"][0]["results"].as_array().unwrap().iter().find(|row| !row["suppressions"].is_null());
    let suppression = &suppressed.unwrap()["suppressions"][0];
    let said = ["kind", "status", "justification"].map(|key| suppression[key].as_str().unwrap());
    assert_eq!(said, ["external", "accepted", "not fitted; until 2027-03-01"]);
    place(&suppression["location"]);

    let known = ["--baseline", "known.json"];
    let (code, _) = sarif(&[&known[..], &["--write-baseline", "--accept-new"]].concat());
    assert_eq!(code, 0);
    let text = folder.read("known.json");
    let without: Vec<&str> = text.lines().filter(|line| !line.contains("pad-neck")).collect();
    folder.write("known.json", without.join("\n"));
    let states: BTreeSet<String> = sarif(&known).1["runs"][0]["results"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| format!("{} {}", row["ruleId"], row["baselineState"]).replace('"', ""))
        .filter(|row| !row.ends_with("unchanged"))
        .collect();
    assert_eq!(states.into_iter().collect::<Vec<_>>(), ["pad-neck new"]);
}

#[test]
fn a_run_that_judged_nothing_is_no_success() {
    let folder = Folder::new();
    let fixture = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/recorder/base.kicad_pcb");
    folder.write("base.kicad_pcb", std::fs::read(fixture).unwrap());
    folder.write(
        "throughline.toml",
        "[groups.none]\nnets = [\"NONE*\"]\n[[check]]\nuse = \"via-stub\"\non = [\"none\"]\nlimit = \"1 mm\"\n",
    );
    let ran = folder.run(&["check", "--report", "sarif"]);
    assert_eq!(ran.code(), 2);
    let log = hold(ran.out());
    insta::assert_snapshot!(serde_json::to_string_pretty(&log["runs"][0]["invocations"]).unwrap(), @r#"
    [
      {
        "executionSuccessful": false,
        "exitCode": 2,
        "exitCodeDescription": "something that counts was not judged",
        "toolExecutionNotifications": [],
        "toolConfigurationNotifications": [
          {
            "level": "error",
            "message": {
              "text": "no net matches `NONE*`"
            },
            "locations": [
              {
                "physicalLocation": {
                  "artifactLocation": {
                    "uri": "throughline.toml"
                  },
                  "region": {
                    "startLine": 2,
                    "startColumn": 9,
                    "endLine": 2,
                    "endColumn": 16
                  }
                },
                "message": {
                  "text": "on board `base`"
                }
              }
            ]
          },
          {
            "level": "error",
            "message": {
              "text": "via-stub found nothing to look at: group `none` selects nothing here"
            },
            "locations": [
              {
                "physicalLocation": {
                  "artifactLocation": {
                    "uri": "throughline.toml"
                  },
                  "region": {
                    "startLine": 3,
                    "startColumn": 1,
                    "endLine": 3,
                    "endColumn": 10
                  }
                }
              }
            ]
          }
        ]
      }
    ]
    "#);
}
