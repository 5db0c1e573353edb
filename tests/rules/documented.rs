//! The rule-file reference is held to what it says: its example reads, and it names every key and unit.

use crate::support::{SCHEMAS, read_text, show_all};
use throughline::rules::{Level, PairPattern};
use throughline::units::UNITS;

const PAGE: &str = include_str!("../../src/rules/mod.rs");

/// The reference without its comment marks.
fn page() -> String {
    let lines = PAGE.lines().map_while(|line| line.strip_prefix("//!"));
    lines.map(|line| line.strip_prefix(' ').unwrap_or(line)).collect::<Vec<_>>().join("\n")
}

#[test]
fn the_example_reads_as_the_reference_says() {
    let page = page();
    let example = page.split("```toml\n").nth(1).unwrap().split("```").next().unwrap();
    let set = read_text(example).unwrap_or_else(|faults| panic!("{}", show_all(&faults)));
    let lanes = set.group("lanes").unwrap();
    assert!(lanes.proposed.is_none() && matches!(lanes.pairs[1].value, PairPattern::Nets(..)));
    let skew = set.rules.iter().find(|rule| rule.check == "pair-skew").unwrap();
    assert_eq!((skew.limit.as_ref().unwrap().value.to_string().as_str(), skew.level), ("0.2 mm", Level::Error));
    assert!(set.rules.iter().any(|rule| rule.check == "via-stub"), "what serial-16g states still holds");
    assert_eq!(set.switched_off.iter().map(|off| off.check).collect::<Vec<_>>(), ["pad-neck"]);
    assert_eq!(set.warnings.len(), 1, "no check looks at the supply group");
}

#[test]
fn the_stackup_of_the_reference_reads() {
    let page = page();
    let example = page.split("```toml\n").nth(2).unwrap().split("```").next().unwrap();
    let set = read_text(example).unwrap_or_else(|faults| panic!("{}", show_all(&faults)));
    let [stackup] = set.stackups.as_slice() else { panic!("one stackup") };
    assert_eq!(stackup.coppers().map(|layer| layer.name.value.as_str()).collect::<Vec<_>>(), ["F.Cu", "B.Cu"]);
    assert!(stackup.roughness.is_some() && stackup.source.is_some());
}

#[test]
fn the_waiver_of_the_reference_reads() {
    let page = page();
    let example = page.split("```toml\n").nth(3).unwrap().split("```").next().unwrap();
    let set = read_text(example).unwrap_or_else(|faults| panic!("{}", show_all(&faults)));
    let [waiver] = set.waivers.as_slice() else { panic!("one waiver") };
    assert!(waiver.accepted.is_some() && waiver.until.is_some() && waiver.board.is_some());
}

#[test]
fn the_reference_names_every_key_and_unit() {
    let page = page();
    let words: Vec<&str> = page.split(|c: char| c.is_whitespace() || "`\"|,;:()".contains(c)).collect();
    for unit in UNITS {
        assert!(words.contains(&unit.symbol), "{}", unit.symbol);
    }
    let faults =
        read_text("x=1\n[stackup]\nx=1\nlayer=[{copper='L1',x=1},{mask='x',x=1},{x=1}]\n[groups.g]\nx=1\nnets=['A']\n[[check]]\nuse='via-stub'\nx=1\non=['g']\nlimit='1 mm'\n[[waive]]\ncheck='via-stub'\nplace='00000000'\nreason='r'\nx=1\n")
            .unwrap_err();
    assert_eq!(faults.len(), 9, "{}", show_all(&faults));
    let helps = faults.iter().filter_map(|fault| fault.help.as_deref());
    let keys: Vec<&str> = helps.flat_map(|help| help.split('`').skip(1).step_by(2)).collect();
    assert!(keys.contains(&"extends") && keys.contains(&"proposed") && keys.contains(&"source"), "{keys:?}");
    for key in keys {
        assert!(page.contains(key) || SCHEMAS.iter().any(|schema| schema.name == key), "{key}");
    }
}
