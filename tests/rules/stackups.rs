//! Stackups in rule files: what they may state, every fault at its place, and what extending does to them.

use crate::support::{faults, read_files, read_text, show_all};
use throughline::rules::{Stackup, StackupKind, StackupLayer};

/// Four layers, as a fab's sheet would be typed.
const SHEET: &str = r#"
[stackup]
source    = "sheet of 3 March"
frequency = "1 GHz"
roughness = "3 um"
layer = [
  { mask    = "green", thickness = "20 um",    permittivity = 3.8 },
  { copper  = "F.Cu",  thickness = "43 um" },
  { prepreg = "1080",  thickness = "0.075 mm", permittivity = 3.9, loss-tangent = 0.018 },
  { copper  = "L2",    thickness = "15.2 um" },
  { core    = "0.5",   thickness = "20 mil",   permittivity = 4.3, loss-tangent = 0.016, frequency = "5 GHz" },
  { copper  = "In2.Cu", thickness = "15.2 um" },
  { prepreg = "1080",  thickness = "0.0375 mm", permittivity = 4 },
  { prepreg = "1080",  thickness = "0.0375 mm", permittivity = 4 },
  { copper  = "B.Cu",  thickness = "43 um" },
  { mask    = "green" },
]
"#;

/// A layer as one line.
fn line(layer: &StackupLayer) -> String {
    let mut text = format!("{} {}", layer.kind.word(), layer.name.value);
    if let Some(at) = &layer.thickness {
        text.push_str(&format!(" {:.4}", at.value));
    }
    if let Some(at) = &layer.permittivity {
        text.push_str(&format!(" Dk {}", at.value));
    }
    if let Some(at) = &layer.loss_tangent {
        text.push_str(&format!(" Df {}", at.value));
    }
    if let Some(at) = &layer.frequency {
        text.push_str(&format!(" at {}", at.value));
    }
    text
}

fn lines(stackup: &Stackup) -> String {
    stackup.layers.iter().map(line).collect::<Vec<_>>().join("\n")
}

#[test]
fn a_sheet_as_typed() {
    let set = read_text(SHEET).unwrap_or_else(|faults| panic!("{}", show_all(&faults)));
    let [stackup] = set.stackups.as_slice() else { panic!("one stackup") };
    insta::assert_snapshot!(lines(stackup), @r"
    mask green 0.02 mm Dk 3.8 at 1 GHz
    copper F.Cu 0.043 mm
    prepreg 1080 0.075 mm Dk 3.9 Df 0.018 at 1 GHz
    copper L2 0.0152 mm
    core 0.5 0.508 mm Dk 4.3 Df 0.016 at 5 GHz
    copper In2.Cu 0.0152 mm
    prepreg 1080 0.0375 mm Dk 4 at 1 GHz
    prepreg 1080 0.0375 mm Dk 4 at 1 GHz
    copper B.Cu 0.043 mm
    mask green at 1 GHz
    ");
    assert_eq!(stackup.source.as_ref().unwrap().value, "sheet of 3 March");
    assert_eq!(stackup.origin.to_string(), "rules.toml:2:2");
    assert_eq!(stackup.layers[1].origin.to_string(), "rules.toml:8:3");
    assert_eq!(stackup.layers[4].thickness.as_ref().unwrap().origin.written(), "\"20 mil\"");
    // 0.02 + 0.043 + 0.075 + 0.0152 + 0.508 + 0.0152 + 2 * 0.0375 + 0.043
    assert!((stackup.total().to_mm() - 0.7944).abs() < 1e-12);
    assert_eq!(stackup.coppers().count(), 4);
    assert!(stackup.boards.is_empty() && set.warnings.is_empty());
}

#[test]
fn tables_say_the_same_as_a_list() {
    let tables = r#"
[[stackup.layer]]
copper    = "L1"
thickness = "35 um"

[[stackup.layer]]
core         = "1.5 mm"
thickness    = "1.5 mm"
permittivity = 4.4

[[stackup.layer]]
copper    = "L2"
thickness = "35 um"
"#;
    let set = read_text(tables).unwrap_or_else(|faults| panic!("{}", show_all(&faults)));
    let stackup = &set.stackups[0];
    insta::assert_snapshot!(lines(stackup), @r"
    copper L1 0.035 mm
    core 1.5 mm 1.5 mm Dk 4.4
    copper L2 0.035 mm
    ");
    assert_eq!(stackup.origin.to_string(), "rules.toml:2:3");
    assert_eq!(stackup.layers[1].origin.to_string(), "rules.toml:6:1");
    let kinds: Vec<StackupKind> = stackup.layers.iter().map(|layer| layer.kind).collect();
    assert_eq!(kinds, [StackupKind::Copper, StackupKind::Core, StackupKind::Copper]);
}

#[test]
fn all_faults_are_told() {
    insta::assert_snapshot!(
        faults(
            r#"
[stackup]
sauce     = "sheet 4"
frequency = "1 kHz"
roughness = "1 mm"
boards    = []

[[stackup.layer]]
maks      = "green"
thickness = "20 um"

[[stackup.layer]]
copper       = "F.Cu"
thickness    = "1 oz"
permittivity = 4.1

[[stackup.layer]]
prepreg      = "1080"
thickness    = "0.1 mn"
permittivity = "4.1"
loss-tangent = 0.0
frequency    = "1 ps"

[[stackup.layer]]
copper    = "In1.Cu"
thickness = "35 mm"

[[stackup.layer]]
core         = ""
permittivity = 42e3
loss-tangent = 18
roughness    = "2 um"

[[stackup.layer]]
copper    = "B.Cu"
core      = "FR-4"
thickness = 35
thicknes  = "35 um"

[[stackup.layer]]
thickness = "20 um"
"#
        ),
        @r#"
    rules.toml:3:1: unknown key `sauce`
        sauce <- not a key of a stackup
        help: a stackup takes `boards`, `layer`, `frequency`, `roughness` and `source`
    rules.toml:4:13: a frequency of 1 kHz
        "1 kHz" <- expected 1 MHz to 100 GHz
    rules.toml:5:13: `roughness` is 1 mm
        "1 mm" <- expected more than 0 and no more than 0.05 mm
    rules.toml:6:13: no boards are named
        [] <- expected at least one; without this line it is for all
    rules.toml:9:1: unknown key `maks`
        maks <- not a key of a layer
        help: did you mean `mask`?
    rules.toml:14:16: `thickness` is a weight
        "1 oz" <- expected the finished thickness
        help: 1 oz of foil is about 35 um, less what is etched, more what is plated
    rules.toml:15:1: unknown key `permittivity`
        permittivity <- not a key of a layer of copper
        help: a layer of copper takes `copper` and `thickness`
    rules.toml:19:21: unknown unit `mn`
        mn <- expected a length such as `0.15 mm`
        help: did you mean `mm`?
    rules.toml:20:16: `permittivity` is a text
        "4.1" <- expected a number without quotes such as `permittivity = 4.1`
    rules.toml:21:16: `loss-tangent` is zero
        0.0 <- expected more than zero
        help: leave the line out if the sheet does not state it: losses are then not computed
    rules.toml:22:17: `1 ps` is a time
        1 ps <- expected a frequency such as `8 GHz`
    rules.toml:26:13: `thickness` is 35 mm
        "35 mm" <- expected more than 0 and no more than 0.5 mm
    rules.toml:28:1: this core has no thickness
        [[stackup.layer]] <- expected `thickness` for it, such as `thickness = "0.1 mm"`
    rules.toml:29:16: `core` is empty
        "" <- expected the material or its construction, such as `2 x 2116`
    rules.toml:30:16: `permittivity` is 42000
        42e3 <- expected 1 to 100
    rules.toml:31:16: `loss-tangent` is 18
        18 <- expected 0.000001 to 0.5
    rules.toml:32:1: unknown key `roughness`
        roughness <- not a key of a layer of core
        help: a layer of core takes `core`, `thickness`, `permittivity`, `loss-tangent` and `frequency`
    rules.toml:36:1: a layer that is `copper` and `core`
        core <- expected one kind for each `[[stackup.layer]]`
    rules.toml:37:13: `thickness` has no unit
        35 <- expected a length such as `0.15 mm`
        help: write it as a text: `thickness = "35 mm"`
    rules.toml:38:1: unknown key `thicknes`
        thicknes <- not a key of a layer of copper
        help: did you mean `thickness`?
    rules.toml:40:1: a layer of no kind
        [[stackup.layer]] <- expected `copper`, `core`, `prepreg` or `mask` with a name
        help: such as `copper = "F.Cu"` or `core = "2 x 2116"`
    "#
    );
    insta::assert_snapshot!(faults("stackup = \"six layers\"\n"), @r#"
    rules.toml:1:11: `stackup` is a text
        "six layers" <- expected a table `[stackup]`
    "#);
    insta::assert_snapshot!(faults("stackup = [7]\n"), @r"
    rules.toml:1:12: `stackup` is a number
        7 <- expected tables such as `[[stackup]]`
    ");
    insta::assert_snapshot!(faults("[stackup]\nlayer = \"FR-4\"\n"), @r#"
    rules.toml:2:9: `layer` is a text
        "FR-4" <- expected a list of tables: `[[stackup.layer]]`
    "#);
    insta::assert_snapshot!(faults("[stackup]\nlayer = [\"FR-4\"]\n"), @r#"
    rules.toml:2:10: `layer` is a text
        "FR-4" <- expected tables such as `[[stackup.layer]]`
    "#);
    insta::assert_snapshot!(faults("[stackup]\nlayer = [{ copper = \"F.Cu\" }, { core = \"FR-4\" }]\n"), @r#"
    rules.toml:2:21: `F.Cu` has no thickness
        "F.Cu" <- expected `thickness` for it, such as `thickness = "35 um"`
    rules.toml:2:40: `FR-4` has no permittivity
        "FR-4" <- expected `permittivity` for it, such as `permittivity = 4.1`
    rules.toml:2:40: `FR-4` has no thickness
        "FR-4" <- expected `thickness` for it, such as `thickness = "0.1 mm"`
    "#);
}

#[test]
fn layers_in_an_order_that_cannot_be() {
    let copper = |name: &str| format!("{{ copper = \"{name}\", thickness = \"35 um\" }},\n");
    let core = "{ core = \"FR-4\", thickness = \"0.2 mm\", permittivity = 4.2 },\n";
    let mask = "{ mask = \"green\" },\n";
    let order = |layers: &[&str]| format!("[stackup]\nlayer = [\n{}]\n", layers.concat());
    let [one, two, three] = [copper("L1"), copper("L2"), copper("L3")];
    let wrong = [
        order(&[core, mask, &one, mask, core, &two, &three, &two, core, mask]),
        order(&[mask, mask, &one, core, &two]),
        order(&[mask, &one, core]),
        order(&[core, core]),
        "[stackup]\nsource = \"sheet 4\"\n".to_owned(),
    ];
    insta::assert_snapshot!(wrong.iter().map(|text| faults(text)).collect::<Vec<_>>().join("\n--\n"), @r#"
    rules.toml:3:10: the core `FR-4` lies above the top copper
        "FR-4" <- expected copper or a mask here
    rules.toml:4:10: the mask `green` is not the outermost layer
        "green" <- expected one on each side, as the first and the last layer
    rules.toml:6:10: the mask `green` lies inside the stackup
        "green" <- expected only above the top copper or below the bottom copper
    rules.toml:9:12: no dielectric lies between `L2` and `L3`
        "L3" <- expected `core` or `prepreg` above it
    rules.toml:10:12: `L2` is stated twice
        "L2" <- expected each layer once
    rules.toml:10:12: no dielectric lies between `L3` and `L2`
        "L2" <- expected `core` or `prepreg` above it
    rules.toml:11:10: the core `FR-4` lies below the bottom copper
        "FR-4" <- expected copper or a mask here
    --
    rules.toml:4:10: the mask `green` is not the outermost layer
        "green" <- expected one on each side, as the first and the last layer
    --
    rules.toml:4:12: a stackup of one copper layer
        "L1" <- expected at least two
    rules.toml:5:10: the core `FR-4` lies below the bottom copper
        "FR-4" <- expected copper or a mask here
    --
    rules.toml:1:2: the stackup has no copper
        stackup <- expected `[[stackup.layer]]` from top to bottom
    --
    rules.toml:1:2: the stackup has no layers
        stackup <- expected `[[stackup.layer]]` from top to bottom
    "#);
    assert!(read_text(&order(&[mask, &one, core, core, &two, core, &three, mask])).is_ok());
}

#[test]
fn layers_replace_all_and_single_keys_only_themselves() {
    let over = |outer: &str| {
        let outer = format!("extends = [\"fab.toml\"]\n{outer}");
        let set = read_files(&[("own.toml", &outer), ("fab.toml", SHEET)]);
        set.unwrap_or_else(|faults| panic!("{}", show_all(&faults)))
    };
    let set = over("[stackup]\nroughness = \"2 um\"\nfrequency = \"10 GHz\"\n");
    let stackup = &set.stackups[0];
    assert_eq!(stackup.roughness.as_ref().unwrap().value.to_string(), "0.002 mm");
    assert_eq!(stackup.layers[2].frequency.as_ref().unwrap().origin.file.name(), "own.toml");
    assert_eq!(stackup.layers[2].thickness.as_ref().unwrap().origin.file.name(), "fab.toml");
    assert_eq!(stackup.origin.file.name(), "own.toml");

    let two = "[stackup]\nlayer = [{ copper = \"L1\", thickness = \"35 um\" }, { core = \"x\", thickness = \"1 mm\", permittivity = 4 }, { copper = \"L2\", thickness = \"35 um\" }]\n";
    let stackup = &over(two).stackups[0];
    assert_eq!(stackup.layers.len(), 3);
    assert!(stackup.source.is_none() && stackup.roughness.is_none(), "these spoke of other layers");
}

#[test]
fn stackups_are_for_boards() {
    let layers = |name: &str| {
        format!(
            "layer = [{{ copper = \"L1\", thickness = \"35 um\" }}, {{ core = \"{name}\", thickness = \"1 mm\", permittivity = 4 }}, {{ copper = \"L2\", thickness = \"35 um\" }}]\n"
        )
    };
    let text = format!(
        "[[stackup]]\n{}[[stackup]]\nboards = [\"base*\"]\n{}[[stackup]]\nboards = [\"cartridge\", \"*-x\"]\n{}",
        layers("any"),
        layers("base"),
        layers("cartridge")
    );
    let set = read_text(&text).unwrap_or_else(|faults| panic!("{}", show_all(&faults)));
    let of = |board: &str| -> Vec<String> {
        set.stackups_of(board).iter().map(|stackup| stackup.layers[1].name.value.clone()).collect()
    };
    assert_eq!(of("base"), ["base"]);
    assert_eq!(of("base-2"), ["base"]);
    assert_eq!(of("cartridge"), ["cartridge"]);
    assert_eq!(of("logger"), ["any"]);
    assert_eq!(of("base-x"), ["base", "cartridge"]);
    insta::assert_snapshot!(
        faults(&format!(
            "[[stackup]]\nboards = [\"a\", \"b\"]\n{}[[stackup]]\nboards = [\"b\", \"a\"]\n{}[[stackup]]\nboards = [\"{{\", 3]\n",
            layers("one"),
            layers("two")
        )),
        @r#"
    rules.toml:4:1: two stackups for the same boards
        [[stackup]] <- first stated in line 1
        help: name the boards that each is for: `boards = ["base"]`
    rules.toml:8:12: a brace is not closed
        { <- this pattern can't be used
        help: alternatives are written `{a,b}`; `?` stands for a brace that is part of a name
    rules.toml:8:16: `boards` is a number
        3 <- expected the name of a board such as `"base"`
    "#
    );
}
