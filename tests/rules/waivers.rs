//! Waivers as files state them.

use crate::support::{faults, read_files, read_text, show_all};
use throughline::rules::Accepted;
use throughline::units::Length;

const CHECK: &str = "[groups.g]\nnets = [\"A\"]\n\n[[check]]\nuse = \"plane-gap\"\non = [\"g\"]\nlimit = \"1 mm\"\n\n";

#[test]
fn a_waiver_keeps_what_it_says_and_where() {
    let set = read_text(&format!(
        "{CHECK}[[waive]]\ncheck = \"plane-gap\"\nplace = \"9f3a1c07\"\nboard = \"base\"\naccepted = \"0.42 mm\"\n\
         reason = \"agreed\"\nuntil = 2027-03-01\n\n[[waive]]\ncheck = \"net-open\"\nplace = \"0123456789abcdef\"\n\
         accepted = \"not checked\"\nreason = \"no fill yet\"\n"
    ))
    .unwrap();
    let [first, second] = set.waivers.as_slice() else { panic!("{:?}", set.waivers) };
    assert_eq!((first.check.value, first.place.value.as_str()), ("plane-gap", "9f3a1c07"));
    assert_eq!(first.accepted.as_ref().unwrap().value, Accepted::Value(Length::mm(0.42).into()));
    assert_eq!(first.until.as_ref().unwrap().value.to_string(), "2027-03-01");
    assert_eq!(first.until.as_ref().unwrap().origin.to_string(), "rules.toml:15:9");
    assert!(first.names("base") && !first.names("cartridge"));
    assert_eq!(second.accepted.as_ref().unwrap().value, Accepted::Unchecked);
    assert!(second.names("anything"));
}

#[test]
fn all_faults_of_waivers_are_told() {
    let text = format!(
        "{CHECK}[[waive]]\n\n[[waive]]\ncheck = \"plane-gab\"\nplace = \"9F3A1C07\"\nreason = \" \"\n\n[[waive]]\n\
         check = \"plane-gap\"\nplace = \"9f3a\"\naccepted = 3.5\nreason = \"a\"\nuntil = \"2027-03-01\"\nwhen = 1\n\n\
         [[waive]]\ncheck = \"plane-gap\"\nplace = \"9f3a1c07\"\nreason = \"a\"\nuntil = 2027-03-01T10:00:00\n\n[[waive]]\n\
         check = \"net-open\"\nplace = \"9f3a1c07\"\nreason = \"b\"\n"
    );
    insta::assert_snapshot!(faults(&text), @r#"
    rules.toml:9:1: a waiver without `check`
        [[waive]] <- expected `check = "plane-gap"`
    rules.toml:9:1: a waiver without `place`
        [[waive]] <- expected `place = "9f3a1c07d2e4b586"`
    rules.toml:9:1: a waiver without `reason`
        [[waive]] <- expected `reason = "agreed in review, the loop is short"`
    rules.toml:12:9: unknown check `plane-gab`
        "plane-gab" <- not a check
        help: did you mean `plane-gap`?
    rules.toml:13:9: `9F3A1C07` is no fingerprint
        "9F3A1C07" <- expected 8 to 16 digits, 0 to 9 and a to f
    rules.toml:14:10: `reason` is empty
        " " <- expected a sentence that says why
    rules.toml:18:9: `9f3a` is no fingerprint
        "9f3a" <- expected 8 to 16 digits, 0 to 9 and a to f
    rules.toml:19:12: `3.5` is not a whole number
        3.5 <- expected a count such as `2`
    rules.toml:21:9: `until` is a text
        "2027-03-01" <- expected a day without quotes: `until = 2027-03-01`
    rules.toml:22:1: unknown key `when`
        when <- not a key of a waiver
        help: a waiver takes `check`, `place`, `board`, `accepted`, `reason` and `until`
    rules.toml:28:9: `until` is a date
        2027-03-01T10:00:00 <- expected a day without quotes: `until = 2027-03-01`
    rules.toml:32:9: `9f3a1c07` is waived twice
        "9f3a1c07" <- first waived at rules.toml:26:9
        help: keep one of them
    "#);
}

#[test]
fn waiver_files_are_read_beside_the_file_that_names_them() {
    let waiver = |place: &str| format!("[[waive]]\ncheck = \"net-open\"\nplace = \"{place}\"\nreason = \"a\"\n");
    let set = read_files(&[
        ("boards/own.toml", "extends = [\"../shared/all.toml\"]\nwaivers = [\"waivers.toml\"]\n"),
        ("shared/all.toml", "waivers = [\"house.toml\"]\n[[check]]\nuse = \"net-open\"\n"),
        ("shared/house.toml", &waiver("00000000")),
        ("boards/waivers.toml", &waiver("11111111")),
    ])
    .unwrap();
    let places: Vec<String> = set.waivers.iter().map(|waiver| waiver.place.origin.to_string()).collect();
    assert_eq!(places, ["shared/house.toml:3:9", "boards/waivers.toml:3:9"]);
    let files: Vec<&str> = set.waiver_files.iter().map(|file| file.name()).collect();
    assert_eq!(files, ["shared/house.toml", "boards/waivers.toml"], "the outermost rule file's last");
}

#[test]
fn a_waiver_file_holds_nothing_else() {
    let files = [
        ("own.toml", "waivers = [\"waivers.toml\", \"gone.toml\"]\n[[check]]\nuse = \"net-open\"\n"),
        ("waivers.toml", "[[check]]\nuse = \"net-short\"\n\n[[waive]]\ncheck = \"net-open\"\n"),
    ];
    insta::assert_snapshot!(show_all(&read_files(&files).unwrap_err()), @r#"
    own.toml:1:28: can't read `gone.toml`
        "gone.toml" <- no such file
        help: a file without waivers may hold a comment alone
    waivers.toml:1:3: unknown key `check`
        check <- not a key of a waiver file
        help: a waiver file takes `waive`
    waivers.toml:4:1: a waiver without `place`
        [[waive]] <- expected `place = "9f3a1c07d2e4b586"`
    waivers.toml:4:1: a waiver without `reason`
        [[waive]] <- expected `reason = "agreed in review, the loop is short"`
    "#);
}

#[test]
fn a_waiver_file_may_be_empty_of_waivers() {
    let set = read_files(&[("own.toml", "waivers = [\"w.toml\"]\n"), ("w.toml", "# none yet\n")]).unwrap();
    assert!(set.waivers.is_empty());
    assert_eq!(set.waiver_files.len(), 1);
}
