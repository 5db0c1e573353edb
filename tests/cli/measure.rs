//! What `measure` prints: a drawn board with a pair, a branch, an open net and a plane.

use crate::run::Folder;
use crate::schema::differences;
use crate::support::{Generation, Pad, Part, starters};
use serde_json::Value;
use throughline::report::MEASURE_SCHEMA;

fn folder(stackup: bool) -> Folder {
    let mut board = starters::bent_pair("logger", &[(7.0, 4.85), (7.5, 4.35), (8.5, 4.35), (9.0, 4.85)]);
    let land = |number: &str, net: &str| Pad::rect(number, (0.0, 0.0), (0.6, 0.4)).net(net);
    board.part(Part::new("U2", (4.0, 8.0)).pad(land("1", "SENSE")));
    board.part(Part::new("U3", (14.0, 8.0)).pad(land("1", "SENSE")));
    board.track("SENSE", "F.Cu", 0.2, &[(4.0, 8.0), (9.0, 8.0)]);
    board.via("SENSE", (9.0, 8.0));
    board.track("SENSE", "B.Cu", 0.2, &[(9.0, 8.0), (11.0, 8.0)]);
    board.via("SENSE", (11.0, 8.0));
    board.track("SENSE", "F.Cu", 0.2, &[(11.0, 8.0), (14.0, 8.0)]);
    board.track("SENSE", "F.Cu", 0.2, &[(12.0, 8.0), (12.0, 7.25)]);
    board.part(Part::new("R1", (6.0, 9.0)).pad(land("1", "TRIGGER")));
    board.part(Part::new("R2", (9.0, 9.0)).pad(land("1", "TRIGGER")));
    board.part(Part::new("R3", (12.0, 9.0)).pad(land("1", "SPARE")));
    board.fill();
    let folder = Folder::new();
    folder.write("throughline.toml", "[groups.link]\npairs = [\"LINK_{P,N}\"]\n");
    // The oldest generation has no stackup.
    let generation = if stackup { Generation::V8 } else { Generation::V5 };
    folder.write("logger.kicad_pcb", board.text(generation));
    folder
}

#[test]
fn the_table() {
    let ran = folder(true).run(&["measure", "logger.kicad_pcb"]);
    assert_eq!((ran.code(), ran.err()), (0, ""));
    insta::assert_snapshot!(ran.out(), @r#"
    board  logger.kicad_pcb: 4 copper layers, 6 nets, format 20240108
    rules  throughline.toml, the nearest one to the board

    6 nets, lengths in mm
    net      from  to    length  tracks  in pads  barrels  vias  layers     branch   ohm  worst  ps  remarks
    GND                                                       4                                      0 pads, 2 filled areas
    LINK_N   J1.2  U1.2  14.000  13.700    0.300                 F.Cu
    LINK_P   J1.1  U1.1  14.414  14.114    0.300                 F.Cu
    SENSE    U2.1  U3.1  11.470   9.400    0.600    1.470     2  F.Cu B.Cu   0.750  46.0  109.1   ?
    TRIGGER                                                                                          2 pads, not joined by copper
    and 1 net with one pad and no via

    1 pair, lengths in mm
    pair  from       to              P       N    P-N   peak  peak at      coupled  least gap  typical gap  planes        ohm  worst   P ps   N ps  P-N ps  peak ps
    LINK  J1.1/J1.2  U1.1/U1.2  14.414  14.000  0.414  0.414  7 4.85 F.Cu     81 %      0.140        0.140  F.Cu>In1.Cu  89.3  103.5  83.18  80.71    2.47     2.47

    How lengths are counted
      The length of a route is the centre-line length of its tracks and arcs; copper drawn twice counts
      once. Inside a terminal pad it is the straight line from where the centre line last crosses the
      pad's outline to the pad's anchor. A via, or a plated hole on the way, adds the height of its
      barrel between the middles of the copper layers it is used on; without a stackup that height is
      unknown, and only routes with the same barrels compare. A plated hole at an end of the route adds
      no barrel. Ends that miss a centre line but lie in its copper are joined by a straight line; so
      are the contacts of a fill or of graphic copper. A length that a terminal pad declares inside its
      package is added. Of several ways the shortest counts, and track comes before fill; a second way
      is named.
      ohm, worst  of tracks by length: the median, and the farthest from the group's target or the median;
      differential for pairs
      assumed: foils with 5 um roughness (Rz)
      ?  of ohms, ps and dB in 1 row: no return via is near a barrel
    "#);
}

#[test]
fn the_table_without_a_stackup() {
    let ran = folder(false).run(&["measure", "."]);
    let tables: Vec<_> = ran.out().lines().take_while(|line| !line.starts_with("How")).collect();
    insta::assert_snapshot!(tables.join("\n"), @r#"
    board  logger.kicad_pcb: 4 copper layers, 6 nets, format 20171130
    no ohms, ps or dB: there is no stackup
    rules  throughline.toml, the nearest one to the board

    6 nets, lengths in mm
    net      from  to      length  tracks  in pads  barrels  vias  layers     branch  remarks
    GND                                                         4                     0 pads, 2 filled areas
    LINK_N   J1.2  U1.2    14.000  13.700    0.300                 F.Cu
    LINK_P   J1.1  U1.1    14.414  14.114    0.300                 F.Cu
    SENSE    U2.1  U3.1  10.000+?   9.400    0.600        ?     2  F.Cu B.Cu   0.750
    TRIGGER                                                                           2 pads, not joined by copper
    and 1 net with one pad and no via

    1 pair, lengths in mm
    pair  from       to              P       N    P-N   peak  peak at      coupled  least gap  typical gap  planes
    LINK  J1.1/J1.2  U1.1/U1.2  14.414  14.000  0.414  0.414  7 4.85 F.Cu     81 %      0.140        0.140  F.Cu>In1.Cu
    "#);
    assert!(ran.out().contains("  ?  There is no stackup of this board"));
}

/// What is known of a length is told even where the height of barrels is not.
#[test]
fn legs_with_barrels_of_unknown_height() {
    let mut board = starters::two_pad_pair("logger");
    for (net, y) in [("LINK_P", starters::P_Y), ("LINK_N", starters::N_Y)] {
        board.track(net, "F.Cu", 0.16, &[(starters::LEFT, y), (8.0, y)]);
        board.via(net, (8.0, y));
        board.track(net, "B.Cu", 0.16, &[(8.0, y), (12.0, y)]);
        board.via(net, (12.0, y));
        board.track(net, "F.Cu", 0.16, &[(12.0, y), (starters::RIGHT, y)]);
    }
    board.fill();
    let folder = Folder::new();
    folder.write("logger.kicad_pcb", board.text(Generation::V5));
    let ran = folder.run(&["measure"]);
    let rows: Vec<_> =
        ran.out().lines().filter(|line| line.starts_with("pair ") || line.starts_with("LINK  ")).collect();
    insta::assert_snapshot!(rows.join("\n"), @r"
    pair  from       to                P         N    P-N  coupled  least gap  typical gap  planes                   remarks
    LINK  J1.1/J1.2  U1.1/U1.2  14.000+?  14.000+?  0.000     98 %      0.140        0.140  F.Cu>In1.Cu B.Cu>In2.Cu  proposed
    ");
}

#[test]
fn values_for_a_spreadsheet() {
    let ran = folder(true).run(&["measure", "logger.kicad_pcb", "--report", "csv"]);
    insta::assert_snapshot!(ran.out(), @r#"
    kind,name,from,to,length_mm,tracks_mm,arcs_mm,in_pads_mm,barrels_mm,joins_mm,in_fills_mm,package_mm,vias,layers,second_way,pads,open,branches,longest_branch_mm,barrel_stubs,longest_barrel_stub_mm,net_p,net_n,proposed,p_mm,n_mm,difference_mm,peak_mm,peak_x_mm,peak_y_mm,peak_layer,coupled_percent,least_gap_mm,typical_gap_mm,most_gap_mm,lone_routes,planes,longest_bare_mm,board,least_ohm,typical_ohm,most_ohm,worst_ohm,worst_x_mm,worst_y_mm,worst_layer,delay_ps,p_ps,n_ps,skew_ps,peak_ps,peak_ps_x_mm,peak_ps_y_mm,peak_ps_layer,loss_at_ghz,loss_db,metal_db,dielectric_db,barrels_db,not_known
    net,GND,,,,,,,,,,,4,,,0,0,0,,0,,,,,,,,,,,,,,,,,,,logger,,,,,,,,,,,,,,,,,,,,,
    net,LINK_N,J1.2,U1.2,14,13.7,0,0.3,0,0,0,0,0,F.Cu,no,2,0,0,,0,,,,,,,,,,,,,,,,,F.Cu>In1.Cu,0,logger,,,,,,,,,,,,,,,,,,,,,"impedance, delay, loss: it is a leg of the pair `LINK`"
    net,LINK_P,J1.1,U1.1,14.414214,14.114214,0,0.3,0,0,0,0,0,F.Cu,no,2,0,0,,0,,,,,,,,,,,,,,,,,F.Cu>In1.Cu,0,logger,,,,,,,,,,,,,,,,,,,,,"impedance, delay, loss: it is a leg of the pair `LINK`"
    net,SENSE,U2.1,U3.1,11.47,9.4,0,0.6,1.47,0,0,0,2,F.Cu B.Cu,no,2,0,1,0.75,0,,,,,,,,,,,,,,,,,F.Cu>In1.Cu B.Cu>In2.Cu,0,logger,46.045,46.045,109.119,109.119,8.736979,8,F.Cu,,,,,,,,,,,,,,delay: no return via is near a barrel (13 % of the way); loss: no group states a rate for it
    net,SPARE,,,,,,,,,,,0,,,1,0,0,,0,,,,,,,,,,,,,,,,,,,logger,,,,,,,,,,,,,,,,,,,,,
    net,TRIGGER,,,,,,,,,,,0,,,2,1,0,,0,,,,,,,,,,,,,,,,,,,logger,,,,,,,,,,,,,,,,,,,,,
    pair,LINK,J1.1/J1.2,U1.1/U1.2,,,,,,,,,,,,,,,,,,LINK_P,LINK_N,no,14.414214,14,0.414214,0.414214,7,4.85,F.Cu,81.17,0.14,0.14,0.14,0,F.Cu>In1.Cu,0,logger,89.34,89.34,103.485,103.485,8,4.85,F.Cu,,83.182,80.712,2.469,2.469,7,4.85,F.Cu,,,,,,loss: no group states a rate for it
    "#);
    // Odd parts of a line cut at its quotes are quoted.
    let columns = |line: &str| line.split('"').step_by(2).map(|open| open.matches(',').count()).sum::<usize>();
    assert!(ran.out().lines().all(|line| columns(line) == columns(ran.out().lines().next().unwrap())));
}

#[test]
fn the_json_report_is_what_its_schema_says() {
    for stackup in [true, false] {
        let ran = folder(stackup).run(&["measure", "logger.kicad_pcb", "--report", "json"]);
        let report: Value = serde_json::from_str(ran.out()).unwrap();
        assert_eq!(differences(MEASURE_SCHEMA, &report), [""; 0]);
        assert!(report["boards"][0]["pairs"][0]["legs"][0]["difference_mm"].is_f64());
        if stackup {
            insta::assert_snapshot!(serde_json::to_string_pretty(&report["boards"][0]["pairs"]).unwrap(), @r#"
            [
              {
                "name": "LINK",
                "p": "LINK_P",
                "n": "LINK_N",
                "proposed": false,
                "lone_routes": 0,
                "legs": [
                  {
                    "from": {
                      "p": "J1.1",
                      "n": "J1.2"
                    },
                    "to": {
                      "p": "U1.1",
                      "n": "U1.2"
                    },
                    "p_mm": 14.414213562,
                    "n_mm": 14.0,
                    "difference_mm": 0.414213562,
                    "peak": {
                      "value_mm": 0.414213562,
                      "layer": "F.Cu",
                      "x_mm": 7.0,
                      "y_mm": 4.85
                    },
                    "coupled": 0.811699,
                    "gap": {
                      "least_mm": 0.14,
                      "typical_mm": 0.14,
                      "most_mm": 0.14
                    },
                    "signal": {
                      "impedance": {
                        "least_ohm": 89.34,
                        "typical_ohm": 89.34,
                        "most_ohm": 103.485,
                        "worst": {
                          "ohm": 103.485,
                          "layer": "F.Cu",
                          "x_mm": 8.0,
                          "y_mm": 4.85
                        },
                        "known_mm": 16.114,
                        "not_known_mm": 0.0
                      },
                      "p_ps": 83.182,
                      "n_ps": 80.712,
                      "skew_ps": 2.469,
                      "peak": {
                        "value_ps": 2.469,
                        "layer": "F.Cu",
                        "x_mm": 7.0,
                        "y_mm": 4.85
                      },
                      "loss": null,
                      "not_known": {
                        "loss": "no group states a rate for it"
                      }
                    },
                    "reference": [
                      {
                        "layer": "F.Cu",
                        "plane": "In1.Cu",
                        "nets": [
                          "GND"
                        ],
                        "bare_mm": 0.0,
                        "longest_bare_mm": 0.0,
                        "doubtful": false
                      }
                    ]
                  }
                ]
              }
            ]
            "#);
        }
        let mut broken = report.clone();
        broken["boards"][0]["nets"][0]["routes"] = 1.into();
        assert_eq!(differences(MEASURE_SCHEMA, &broken).len(), 1);
    }
}

#[test]
fn several_boards_stand_one_below_the_other() {
    let folder = folder(true);
    let mut other = starters::two_pads("sensor", "SENSE");
    other.fill();
    folder.write("sensor.kicad_pcb", other.text(Generation::V8));
    let ran = folder.run(&["measure"]);
    assert_eq!((ran.code(), ran.err()), (0, ""), "what one of the boards has is not missed on the other");
    let heads: Vec<&str> =
        ran.out().lines().filter(|line| line.contains("kicad_pcb") || line.starts_with("How")).collect();
    insta::assert_snapshot!(heads.join("\n"), @r"
    board  logger.kicad_pcb: 4 copper layers, 6 nets, format 20240108
    board  sensor.kicad_pcb: 4 copper layers, 2 nets, format 20240108
    logger.kicad_pcb: 6 nets, lengths in mm
    logger.kicad_pcb: 1 pair, lengths in mm
    sensor.kicad_pcb: 2 nets, lengths in mm
    sensor.kicad_pcb: 0 pairs, lengths in mm
    How lengths are counted
    ");
    let csv = folder.run(&["measure", "sensor.kicad_pcb", "logger.kicad_pcb", "--report", "csv"]);
    let column = csv.out().lines().next().unwrap().split(',').position(|name| name == "board").unwrap();
    let boards: Vec<&str> = csv.out().lines().skip(1).filter_map(|line| line.split(',').nth(column)).collect();
    assert_eq!((boards.first(), boards.last()), (Some(&"sensor"), Some(&"logger")), "in the order given");
    let json: Value = serde_json::from_str(folder.run(&["measure", ".", "--report", "json"]).out()).unwrap();
    assert_eq!(differences(MEASURE_SCHEMA, &json), [""; 0]);
    let names: Vec<&Value> = json["boards"].as_array().unwrap().iter().map(|board| &board["name"]).collect();
    assert_eq!(names, ["logger", "sensor"]);
}

#[test]
fn several_reports_at_once() {
    let folder = folder(true);
    let ran = folder.run(&["measure", ".", "--report", "csv=out.csv", "--report", "json=out.json"]);
    assert_eq!((ran.code(), ran.err()), (0, ""));
    assert!(
        ran.out().starts_with("board  logger.kicad_pcb"),
        "text goes to standard output unless another report does"
    );
    assert!(folder.read("out.csv").starts_with("kind,name,"));
    assert!(folder.read("out.json").starts_with("{\n  \"schema\": \"throughline/measure/1\""));
    let ran = folder.run(&["measure", ".", "--report", "json", "--report", "text=missing/out.txt"]);
    assert_eq!(ran.code(), 2);
    assert!(ran.err().starts_with("error can't write the text report to `missing/out.txt`: "), "{}", ran.err());
}
