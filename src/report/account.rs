//! The change log in words: one screen for the person at the machine.

mod page;
mod tables;

use super::{Log, State, words};
use crate::passes::Left;
use crate::survey::{Finding, Severity};
use page::{Page, Tone};

/// How an account is printed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Style {
    /// Colour codes for a terminal.
    pub colour: bool,
    /// Every finding and change by itself.
    pub detail: bool,
}

/// The account of one tape. `name` is what the caller calls the file, made inert.
pub fn account(name: &str, log: &Log, style: Style) -> String {
    let mut page = Page::new(style.colour);
    title(&mut page, name, log);
    tables::figures(&mut page, log);
    tables::findings(&mut page, log);
    tables::changes(&mut page, log, style.detail);
    tables::proof(&mut page, log);
    tables::stops(&mut page, log);
    left_over(&mut page, log, style.detail);
    just_short(&mut page, log, style.detail);
    if style.detail {
        tables::every_finding(&mut page, log, usize::MAX);
    }
    page.list("cautions", &log.cautions, usize::MAX);
    page.list("about the file", &log.warnings, usize::MAX);
    page.finish()
}

/// The account of a survey, in which nothing was meant to be changed.
pub fn survey_account(name: &str, log: &Log, style: Style) -> String {
    let mut page = Page::new(style.colour);
    let faults = log.faults_before();
    let advice = log.findings.before.len() - faults;
    let needs_eyes = log.result == State::NeedsEyes;
    let tone = if needs_eyes { Tone::Eyes } else { Tone::Good };
    // Without any fault, what was not understood does.
    let eyes = if needs_eyes && faults == 0 { ", needs eyes" } else { "" };
    let faults = words::count(faults, "fault");
    page.title(name, &format!("{faults}, {advice} for advice{eyes}"), tone);
    garment(&mut page, log);
    tables::figures(&mut page, log);
    tables::findings(&mut page, log);
    tables::stops(&mut page, log);
    tables::every_finding(&mut page, log, if style.detail { usize::MAX } else { 2 * SHORT_LIST });
    page.list("about the file", &log.warnings, usize::MAX);
    page.finish()
}

fn title(page: &mut Page, name: &str, log: &Log) {
    let tone = if log.result == State::NeedsEyes { Tone::Eyes } else { Tone::Good };
    let kept = if log.unchanged() { ", not one byte changed" } else { "" };
    page.title(name, &format!("{}{kept}", words::state(log.result)), tone);
    garment(page, log);
}

fn garment(page: &mut Page, log: &Log) {
    let garment = crate::tape::inert(log.settings.garment.as_bytes());
    let seam = match log.settings.seam_x_mm {
        Some(x) => format!("seam at x = {x:.1} mm"),
        None => "no seam".to_owned(),
    };
    let brim = match log.settings.brim {
        crate::settings::Brim::Bottom => "bottom",
        crate::settings::Brim::Top => "top",
    };
    page.row("garment", &format!("{garment}, {seam}, brim at the {brim}"));
    tables::objects(page, log);
}

/// Lines of a list that a screen has room for.
const SHORT_LIST: usize = 5;

/// What is left for a person: faults that stay, repairs that were not possible or taken back.
fn left_over(page: &mut Page, log: &Log, detail: bool) {
    let room = if detail { usize::MAX } else { SHORT_LIST };
    let left = log.left.iter().map(left_line);
    let undone = log.undone.iter().map(|u| format!("{} taken back: {}", u.change, u.reason));
    let unsure = (log.unsure_share > 0.0).then(|| {
        format!(
            "{:.1} % of the stitches were not understood and are as they came",
            log.unsure_share * 100.0
        )
    });
    // What a pass that ran left is told with its reason; what is for no pass, or for one that did not
    // run, has no other line.
    let untold = |f: &&Finding| f.pass.is_none_or(|pass| !log.settings.passes.contains(&pass));
    let stays = log.findings.after.iter().filter(|f| f.severity == Severity::Fault);
    let stays = stays.filter(untold).map(|finding| {
        let off = finding.pass.map_or(String::new(), |p| format!(" ({} was not run)", p.name()));
        format!("{}{off}", tables::finding_line(finding))
    });
    let lines: Vec<String> = stays.chain(left).chain(undone).chain(unsure).collect();
    page.list("left for a person", &lines, room);
}

fn left_line(left: &Left) -> String {
    let ids: String = left.objects.iter().map(|id| format!(" o{id}")).collect();
    format!("{}{ids}: {}", left.pass.name(), left.reason)
}

/// What is short of the full measure by so little that no pass acts on it.
fn just_short(page: &mut Page, log: &Log, detail: bool) {
    let lines: Vec<String> = log.short.iter().map(left_line).collect();
    if detail {
        page.list("just short of the full measure", &lines, usize::MAX);
    } else if !lines.is_empty() {
        let places = words::count(lines.len(), "place");
        page.heading("", &[]);
        page.row(
            "just short",
            &format!("{places} of the full measure, too little to act on; -v lists all"),
        );
    }
}

#[cfg(test)]
mod tests;
