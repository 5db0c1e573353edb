//! Reading one rule file: what it may state, and every fault at its place.

use crate::support::{faults, read_text};
use throughline::rules::{Level, NetPattern, PairPattern, Setting};

#[test]
fn a_file_states_groups_and_checks() {
    let set = read_text(
        r#"
[groups.lanes]
pairs     = ["LANE?_{TX,RX}_{P,N}", ["REFCLK_P", "REFCLK_N"], "AUX*"]
impedance = "85 ohm ±10 %"
rate      = "16 GT/s"

[groups.supply]
nets    = ["VCORE", "VIO*"]
current = "1.2 A"

[[check]]
use    = "pair-skew"
on     = ["lanes"]
warn   = "1 ps"
limit  = "2 ps"
level  = "warning"
source = "a guide"

[[check]]
use       = "plane-gap"
on        = ["lanes", "supply"]
limit     = "0.3 mm"
margin    = "4 mil"
reference = ["GND*"]
both      = true
side      = "below"

[[check]]
use   = "via-count"
on    = ["lanes"]
limit = 2

[[check]]
use = "net-open"
"#,
    )
    .unwrap();
    assert_eq!(set.name, "rules.toml");
    let lanes = set.group("lanes").unwrap();
    let pairs: Vec<&PairPattern> = lanes.pairs.iter().map(|at| &at.value).collect();
    assert_eq!(
        pairs,
        [
            &PairPattern::Legs("LANE?_{TX,RX}_{P,N}".into()),
            &PairPattern::Nets("REFCLK_P".into(), "REFCLK_N".into()),
            &PairPattern::Proposed("AUX*".into()),
        ]
    );
    assert_eq!(lanes.impedance.as_ref().unwrap().value.to_string(), "85 ohm ±10 %");
    assert_eq!(lanes.rate.as_ref().unwrap().value.to_string(), "16 GT/s");
    assert_eq!(lanes.origin.to_string(), "rules.toml:2:9");
    assert!(lanes.proposed.is_none());
    let supply = set.group("supply").unwrap();
    assert_eq!(
        supply.nets.iter().map(|at| &at.value).collect::<Vec<_>>(),
        [&NetPattern("VCORE".into()), &NetPattern("VIO*".into())]
    );
    assert_eq!(supply.current.as_ref().unwrap().value.to_string(), "1.2 A");

    let [skew, gap, count, open] = set.rules.as_slice() else { panic!("{:?}", set.rules) };
    assert_eq!((skew.check, skew.level), ("pair-skew", Level::Warning));
    let limit = skew.limit.as_ref().unwrap();
    assert_eq!((limit.value.to_string(), limit.origin.to_string()), ("2 ps".into(), "rules.toml:15:10".into()));
    assert_eq!(limit.origin.written(), "\"2 ps\"");
    assert_eq!(skew.source.as_ref().unwrap().value, "a guide");
    assert_eq!(gap.level, Level::Error, "the level of the check's schema");
    assert_eq!(gap.on.iter().map(|name| name.value.as_str()).collect::<Vec<_>>(), ["lanes", "supply"]);
    assert!(gap.warn.is_none());
    let setting = |key: &str| &gap.settings[key].value;
    assert!(matches!(setting("margin"), Setting::Quantity(q) if q.to_string() == "0.102 mm"));
    assert_eq!(*setting("both"), Setting::Switch(true));
    assert_eq!(*setting("side"), Setting::Word("below".into()));
    assert!(matches!(setting("reference"), Setting::Nets(nets) if nets[0].value == NetPattern("GND*".into())));
    assert_eq!(count.limit.as_ref().unwrap().value.to_string(), "2");
    assert!(open.on.is_empty() && open.limit.is_none());
    assert!(set.switched_off.is_empty() && set.warnings.is_empty());
}

#[test]
fn all_faults_of_a_file_are_told_in_file_order() {
    insta::assert_snapshot!(
        faults(
            r#"
extend = ["serial-16g"]

[groups.lanes]
pair      = ["LANE?_{P,N}"]
pairs     = ["LANE?_{TX,RX}", "A{P", "{A,{B,C}}", ["ONE"], ["X", "X"], 7, "{P,P}", "{P*,N}"]
impedance = "85 mm"
rate      = 16
proposed  = "yes"

[groups.supply]
nets    = "VCORE"
current = "-1 A"

[groups.empty]

[[check]]
use   = "pair-scew"
on    = ["lanes"]

[[check]]
use    = "pair-skew"
on     = ["lane"]
warn   = "0.3 mm"
limit  = "0.15 mm"

[[check]]
use    = "via-stub"
on     = ["lanes"]
limit  = "0.4 mn"
level  = "eror"
source = ""

[[check]]
use   = "pad-neck"
limit = "3 mm"

[[check]]
use   = "net-open"
on    = ["lanes"]
limit = "1 mm"

[[check]]
use    = "plane-gap"
on     = ["lanes", "lanes"]
limit  = "5 ps"
margn  = "0.1 mm"
side   = "left"
both   = 1

[[check]]
on = ["lanes"]

[waived]
check = "net-open"
"#
        ),
        @r#"
        rules.toml:2:1: unknown key `extend`
            extend <- not a key of a rule file
            help: did you mean `extends`?
        rules.toml:5:1: unknown key `pair`
            pair <- not a key of a group
            help: did you mean `pairs`?
        rules.toml:6:21: directions are not legs
            {TX,RX} <- this pattern can't be used
            help: the last list of two names the legs P and N: `LANE?_{TX,RX}_{P,N}`
        rules.toml:6:33: a brace is not closed
            {P <- this pattern can't be used
            help: alternatives are written `{a,b}`; `?` stands for a brace that is part of a name
        rules.toml:6:39: braces within braces
            {A,{B,C} <- this pattern can't be used
            help: write the alternatives one by one: `{a,b1,b2}` instead of `{a,b{1,2}}`
        rules.toml:6:51: 1 instead of two names
            ["ONE"] <- expected the nets of leg P and leg N: `["CK_P", "CK_N"]`
        rules.toml:6:60: both legs are the same net
            ["X", "X"] <- expected two nets
        rules.toml:6:72: `pairs` is a number
            7 <- expected a pair pattern such as `"LANE?_{P,N}"`
        rules.toml:6:76: the last list of two must name the legs
            {P,P} <- this pattern can't be used
            help: two different texts without `*` and `?` mark leg P and leg N: `LANE?_{P,N}`
        rules.toml:6:85: the last list of two must name the legs
            {P*,N} <- this pattern can't be used
            help: two different texts without `*` and `?` mark leg P and leg N: `LANE?_{P,N}`
        rules.toml:7:14: `85 mm` is a length
            85 mm <- expected an impedance such as `85 ohm`
        rules.toml:8:13: `rate` has no unit
            16 <- expected a symbol rate such as `16 GT/s`
            help: write it as a text: `rate = "16 GT/s"`
        rules.toml:9:13: `proposed` is a text
            "yes" <- expected `true` or `false`
        rules.toml:12:11: `nets` is a text
            "VCORE" <- expected a list of net patterns: `["GND", "V*"]`
        rules.toml:13:11: `current` is below zero
            "-1 A" <- expected zero or more
        rules.toml:15:9: group `empty` selects nothing
            empty <- expected `nets`, `pairs` or `proposed = true`
        rules.toml:18:9: unknown check `pair-scew`
            "pair-scew" <- not a check
            help: did you mean `pair-skew`?
        rules.toml:23:11: unknown group `lane`
            "lane" <- not a group of this rule set
            help: did you mean `lanes`?
        rules.toml:30:15: unknown unit `mn`
            mn <- expected a length such as `0.15 mm`
            help: did you mean `mm`?
        rules.toml:31:10: `eror` is no level
            "eror" <- expected "error", "warning", "note" or "off"
            help: did you mean `error`?
        rules.toml:32:10: `source` is empty
            "" <- expected who says so: a published source, or common practice
        rules.toml:35:9: no groups are named
            "pad-neck" <- `pad-neck` needs `on`, the groups to look at
            help: add a line such as `on = ["lanes"]`
        rules.toml:40:1: `net-open` looks at the whole board
            on <- expected no `on` here
        rules.toml:41:1: `net-open` has no `limit`
            limit <- expected no limit: what it looks for is never right
        rules.toml:45:20: `lanes` is named twice
            "lanes" <- expected once
        rules.toml:46:11: `5 ps` is a time
            5 ps <- expected a length such as `0.15 mm`
        rules.toml:47:1: unknown key `margn`
            margn <- not a key of `plane-gap`
            help: did you mean `margin`?
        rules.toml:48:10: `left` is no side
            "left" <- expected "nearest", "above" or "below"
        rules.toml:49:10: `both` is a number
            1 <- expected `true` or `false`
        rules.toml:51:1: no check is named
            [[check]] <- expected `use = "…"` below
            help: checks are `net-open`, `net-short`, `stale-fill`, `stackup-missing`, `length-match`, `pair-skew`, `plane-gap`, `via-stub`, `pad-neck` and `via-count`
        rules.toml:54:2: unknown key `waived`
            waived <- not a key of a rule file
            help: did you mean `waive`?
        "#
    );
}

#[test]
fn limits_must_be_stated_and_must_fit() {
    insta::assert_snapshot!(
        faults(
            r#"
[groups.lanes]
proposed = true

[[check]]
use = "via-stub"
on  = ["lanes"]

[[check]]
use   = "pair-skew"
on    = ["lanes"]
warn  = "0.3 mm"
limit = "0.15 mm"

[[check]]
use   = "length-match"
on    = ["lanes"]
warn  = "100 ps"
limit = "50 mm"

[[check]]
use   = "pad-neck"
on    = ["lanes"]
limit = "-3 mm"

[[check]]
use   = "plane-gap"
on    = ["lanes"]
limit = 0.3

[[check]]
use   = "via-count"
on    = ["lanes"]
limit = 2.5

[[check]]
use   = "via-stub"
on    = ["lanes"]
limit = "0.3 mm"
"#
        ),
        @r#"
        rules.toml:6:7: no limit is stated
            "via-stub" <- `via-stub` needs `limit`
            help: add a line such as `limit = "0.15 mm"`
        rules.toml:12:9: `warn` of 0.3 mm is beyond the `limit` of 0.15 mm
            "0.3 mm" <- `limit` is 0.15 mm
        rules.toml:18:9: `warn` and `limit` have different units
            "100 ps" <- `limit` is 50 mm
        rules.toml:24:9: `limit` is below zero
            "-3 mm" <- expected zero or more
        rules.toml:29:9: `limit` has no unit
            0.3 <- expected a length such as `0.15 mm`
            help: write it as a text: `limit = "0.3 mm"`
        rules.toml:34:9: `2.5` is not a whole number
            2.5 <- expected a count such as `2`
        rules.toml:37:9: `via-stub` is stated twice for the same groups
            "via-stub" <- first stated in line 6
            help: put all keys into one `[[check]]`
        "#
    );
}

#[test]
fn broken_toml_is_told_with_what_else_is_wrong() {
    insta::assert_snapshot!(
        faults(
            r#"
[groups.lanes]
pairs = ["LANE?_{P,N}"
rate  = 16 GT/s

[[check]
use   = "via-stub"
on    = ["lanes"]
limit = 0.3 mm
limit = "0.4 mm"

[[check]]
use = "net-opne"
"#
        ),
        @r#"
        rules.toml:4:1: missing comma between array elements
             <- expected `,`
            help: a list that is opened above is not closed: `]`
        "#
    );
}

#[test]
fn tables_of_the_wrong_shape_are_told() {
    insta::assert_snapshot!(
        faults(
            r#"
extends = "serial-16g"
groups.lanes = ["LANE?_{P,N}"]
check = [1]
"#
        ),
        @r#"
        rules.toml:2:11: `extends` is a text
            "serial-16g" <- expected a list of shipped sets or files: `["serial-16g"]`
        rules.toml:3:16: `lanes` is a list
            ["LANE?_{P,N}"] <- expected a table such as `[groups.lanes]`
        rules.toml:4:10: `check` is a number
            1 <- expected tables such as `[[check]]`
        "#
    );
    insta::assert_snapshot!(faults("groups = 1\n[check]\nuse = \"net-open\"\n"), @r#"
        rules.toml:1:10: `groups` is a number
            1 <- expected tables such as `[groups.lanes]`
        rules.toml:2:1: `check` is a table
            [check] <- expected a list of tables: `[[check]]`
        "#);
}

#[test]
fn escapes_hide_the_place_inside_a_text_so_the_whole_text_is_marked() {
    let marked = |limit: &str| {
        let text = format!("[groups.a]\nnets=['*']\n[[check]]\nuse='via-stub'\non=['a']\nlimit={limit}\n");
        let faults = read_text(&text).unwrap_err();
        faults[0].file.slice(faults[0].span).to_owned()
    };
    assert_eq!(marked("'0.15 µn'"), "µn");
    assert_eq!(marked("\"0.15 \\u006dn\""), "\"0.15 \\u006dn\"");
    assert_eq!(marked("\"\"\"0.15 mn\"\"\""), "\"\"\"0.15 mn\"\"\"");
}

#[test]
fn a_limit_with_a_warning_at_the_same_value_is_fine() {
    read_text("[groups.a]\nnets=['*']\n[[check]]\nuse='via-stub'\non=['a']\nwarn='6 mil'\nlimit='0.1524 mm'\n")
        .unwrap();
}

#[test]
fn a_limit_in_a_unit_of_its_own_is_remembered_as_it_was_written() {
    let of = |limit: &str| {
        let set = read_text(&format!("[groups.a]\nnets=['*']\n[[check]]\nuse='via-stub'\non=['a']\nlimit={limit}\n"))
            .unwrap();
        set.rules[0].limit.as_ref().unwrap().in_another_unit().map(str::to_owned)
    };
    assert_eq!(of("'6 mil'").as_deref(), Some("6 mil"));
    assert_eq!(of("\"150µm\"").as_deref(), Some("150µm"));
    assert_eq!(of("'0.15 mm'"), None);
}

#[test]
fn an_empty_file_is_an_empty_set() {
    for text in ["", "\n# nothing\n", "\u{feff}"] {
        let set = read_text(text).unwrap();
        assert!(set.rules.is_empty() && set.groups.is_empty());
    }
}

#[test]
fn a_group_that_no_check_looks_at_is_told_as_a_warning() {
    let set = read_text("extends=['serial-16g']\n[groups.lane]\npairs=['LANE?_{P,N}']\n").unwrap();
    insta::assert_snapshot!(crate::support::show_all(&set.warnings), @r#"
        rules.toml:2:9: no check looks at group `lane`
            lane <- nothing is held here
            help: did you mean `lanes`?
        "#);
}
