//! Points are read along a short way where they are spelled the usual way. It must not show.

use proptest::prelude::*;
use std::sync::Arc;
use throughline::board;
use throughline::source::SourceFile;

/// What reading a polygon with such a middle point gives: its corners, or the fault's words.
fn outcome(point: &str) -> Result<(String, usize), (String, String)> {
    let text = format!(
        "(kicad_pcb (version 20240108) (layers (0 \"F.Cu\" signal)) (net 1 \"A\") (zone (net 1) (layer \"F.Cu\")\n\
         (filled_polygon (layer \"F.Cu\") (pts (xy 0 0) {point} (xy 9 9)))))"
    );
    match board::read("b", Arc::new(SourceFile::new("b.kicad_pcb", text))) {
        Ok(board) => {
            let shapes: Vec<String> = board.fills.values().map(|fill| format!("{:?}", fill.shape)).collect();
            Ok((shapes.join(" "), board.doubts.len()))
        }
        Err(fault) => Err((fault.message, fault.label)),
    }
}

/// Numbers as files have them, and as none should.
fn number() -> impl Strategy<Value = String> {
    prop_oneof![
        "-?[0-9]{1,3}(\\.[0-9]{1,6})?",
        "[-+]?[0-9]{0,12}(\\.[0-9]{0,12})?(e-?[0-9]{1,2})?",
        "[-+.0-9a-z]{1,6}",
        "[0-9]{14,30}(\\.[0-9]{1,30})?",
        Just("1\t".to_owned()),
        Just("\"1\"".to_owned()),
        Just("(1)".to_owned()),
        Just(String::new()),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    /// A second blank leaves the short way.
    #[test]
    fn spelling_does_not_matter(x in number(), y in number(), more in prop_oneof![Just(""), Just(" 3"), Just(" (a b)")]) {
        let usual = outcome(&format!("(xy {x} {y}{more})"));
        prop_assert_eq!(&usual, &outcome(&format!("(xy  {x} {y}{more})")));
        prop_assert_eq!(&usual, &outcome(&format!("( xy {x} {y}{more} )")));
    }
}

#[test]
fn points_at_the_limits() {
    assert!(outcome("(xy 10000 -10000)").is_ok());
    assert_eq!(outcome("(xy 10000.000001 0)").unwrap_err().0, outcome("(xy  10000.000001 0)").unwrap_err().0);
    let (corners, _) = outcome("(xy 1.5 -0.000001)").unwrap();
    assert!(corners.contains("1500000") && corners.contains("-1"), "{corners}");
}
