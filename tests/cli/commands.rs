//! Commands beside `check` and `measure`: drafting a rule file, the rule set in force as one file, schemas, completions,
//! manual pages; and the statistics of a run.

use crate::run::Folder;
use crate::schema::differences;
use crate::support::{Generation, starters};
use serde_json::Value;
use std::path::{Path, PathBuf};

fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures").join(name)
}

fn demo() -> Folder {
    let folder = Folder::new();
    folder.write("boards/base.kicad_pcb", std::fs::read(fixture("recorder/base.kicad_pcb")).unwrap());
    folder
}

#[test]
fn a_draft_comes_from_the_boards_own_names_and_is_a_rule_file() {
    let folder = demo();
    let ran = folder.run(&["init", "boards/base.kicad_pcb"]);
    assert_eq!((ran.code(), ran.err()), (0, ""));
    insta::assert_snapshot!(ran.out(), @"wrote boards/throughline.toml: 9 pairs proposed; read it, then run `throughline check boards/base.kicad_pcb`");
    let draft = folder.read("boards/throughline.toml");
    insta::assert_snapshot!(draft, @r#"
    # Rules for the board `base`, drafted by `throughline init` from its own names and copper. Nothing
    # in here is known to be right before you have read it: what is proposed says why, and what is only
    # a guess is a comment.

    # The limits come from a shipped set: serial-8g, serial-16g or serial-32g, by the rate of your
    # lanes; `base` has only what every board needs. `throughline checks` lists what is held,
    # `throughline checks --effective` every value with its source, `throughline explain CHECK` what a
    # check measures.
    extends = ["serial-16g"]

    # Findings that you accept, each with a reason, a value and a day; `throughline waive` writes them.
    # waivers = ["waivers.toml"]

    # 6 copper layers, 0.86 mm thick by its own word. The board file has a stackup of its own, 0.86 mm
    # in all, which looks as if somebody had entered it. What the fab will build counts: state its sheet
    # here, and it wins over the file. The lines below say what the board file has; `?` is what it
    # lacks.
    #
    # [stackup]
    # source = "the fab's sheet of …"
    # layer = [
    #   { mask = "Epoxy", thickness = "0.015 mm", permittivity = 3.8, loss-tangent = 0.025 },
    #   { copper = "F.Cu", thickness = "0.035 mm" },
    #   { prepreg = "FR4 3313", thickness = "0.1 mm", permittivity = 4.05, loss-tangent = 0.02 },
    #   { copper = "In1.Cu", thickness = "0.0175 mm" },
    #   { core = "FR4 2116", thickness = "0.125 mm", permittivity = 4.15, loss-tangent = 0.019 },
    #   { copper = "In2.Cu", thickness = "0.0175 mm" },
    #   { prepreg = "FR4 2116", thickness = "0.12 mm", permittivity = 4.15, loss-tangent = 0.02 },
    #   { prepreg = "FR4 2116", thickness = "0.12 mm", permittivity = 4.15, loss-tangent = 0.02 },
    #   { copper = "In3.Cu", thickness = "0.0175 mm" },
    #   { core = "FR4 2116", thickness = "0.125 mm", permittivity = 4.15, loss-tangent = 0.019 },
    #   { copper = "In4.Cu", thickness = "0.0175 mm" },
    #   { prepreg = "FR4 3313", thickness = "0.1 mm", permittivity = 4.05, loss-tangent = 0.02 },
    #   { copper = "B.Cu", thickness = "0.035 mm" },
    #   { mask = "Epoxy", thickness = "0.015 mm", permittivity = 3.8, loss-tangent = 0.025 },
    # ]

    # 9 pairs that names and copper propose; the group `lanes` is the one that the serial sets look at.
    # Take out what is no lane, and give slower pairs a group of their own. A pattern such as
    # "LANE?_{P,N}" names many at once.
    [groups.lanes]
    pairs = [
      ["GEO_CLK_P", "GEO_CLK_N"],  # side by side for 93 % of the way, neighbouring pads at J1, U1
      # MEM_RX: 4 pairs
      ["MEM_RX0_P", "MEM_RX0_N"],  # side by side for 92 % of the way, neighbouring pads at J1, U1
      ["MEM_RX1_P", "MEM_RX1_N"],  # side by side for 93 % of the way, neighbouring pads at J1, U1
      ["MEM_RX2_P", "MEM_RX2_N"],  # side by side for 91 % of the way, neighbouring pads at J1, U1
      ["MEM_RX3_P", "MEM_RX3_N"],  # side by side for 90 % of the way, neighbouring pads at J1, U1
      # MEM_TX: 4 pairs
      ["MEM_TX0_P", "MEM_TX0_N"],  # side by side for 94 % of the way, neighbouring pads at J1, U1
      ["MEM_TX1_P", "MEM_TX1_N"],  # side by side for 94 % of the way, neighbouring pads at J1, U1
      ["MEM_TX2_P", "MEM_TX2_N"],  # side by side for 94 % of the way, neighbouring pads at J1, U1
      ["MEM_TX3_P", "MEM_TX3_N"],  # side by side for 94 % of the way, neighbouring pads at J1, U1
    ]
    # impedance = "85 ohm ±10 %"
    # rate      = "16 GT/s"

    # Single nets that share the start of their names. If one of these must arrive together, take away
    # the `#`, and let the limit be yours:
    #
    # [groups.boot]
    # nets = ["BOOT_*"]  # 4 nets: BOOT_CLK, BOOT_CS_B, BOOT_IO0, BOOT_IO1
    # [[check]]
    # use    = "length-match"
    # on     = ["boot"]
    # limit  = "3 mm"
    # source = "…"

    # Nets with filled copper, which carry supply or ground:
    #
    # [groups.supply]
    # nets    = ["GND", "VCORE_0V9", "VIO_1V2", "VNAND_2V5"]
    # current = "1 A"
    "#);
    let checked = folder.run(&["check", "boards"]);
    assert_eq!(checked.err(), "", "the draft reads without a remark");
    assert!([0, 1].contains(&checked.code()), "{}", checked.out());
    assert!(checked.out().contains("rules  boards/throughline.toml, the nearest one to the board\n"));
    // What somebody has written is never written over.
    insta::assert_snapshot!(folder.run(&["init", "boards"]).refused(), @r#"
    error can't write `boards/throughline.toml`: it is there already
      help: `--to -` prints the draft instead, `--to FILE` writes it elsewhere
    "#);
    assert_eq!(folder.read("boards/throughline.toml"), draft);
    assert_eq!(folder.run(&["init", "boards", "--to", "-"]).out(), draft);
    folder.run(&["init", "boards", "--to", "elsewhere.toml"]);
    assert_eq!(folder.read("elsewhere.toml"), draft);
}

/// Whatever is commented out reads too, once the `#` is gone and the `?` are filled in.
#[test]
fn what_a_draft_leaves_to_the_reader_reads_as_well() {
    let folder = demo();
    folder.run(&["init", "boards"]);
    let draft = folder.read("boards/throughline.toml").replace("# waivers = [\"waivers.toml\"]", "");
    let stated = |line: &str| {
        let bare = line.strip_prefix("# ").unwrap_or(line);
        bare.starts_with(['[', ']', ' '])
            || bare.split(' ').nth(if bare.contains(" = ") { 1 } else { 9 }) == Some("=")
            || bare.split(" = ").next().is_some_and(|key| !key.trim().contains(' ') && bare.contains(" = "))
    };
    let whole: Vec<&str> =
        draft.lines().map(|line| if stated(line) { line.strip_prefix("# ").unwrap_or(line) } else { line }).collect();
    folder.write("boards/throughline.toml", whole.join("\n"));
    let ran = folder.run(&["check", "boards"]);
    assert!([0, 1].contains(&ran.code()), "{}\n{}", ran.err(), whole.join("\n"));
    assert!(ran.out().contains("stackup  from the rule set"), "{}", ran.out());
}

#[test]
fn any_board_gets_a_draft_that_reads() {
    let mut boards: Vec<PathBuf> =
        std::fs::read_dir(fixture("generations")).unwrap().map(|entry| entry.unwrap().path()).collect();
    boards.retain(|path| path.extension().is_some_and(|end| end == "kicad_pcb"));
    assert!(boards.len() > 5);
    for board in boards {
        let folder = Folder::new();
        folder.write("one.kicad_pcb", std::fs::read(&board).unwrap());
        assert_eq!(folder.run(&["init", "one.kicad_pcb"]).code(), 0);
        let ran = folder.run(&["check"]);
        assert!(!ran.out().is_empty(), "{}: {}", board.display(), ran.err());
    }
    // A board without pairs, planes or stackup.
    let folder = Folder::new();
    folder.write("sensor.kicad_pcb", starters::two_pads("sensor", "SENSE").text(Generation::V5));
    assert_eq!(folder.run(&["init", "."]).code(), 0);
    let draft = folder.read("throughline.toml");
    assert!(draft.contains("extends = [\"base\"]") && draft.contains("has no stackup"), "{draft}");
    assert!(!folder.run(&["check"]).out().is_empty());
    // Two boards in a folder: one must be named.
    folder.write("other.kicad_pcb", starters::two_pads("other", "SENSE").text(Generation::V5));
    insta::assert_snapshot!(folder.run(&["init", ".", "--to", "x.toml"]).refused(), @r#"
    error . has 2 boards: `other.kicad_pcb`, `sensor.kicad_pcb`
      help: name one of them
    "#);
}

#[test]
fn odd_names_are_quoted_in_a_draft() {
    let mut board = starters::bent_pair("odd", &[(7.0, 4.85), (7.5, 4.35), (8.5, 4.35), (9.0, 4.85)]);
    board.fill();
    let text = board.text(Generation::V8).replace("LINK_", "L\\\"I\\\\NK#_");
    let folder = Folder::new();
    folder.write("odd.kicad_pcb", text);
    folder.run(&["init", "odd.kicad_pcb"]);
    let ran = folder.run(&["check"]);
    assert_eq!(ran.err(), "", "{}", folder.read("throughline.toml"));
    assert!(folder.read("throughline.toml").contains(r#"["L\"I\\NK#_P", "L\"I\\NK#_N"]"#));
    assert!(ran.out().contains("pair-skew  pair `L\"I\\NK#`"), "{}", ran.out());
}

/// Without remarks and blanks behind values.
fn bare(text: &str) -> Vec<String> {
    let lines = text.lines().filter(|line| !line.is_empty() && !line.starts_with('#'));
    lines.map(|line| line.split("  # ").next().unwrap().trim_end().to_owned()).collect()
}

#[test]
fn the_rule_set_in_force_is_one_file_that_reads_back_the_same() {
    let folder = Folder::new();
    let own = "waivers = [\"w.toml\"]\nextends = [\"serial-16g\"]\n\n[groups.lanes]\npairs = [\"MEM_{P,N}\", [\"A\", \"B\"]]\nrate = \"8 GT/s\"\n\n\
               [groups.supply]\nnets = [\"V*\", \"GND\"]\ncurrent = \"1.2 A\"\n\n[[check]]\nuse = \"pad-neck\"\non = [\"lanes\"]\nlevel = \"off\"\n\n\
               [[check]]\nuse = \"plane-gap\"\non = [\"supply\"]\nlimit = \"6 mil\"\nreference = [\"GND\"]\n\n\
               [[stackup]]\nboards = [\"a*\"]\nfrequency = \"2 GHz\"\nroughness = \"3 um\"\nsource = \"the \\\"sheet\\\"\"\n\
               layer = [{ copper = \"L1\", thickness = \"43 um\" }, { core = \"x\", thickness = \"1 mm\", permittivity = 4.3, loss-tangent = 0.016 }, \
               { copper = \"L2\", thickness = \"43 um\" }]\n";
    folder.write("own.toml", own);
    folder.write(
        "w.toml",
        "[[waive]]\ncheck = \"via-stub\"\nplace = \"0123456789abcdef\"\naccepted = \"0.5 mm\"\nreason = \"a\"\nuntil = 2027-03-01\n",
    );
    let shipped = throughline::rules::SHIPPED.iter().map(|(name, _)| (*name).to_owned());
    for set in shipped.chain(["own.toml".to_owned(), fixture("recorder/throughline.toml").to_str().unwrap().to_owned()])
    {
        let one = folder.run(&["checks", "--effective", "--rules", &set]);
        assert_eq!((one.code(), one.err()), (0, ""), "{set}");
        folder.write("flat.toml", one.out());
        let two = folder.run(&["checks", "--effective", "--rules", "flat.toml"]);
        assert_eq!(two.refused_or(0), "", "{set}");
        assert_eq!(bare(one.out()), bare(two.out()), "{set}");
        // And it holds the same checks with the same limits.
        let limits = |rules: &str| {
            let ran = folder.run(&["checks", "--rules", rules]);
            let lines = ran.out().lines().filter(|line| line.starts_with("    ") && !line.contains("source:"));
            lines.map(|line| line.split("  ").take(3).collect::<String>()).collect::<Vec<_>>()
        };
        assert_eq!(limits(&set), limits("flat.toml"), "{set}");
    }
    let flat = folder.run(&["checks", "--effective", "--rules", "own.toml"]);
    let tail = flat.out().split("[groups.supply]").nth(1).unwrap();
    let tail: String = tail.split("[[check]]").next().unwrap().to_owned();
    insta::assert_snapshot!(format!("[groups.supply]{tail}"), @r#"
    [groups.supply]                                   # own.toml:8:9
    nets = [
      "V*",                                           # own.toml:9:9
      "GND",                                          # own.toml:9:15
    ]
    current   = "1.2 A"                               # own.toml:10:11
    "#);
}

#[test]
fn rule_files_are_what_their_schema_says() {
    let folder = Folder::new();
    let schema = folder.run(&["schema"]);
    assert_eq!(schema.code(), 0);
    assert_eq!(schema.out(), folder.run(&["schema", "rules"]).out());
    let value = |text: &str| -> Value { toml::from_str(text).unwrap() };
    let demo = std::fs::read_to_string(fixture("recorder/throughline.toml")).unwrap();
    let texts = throughline::rules::SHIPPED.iter().map(|(_, text)| (*text).to_owned()).chain([demo]);
    for text in texts {
        assert_eq!(differences(schema.out(), &value(&text)), [""; 0]);
    }
    for wrong in [
        "extend = []",
        "[groups.g]\nnet = [\"A\"]",
        "[[check]]\nuse = \"via-stubs\"",
        "[[check]]\nuse = \"via-stub\"\non = [\"g\"]\nlimit = 3.5",
        "[[check]]\nuse = \"net-open\"\non = [\"g\"]",
        "[[waive]]\ncheck = \"net-open\"",
        "[stackup]\nlayers = []",
    ] {
        assert_eq!(differences(schema.out(), &value(wrong)).len(), 1, "{wrong}");
    }
    for name in ["check", "measure", "width", "baseline"] {
        let ran = folder.run(&["schema", name]);
        assert_eq!(ran.code(), 0);
        assert!(serde_json::from_str::<Value>(ran.out()).unwrap()["title"].is_string(), "{name}");
    }
}

#[test]
fn completions_and_manual_pages_name_every_command() {
    let folder = Folder::new();
    let help = folder.run(&["--help"]).out().to_owned();
    let listed = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    let commands: Vec<&str> = listed.lines().filter_map(|line| line.split_whitespace().next()).collect();
    assert!(commands.contains(&"waive") && commands.contains(&"init"), "{commands:?}");
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let script = folder.run(&["completions", shell]);
        assert_eq!((script.code(), script.err()), (0, ""));
        for command in &commands {
            assert!(script.out().contains(command), "{shell} lacks {command}");
        }
    }
    let page = folder.run(&["man"]);
    assert!(page.out().contains(".TH throughline 1"), "{}", page.out());
    for command in &commands {
        assert!(page.out().replace("\\-", "-").contains(&format!("throughline-{command}(1)")), "{command}");
        let own = folder.run(&["man", command]);
        assert!(own.out().replace("\\-", "-").contains(&format!(".TH throughline-{command} 1")), "{}", own.out());
    }
    insta::assert_snapshot!(folder.run(&["man", "chekc"]).refused(), @r#"
    error there is no command `chekc`
      help: commands are check, waive, measure, profile, width, explain, checks, init, schema,
            completions, man
    "#);
    assert_eq!(folder.run(&["completions", "tcsh"]).code(), 2);
}

#[test]
fn statistics_stand_apart_from_results() {
    let folder = demo();
    folder.write("boards/throughline.toml", std::fs::read(fixture("recorder/throughline.toml")).unwrap());
    let only = ["check", "boards", "--only", "net-open", "--only", "pair-skew", "--only", "via-stub"];
    let plain = folder.run(&only);
    let counted = folder.run(&[&only[..], &["--stats"]].concat());
    assert_eq!(plain.out(), counted.out(), "results do not change");
    assert_eq!((plain.err(), plain.code()), ("", counted.code()));
    let lines: Vec<&str> = counted.err().lines().collect();
    let timeless = |line: &str| {
        let cells: Vec<&str> = line.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).collect();
        let end = cells.len() - usize::from(cells.last().is_some_and(|cell| cell.ends_with(" ms") || *cell == "time"));
        cells[..end].join(" | ")
    };
    assert!(lines.last().unwrap().starts_with("took: reading "), "{}", counted.err());
    insta::assert_snapshot!(lines[..lines.len() - 1].iter().map(|line| timeless(line)).collect::<Vec<_>>().join("\n"), @r#"
    check | subjects | without value | beyond | to 10 % | to 25 % | to 50 % | more | least left
    net-open | 30 | 30 | - | - | - | - | -
    pair-skew | 9 | - | - | - | - | - | 9 | 100 %
    via-stub | 20 | - | - | - | - | 2 | 18 | 28 %
    beyond: past a limit; to 10 %: within it, with up to 10 % of it left, and so on
    "#);
}
