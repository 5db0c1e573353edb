//! Reports for hosts of code: JUnit, a comment on a change, remarks of a build service.

use crate::made::{many, named, with_run, with_runs};
use crate::run::Folder;
use std::collections::BTreeSet;
use std::path::Path;
use throughline::report::{annotations, junit, markdown};

/// The rerouted demo with the demo's rules.
fn rerouted(report: &str) -> (i32, String) {
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    let folder = Folder::new();
    folder.write("base.kicad_pcb", std::fs::read(fixtures.join("recorder-reroute/base.kicad_pcb")).unwrap());
    folder.write("throughline.toml", std::fs::read(fixtures.join("recorder/throughline.toml")).unwrap());
    let ran = folder.run(&["check", "--report", report]);
    (ran.code(), ran.out().to_owned())
}

/// Elements of a document that is well formed, as far as this report uses XML: name and attributes, in order.
fn elements(xml: &str) -> Vec<String> {
    let (mut open, mut found) = (Vec::new(), Vec::new());
    let mut rest = xml.strip_prefix("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n").unwrap();
    while let Some((text, behind)) = rest.split_once('<') {
        assert!(!text.contains('>'), "{text}");
        for entity in text.split('&').skip(1) {
            assert!(["amp;", "lt;", "gt;", "quot;"].iter().any(|known| entity.starts_with(known)), "{entity}");
        }
        let (tag, after) = behind.split_once('>').unwrap();
        assert_eq!(tag.matches('"').count() % 2, 0, "{tag}");
        match tag.strip_prefix('/') {
            Some(name) => assert_eq!(open.pop().as_deref(), Some(name)),
            None => {
                found.push(tag.trim_end_matches('/').to_owned());
                if !tag.ends_with('/') {
                    open.push(tag.split(' ').next().unwrap().to_owned());
                }
            }
        }
        rest = after;
    }
    assert!(open.is_empty());
    assert!(!xml.chars().any(|c| c.is_control() && c != '\n'));
    found
}

fn attribute<'e>(element: &'e str, key: &str) -> &'e str {
    element.split(&format!(" {key}=\"")).nth(1).unwrap().split('"').next().unwrap()
}

/// Holds a document to what readers need: well formed, names of their own, totals that are true.
fn hold(xml: &str) -> Vec<String> {
    let elements = elements(xml);
    let cases: Vec<&str> =
        elements.iter().filter(|tag| tag.starts_with("testcase ")).map(|tag| attribute(tag, "name")).collect();
    assert_eq!(cases.iter().collect::<BTreeSet<_>>().len(), cases.len(), "names of their own");
    let whole = elements.first().unwrap();
    let count = |name: &str| elements.iter().filter(|tag| tag.split(' ').next() == Some(name)).count().to_string();
    assert_eq!(attribute(whole, "tests"), count("testcase"));
    assert_eq!(attribute(whole, "failures"), count("failure"));
    assert_eq!(attribute(whole, "errors"), count("error"));
    assert_eq!(attribute(whole, "skipped"), count("skipped"));
    elements
}

#[test]
fn a_made_run_as_junit() {
    let xml = with_run(junit);
    hold(&xml);
    insta::assert_snapshot!(xml, @r#"
    <?xml version="1.0" encoding="UTF-8"?>
    <testsuites name="throughline" tests="8" failures="1" errors="4" skipped="0" time="0">
      <testsuite name="boards/base.kicad_pcb" tests="6" failures="1" errors="2" skipped="0" time="0">
        <testcase name="base: pair-skew: pair `CORE_RX0`" classname="pair-skew" file="boards/base.kicad_pcb" line="1" time="0"/>
        <testcase name="base: pair-skew: pair `CORE_TX0`, J1.12 to U1.A3" classname="pair-skew" file="boards/base.kicad_pcb" line="4" time="0">
          <failure type="error" message="`CORE_TX0_P` is 0.4 mm longer than `CORE_TX0_N`">`CORE_TX0_P` is 0.4 mm longer than `CORE_TX0_N`
    0.4 mm; limit 0.3 mm, set at recorder.toml:4:9
    boards/base.kicad_pcb:4:4: layer `F.Cu`, x 10, y 10 mm
    to do: lengthen `CORE_TX0_N` by 0.4 mm
    fingerprint eb22ce11ba6b9e42</failure>
        </testcase>
        <testcase name="base: plane-gap: pair `CORE_RX0`" classname="plane-gap" file="boards/base.kicad_pcb" line="1" time="0">
          <error type="not checked" message="the board has no stackup">the board has no stackup
    fingerprint 19dbf09851dca718</error>
        </testcase>
        <testcase name="base: plane-gap: pair `CORE_TX0`" classname="plane-gap" file="boards/base.kicad_pcb" line="1" time="0">
          <error type="not checked" message="the board has no stackup">the board has no stackup
    fingerprint 90b52a28d4511f9a</error>
        </testcase>
        <testcase name="base: via-stub: via `CORE_TX0_N`" classname="via-stub" file="boards/base.kicad_pcb" line="7" time="0">
          <system-out>warning: 1.1 mm of the barrel hang below the lowest layer used
    1.1 mm; limit 0.4 mm, set at recorder.toml:9:9
    boards/base.kicad_pcb:7:4: layer `B.Cu`, x 21.5, y 12.25 mm
    fingerprint bea67312479c89af</system-out>
        </testcase>
        <testcase name="base: via-stub: via `CORE_TX0_P`" classname="via-stub" file="boards/base.kicad_pcb" line="6" time="0">
          <system-out>warning: 0.4 mm of the barrel hang below the lowest layer used
    0.4004 mm; limit 0.4 mm, set at recorder.toml:9:9
    boards/base.kicad_pcb:6:4: layer `B.Cu`, x 20.5, y 12.25 mm
    fingerprint 7eb94afc71668795</system-out>
        </testcase>
      </testsuite>
      <testsuite name="recorder.toml" tests="2" failures="0" errors="2" skipped="0" time="0">
        <testcase name="rules: no net matches `SENSE*`" classname="rules" file="recorder.toml" line="18" time="0">
          <error type="not checked" message="no net matches `SENSE*`, on board `base`">no net matches `SENSE*`, on board `base`</error>
        </testcase>
        <testcase name="length-match: group `bus` selects nothing here" classname="length-match" file="recorder.toml" line="17" time="0">
          <error type="not checked" message="nothing to look at: group `bus` selects nothing here">nothing to look at: group `bus` selects nothing here</error>
        </testcase>
      </testsuite>
    </testsuites>
    "#);
}

#[test]
fn junit_holds_any_name_and_tells_equal_ones_apart() {
    let xml = with_runs(|rules| named(rules, "<A&B>\"\u{1}\u{202e}"), junit);
    let elements = hold(&xml);
    assert!(xml.contains("&lt;A&amp;B&gt;&quot;"), "{elements:?}");
    let twice = with_runs(
        |rules| {
            let mut runs = named(rules, "A");
            let again = runs[0].verdicts[0].clone();
            runs[0].verdicts.push(again);
            runs
        },
        junit,
    );
    hold(&twice);
}

#[test]
fn the_rerouted_demo_as_junit() {
    let (code, xml) = rerouted("junit");
    assert_eq!(code, 1);
    let elements = hold(&xml);
    let passes = elements.windows(2).filter(|pair| pair.iter().all(|tag| tag.starts_with("testcase "))).count();
    assert!(passes > 100, "passes are cases, too");
    for kind in ["failure type=\"error\"", "error type=\"not checked\"", "system-out"] {
        assert!(elements.iter().any(|tag| tag.starts_with(kind)), "{kind}");
    }
}

#[test]
fn a_made_run_as_a_comment() {
    insta::assert_snapshot!(with_run(markdown), @r#"
    ### throughline: fails

    **1 error, 2 warnings, 2 not checked, 1 passed**: a finding is at or above the fail level `error`.

    Boards `boards/base.kicad_pcb`; rules `recorder.toml`, named on the command line.

    | group | errors | warnings | not checked | passed |
    | --- | ---: | ---: | ---: | ---: |
    | `core` | 1 | 2 | 2 | 1 |

    #### Worst findings

    - **error** `pair-skew`, pair `CORE_TX0`, J1.12 to U1.A3: `CORE_TX0_P` is 0.4 mm longer than `CORE_TX0_N` (0.4 mm; limit 0.3 mm, set at recorder.toml:4:9).  
      `boards/base.kicad_pcb:4:4`: layer `F.Cu`, x 10, y 10 mm.  
      To do: lengthen `CORE_TX0_N` by 0.4 mm.  
      Fingerprint `eb22ce11ba6b9e42`
    - **warning** `via-stub`, via `CORE_TX0_N`: 1.1 mm of the barrel hang below the lowest layer used (1.1 mm; limit 0.4 mm, set at recorder.toml:9:9).  
      `boards/base.kicad_pcb:7:4`: layer `B.Cu`, x 21.5, y 12.25 mm.  
      Fingerprint `bea67312479c89af`; **1 more of this kind, 2 in all**

    #### Not checked

    - 2 × `plane-gap`: the board has no stackup (pair `CORE_RX0`, pair `CORE_TX0`)
    - no net matches `SENSE*`, on board `base` (`recorder.toml:18:7`)
    - `length-match`: group `bus` selects nothing here (`recorder.toml:17:1`)

    <details><summary>All 3 findings</summary>

    - error `pair-skew`, pair `CORE_TX0`, J1.12 to U1.A3, 0.4 mm, `boards/base.kicad_pcb:4:4`
    - warning `via-stub`, via `CORE_TX0_N`, 1.1 mm, `boards/base.kicad_pcb:7:4`
    - warning `via-stub`, via `CORE_TX0_P`, 0.4004 mm, `boards/base.kicad_pcb:6:4`

    </details>
    <details><summary>What was looked at</summary>

    | check | examined | passed | failed | not checked | known | waived |
    | --- | ---: | ---: | ---: | ---: | ---: | ---: |
    | `length-match` | – | – | – | – | – | – |
    | `pair-skew` | 2 | 1 | 1 | – | – | – |
    | `plane-gap` | 2 | – | – | 2 | – | – |
    | `via-stub` | 2 | – | 2 | – | – | – |

    </details>
    "#);
}

#[test]
fn a_comment_fits_and_has_true_totals() {
    let text = with_runs(|rules| many(rules, 9_000), markdown);
    assert!(text.len() < 65_536, "{}", text.len());
    assert_eq!(text.matches("<details>").count(), text.matches("</details>").count());
    assert!(text.contains("**9000 errors, "), "{}", &text[..200]);
    assert!(text.contains("more of this kind, 300 in all"));
    assert!(text.contains("- and 20 more causes, folded below"));
    assert!(text.contains("<summary>All 9000 findings</summary>"));
    let listed = text.lines().filter(|line| line.starts_with("- error `pair-skew`")).count();
    assert!(text.contains(&format!("- and {} more; the JSON report lists each", 9_000 - listed)), "{listed}");
    assert!(text.contains("What was looked at") && text.contains("| `pair-skew` | 9000 |"));
}

#[test]
fn no_name_reads_as_markup() {
    let text = with_runs(|rules| named(rules, "<img src=x>|`*_[a](b)"), markdown);
    let finding = text.lines().find(|line| line.starts_with("- **error**")).unwrap();
    insta::assert_snapshot!(finding, @r#"- **error** `pair-skew`, net '&lt;img src=x&gt;\|'\*\_\[a\](b)': '&lt;img src=x&gt;\|'\*\_\[a\](b)' is wrong (limit 0.3 mm, set at recorder.toml:4:9)."#);
    let even = with_runs(|rules| named(rules, "`<img src=x>`"), markdown);
    assert!(!even.replace("``<img src=x>``", "").contains("<img"), "{even}");
}

#[test]
fn a_made_run_as_remarks() {
    insta::assert_snapshot!(with_run(annotations), @r#"
    ::error file=boards/base.kicad_pcb,line=4,endLine=4,col=4,endColumn=25,title=pair-skew::pair `CORE_TX0`, J1.12 to U1.A3: `CORE_TX0_P` is 0.4 mm longer than `CORE_TX0_N`%0A0.4 mm; limit 0.3 mm, set at recorder.toml:4:9%0Ato do: lengthen `CORE_TX0_N` by 0.4 mm
    ::error file=boards/base.kicad_pcb,line=1,endLine=1,col=1,endColumn=2,title=plane-gap not checked::pair `CORE_RX0`: the board has no stackup%0A1 more of this kind, 2 in all
    ::error file=recorder.toml,line=18,endLine=18,col=7,endColumn=12,title=rules::no net matches `SENSE*`: on board `base`%0Adid you mean `SENSOR`?
    ::error file=recorder.toml,line=17,endLine=17,col=1,endColumn=21,title=length-match not checked::nothing to look at: group `bus` selects nothing here
    ::warning file=boards/base.kicad_pcb,line=7,endLine=7,col=4,endColumn=16,title=via-stub::via `CORE_TX0_N`: 1.1 mm of the barrel hang below the lowest layer used%0A1.1 mm; limit 0.4 mm, set at recorder.toml:9:9%0A1 more of this kind, 2 in all
    ::notice title=throughline::1 error, 2 warnings, 2 not checked, 1 passed. fails: a finding is at or above the fail level `error`
    "#);
}

#[test]
fn remarks_are_few_and_the_last_has_the_totals() {
    let text = with_runs(|rules| many(rules, 9_000), annotations);
    let count = |kind: &str| text.lines().filter(|line| line.starts_with(kind)).count();
    assert_eq!((count("::error "), count("::notice ")), (10, 1));
    assert!(count("::warning ") <= 10);
    assert!(text.lines().all(|line| line.starts_with("::")), "one line each");
    insta::assert_snapshot!(text.lines().last().unwrap(), @"::notice title=throughline::9000 errors, 0 warnings, 0 not checked, 0 passed. fails: a finding is at or above the fail level `error`; 24 more causes are not shown here");
    let odd = with_runs(|rules| named(rules, "50%\nA:B,C"), annotations);
    assert!(odd.lines().next().unwrap().contains("50%25"), "{odd}");
}

/// Every planted fault of the demo, in every report; and the same bytes for any number of threads.
#[test]
fn every_report_has_every_finding_whatever_the_number_of_threads() {
    const REPORTS: [&str; 7] = ["text", "line", "json", "sarif", "junit", "markdown", "annotations"];
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures");
    let folder = Folder::new();
    folder.write("base.kicad_pcb", std::fs::read(fixtures.join("recorder-reroute/base.kicad_pcb")).unwrap());
    folder.write("throughline.toml", std::fs::read(fixtures.join("recorder/throughline.toml")).unwrap());
    let run = |jobs: &str| {
        let to: Vec<String> = REPORTS.iter().map(|name| format!("--report={name}={name}-{jobs}")).collect();
        let mut arguments = vec!["check", "--jobs", jobs];
        arguments.extend(to.iter().map(String::as_str));
        let code = folder.run(&arguments).code();
        (code, REPORTS.map(|name| folder.read(&format!("{name}-{jobs}"))))
    };
    let (code, reports) = run("1");
    assert_eq!(code, 1);
    assert!(run("4") == (code, reports.clone()) && run("13") == (code, reports.clone()), "the same bytes");

    let [text, line, json, sarif, junit, markdown, annotations] = reports;
    let report: serde_json::Value = serde_json::from_str(&json).unwrap();
    let failed = |row: &&serde_json::Value| ["error", "warning"].contains(&row["outcome"].as_str().unwrap());
    let findings: Vec<&serde_json::Value> = report["verdicts"].as_array().unwrap().iter().filter(failed).collect();
    assert!(findings.len() > 8);
    for finding in findings {
        let said = |key: &str| finding[key].as_str().unwrap();
        let (print, check) = (said("fingerprint"), said("check"));
        for report in [&text, &sarif, &junit] {
            assert!(report.contains(print), "{finding}");
        }
        let at = format!("base.kicad_pcb:{}:{}", finding["place"]["line"], finding["place"]["column"]);
        assert!(line.lines().any(|line| line.starts_with(&format!("{at}: {} {check} ", said("outcome")))), "{finding}");
        assert!(markdown.contains(&format!("`{at}`")), "{finding}");
        assert!(annotations.contains(&format!("title={check}::")), "{finding}");
    }
}
