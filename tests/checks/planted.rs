//! One fault on a board that is right otherwise: exactly one new finding, of the right check, at that place.

use crate::support::judge::{Said, judge, judge_files};
use crate::support::plant::{self, Planted};
use crate::support::recorder::{self, BASE, CARTRIDGE, FAULTS, MIDDLE, Plan, rerouted};
use crate::support::{Board, Generation, fixture};
use std::sync::LazyLock;

/// All that is said of the clean board.
static CLEAN: LazyLock<Vec<Said>> = LazyLock::new(|| judge(&recorder::draw(&BASE), Generation::V9).1);

fn findings(said: &[Said]) -> Vec<&Said> {
    said.iter().filter(|said| said.outcome != "pass").collect()
}

/// Whether a finding is the one that must be found.
fn fits(said: &Said, planted: &Planted) -> bool {
    let near = said.at.is_some_and(|(x, y)| (x - planted.at.0).hypot(y - planted.at.1) <= planted.within);
    let layer = planted.layer.is_none_or(|layer| said.layer.as_deref() == Some(layer));
    let named = |said: &Said| planted.subject.split(' ').all(|name| said.subject.contains(name));
    said.check == planted.check && named(said) && (near || planted.within.is_infinite()) && layer
}

fn tell(said: &[&Said]) -> String {
    said.iter().map(|said| format!("\n  {said:?}")).collect()
}

#[test]
fn the_clean_demo_has_no_finding() {
    // The folder as a whole, with the rule file that lies in it.
    let (status, said) = judge_files(&[&fixture::path("recorder")], &fixture::path("recorder/throughline.toml"));
    let found = findings(&said);
    assert!(found.is_empty(), "{}", tell(&found));
    assert_eq!(status, 0);
    // Every check that the rules ask for has looked at something.
    for check in throughline::checks::ALL {
        let name = check.info().schema.name;
        assert!(said.iter().any(|said| said.check == name), "{name} has examined nothing");
    }
}

/// What is wrong with the new findings, if they are not just what was planted.
fn strays(new: &[&Said], planted: &Planted) -> Option<String> {
    let fitting = new.iter().filter(|said| fits(said, planted)).count();
    let expected = |said: &Said| {
        let unchecked = |(check, subject): &(&str, String)| said.check == *check && said.subject == *subject;
        fits(said, planted) || (said.outcome == "unchecked" && planted.unchecked.iter().any(unchecked))
    };
    let expected = |said: &Said| {
        let also = |(check, subject): &(&str, String)| said.check == *check && said.subject.contains(subject.as_str());
        expected(said) || (said.outcome != "unchecked" && planted.also.iter().any(also))
    };
    let all = new.iter().all(|said| expected(said)) && new.len() == 1 + planted.unchecked.len() + planted.also.len();
    (fitting != 1 || !all).then(|| format!("{planted:?}{}", tell(new)))
}

/// Plants a fault on a clean board and tells what is wrong with what was found.
fn plant_on(plan: &Plan, clean: &[Said], after_fill: bool, plant: impl Fn(&mut Board) -> Planted) -> Option<String> {
    let mut board = recorder::unfilled(plan);
    if after_fill {
        board.fill();
    }
    let planted = plant(&mut board);
    board.fill_missing();
    let (_, said) = judge(&board, Generation::V9);
    strays(&fresh(clean, &said), &planted)
}

#[test]
fn each_fault_is_found_once_and_nothing_else() {
    let found = FAULTS.iter().filter_map(|fault| {
        plant_on(&BASE, &CLEAN, fault.after_fill, fault.plant).map(|stray| format!("\n{}: {stray}", fault.name))
    });
    let strays: String = found.collect();
    assert!(strays.is_empty(), "{strays}");
}

/// What plants a fault.
type Plant<'a> = &'a dyn Fn(&mut Board) -> Planted;

/// The same kinds of faults at other places, on the board whose corners are sharp and whose sides are swapped.
#[test]
fn faults_are_found_on_the_cartridge_too() {
    let clean = judge(&recorder::draw(&CARTRIDGE), Generation::V9).1;
    let at = |x: f64, y: f64| (x, MIDDLE + y);
    let mate = CARTRIDGE.row_a - 1.1;
    let cases: [(&str, Plant<'_>); 10] = [
        ("longer leg", &|board| plant::longer_leg(board, "MEM_RX1", "F.Cu", at(15.5, -11.15), 0.5, false)),
        ("longer leg, a warning only", &|board| {
            plant::longer_leg(board, "MEM_TX3", "B.Cu", at(25.0, 3.15), 0.26, false)
        }),
        ("wider leg", &|board| plant::widen(board, "MEM_TX2", "B.Cu", at(24.0, 1.35), (1.0, 0.21))),
        ("parted legs", &|board| plant::part_legs(board, "MEM_RX3", "F.Cu", at(17.0, 10.0), (0.3, 6.5))),
        ("slotted plane", &|board| plant::slot(board, "MEM_RX2", "In1.Cu", (at(14.6, 10.5), at(15.6, 12.0)), "F.Cu")),
        ("deeper via", &|board| plant::deeper_via(board, "GEO_CLK_N", at(mate, 0.25), ("F.Cu", "B.Cu"))),
        ("long neck", &|board| {
            let ball = board.pad_at("U1.A13");
            plant::neck(board, "MEM_RX0_N", "F.Cu", ball, (3.4, 0.09))
        }),
        ("open", &|board| plant::open(board, "MEM_WAKE", "In3.Cu", at(24.0, -5.75))),
        ("lost ball", &|board| plant::lost_ball(board, "U1.D6")),
        ("short", &|board| {
            plant::short(board, ("MEM_RST_B", "MEM_WAKE"), "In3.Cu", (at(23.0, -6.25), at(23.0, -5.75)))
        }),
    ];
    let found = cases.iter().filter_map(|(name, plant)| {
        plant_on(&CARTRIDGE, &clean, false, plant).map(|stray| format!("\n{name}: {stray}"))
    });
    let strays: String = found.collect();
    assert!(strays.is_empty(), "{strays}");
}

/// Changes of the same kinds that stay below the limits are no findings.
#[test]
fn what_stays_below_the_limits_is_not_found() {
    let at = |x: f64, y: f64| (x, MIDDLE + y);
    let mut board = recorder::unfilled(&BASE);
    plant::longer_leg(&mut board, "GEO_CLK", "In2.Cu", at(25.0, 0.135), 0.14, false);
    plant::slot(&mut board, "MEM_RX0", "In4.Cu", (at(16.9, -10.9), at(17.15, -8.9)), "B.Cu");
    let contact = board.pad_at("J1.A21");
    plant::neck(&mut board, "MEM_TX3_P", "F.Cu", contact, (3.0, 0.1));
    plant::detour(&mut board, "BOOT_IO1", "In2.Cu", at(19.0, 2.2), (0.9, 0.8));
    board.fill();
    let (status, said) = judge(&board, Generation::V9);
    let found = findings(&said);
    assert!(found.is_empty(), "{}", tell(&found));
    assert_eq!(status, 0);
}

/// Findings that the clean board doesn't have.
fn fresh<'s>(clean: &[Said], said: &'s [Said]) -> Vec<&'s Said> {
    let known: Vec<_> = findings(clean).into_iter().map(Said::key).collect();
    findings(said).into_iter().filter(|said| !known.contains(&said.key())).collect()
}

#[test]
fn a_missing_stackup_is_found() {
    let mut board: Board = recorder::draw(&BASE);
    let planted = plant::no_stackup(&mut board);
    let (_, said) = judge(&board, Generation::V9);
    let new = fresh(&CLEAN, &said);
    assert!(new.iter().any(|said| fits(said, &planted)), "{}", tell(&new));
    // What needs heights is not checked, never passed: the clock's vias at the balls have a stub of unknown length.
    let stubs = said.iter().filter(|said| said.check == "via-stub" && said.subject.starts_with("via GEO_CLK"));
    let outcomes: Vec<&str> = stubs.map(|said| said.outcome.as_str()).collect();
    assert_eq!(outcomes.iter().filter(|&&outcome| outcome == "unchecked").count(), 2, "{outcomes:?}");
}

#[test]
fn the_rerouted_demo_shows_every_fault() {
    let (_, planted) = rerouted();
    let path = fixture::path("recorder-reroute/base.kicad_pcb");
    let (status, said) = judge_files(&[&path], &fixture::path("recorder/throughline.toml"));
    let found = findings(&said);
    assert_eq!(status, 1, "{}", tell(&found));
    for planted in &planted {
        assert_eq!(found.iter().filter(|said| fits(said, planted)).count(), 1, "{planted:?}{}", tell(&found));
    }
    let expected: usize = planted.iter().map(|planted| 1 + planted.unchecked.len() + planted.also.len()).sum();
    assert_eq!(found.len(), expected, "{}", tell(&found));
}

/// The same as a list that people read: level, check, subject, place. Sentences are left to the checks' own tests.
#[test]
fn the_rerouted_demo_lists_what_was_planted() {
    let path = fixture::path("recorder-reroute/base.kicad_pcb");
    let (_, said) = judge_files(&[&path], &fixture::path("recorder-reroute/throughline.toml"));
    let line = |said: &&Said| {
        let at = said.at.map_or_else(String::new, |(x, y)| format!(" ({x:.2}, {y:.2})"));
        let layer = said.layer.as_deref().unwrap_or("-");
        format!("{} {}: {} at {layer}{at}\n", said.outcome, said.check, said.subject)
    };
    let list: String = findings(&said).iter().map(line).collect();
    insta::assert_snapshot!(list, @"
    error net-open: net MEM_RST_B at In2.Cu (25.02, 6.75)
    error net-short: nets CART_DETECT, CART_ID at In2.Cu (24.00, 19.25)
    error stale-fill: zone VNAND_2V5 on In3.Cu at In3.Cu (3.60, 22.50)
    error length-match: net BOOT_IO1 J1.A25 U1.K13 at B.Cu (13.40, 14.20)
    error pair-skew: pair MEM_TX1 J1.A12 J1.A13 U1.E14 U1.F14 at F.Cu (25.20, 11.35)
    error pair-impedance: pair MEM_RX0 J1.B5 J1.B6 U1.A12 U1.A13 at B.Cu (17.60, 3.05)
    error pair-impedance: pair MEM_TX1 J1.A12 J1.A13 U1.E14 U1.F14 at F.Cu (26.80, 11.35)
    error pair-impedance: pair MEM_TX2 J1.A18 J1.A19 U1.L14 U1.M14 at F.Cu (27.68, 14.35)
    error plane-gap: pair MEM_RX0 J1.B5 U1.A12 at B.Cu (17.00, 3.05)
    error reference-change: via MEM_TX2_P at F.Cu (14.75, 15.15)
    warning pair-skew: pair MEM_TX2 J1.A18 J1.A19 U1.L14 U1.M14 at F.Cu (19.42, 14.54)
    warning impedance-step: pair MEM_TX1 J1.A12 J1.A13 U1.E14 U1.F14 at F.Cu (26.80, 11.65)
    warning impedance-step: pair MEM_RX0 J1.B5 J1.B6 U1.A12 U1.A13 at B.Cu (17.60, 3.35)
    warning impedance-step: pair MEM_TX2 J1.A18 J1.A19 U1.L14 U1.M14 at F.Cu (25.98, 14.35)
    warning return-via: via MEM_TX0_P at F.Cu (14.75, 7.95)
    warning via-stub: via GEO_CLK_P at In2.Cu (30.90, 12.75)
    warning pad-neck: net MEM_TX3_P J1.A21 at F.Cu (31.40, 15.75)
    unchecked net-open: net VNAND_2V5 at In3.Cu
    unchecked net-short: net GND at In3.Cu (3.60, 22.50)
    unchecked net-short: net VNAND_2V5 at In3.Cu (3.60, 22.50)
    ");
}
