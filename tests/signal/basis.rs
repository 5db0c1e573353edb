//! The stackup that counts: the board's own, a placeholder, the rule set's, or none.

use crate::drawn::{legs, tracks, with};
use crate::support::starters::{N, P, straight_pair};
use crate::support::{Board as Drawn, Generation, Sheet, Stack, read::read};
use throughline::board::{Stackup, StackupEntry};
use throughline::signal::{Assumptions, Basis, BasisOrigin, CoatOrigin, Lacking, NoBasis};

fn basis(drawn: &Drawn, assumptions: &Assumptions) -> Result<Basis, NoBasis> {
    Basis::new(&read(drawn, Generation::V8), assumptions)
}

fn lacking(drawn: &Drawn) -> Lacking {
    match basis(drawn, &Assumptions::default()) {
        Err(NoBasis::Incomplete { what, span }) => {
            assert!(span.end > span.start, "{what:?} has no place");
            what
        }
        other => panic!("{other:?}"),
    }
}

/// Four layers, all sheets alike, permittivity 4.5: as an editor fills it in.
fn placeholder() -> Stack {
    let sheet = || Sheet::dielectric("core", 0.48, "FR4", 4.5, 0.02);
    Stack::of(vec![
        Sheet::copper("F.Cu", 0.035),
        sheet(),
        Sheet::copper("In1.Cu", 0.035),
        sheet(),
        Sheet::copper("In2.Cu", 0.035),
        sheet(),
        Sheet::copper("B.Cu", 0.035),
    ])
}

#[test]
fn a_stated_stackup_counts() {
    let basis = basis(&straight_pair("own"), &Assumptions::default()).unwrap();
    assert_eq!(basis.origin, BasisOrigin::Board);
    assert_eq!((basis.foils.len(), basis.gaps.len()), (4, 3));
    assert_eq!((basis.top.origin, basis.bottom.origin), (CoatOrigin::Stated, CoatOrigin::Stated));
    assert!((basis.top.mask.on_board.to_mm() - 0.015).abs() < 1e-9);
    assert!(basis.roughness_assumed && basis.roughness == throughline::signal::ROUGHNESS);
    // Inner foils stand on the core and are buried in prepreg.
    let filled: Vec<_> =
        basis.foils.iter().map(|foil| (foil.narrow_up, foil.fill.map(|fill| fill.dielectric.permittivity))).collect();
    assert_eq!(filled, [(true, None), (true, Some(4.05)), (false, Some(4.05)), (false, None)]);
    let id = throughline::board::LayerId;
    assert!((basis.clear(id(0), id(2)).to_mm() - (0.1 + 0.0175 + 0.465)).abs() < 1e-9);
    assert_eq!(basis.clear(id(2), id(0)), basis.clear(id(0), id(2)));
    assert!((basis.height(id(0), id(3)).to_mm() - (0.035 + 0.2 + 0.035 + 0.465)).abs() < 1e-9);
    assert_eq!(basis.height(id(1), id(1)).to_nm(), 0.0);
}

#[test]
fn no_stackup_no_numbers() {
    let mut board = straight_pair("missing");
    board.stack = board.stack.unstated();
    assert_eq!(basis(&board, &Assumptions::default()), Err(NoBasis::Missing));
    with(board, Assumptions::default(), |_, copper, signals| {
        assert_eq!(signals.pair(&legs(copper, P, N)).unwrap_err(), NoBasis::Missing);
        let route = &legs(copper, P, N).p;
        assert_eq!(signals.line(route).unwrap_err(), NoBasis::Missing);
        signals.prepare(&[route], &[]);
    });
}

#[test]
fn a_placeholder_is_used_and_said() {
    let mut board = straight_pair("placeholder");
    board.stack = placeholder();
    assert_eq!(basis(&board, &Assumptions::default()).unwrap().origin, BasisOrigin::Placeholder);
    let assumed = basis(&board, &Assumptions::default()).unwrap().top;
    assert_eq!((assumed.origin, assumed.mask), (CoatOrigin::Assumed, throughline::signal::MASK));
    with(board, Assumptions::default(), |_, copper, signals| {
        let line = signals.pair(&legs(copper, P, N)).unwrap();
        assert!(tracks(&line.pieces)[0].differential().unwrap().to_ohms() > 100.0);
    });
}

/// The stackup of a drawn board, as a rule set would hand it in.
fn stackup(drawn: &Drawn) -> Stackup {
    read(drawn, Generation::V8).stackup.unwrap()
}

#[test]
fn the_rule_sets_stackup_wins() {
    let stated = || Assumptions { stackup: Some(stackup(&straight_pair("stated"))), ..Assumptions::default() };
    let value = |board: Drawn, assumptions| {
        with(board, assumptions, |_, copper, signals| {
            let line = signals.pair(&legs(copper, P, N)).unwrap();
            let value = tracks(&line.pieces)[0].differential().unwrap().to_ohms();
            (signals.basis().unwrap().origin, value)
        })
    };
    let own = value(straight_pair("own"), Assumptions::default());
    assert_eq!(own.0, BasisOrigin::Board);
    let mut thicker = Stack::four();
    thicker.sheets[2].thickness = 0.2;
    for stack in [thicker, placeholder(), Stack::four().unstated()] {
        let mut board = straight_pair("other");
        board.stack = stack;
        assert_eq!(value(board, stated()), (BasisOrigin::RuleSet, own.1));
    }
    // An incomplete one is no better than none.
    let mut board = straight_pair("incomplete");
    board.stack.sheets[2].permittivity = 0.0;
    assert_eq!(value(board, stated()).0, BasisOrigin::RuleSet);
}

#[test]
fn what_is_lacking_is_named() {
    let change = |at: usize, change: &dyn Fn(&mut Sheet)| {
        let mut board = straight_pair("lacking");
        change(&mut board.stack.sheets[at]);
        board
    };
    assert_eq!(lacking(&change(2, &|sheet| sheet.permittivity = 0.0)), Lacking::Permittivity);
    assert_eq!(lacking(&change(2, &|sheet| sheet.thickness = 0.0)), Lacking::Sense);
    assert_eq!(lacking(&change(4, &|sheet| sheet.permittivity = 0.5)), Lacking::Sense);
    assert_eq!(lacking(&change(1, &|sheet| sheet.thickness = 0.0)), Lacking::Sense);
    let mut bare = straight_pair("bare");
    bare.stack.sheets.remove(2);
    assert_eq!(lacking(&bare), Lacking::Sheet);
    // A rule set's stackup of another board.
    let two = Assumptions { stackup: Some(stackup(&Drawn::new("two", Stack::two()))), ..Assumptions::default() };
    let mut board = straight_pair("other");
    board.stack = board.stack.unstated();
    assert!(matches!(basis(&board, &two), Err(NoBasis::Incomplete { what: Lacking::Foil, .. })));
}

#[test]
fn missing_numbers_are_told_apart() {
    let mut stackup = stackup(&straight_pair("numbers"));
    let mut board = straight_pair("none");
    board.stack = board.stack.unstated();
    let ask =
        |stackup: &Stackup| basis(&board, &Assumptions { stackup: Some(stackup.clone()), ..Assumptions::default() });
    for entry in &mut stackup.entries {
        if let StackupEntry::Dielectric { kind: throughline::board::stackup::DielectricKind::Mask, thickness, .. } =
            entry
        {
            *thickness = None;
        }
    }
    let found = ask(&stackup).unwrap();
    assert_eq!(
        (found.top.origin, found.top.mask.on_board),
        (CoatOrigin::Completed, throughline::signal::MASK.on_board)
    );
    assert_eq!(found.top.mask.dielectric.permittivity, 3.8);
    for entry in &mut stackup.entries {
        if let StackupEntry::Copper { thickness, .. } = entry {
            *thickness = None;
        }
    }
    assert!(matches!(ask(&stackup), Err(NoBasis::Incomplete { what: Lacking::FoilThickness, .. })));
}
