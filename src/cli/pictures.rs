use super::input::Failure;
use crate::design::from_tape;
use crate::mend::Outcome;
use crate::report::picture::{Picture, svg};
use crate::report::thread::{Rgb, Thread};
use crate::report::{Log, words};
use crate::survey::Finding;
use crate::tape::{self, Salvage};

/// The tape before and after, as SVG.
pub fn draw(before: &[u8], outcome: &Outcome) -> Result<[String; 2], Failure> {
    let log = &outcome.log;
    let was = log.stop_order.iter().map(|line| (line.was, line.colour.as_deref()));
    let is = log.stop_order.iter().map(|line| (line.stop, line.colour.as_deref()));
    Ok([
        one(before, log, "before", colours(was), &log.findings.before)?,
        one(&outcome.bytes, log, words::state(log.result), colours(is), &log.findings.after)?,
    ])
}

/// Colours by stop number, where they are known.
fn colours<'a>(known: impl Iterator<Item = (u32, Option<&'a str>)>) -> Vec<Option<Rgb>> {
    let mut colours = Vec::new();
    for (stop, colour) in known {
        let stop = stop as usize;
        if colours.len() <= stop {
            colours.resize(stop + 1, None);
        }
        colours[stop] = colour.and_then(|colour| Thread::parse(colour).colour);
    }
    colours
}

fn one(
    bytes: &[u8],
    log: &Log,
    state: &str,
    threads: Vec<Option<Rgb>>,
    findings: &[Finding],
) -> Result<String, Failure> {
    let salvage = Salvage::from(log.settings.salvage);
    let (tape, _) = tape::read(bytes, salvage).map_err(|e| Failure::refused(e.to_string()))?;
    let title = format!("{} {state}", log.input.name.as_deref().unwrap_or("tape"));
    Ok(svg(&Picture {
        title: &title,
        design: &from_tape(&tape),
        threads: &threads,
        seam_x: log.settings.seam_x_mm,
        findings,
    }))
}
