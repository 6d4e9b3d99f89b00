use pretty_assertions::assert_eq;

use super::*;
use crate::report::sample;
use crate::settings::PassName;

#[test]
fn an_account_fits_one_screen_and_stays_in_its_columns() {
    let text = account("crest.dst", &sample::mended(), Style::default());
    assert!(text.lines().count() <= 45, "{} lines:\n{text}", text.lines().count());
    assert!(text.lines().all(|line| line.chars().count() <= 100), "{text}");
    assert!(text.lines().all(|line| line == line.trim_end()), "{text}");
    assert!(!text.contains('\x1b'));
    assert!(text.starts_with("crest.dst: mended\n"));
    for wanted in ["thin overlap", "edge-run", "stop 4", "harbour navy", "new stop order"] {
        assert!(text.contains(wanted), "{wanted}:\n{text}");
    }
}

#[test]
fn figures_stand_before_and_after() {
    let text = account("crest.dst", &sample::mended(), Style::default());
    let line = |label: &str| text.lines().find(|l| l.trim_start().starts_with(label)).unwrap();
    let cells = |label: &str| line(label).split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(cells("stitches"), "stitches 11,310 13,902 +2,730 −138");
    assert_eq!(cells("thin overlap"), "thin overlap 9 0");
    assert_eq!(
        cells("sewing time"),
        "sewing time 22 min 35 s 26 min 23 s one head at 675 stitches/min"
    );
}

#[test]
fn colour_only_where_asked_for() {
    let style = Style { colour: true, ..Style::default() };
    let text = account("crest.dst", &sample::mended(), style);
    assert!(text.contains("\x1b[1;32mmended\x1b[0m"));
}

#[test]
fn detail_lists_every_finding_and_change() {
    let style = Style { detail: true, ..Style::default() };
    let log = sample::mended();
    let text = account("crest.dst", &log, style);
    for change in &log.changes {
        assert!(text.contains(&format!("- {} at", change.id)), "{text}");
    }
    for number in 1..=log.findings.before.len() {
        assert!(text.contains(&format!("- #{number} ")), "{text}");
    }
}

#[test]
fn an_unchanged_tape_says_so() {
    let text = account("sound.dst", &sample::sound(), Style::default());
    assert!(text.starts_with("sound.dst: sound, not one byte changed\n"), "{text}");
    assert!(!text.contains("after"), "{text}");
    assert!(text.contains("nothing"), "{text}");
}

#[test]
fn faults_without_a_pass_are_left_for_a_person() {
    let text = account("mast.dst", &sample::needs_eyes(), Style::default());
    assert!(text.starts_with("mast.dst: needs eyes"), "{text}");
    let left = text.split("left for a person").nth(1).unwrap();
    assert!(left.contains("thin detail on the seam at 0.4 mm left, 20.0 mm up: "), "{text}");
}

#[test]
fn a_fault_of_a_pass_that_did_not_run_is_left_for_a_person() {
    let mut log = sample::mended();
    let mut fault = log.findings.before[0].clone();
    (fault.severity, fault.pass) = (Severity::Fault, Some(PassName::EdgeRun));
    log.findings.after = vec![fault];
    log.settings.passes = vec![PassName::Overlap];
    let text = account("crest.dst", &log, Style::default()).replace("\n    ", " ");
    let left = text.split("left for a person").nth(1).expect("it is told");
    assert!(left.contains("(edge-run was not run)"), "{text}");
}

#[test]
fn what_is_just_short_is_counted_and_listed_with_detail() {
    let mut log = sample::mended();
    let reason = "underlay lies beside 92 % of one edge".to_owned();
    log.short = vec![Left { pass: PassName::EdgeRun, objects: vec![3], reason }];
    let text = account("crest.dst", &log, Style::default());
    assert!(text.contains("1 place of the full measure") && !text.contains("92 %"), "{text}");
    let all = account("crest.dst", &log, Style { detail: true, ..Style::default() });
    assert!(all.contains("- edge-run o3: underlay lies beside 92 %"), "{all}");
}

#[test]
fn cautions_name_needle_frame_test_and_manual() {
    let text = account("crest.dst", &sample::mended(), Style::default());
    for wanted in ["needle into metal", "Sew a test", "machine maker's manual", "local rules"] {
        assert!(text.replace("\n    ", " ").contains(wanted), "{wanted}:\n{text}");
    }
}

#[test]
fn a_survey_lists_where_each_finding_is() {
    let mut log = sample::mended();
    log.output = log.input.clone();
    let text = survey_account("crest.dst", &log, Style::default());
    assert!(text.starts_with("crest.dst: 51 faults, 0 for advice\n"), "{text}");
    assert!(text.contains("- #10 ") && text.contains("… and 41 more; -v lists all"), "{text}");
    let all = survey_account("crest.dst", &log, Style { detail: true, ..Style::default() });
    assert!(all.contains("- #51 "), "{all}");
}
