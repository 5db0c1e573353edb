//! Quantities: what people write is read exactly, printed plainly and compared with the board grid's tolerance.

use proptest::prelude::*;
use std::cmp::Ordering;
use throughline::units::{Dimension, Length, Quantity, Target, UNITS, Unit, Written};

fn parse(text: &str) -> Quantity {
    Quantity::parse(text, &Dimension::ALL).unwrap()
}

fn fault(text: &str, allowed: &[Dimension]) -> String {
    let error = Quantity::parse(text, allowed).unwrap_err();
    let at = &text[error.range.clone()];
    format!("{error} [{at}]{}", error.help.as_ref().map_or(String::new(), |help| format!(" ({help})")))
}

#[test]
fn every_quantity_of_the_trade_is_read_exactly() {
    let nm = |value| Quantity::Length(Length::nm(value));
    for (text, quantity) in [
        ("0.15 mm", nm(150_000.0)),
        ("0.15mm", nm(150_000.0)),
        ("  0.15   mm ", nm(150_000.0)),
        (".15 mm", nm(150_000.0)),
        ("+0.15 mm", nm(150_000.0)),
        ("150 um", nm(150_000.0)),
        ("150 µm", nm(150_000.0)),
        ("150 \u{3bc}m", nm(150_000.0)),
        ("6 mil", nm(152_400.0)),
        ("0.1 in", nm(2_540_000.0)),
        ("1 nm", nm(1.0)),
        ("0.000001 mm", nm(1.0)),
        ("1 ps", Quantity::Time(1e-12)),
        ("0.35 ns", Quantity::Time(0.35e-9)),
        ("85 ohm", Quantity::Impedance(85.0)),
        ("85 Ω", Quantity::Impedance(85.0)),
        ("55 mohm", Quantity::Impedance(0.055)),
        ("8 GHz", Quantity::Frequency(8e9)),
        ("16 GT/s", Quantity::Rate(16e9)),
        ("1.2 A", Quantity::Current(1.2)),
        ("500 mA", Quantity::Current(0.5)),
        ("10 %", Quantity::Ratio(0.1)),
        ("10%", Quantity::Ratio(0.1)),
        ("-40 dB", Quantity::Decibel(-40.0)),
        ("\u{2212}40 dB", Quantity::Decibel(-40.0)),
        ("2", Quantity::Count(2)),
    ] {
        assert_eq!(parse(text), quantity, "{text}");
    }
}

#[test]
fn what_is_wrong_is_named_with_what_was_expected() {
    use Dimension::{Count, Impedance, Length, Ratio, Time};
    insta::assert_snapshot!(
        [
            fault("0.15 mn", &[Length]),
            fault("0.15 MM", &[Length]),
            fault("3 mHz", &[Dimension::Frequency]),
            fault("0.15 furlong", &[Length, Time]),
            fault("0.15", &[Length]),
            fault("0,15 mm", &[Length]),
            fault("1 200 ohm", &[Impedance]),
            fault("0.1.5 mm", &[Length]),
            fault("", &[Length]),
            fault("mm", &[Length]),
            fault("-", &[Length]),
            fault("85 ohm", &[Length, Time]),
            fault("2 mm", &[Count]),
            fault("2.5", &[Count]),
            fault("-1", &[Count]),
            fault("2 pieces", &[Count]),
            fault("1e3 mm", &[Length]),
            fault("10 %%", &[Ratio, Impedance, Time]),
        ]
        .join("\n"),
        @r#"
        unknown unit `mn`; expected a length such as `0.15 mm` [mn] (did you mean `mm`?)
        unknown unit `MM`; expected a length such as `0.15 mm` [MM] (did you mean `mm`?)
        unknown unit `mHz`; expected a frequency such as `8 GHz` [mHz] (did you mean `MHz`?)
        unknown unit `furlong`; expected a length such as `0.15 mm` or a time such as `1 ps` [furlong] (units that fit: mm, um, mil, in, nm, cm, m, ps, fs, ns, us, ms, s)
        `0.15` has no unit; expected a length such as `0.15 mm` [0.15] (write the unit: `0.15 mm`)
        a comma in a number; expected a length such as `0.15 mm` [,] (decimals follow a dot, and thousands are not set apart: `0.15 mm`, `1200 ohm`)
        `1 200 ohm` is not one number with its unit; expected an impedance such as `85 ohm` [1 200 ohm]
        `0.1.5 mm` is not one number with its unit; expected a length such as `0.15 mm` [0.1.5 mm]
        no value; expected a length such as `0.15 mm` []
        `mm` doesn't start with a number; expected a length such as `0.15 mm` [mm]
        `-` doesn't start with a number; expected a length such as `0.15 mm` [-]
        `85 ohm` is an impedance; expected a length such as `0.15 mm` or a time such as `1 ps` [85 ohm]
        `2 mm` is a length; expected a count such as `2` [2 mm]
        `2.5` is not a whole number; expected a count such as `2` [2.5]
        `-1` is not a whole number; expected a count such as `2` [-1]
        unknown unit `pieces`; expected a count such as `2` [pieces] (a count has no unit)
        unknown unit `e3 mm`; expected a length such as `0.15 mm` [e3 mm] (units that fit: mm, um, mil, in, nm, cm, m)
        unknown unit `%%`; expected a ratio such as `10 %`, an impedance such as `85 ohm` or a time such as `1 ps` [%%] (did you mean `%`?)
        "#
    );
}

#[test]
fn a_number_out_of_reach_is_a_fault() {
    let text = format!("{} mm", "9".repeat(400));
    assert!(Quantity::parse(&text, &[Dimension::Length]).unwrap_err().message.contains("not a number in reach"));
}

#[test]
fn quantities_print_as_people_write_them() {
    for (text, printed) in [
        ("0.15 mm", "0.15 mm"),
        ("6 mil", "0.152 mm"),
        ("12 mm", "12 mm"),
        ("100 mm", "100 mm"),
        ("-0.2 mm", "-0.2 mm"),
        ("-0.0001 mm", "0 mm"),
        ("1 ps", "1 ps"),
        ("350 ps", "350 ps"),
        ("0.456789 ps", "0.46 ps"),
        ("1250 ps", "1.25 ns"),
        ("85 ohm", "85 ohm"),
        ("0.055 ohm", "55 mohm"),
        ("8 GHz", "8 GHz"),
        ("100 MHz", "100 MHz"),
        ("16 GT/s", "16 GT/s"),
        ("2.5 GT/s", "2.5 GT/s"),
        ("800 MT/s", "800 MT/s"),
        ("1.2 A", "1.2 A"),
        ("0.5 A", "500 mA"),
        ("10 %", "10 %"),
        ("-40 dB", "-40 dB"),
        ("2", "2"),
    ] {
        assert_eq!(parse(text).to_string(), printed, "{text}");
    }
    assert_eq!(Length::mm(1.23456).to_string(), "1.235 mm");
    assert_eq!(format!("{:.1}", Length::mm(1.23456)), "1.2 mm");
}

#[test]
fn a_value_prints_in_the_unit_that_the_limit_was_written_in() {
    let limit = Written::parse("6 mil", &[Dimension::Length]).unwrap();
    let unit = limit.unit.unwrap();
    assert_eq!(limit.quantity.print_in(unit, 3), "6 mil");
    assert_eq!(parse("0.16 mm").print_in(unit, 1), "6.3 mil");
    assert_eq!(parse("1 ps").print_in(unit, 1), "1 ps", "another dimension keeps its own unit");
}

#[test]
fn two_values_that_differ_never_read_the_same_side_by_side() {
    let beside =
        |a: &str, b: &str| format!("{} / {}", parse(a).print_beside(parse(b)), parse(b).print_beside(parse(a)));
    assert_eq!(beside("0.1502 mm", "0.15 mm"), "0.1502 mm / 0.15 mm");
    assert_eq!(beside("0.150001 mm", "0.15 mm"), "0.150001 mm / 0.15 mm");
    assert_eq!(beside("0.16 mm", "0.15 mm"), "0.16 mm / 0.15 mm");
    assert_eq!(beside("1.001 ps", "1 ps"), "1.001 ps / 1 ps");
    assert_eq!(beside("0.15 mm", "0.15 mm"), "0.15 mm / 0.15 mm");
    assert_eq!(beside("1 ps", "0.15 mm"), "1 ps / 0.15 mm");
}

#[test]
fn a_length_at_the_limit_is_within_it_and_one_grid_step_more_is_not() {
    let limit = parse("0.15 mm");
    assert!(parse("0.15 mm").within(limit));
    assert!(Quantity::Length(Length::nm(150_000.49)).within(limit));
    assert!(!Quantity::Length(Length::nm(150_001.0)).within(limit));
    assert_eq!(parse("6 mil").compare(parse("0.1524 mm")), Some(Ordering::Equal));
    assert!(Length::mm(0.1 + 0.2).within(Length::mm(0.3)));
}

#[test]
fn in_doubt_a_limit_is_not_met() {
    assert!(!parse("1 ps").within(parse("0.15 mm")), "other dimension");
    assert!(!Quantity::Time(f64::NAN).within(parse("1 ps")));
    assert!(!parse("1 ps").within(Quantity::Time(f64::NAN)));
    assert_eq!(Quantity::Time(f64::NAN).compare(parse("1 ps")), None);
    assert!(!Quantity::Length(Length::nm(f64::INFINITY)).within(parse("1 mm")));
    assert!(parse("2").within(parse("2")) && !parse("3").within(parse("2")));
}

#[test]
fn a_target_has_a_tolerance_on_both_sides() {
    for (text, printed, low, high) in [
        ("85 ohm ±10 %", "85 ohm ±10 %", "76.5 ohm", "93.5 ohm"),
        ("85 ohm +-10%", "85 ohm ±10 %", "76.5 ohm", "93.5 ohm"),
        ("85ohm+/-8.5ohm", "85 ohm ±8.5 ohm", "76.5 ohm", "93.5 ohm"),
        ("100 ohm", "100 ohm", "100 ohm", "100 ohm"),
    ] {
        let target = Target::parse(text, Dimension::Impedance).unwrap();
        assert_eq!(target.to_string(), printed);
        assert_eq!((target.low().to_string().as_str(), target.high().to_string().as_str()), (low, high), "{text}");
    }
    let error = Target::parse("85 ohm ±10 mm", Dimension::Impedance).unwrap_err();
    assert_eq!(&"85 ohm ±10 mm"[error.range.clone()], "10 mm");
    insta::assert_snapshot!(
        format!(
            "{error}\n{}\n{}",
            Target::parse("85 ±10 %", Dimension::Impedance).unwrap_err(),
            Target::parse("85 ohm ±-10 %", Dimension::Impedance).unwrap_err()
        ),
        @r#"
        `10 mm` is a length; expected a ratio such as `10 %` or an impedance such as `85 ohm`
        `85` has no unit; expected an impedance such as `85 ohm`
        a tolerance below zero; expected how far off to both sides, such as `±10 %`
        "#
    );
}

#[test]
fn no_two_units_share_a_spelling() {
    let mut spellings: Vec<&str> = UNITS.iter().map(|unit| unit.symbol).collect();
    for unit in UNITS {
        assert_eq!(Unit::find(unit.symbol), Some(unit));
        assert!(unit.dimension != Dimension::Count);
    }
    spellings.sort_unstable();
    spellings.dedup();
    assert_eq!(spellings.len(), UNITS.len());
}

proptest! {
    #[test]
    fn what_is_printed_in_a_unit_reads_back_as_the_same_text(
        row in 0..UNITS.len(), whole in 0u32..100_000, thousandths in 0u32..1000, negative: bool
    ) {
        let unit = &UNITS[row];
        let number = format!("{}{whole}.{thousandths:03}", if negative { "-" } else { "" });
        let text = format!("{number} {}", unit.symbol);
        let written = Written::parse(&text, &[unit.dimension]).unwrap();
        prop_assert_eq!(written.unit, Some(unit));
        let printed = written.quantity.print_in(unit, 3);
        let again = Quantity::parse(&printed, &[unit.dimension]).unwrap();
        prop_assert_eq!(again, written.quantity);
        prop_assert!(written.quantity.within(again) && again.within(written.quantity));
    }

    #[test]
    fn the_usual_print_reads_back_within_its_rounding(row in 0..UNITS.len(), value in -1e6f64..1e6) {
        let unit = &UNITS[row];
        let quantity = Quantity::parse(&format!("{value:.6} {}", unit.symbol), &[unit.dimension]).unwrap();
        let again = Quantity::parse(&quantity.to_string(), &[unit.dimension]).unwrap();
        let step = match unit.dimension { Dimension::Length => 500.0, _ => 0.005 * quantity.base().abs().max(0.1) };
        prop_assert!((again.base() - quantity.base()).abs() <= step + 1e-9, "{quantity:?} {again:?}");
    }

    #[test]
    fn board_lengths_in_mm_are_exact(nm in -1_000_000_000i32..1_000_000_000) {
        let text = format!("{}{}.{:06} mm", if nm < 0 { "-" } else { "" }, nm.unsigned_abs() / 1_000_000,
            nm.unsigned_abs() % 1_000_000);
        prop_assert_eq!(Length::parse(&text).unwrap(), Length::nm(f64::from(nm)));
    }

    #[test]
    fn no_text_panics_and_faults_lie_inside_it(text in "[-+0-9., eE\u{b1}\u{2212}mpGT/sohmil%dBµΩ]{0,16}") {
        for allowed in [&Dimension::ALL[..], &[Dimension::Length], &[Dimension::Count]] {
            if let Err(error) = Quantity::parse(&text, allowed) {
                prop_assert!(text.get(error.range.clone()).is_some(), "{error:?}");
            }
        }
        if let Err(error) = Target::parse(&text, Dimension::Impedance) {
            prop_assert!(text.get(error.range.clone()).is_some(), "{error:?}");
        }
    }
}
