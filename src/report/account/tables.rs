use super::page::Page;
use crate::report::{BeforeAfter, Change, Log, Spread, words};
use crate::settings::PassName;
use crate::survey::{Finding, Kind, Severity};

/// Counts, size, time and thread, before and after (one column where nothing changed).
pub fn figures(page: &mut Page, log: &Log) {
    let (tape, sewing) = (log.tape, log.sewing);
    let both = |before: String, after: String| {
        if log.unchanged() { vec![before] } else { vec![before, after] }
    };
    let count = |before: u32, after: u32| both(words::thousands(before), words::thousands(after));
    page.heading("", if log.unchanged() { &[] } else { &["before", "after"] });
    let moved = |of: fn(&Change) -> u32| log.changes.iter().map(of).sum::<u32>();
    let (added, removed) = (moved(|c| c.stitches_added), moved(|c| c.stitches_removed));
    let note = match (added, removed) {
        (0, 0) => String::new(),
        _ => format!("+{} −{}", words::thousands(added), words::thousands(removed)),
    };
    page.figures("stitches", &count(tape.before.stitches, tape.after.stitches), &note);
    page.figures("trims", &count(tape.before.trims, tape.after.trims), "");
    page.figures("stops", &count(tape.before.stops, tape.after.stops), "");
    let size =
        |facts: crate::report::TapeFacts| format!("{:.1} × {:.1}", facts.width_mm, facts.height_mm);
    page.figures("size, mm", &both(size(tape.before), size(tape.after)), "");
    let time = |seconds: f64| words::duration(seconds);
    let speed = log
        .settings
        .numbers
        .get("speed_spm")
        .map_or(String::new(), |spm| format!("one head at {spm:.0} stitches/min"));
    page.figures(
        "sewing time",
        &both(time(sewing.before.seconds), time(sewing.after.seconds)),
        &speed,
    );
    let thread =
        |s: crate::report::Sewing| format!("{:.1} + {:.1}", s.top_thread_m, s.bobbin_thread_m);
    page.figures("thread, m", &both(thread(sewing.before), thread(sewing.after)), "top + bobbin");
}

/// Objects by class, most frequent first.
pub fn objects(page: &mut Page, log: &Log) {
    let mut classes: Vec<(usize, &str)> = Vec::new();
    for object in &log.objects {
        let class = words::class(object.class);
        match classes.iter_mut().find(|(_, known)| *known == class) {
            Some((count, _)) => *count += 1,
            None => classes.push((1, class)),
        }
    }
    classes.sort_by_key(|(count, _)| std::cmp::Reverse(*count));
    let mut list: Vec<String> = classes.iter().map(|(n, class)| format!("{n} {class}")).collect();
    if log.unsure_share > 0.0 {
        list.push(format!("{:.1} % of the stitches unsure", log.unsure_share * 100.0));
    }
    if !list.is_empty() {
        page.row("objects", &list.join(", "));
    }
}

/// Findings by kind, faults first.
pub fn findings(page: &mut Page, log: &Log) {
    let all = || log.findings.before.iter().chain(&log.findings.after);
    let mut kinds: Vec<(Severity, Kind)> = all().map(|f| (f.severity, f.kind)).collect();
    kinds.sort_unstable_by(|a, b| (b.0, a.1).cmp(&(a.0, b.1)));
    kinds.dedup();
    if kinds.is_empty() {
        page.heading("found", &[]);
        page.row("nothing", "");
        return;
    }
    page.heading("found", if log.unchanged() { &[] } else { &["before", "after"] });
    for (severity, kind) in kinds {
        let count = |findings: &[Finding]| {
            findings.iter().filter(|f| (f.severity, f.kind) == (severity, kind)).count().to_string()
        };
        let mut figures = vec![count(&log.findings.before)];
        if !log.unchanged() {
            figures.push(count(&log.findings.after));
        }
        let note = if severity == Severity::Advice { "advice" } else { "" };
        page.figures(words::kind(kind), &figures, note);
    }
}

/// Changes by pass, or each by itself.
pub fn changes(page: &mut Page, log: &Log, detail: bool) {
    if log.changes.is_empty() {
        return;
    }
    page.heading("changed", &["objects", "stitches"]);
    for pass in PassName::ALL {
        let of_pass: Vec<&Change> = log.changes.iter().filter(|c| c.pass == pass).collect();
        let Some(first) = of_pass.first() else { continue };
        let sum = |of: fn(&Change) -> u32| of_pass.iter().map(|c| of(c)).sum::<u32>();
        let (added, removed) = (sum(|c| c.stitches_added), sum(|c| c.stitches_removed));
        let mut objects: Vec<u32> =
            of_pass.iter().filter_map(|c| c.objects.first().copied()).collect();
        objects.sort_unstable();
        objects.dedup();
        let stitches = format!("+{} −{}", words::thousands(added), words::thousands(removed));
        let note = if detail { "" } else { first.after.as_str() };
        page.figures(pass.name(), &[objects.len().to_string(), stitches], &short(note));
    }
    if detail {
        let lines: Vec<String> = log.changes.iter().map(change_line).collect();
        page.list("every change", &lines, usize::MAX);
    }
}

/// The beginning of a note that a line has room for.
fn short(note: &str) -> String {
    const ROOM: usize = 44;
    if note.chars().count() <= ROOM {
        return note.to_owned();
    }
    let mut text: String = note.chars().take(ROOM - 1).collect();
    text.push('…');
    text
}

fn change_line(change: &Change) -> String {
    format!(
        "{} at {}: {} → {} (+{} −{}); {}",
        change.id,
        place(change.place),
        change.before,
        change.after,
        change.stitches_added,
        change.stitches_removed,
        change.reason
    )
}

/// Distance from the seam and from the lowest stitch.
fn place(place: crate::report::Place) -> String {
    let side = if place.x_mm < 0.0 { "left" } else { "right" };
    format!("{:.1} mm {side}, {:.1} mm up", place.x_mm.abs(), place.y_mm)
}

pub fn finding_line(finding: &Finding) -> String {
    format!("{} at {}: {}", words::kind(finding.kind), place(finding.place), finding.words)
}

/// Every finding of the tape that came in, numbered as in the picture.
pub fn every_finding(page: &mut Page, log: &Log, room: usize) {
    let number =
        |(index, finding): (usize, &Finding)| format!("#{} {}", index + 1, finding_line(finding));
    let lines: Vec<String> = log.findings.before.iter().enumerate().map(number).collect();
    page.list("where", &lines, room);
}

/// Exposed cap by the sew-out model.
pub fn proof(page: &mut Page, log: &Log) {
    let Some(proof) = &log.proof else { return };
    page.heading("proof: exposed cap, mm²", &["before", "after"]);
    for exposure in &proof.exposure {
        let BeforeAfter { before, after } = exposure.area_mm2;
        let note = if exposure.scale == 1.0 { "mean (95th percentile), model" } else { "" };
        let label = format!("distortion × {}", exposure.scale);
        page.figures(&label, &[spread(before), spread(after)], note);
    }
    if let Some(model) = proof.exposure.iter().find(|exposure| exposure.scale == 1.0) {
        let BeforeAfter { before, after } = model.widest_gap_mm;
        page.figures("widest gap, mm", &[spread(before), spread(after)], "at × 1");
    }
    let look = format!(
        "{:.2} mm² recoloured, {:.2} mm² newly covered beyond what changes declare",
        proof.recoloured_mm2, proof.newly_covered_mm2
    );
    page.row("visible look", &look);
}

/// Mean and 95th percentile, as exact as there is room for.
fn spread(spread: Spread) -> String {
    let figure = |value: f64| match value {
        v if v < 10.0 => format!("{v:.2}"),
        v if v < 1000.0 => format!("{v:.1}"),
        v => format!("{v:.0}"),
    };
    format!("{} ({})", figure(spread.mean), figure(spread.p95))
}

/// The stops in their order; in one line where it did not change.
pub fn stops(page: &mut Page, log: &Log) {
    let thread = |line: &crate::report::StopLine| match (&line.thread, &line.colour) {
        (Some(name), _) => name.clone(),
        (None, Some(colour)) => colour.clone(),
        (None, None) => format!("thread {}", line.was + 1),
    };
    if !log.stops_reordered() {
        let names: Vec<String> = log.stop_order.iter().map(thread).collect();
        page.heading("stop order", &[]);
        page.row("as it was", &names.join(", "));
    } else {
        page.heading("new stop order", &["was", "stitches"]);
        for line in &log.stop_order {
            let figures = [format!("stop {}", line.was + 1), words::thousands(line.stitches)];
            page.figures(&format!("stop {}", line.stop + 1), &figures, &thread(line));
        }
    }
    if let Some(added) = log.stops_added_if_element.filter(|added| *added > 0) {
        let more = words::count(added as usize, "stop");
        page.row("", &format!("--stops element would finish each element and add {more}"));
    }
}
