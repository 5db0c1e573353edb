//! Rule files with bytes dropped, doubled, flipped and swapped: never a panic, every fault inside its file.

use crate::support::{all_schemas, file};
use std::sync::LazyLock;
use throughline::rules::{CheckSchema, SHIPPED, read, shipped};

const OWN: &str = r#"extends = ["serial-16g", "more.toml"]
waivers = ["waived.toml"]
[stackup]
source = "sheet"
frequency = "1 GHz"
roughness = "3 um"
boards = ["base*"]
layer = [{ mask = "µ", thickness = "20 um" },
{ copper = "L1", thickness = "35 um" }, { core = "x", thickness = "1 mm", permittivity = 4.1, loss-tangent = 0.02 },
{ copper = "L2", thickness = "35 um" }]
[groups.lanes]
pairs = ["LANE?_{TX,RX}_{P,N}", ["A\u0042_P", 'AB_N'], "µ{P,N}"]
impedance = "85 ohm ±10 %"
rate = "16 GT/s"
[groups.supply]
nets = ["V*", "{slash}"]
current = "1.2 A"
[[check]]
use = "plane-gap"
on = ["lanes", "supply"]
warn = "0.1 mm"
limit = "0.2 mm"
reference = ["GND*"]
both = true
side = "above"
level = "warning"
source = """two
lines"""
[[check]]
use = "via-count"
on = ["lanes"]
limit = 2
[[waive]]
check = "plane-gap"
place = "9f3a1c07d2e4b586"
board = "base"
accepted = "0.42 mm"
reason = "µ agreed"
until = 2027-03-01
"#;

const MORE: &str = "[[check]]\nuse = 'via-stub'\non = ['supply']\nlimit = '1 mm'\n";

const WAIVED: &str = "[[waive]]\ncheck = 'via-stub'\nplace = '00000000'\naccepted = 'not checked'\nreason = 'a'\n";

/// Reads a text; panics if a fault lies outside its file or between the bytes of a character.
fn hold(text: &str) -> bool {
    let mut load = |name: &str| match name {
        "more.toml" => Ok(file(name, MORE)),
        "waived.toml" => Ok(file(name, WAIVED)),
        _ => Err("no such file".to_owned()),
    };
    match read(file("own.toml", text), &SCHEMAS, &mut load) {
        Ok(_) => true,
        Err(faults) => {
            assert!(!faults.is_empty());
            for fault in faults {
                let (start, end) = (fault.span.start as usize, fault.span.end as usize);
                assert!(start <= end, "{fault:?}");
                assert!(fault.file.text().get(start..end).is_some(), "{} at {start}..{end} in {text:?}", fault.message);
                assert!(!fault.message.is_empty() && !fault.label.is_empty());
            }
            false
        }
    }
}

fn mutate(text: &str) {
    let bytes = text.as_bytes();
    for at in 0..bytes.len() {
        let mut texts = vec![bytes[..at].to_vec(), [&bytes[..at], &bytes[at + 1..]].concat()];
        for byte in [b'"', b'\'', b'[', b']', b'{', b'}', b'=', b'\n', b'\0', b',', b'.', b'#', 0xff, bytes[at] ^ 0x20]
        {
            let mut flipped = bytes.to_vec();
            flipped[at] = byte;
            texts.push(flipped);
        }
        let mut swapped = bytes.to_vec();
        swapped.swap(at, (at + 1) % bytes.len());
        texts.push(swapped);
        for text in texts {
            hold(&String::from_utf8_lossy(&text));
        }
    }
}

/// Looked up once: thousands of files are read.
static SCHEMAS: LazyLock<Vec<CheckSchema>> = LazyLock::new(all_schemas);

#[test]
fn a_rule_file_survives_every_small_change() {
    assert!(hold(OWN));
    mutate(OWN);
}

#[test]
fn shipped_sets_survive_every_small_change() {
    let (name, _) = SHIPPED[0];
    mutate(shipped(name).unwrap().text());
}

#[test]
fn lines_left_out_or_doubled_are_survived() {
    let lines: Vec<&str> = OWN.lines().collect();
    for at in 0..lines.len() {
        let without: Vec<&str> =
            lines.iter().enumerate().filter(|(row, _)| *row != at).map(|(_, line)| *line).collect();
        hold(&without.join("\n"));
        let mut doubled = lines.clone();
        doubled.insert(at, lines[at]);
        hold(&doubled.join("\r\n"));
        for other in 0..lines.len() {
            let mut moved = lines.clone();
            moved.swap(at, other);
            hold(&moved.join("\n"));
        }
    }
}

#[test]
fn nesting_without_end_is_a_fault() {
    for text in ["[", "{a=", "[[", "a.", "[groups."] {
        assert!(!hold(&text.repeat(5000)));
    }
    assert!(!hold(&format!("a = {}", "[".repeat(100_000))));
    assert!(!hold(&format!("a = {}{}", "[".repeat(100_000), "]".repeat(100_000))));
}
