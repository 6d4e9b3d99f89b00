use std::fmt::Write;

use crate::design::{Design, Link, Pt};
use crate::report::thread::{Rgb, hex, mix};

/// Levels of lightness by stitch direction.
pub const LEVELS: usize = 5;

/// Direction of the light, degrees: stitches along it look lightest.
const LIGHT_DEG: f64 = 60.0;

/// Stitches shorter than this (mm) take the level of their neighbours: row joins would flicker.
const SHORT_MM: f64 = 0.8;

/// A direction must differ by this much of a level before the level changes, so that the slightly
/// different slants of one satin stay one path.
const HOLD: f64 = 0.75;

/// A sequence of stitches of one stop and level, in sewing order.
pub struct Run {
    pub stop: usize,
    pub level: usize,
    /// SVG path data, in points, y downwards.
    pub path: String,
}

/// The stitches of a design as few paths as equal looks allow.
pub fn runs(design: &Design) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    let mut pen = None;
    for (i, pair) in design.points.windows(2).enumerate() {
        let (Some(&link), Some(&stop)) = (design.links.get(i + 1), design.stops.get(i + 1)) else {
            break;
        };
        if link != Link::Sewn {
            pen = None;
            continue;
        }
        let stop = stop as usize;
        let before = runs.last().filter(|run| run.stop == stop).map(|run| run.level);
        let level = level_of(pair[0], pair[1], before);
        if before != Some(level) {
            runs.push(Run { stop, level, path: String::new() });
            pen = None;
        }
        if let Some(run) = runs.last_mut() {
            draw(&mut run.path, pen, pair[0], pair[1]);
        }
        pen = Some(pair[1]);
    }
    runs
}

/// Appends one stitch to path data. Writing to a string cannot fail.
fn draw(path: &mut String, pen: Option<Pt>, from: Pt, to: Pt) {
    if pen != Some(from) {
        let _ = write!(path, "M{} {}l", from.x, -from.y);
    } else if !path.ends_with('l') {
        path.push(' ');
    }
    let step = to - from;
    let _ = write!(path, "{} {}", step.x, -step.y);
}

fn level_of(from: Pt, to: Pt, before: Option<usize>) -> usize {
    let middle = LEVELS / 2;
    if from.distance(to) < SHORT_MM {
        return before.unwrap_or(middle);
    }
    let (a, b) = (from.mm(), to.mm());
    let off = (b.y - a.y).atan2(b.x - a.x) - LIGHT_DEG.to_radians();
    let wanted = (0.5 + 0.5 * (2.0 * off).cos()) * (LEVELS - 1) as f64;
    match before {
        Some(level) if (wanted - level as f64).abs() <= HOLD => level,
        _ => (wanted.round() as usize).min(LEVELS - 1),
    }
}

/// Colour of a thread at a level, and of the light along its middle.
pub fn shades(thread: Rgb, level: usize) -> (Rgb, Rgb) {
    let tone = level as f64 / (LEVELS - 1) as f64 - 0.5;
    let toward = if tone < 0.0 { [0; 3] } else { [0xff; 3] };
    let body = mix(thread, toward, tone.abs() * 0.34);
    (mix(body, [0; 3], 0.12), mix(body, [0xff; 3], 0.16))
}

/// Style rules for the stops and levels in use: `a<stop>-<level>` body, `b<stop>-<level>` light.
pub fn styles(runs: &[Run], threads: &[Rgb]) -> String {
    let mut used: Vec<(usize, usize)> = runs.iter().map(|run| (run.stop, run.level)).collect();
    used.sort_unstable();
    used.dedup();
    let mut css = String::new();
    for (stop, level) in used {
        let thread = crate::report::thread::drawn(stop, threads.get(stop).copied());
        let (body, light) = shades(thread, level);
        let _ = write!(
            css,
            ".a{stop}-{level}{{stroke:{};stroke-width:4}}.b{stop}-{level}{{stroke:{};stroke-width:1.3}}",
            hex(body),
            hex(light)
        );
    }
    css
}

#[cfg(test)]
mod tests {
    use super::*;

    fn design(points: &[(i32, i32)], links: &[Link], stops: &[u32]) -> Design {
        Design {
            points: points.iter().map(|p| Pt::new(p.0, p.1)).collect(),
            links: links.to_vec(),
            stops: stops.to_vec(),
            ..Design::default()
        }
    }

    #[test]
    fn a_straight_line_is_one_path_and_a_jump_lifts_the_pen() {
        let line = design(
            &[(0, 0), (30, 0), (60, 0), (90, 0), (120, 0)],
            &[Link::Jump, Link::Sewn, Link::Sewn, Link::Jump, Link::Sewn],
            &[0; 5],
        );
        let runs = runs(&line);
        assert_eq!(runs.len(), 1);
        assert_eq!(runs[0].path, "M0 0l30 0 30 0M90 0l30 0");
    }

    #[test]
    fn a_new_stop_or_direction_starts_a_new_path() {
        let bent = design(
            &[(0, 0), (30, 0), (30, 30), (60, 30)],
            &[Link::Jump, Link::Sewn, Link::Sewn, Link::Sewn],
            &[0, 0, 0, 1],
        );
        let runs = runs(&bent);
        assert_eq!(runs.iter().map(|r| r.stop).collect::<Vec<_>>(), [0, 0, 1]);
        assert_ne!(runs[0].level, runs[1].level);
        assert_eq!(runs[1].path, "M30 0l0 -30");
    }

    #[test]
    fn satin_zigzag_is_one_path() {
        let points: Vec<_> = (0..200).map(|i| (2 * i, if i % 2 == 0 { 0 } else { 30 })).collect();
        let satin = design(&points, &[Link::Sewn; 200], &[0; 200]);
        assert_eq!(runs(&satin).len(), 1);
    }
}
