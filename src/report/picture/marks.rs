use std::fmt::Write;

use super::xml::escape;
use crate::report::words;
use crate::survey::{Finding, Kind, Severity};

/// Radius of a badge and size of its digits, in units of small print: as small as can be read, to
/// hide little of the stitching.
const RADIUS: f64 = 0.5;
const DIGIT: f64 = 0.5;

/// How badges look: faults red, advice grey.
pub fn styles(unit: f64) -> String {
    format!(
        ".fault text,.advice text{{font-size:{small:.1}px;font-weight:bold;text-anchor:middle}}\
         .fault circle{{fill:#fff7e8;stroke:#b3261e;stroke-width:{thin:.1}}}\
         .fault text{{fill:#8c1d18}}.fault path{{stroke:#b3261e;stroke-width:{thin:.1}}}\
         .advice circle{{fill:#fffdf8;stroke:#5c6470;stroke-width:{thin:.1}}}\
         .advice text{{fill:#3f4650}}.advice path{{stroke:#5c6470;stroke-width:{thin:.1}}}",
        small = DIGIT * unit,
        thin = 0.09 * unit,
    )
}

/// Numbered badges on the findings' places, joined to them by a line where they had to give way.
///
/// `unit` is the size of small print in points; coordinates are points, y downwards.
pub fn badges(findings: &[Finding], unit: f64) -> String {
    let mut placed: Vec<(f64, f64)> = Vec::new();
    let (mut leaders, mut badges) = (String::new(), String::new());
    for (index, finding) in findings.iter().enumerate() {
        let [x0, y0, x1, y1] = finding.place.bounds_mm.map(|mm| mm * 10.0);
        let target = ((x0 + x1) / 2.0, -(y0 + y1) / 2.0);
        let apart = 2.1 * RADIUS * unit;
        let at = free_spot(target, apart, |at| {
            placed.iter().all(|p| (p.0 - at.0).hypot(p.1 - at.1) >= apart)
        });
        placed.push(at);
        let class = if finding.severity == Severity::Fault { "fault" } else { "advice" };
        // Writing to a string cannot fail.
        if at != target {
            let (from, to) = (target, at);
            let line = format!("M{:.0} {:.0}L{:.0} {:.0}", from.0, from.1, to.0, to.1);
            let _ = writeln!(leaders, "<g class=\"{class}\"><path d=\"{line}\"/></g>");
        }
        let _ = writeln!(
            badges,
            "<g class=\"{class}\"><title>{words}</title><circle cx=\"{x:.0}\" cy=\"{y:.0}\" \
             r=\"{r:.1}\"/><text x=\"{x:.0}\" y=\"{foot:.1}\">{number}</text></g>",
            words = escape(&finding.words),
            x = at.0,
            y = at.1,
            r = RADIUS * unit,
            foot = at.1 + 0.36 * DIGIT * unit,
            number = index + 1
        );
    }
    leaders + &badges
}

/// The wanted spot, or the nearest that is free on some rings around it, `apart` from each other.
pub fn free_spot(wanted: (f64, f64), apart: f64, free: impl Fn((f64, f64)) -> bool) -> (f64, f64) {
    let rings = (0..5u32).flat_map(|ring| {
        let steps = if ring == 0 { 1 } else { 8 * ring };
        (0..steps).map(move |step| {
            let turn = f64::from(step) / f64::from(steps) * std::f64::consts::TAU;
            let reach = f64::from(ring) * apart;
            (wanted.0 + reach * turn.cos(), wanted.1 + reach * turn.sin())
        })
    });
    rings.into_iter().find(|at| free(*at)).unwrap_or(wanted)
}

/// One line for each kind of finding and severity, with the numbers of its badges, in their order.
pub fn legend(findings: &[Finding]) -> Vec<String> {
    let mut groups: Vec<((Kind, Severity), Vec<usize>)> = Vec::new();
    for (index, finding) in findings.iter().enumerate() {
        let group = (finding.kind, finding.severity);
        match groups.iter_mut().find(|(known, _)| *known == group) {
            Some((_, numbers)) => numbers.push(index + 1),
            None => groups.push((group, vec![index + 1])),
        }
    }
    let line = |((kind, severity), numbers): &((Kind, Severity), Vec<usize>)| {
        let advice = if *severity == Severity::Advice { " (advice)" } else { "" };
        format!("{}{advice}: {}", words::kind(*kind), words::ranges(numbers))
    };
    groups.iter().map(line).collect()
}
