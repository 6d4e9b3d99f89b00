use std::fmt::Write;

use crate::design::{Design, Link, Pt};
use crate::report::thread::{Rgb, hex, mix};

/// Levels of lightness by stitch direction: enough for curves to change softly.
pub const LEVELS: usize = 9;

/// Direction of the light, degrees: stitches along it look lightest.
const LIGHT_DEG: f64 = 60.0;

/// Stitches shorter than this (mm) take the level of their neighbours: row joins would flicker.
const SHORT_MM: f64 = 0.8;

/// Stitches on each side whose directions are averaged in: both slants of a satin then look alike,
/// and rows of equal direction do, whatever was sewn before them.
const AROUND: usize = 4;

/// Cosine of twice the angle (40°) up to which neighbours are averaged in.
const ALIKE: f64 = 0.17;

/// An average must differ by this much of a level before the level changes, so that one between
/// two levels does not flicker.
const HOLD: f64 = 0.55;

/// A sequence of stitches of one stop and level, in sewing order.
pub struct Run {
    pub stop: usize,
    pub level: usize,
    /// SVG path data, in points, y downwards.
    pub path: String,
}

/// The stitches of a design as few paths as equal looks allow.
pub fn runs(design: &Design) -> Vec<Run> {
    let steps = steps(design);
    let mut runs: Vec<Run> = Vec::new();
    let mut pen = None;
    for (i, (pair, step)) in design.points.windows(2).zip(&steps).enumerate() {
        let Some(step) = step else {
            pen = None;
            continue;
        };
        let stop = step.stop as usize;
        let before = runs.last().filter(|run| run.stop == stop).map(|run| run.level);
        let level = level(tone(&steps, i), before);
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

/// One stitch.
struct Step {
    stop: u32,
    /// Vector at twice the stitch's angle, as long as the stitch (mm), so that both ways along a
    /// line are one; none where it is too short to look like anything.
    twice: Option<(f64, f64)>,
}

/// What ends at each needle point from the second on; none where nothing is sewn.
fn steps(design: &Design) -> Vec<Option<Step>> {
    let ends = design.points.windows(2).zip(design.links.iter().zip(&design.stops).skip(1));
    ends.map(|(pair, (&link, &stop))| {
        (link == Link::Sewn).then(|| Step { stop, twice: twice(pair[0], pair[1]) })
    })
    .collect()
}

fn twice(from: Pt, to: Pt) -> Option<(f64, f64)> {
    let length = from.distance(to);
    let (a, b) = (from.mm(), to.mm());
    let angle = 2.0 * (b.y - a.y).atan2(b.x - a.x);
    (length >= SHORT_MM).then(|| (length * angle.cos(), length * angle.sin()))
}

/// How light a stitch looks, 0 to 1: by its direction and that of its neighbours in one stretch.
fn tone(steps: &[Option<Step>], i: usize) -> Option<f64> {
    let step = steps.get(i)?.as_ref()?;
    let own = step.twice?;
    let here = |near: &Option<Step>| near.as_ref().is_some_and(|near| near.stop == step.stop);
    let alike = |other: &(f64, f64)| {
        let lengths = own.0.hypot(own.1) * other.0.hypot(other.1);
        own.0 * other.0 + own.1 * other.1 > ALIKE * lengths
    };
    let behind = steps[..i].iter().rev().take(AROUND).take_while(|near| here(near));
    let ahead = steps[i + 1..].iter().take(AROUND).take_while(|near| here(near));
    let others = behind.chain(ahead).filter_map(|near| near.as_ref()?.twice).filter(alike);
    let (x, y) = others.fold(own, |sum, other| (sum.0 + other.0, sum.1 + other.1));
    let off = y.atan2(x) - 2.0 * LIGHT_DEG.to_radians();
    Some(0.5 + 0.5 * off.cos())
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

fn level(tone: Option<f64>, before: Option<usize>) -> usize {
    let Some(tone) = tone else { return before.unwrap_or(LEVELS / 2) };
    let wanted = tone * (LEVELS - 1) as f64;
    match before {
        Some(level) if (wanted - level as f64).abs() <= HOLD => level,
        _ => (wanted.round() as usize).min(LEVELS - 1),
    }
}

/// Colour of a thread at a level, and of the light along its middle.
pub fn shades(thread: Rgb, level: usize) -> (Rgb, Rgb) {
    let tone = level as f64 / (LEVELS - 1) as f64 - 0.5;
    let toward = if tone < 0.0 { [0; 3] } else { [0xff; 3] };
    let body = mix(thread, toward, tone.abs() * 0.26);
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
    #[test]
    fn rows_look_alike_whatever_was_sewn_before() {
        // Rows at 172° after stitches at 60° (lightest) and at 150° (darkest).
        let level = |dx: i32, dy: i32| {
            let mut points = vec![(0, 0)];
            points.extend((1..20).map(|i| (i * dx, i * dy)));
            let (x, y) = (19 * dx, 19 * dy);
            points.extend((1..20).map(|i| (x - i * 30, y + i * 4)));
            let count = points.len();
            let runs = runs(&design(&points, &vec![Link::Sewn; count], &vec![0; count]));
            runs.last().map(|run| run.level)
        };
        assert!(level(10, 17).is_some());
        assert_eq!(level(10, 17), level(-17, 10));
    }
}
