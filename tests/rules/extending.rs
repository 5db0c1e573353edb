//! Rule sets that extend others: later keys win, sources stay with their numbers, cycles are faults.

use crate::support::{SCHEMAS, own_schemas, read_files, show_all};
use throughline::rules::{Level, Rule, RuleSet, SHIPPED, Setting, read, shipped};

fn rule<'s>(set: &'s RuleSet, check: &str) -> &'s Rule {
    set.rules.iter().find(|rule| rule.check == check).unwrap()
}

fn faults(files: &[(&str, &str)]) -> String {
    show_all(&read_files(files).expect_err("there are faults"))
}

const BASE: &str = r#"
[groups.lanes]
proposed  = true
rate      = "8 GT/s"
impedance = "100 ohm"

[[check]]
use    = "pair-skew"
on     = ["lanes"]
warn   = "0.1 mm"
limit  = "0.2 mm"
level  = "warning"
source = "a guide"

[[check]]
use   = "via-stub"
on    = ["lanes"]
limit = "0.5 mm"

[[check]]
use = "net-open"
"#;

#[test]
fn later_keys_win_key_by_key() {
    let set = read_files(&[
        (
            "board/rules.toml",
            r#"
extends = ["../base.toml"]
[groups.lanes]
pairs = ["LANE?_{P,N}"]
rate  = "16 GT/s"
[[check]]
use   = "pair-skew"
on    = ["lanes"]
level = "error"
"#,
        ),
        ("base.toml", BASE),
    ])
    .unwrap();
    let lanes = set.group("lanes").unwrap();
    assert!(lanes.proposed.is_none(), "a choice of pairs replaces the choice below it");
    assert_eq!(lanes.pairs.len(), 1);
    assert_eq!(lanes.rate.as_ref().unwrap().origin.to_string(), "board/rules.toml:5:9");
    assert_eq!(lanes.impedance.as_ref().unwrap().origin.to_string(), "base.toml:5:13");
    let skew = rule(&set, "pair-skew");
    assert_eq!(skew.level, Level::Error);
    assert_eq!(skew.limit.as_ref().unwrap().origin.to_string(), "base.toml:11:10");
    assert_eq!(skew.source.as_ref().unwrap().value, "a guide");
    assert_eq!(skew.origin.to_string(), "board/rules.toml:6:1");
    let order: Vec<&str> = set.rules.iter().map(|rule| rule.check).collect();
    assert_eq!(order, ["pair-skew", "via-stub", "net-open"], "in order of first statement");
    let files: Vec<&str> = set.files.iter().map(|file| file.name()).collect();
    assert_eq!(files, ["base.toml", "board/rules.toml"]);
}

#[test]
fn a_source_does_not_speak_for_a_number_that_replaced_its_own() {
    let with = |keys: &str| {
        let text = format!("extends = [\"base.toml\"]\n[[check]]\nuse = \"pair-skew\"\non = [\"lanes\"]\n{keys}");
        read_files(&[("rules.toml", &text), ("base.toml", BASE)]).unwrap()
    };
    assert!(rule(&with("limit = \"0.3 mm\""), "pair-skew").source.is_none());
    assert!(rule(&with("warn = \"0.12 mm\""), "pair-skew").source.is_none());
    let set = with("limit = \"0.3 mm\"\nsource = \"our own\"");
    assert_eq!(rule(&set, "pair-skew").source.as_ref().unwrap().value, "our own");
    assert!(rule(&with("level = \"note\""), "pair-skew").source.is_some());
}

#[test]
fn groups_in_another_order_are_the_same_groups() {
    let set = read_files(&[
        ("rules.toml", "extends=['base.toml']\n[[check]]\nuse='pair-skew'\non=['b','a']\nlimit='1 mm'\n"),
        (
            "base.toml",
            "[groups.a]\nnets=['A']\n[groups.b]\nnets=['B']\n[[check]]\nuse='pair-skew'\non=['a','b']\nlimit='2 mm'\n",
        ),
    ])
    .unwrap();
    assert_eq!(set.rules.len(), 1);
    assert_eq!(set.rules[0].limit.as_ref().unwrap().value.to_string(), "1 mm");
}

#[test]
fn a_check_can_be_switched_off_and_is_remembered() {
    let off = "extends=['base.toml']\n[[check]]\nuse='via-stub'\non=['lanes']\nlevel='off'\n[[check]]\nuse='net-open'\nlevel='off'\n";
    let set = read_files(&[("rules.toml", off), ("base.toml", BASE)]).unwrap();
    let left: Vec<&str> = set.rules.iter().map(|rule| rule.check).collect();
    assert_eq!(left, ["pair-skew"]);
    let gone: Vec<String> =
        set.switched_off.iter().map(|off| format!("{} {:?} {}", off.check, off.on, off.origin)).collect();
    assert_eq!(gone, ["via-stub [\"lanes\"] rules.toml:2:1", "net-open [] rules.toml:6:1"]);

    let on = "extends=['rules.toml']\n[[check]]\nuse='via-stub'\non=['lanes']\nlevel='note'\n";
    let set = read_files(&[("again.toml", on), ("rules.toml", off), ("base.toml", BASE)]).unwrap();
    assert_eq!(rule(&set, "via-stub").level, Level::Note);
    assert_eq!(rule(&set, "via-stub").limit.as_ref().unwrap().value.to_string(), "0.5 mm");
}

#[test]
fn switching_off_what_is_not_held_is_a_fault() {
    insta::assert_snapshot!(
        faults(&[
            (
                "rules.toml",
                "extends=['base.toml']\n[groups.clocks]\nproposed=true\n[[check]]\nuse='via-stub'\non=['clocks']\nlevel='off'\n[[check]]\nuse='pad-neck'\non=['clocks']\nlevel='off'\n"
            ),
            ("base.toml", BASE)
        ]),
        @r#"
        rules.toml:7:7: there is no `via-stub` on these groups to switch off
            'off' <- this would change nothing
            help: it is held with `on = ["lanes"]`; name the same groups
        rules.toml:11:7: there is no `pad-neck` on these groups to switch off
            'off' <- this would change nothing
            help: no extended set holds this check
        "#
    );
}

#[test]
fn faults_that_arise_between_files_are_told_where_they_can_be_changed() {
    insta::assert_snapshot!(
        faults(&[
            (
                "rules.toml",
                r#"
extends = ["base.toml"]
[[check]]
use   = "pair-skew"
on    = ["lanes"]
limit = "0.05 mm"
[[check]]
use   = "via-stub"
on    = ["lanes"]
warn  = "0.6 mm"
"#
            ),
            ("base.toml", BASE)
        ]),
        @r#"
        rules.toml:6:9: `warn` of 0.1 mm is beyond the `limit` of 0.05 mm
            "0.05 mm" <- `warn` is stated at base.toml:10:10
            help: state `warn` beside this `limit`
        rules.toml:10:9: `warn` of 0.6 mm is beyond the `limit` of 0.5 mm
            "0.6 mm" <- `limit` is stated at base.toml:18:9
            help: state `limit` beside this `warn`
        "#
    );
    insta::assert_snapshot!(
        faults(&[
            ("rules.toml", "extends=['base.toml']\n[[check]]\nuse='pair-skew'\non=['lanes']\nlimit='2 ps'\n"),
            ("base.toml", BASE)
        ]),
        @r#"
        rules.toml:5:7: `warn` and `limit` have different units
            '2 ps' <- `warn` is stated at base.toml:10:10
            help: state `warn` beside this `limit`
        "#
    );
}

#[test]
fn faults_of_extended_files_are_told_after_those_of_the_outer_one() {
    insta::assert_snapshot!(
        faults(&[
            ("rules.toml", "extends=['b.toml','a.toml']\n[[check]]\nuse='net-opne'\n"),
            ("a.toml", "[[check]]\nuse='net-shrot'\n"),
            ("b.toml", "extends=['c.toml']\n[groups.x]\nnets=['{A']\n"),
            ("c.toml", "surprise=1\n"),
        ]),
        @r#"
        rules.toml:3:5: unknown check `net-opne`
            'net-opne' <- not a check
            help: did you mean `net-open`?
        b.toml:3:8: a brace is not closed
            {A <- this pattern can't be used
            help: alternatives are written `{a,b}`; `?` stands for a brace that is part of a name
        c.toml:1:1: unknown key `surprise`
            surprise <- not a key of a rule file
            help: a rule file takes `extends`, `stackup`, `groups`, `check`, `waive` and `waivers`
        a.toml:2:5: unknown check `net-shrot`
            'net-shrot' <- not a check
            help: did you mean `net-short`?
        "#
    );
}

#[test]
fn a_group_at_fault_is_not_also_empty() {
    let faults = read_files(&[
        ("rules.toml", "extends=['base.toml']\n[groups.lanes]\npairs='LANE'\nproposed=false\n"),
        ("base.toml", BASE),
    ])
    .unwrap_err();
    assert_eq!(faults.iter().map(|fault| fault.message.as_str()).collect::<Vec<_>>(), ["`pairs` is a text"]);
}

#[test]
fn what_cannot_be_extended_is_told() {
    insta::assert_snapshot!(
        faults(&[(
            "a/rules.toml",
            "extends = [\"serial-16gg\", \"own\", \"missing.toml\", \"../up.toml\"]\n[[check]]\nuse = \"via-stub\"\non = [\"lanes\"]\n"
        )]),
        @r#"
        a/rules.toml:1:12: unknown rule set `serial-16gg`
            "serial-16gg" <- not a shipped set
            help: did you mean `serial-16g`?
        a/rules.toml:1:27: unknown rule set `own`
            "own" <- not a shipped set
            help: shipped sets are `base`, `serial-8g`, `serial-16g` and `serial-32g`; a file is named with its ending: `own.toml`
        a/rules.toml:1:34: can't read `a/missing.toml`
            "missing.toml" <- no such file
        a/rules.toml:1:50: can't read `up.toml`
            "../up.toml" <- no such file
        "#
    );
}

#[test]
fn cycles_are_faults() {
    insta::assert_snapshot!(faults(&[("rules.toml", "extends=['./rules.toml']\n")]), @r#"
        rules.toml:1:10: `rules.toml` extends itself
            './rules.toml' <- rules.toml → rules.toml
        "#);
    insta::assert_snapshot!(
        faults(&[
            ("a.toml", "extends=['sub/b.toml']\n"),
            ("sub/b.toml", "extends=['../c.toml']\n"),
            ("c.toml", "extends=['sub/b.toml']\n"),
        ]),
        @r#"
        c.toml:1:10: `sub/b.toml` extends itself
            'sub/b.toml' <- sub/b.toml → c.toml → sub/b.toml
        "#
    );
}

#[test]
fn a_set_that_two_others_extend_counts_once_and_first() {
    let set = read_files(&[
        ("rules.toml", "extends=['a.toml','b.toml']\n"),
        ("a.toml", "extends=['base.toml']\n[[check]]\nuse='via-stub'\non=['lanes']\nlimit='0.1 mm'\n"),
        ("b.toml", "extends=['base.toml']\n"),
        ("base.toml", BASE),
    ])
    .unwrap();
    assert_eq!(rule(&set, "via-stub").limit.as_ref().unwrap().value.to_string(), "0.1 mm", "`base` must not undo `a`");
    assert_eq!(
        set.files.iter().map(|file| file.name()).collect::<Vec<_>>(),
        ["base.toml", "a.toml", "b.toml", "rules.toml"]
    );
}

#[test]
fn a_chain_without_end_is_a_fault() {
    let mut load = |name: &str| Ok(crate::support::file(name, &format!("extends=['x{name}']\n")));
    let faults = read(crate::support::file("x.toml", "extends=['xx.toml']"), SCHEMAS, &mut load).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert!(faults[0].message.contains("extend each other"), "{}", faults[0].message);
}

#[test]
fn every_shipped_set_reads_and_every_limit_has_a_source() {
    let mut load = |name: &str| Err(format!("{name} is not shipped"));
    for (name, _) in SHIPPED {
        let file = shipped(name).unwrap();
        let set = read(file, &own_schemas(), &mut load).unwrap_or_else(|faults| panic!("{}", show_all(&faults)));
        assert!(set.warnings.is_empty(), "{}", show_all(&set.warnings));
        assert!(!set.rules.is_empty() && set.switched_off.is_empty());
        for rule in &set.rules {
            assert!(rule.source.is_some(), "{} at {}", rule.check, rule.origin);
        }
        for guard in ["net-open", "net-short", "stale-fill", "stackup-missing"] {
            assert_eq!(set.rules.iter().filter(|rule| rule.check == guard).count(), 1, "{name} {guard}");
        }
        if *name != "base" {
            let lanes = set.group("lanes").unwrap();
            assert!(lanes.proposed.is_some() && lanes.rate.is_some() && lanes.impedance.is_some());
            for check in ["length-match", "pair-skew", "plane-gap", "via-stub", "pad-neck"] {
                let rule = rule(&set, check);
                assert!(rule.warn.is_some() && rule.limit.is_some(), "{name} {check}");
                assert!(check != "pair-skew" || rule.settings.contains_key("peak"), "the way counts too");
                assert!(rule.origin.file.name() == format!("{name}.toml"));
            }
        }
    }
}

#[test]
fn a_faster_profile_is_never_looser() {
    let mut load = |name: &str| Err(name.to_owned());
    let mut read_set = |name: &str| read(shipped(name).unwrap(), &own_schemas(), &mut load).unwrap();
    let sets = ["serial-8g", "serial-16g", "serial-32g"].map(&mut read_set);
    for pair in sets.windows(2) {
        for check in ["length-match", "pair-skew", "plane-gap", "via-stub", "pad-neck"] {
            let (slow, fast) = (rule(&pair[0], check), rule(&pair[1], check));
            let limit = |rule: &Rule| rule.limit.as_ref().unwrap().value;
            let warn = |rule: &Rule| rule.warn.as_ref().unwrap().value;
            assert!(limit(fast).within(limit(slow)) && warn(fast).within(warn(slow)), "{check}");
            for (key, setting) in &slow.settings {
                match (&setting.value, &fast.settings[key].value) {
                    (Setting::Quantity(slow), Setting::Quantity(fast)) => assert!(fast.within(*slow), "{check} {key}"),
                    (slow, fast) => assert_eq!(slow, fast, "{check} {key}"),
                }
            }
        }
    }
}
