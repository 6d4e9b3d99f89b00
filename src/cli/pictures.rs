use super::input::Failure;
use crate::design::from_tape;
use crate::mend::Outcome;
use crate::report::picture::{Picture, svg};
use crate::report::thread::{Rgb, Thread, drawn};
use crate::report::{Log, StopLine, words};
use crate::survey::Finding;
use crate::tape::{self, Salvage};

/// The tape before and after, as SVG.
pub fn draw(before: &[u8], outcome: &Outcome) -> Result<[String; 2], Failure> {
    let log = &outcome.log;
    let order = &log.stop_order;
    let was = order.iter().map(|line| (line.was, line));
    let is = order.iter().map(|line| (line.stop, line));
    let after = format!("after, {}", words::state(log.result));
    Ok([
        one(before, log, "before", colours(was), &log.findings.before)?,
        one(&outcome.bytes, log, &after, colours(is), &log.findings.after)?,
    ])
}

/// Colours by stop number. A thread that is not known keeps the colour that it was drawn in before
/// the stops changed places.
fn colours<'a>(stops: impl Iterator<Item = (u32, &'a StopLine)>) -> Vec<Option<Rgb>> {
    let mut colours = Vec::new();
    for (stop, line) in stops {
        let stop = stop as usize;
        if colours.len() <= stop {
            colours.resize(stop + 1, None);
        }
        let known = line.colour.as_deref().and_then(|colour| Thread::parse(colour).colour);
        colours[stop] = Some(drawn(line.was as usize, known));
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn threads_keep_their_colours_when_stops_change_places() {
        let order = [StopLine::new(0, 1, 9, Some("#1d3557")), StopLine::new(1, 0, 9, None)];
        let before = colours(order.iter().map(|line| (line.was, line)));
        let after = colours(order.iter().map(|line| (line.stop, line)));
        assert_eq!(after[0], Some([0x1d, 0x35, 0x57]));
        assert_eq!([before[0], before[1]], [after[1], after[0]]);
    }
}
