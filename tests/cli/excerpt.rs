//! Excerpts of files: every shape of file and place renders, and says the right line and column.

use std::sync::Arc;
use throughline::source::excerpt::{Gravity, Look, Mark, Notice, render};
use throughline::source::{Fault, SourceFile, Span};

fn span_of(file: &SourceFile, words: &str) -> Span {
    let at = file.text().find(words).unwrap();
    Span::new(u32::try_from(at).unwrap(), u32::try_from(at + words.len()).unwrap())
}

fn fault(text: &str, at: &str, message: &str, label: &str) -> String {
    let file = Arc::new(SourceFile::new("glacier.kicad_pcb", text));
    let span = span_of(&file, at);
    let fault = Fault { message: message.into(), file, span, label: label.into(), help: None };
    render(&fault, &Look::PLAIN)
}

#[test]
fn a_fault_shows_its_line() {
    let text = "(kicad_pcb (version 4)\n  (segment (start 1 2) (end 3 oops) (width 0.2) (layer F.Cu) (net 1))\n)\n";
    insta::assert_snapshot!(fault(text, "oops", "not a number", "expected a number of millimetres"), @r#"
    error not a number
         [glacier.kicad_pcb:2:31]
     2 │   (segment (start 1 2) (end 3 oops) (width 0.2) (layer F.Cu) (net 1))
       │                               ────
       │                                     expected a number of millimetres
    "#);
}

#[test]
fn a_construct_over_many_lines_shows_its_head() {
    let text = "(kicad_pcb\n\t(via\n\t\t(at 1 2)\n\t\t(size 0.6)\n\t\t(drill 0.3)\n\t\t(net 7)\n\t)\n)\n";
    insta::assert_snapshot!(fault(text, "(via", "via without layers", "no `layers` in here"), @r#"
    error via without layers
         [glacier.kicad_pcb:2:2]
     2 │   (via
       │   ────
       │         no `layers` in here
     3 │     (at 1 2)
     4 │     (size 0.6)
    "#);
}

#[test]
fn columns_count_characters_and_wide_ones_are_underlined_in_place() {
    let text = "(kicad_pcb (net 1 \"Ωµ氷河\") (net x))\n";
    insta::assert_snapshot!(fault(text, "x)", "not a net number", "expected an integer"), @r#"
    error not a net number
         [glacier.kicad_pcb:1:32]
     1 │ (kicad_pcb (net 1 "Ωµ氷河") (net x))
       │                                  ──
       │                                       expected an integer
    "#);
}

#[test]
fn a_long_line_is_windowed() {
    let mut text = "(kicad_pcb ".to_owned();
    for _ in 0..70_000 {
        text.push_str("(net 1 \"ü\") ");
    }
    text.push_str("(oops) ");
    for _ in 0..70_000 {
        text.push_str("(net 1 \"ü\") ");
    }
    insta::assert_snapshot!(fault(&text, "oops", "unknown node", "here"), @r#"
    error unknown node
         [glacier.kicad_pcb:1:840013]
     1 │ 1 "ü") (net 1 "ü") (net 1 "ü") (net 1 "ü") (oops) (net 1 "ü") (net 1 "ü") (net 1 "ü") (net 1
       │                                             ────
       │                                                   here
    "#);
}

#[test]
fn the_end_of_a_file_is_a_place() {
    for text in ["(kicad_pcb (version 4", "(kicad_pcb (version 4\n\n", "(kicad_pcb (version 4\r\n"] {
        let file = Arc::new(SourceFile::new("cut.kicad_pcb", text));
        let end = u32::try_from(text.len()).unwrap();
        let fault = Fault {
            message: "the file ends inside a list".into(),
            file,
            span: Span::new(end, end),
            label: "expected `)`".into(),
            help: Some("the file was cut off; save it again".into()),
        };
        assert_eq!(fault.place().column, 21);
        insta::allow_duplicates! {
            insta::assert_snapshot!(render(&fault, &Look::PLAIN), @r#"
            error the file ends inside a list
                 [cut.kicad_pcb:1:21]
             1 │ (kicad_pcb (version 4
               │                     ─
               │                         expected `)`

              help: the file was cut off; save it again
            "#);
        }
    }
}

#[test]
fn an_empty_file_renders() {
    let file = Arc::new(SourceFile::new("empty.kicad_pcb", ""));
    let fault =
        Fault { message: "the file is empty".into(), file, span: Span::new(0, 0), label: "nothing".into(), help: None };
    assert!(render(&fault, &Look::PLAIN).contains("the file is empty"));
}

#[test]
fn distant_places_are_shown_apart_and_near_ones_together() {
    let mut text = "(kicad_pcb\n(segment one)\n(segment two)\n".to_owned();
    for _ in 0..10_000 {
        text.push_str("(segment other)\n");
    }
    text.push_str("(segment three)\n)\n");
    let file = SourceFile::new("far.kicad_pcb", text);
    let mark = |words: &str, text: &str| Mark { span: span_of(&file, words), text: text.into() };
    let marks = vec![mark("two", "this"), mark("one", "touches this"), mark("three", "and this")];
    let notice = Notice {
        gravity: Gravity::Warning,
        text: "three places".into(),
        excerpt: Some((&file, marks)),
        help: Some("look at them".into()),
    };
    insta::assert_snapshot!(notice.render(&Look::PLAIN), @r#"
    warning three places
         [far.kicad_pcb:3:10]
     2 │ (segment one)
       │          ───
       │               touches this
     3 │ (segment two)
       │          ───
       │               this

             [far.kicad_pcb:10004:10]
     10004 │ (segment three)
           │          ─────
           │                and this

      help: look at them
    "#);
}

#[test]
fn a_file_cannot_drive_the_terminal() {
    let shown =
        fault("(net 1 \"\u{1b}[31mred\u{202e}\u{85}\") (oops)\n", "oops", "unknown \u{1b}[2J node", "la\u{7}bel");
    assert!(!shown.contains(|c: char| c.is_control() && c != '\n'), "{shown:?}");
    assert!(!shown.contains('\u{202e}'));
    insta::assert_snapshot!(shown, @r#"
    error unknown ?[2J node
         [glacier.kicad_pcb:1:23]
     1 │ (net 1 "?[31mred�·") (oops)
       │                       ────
       │                             la?bel
    "#);
}

#[test]
fn every_span_of_odd_texts_renders() {
    let texts = ["", "\n", "\r\n", "a", "ü", "氷\n河", "(a\n(b\r\n\n  )", "\t(x)\t\n", "\u{feff}(a)", "a\u{0}b\n"];
    for text in texts {
        let file = Arc::new(SourceFile::new("odd", text));
        let size = u32::try_from(text.len()).unwrap();
        for start in 0..=size + 2 {
            for end in 0..=size + 2 {
                let (message, label) = ("fact".to_owned(), "label".to_owned());
                let fault = Fault { message, file: file.clone(), span: Span::new(start, end), label, help: None };
                let shown = render(&fault, &Look::PLAIN);
                assert!(shown.contains("fact") && !shown.contains("Failed"), "{text:?} {start}..{end}: {shown}");
                let place = fault.place();
                if !text.trim_end().is_empty() {
                    assert!(shown.contains(&format!("odd:{}:{}", place.line, place.column)), "{text:?}: {shown}");
                }
            }
        }
    }
}
