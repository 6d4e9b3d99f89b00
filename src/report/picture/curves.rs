//! Junctions: their shared curves, thin stretches apart from sound ones, with the overlap in mm.

use std::fmt::Write;

use geo::Coord;

use super::objects::path;
use super::xml::escape;
use crate::report::survey::Overlap;
use crate::survey::{DEEPEST_MM, Junction, Sample};

/// A thin stretch of fewer samples than this is no place for a figure (J: a corner).
const SHORT: usize = 4;

/// How curves look: bands through which rails can be seen, thin stretches red. `unit` is the size
/// of small print in points.
pub fn styles(unit: f64) -> String {
    let width = 0.22 * unit;
    format!(
        ".curve path{{fill:none;stroke-linejoin:round;stroke:#123a6b;opacity:0.3;\
         stroke-width:{width:.1}}}\
         .curve .thin{{stroke:#c1121f;opacity:0.8}}"
    )
}

/// One junction, with its measures as a tool tip; `thin`: an overlap under this is too thin, mm.
pub fn group(junction: &Junction, thin: f64) -> String {
    let Overlap { least, mean, most } = Overlap::of(&junction.samples);
    let words = format!(
        "{} under {}: {mean:.2} mm ({least:.2} to {most:.2}) over {:.1} mm of edge",
        junction.under, junction.over, junction.length
    );
    let mut svg = format!("<g class=\"curve\"><title>{}</title>", escape(&words));
    for (is_thin, line) in stretches(junction, thin) {
        let class = if is_thin { " class=\"thin\"" } else { "" };
        // Writing to a string cannot fail.
        let _ = write!(svg, "<path{class} d=\"{}\"/>", path(&line));
    }
    svg.push_str("</g>\n");
    svg
}

/// Lines through all samples, each thin or not; a step between both belongs to the sound one.
fn stretches(junction: &Junction, thin: f64) -> Vec<(bool, Vec<Coord<f64>>)> {
    let mut samples: Vec<&Sample> = junction.samples.iter().collect();
    if junction.closed {
        samples.extend(junction.samples.first());
    }
    let step_is_thin = |pair: &[&Sample]| pair.iter().all(|sample| sample.overlap < thin);
    let mut stretches: Vec<(bool, Vec<Coord<f64>>)> = Vec::new();
    for pair in samples.windows(2) {
        let is_thin = step_is_thin(pair);
        match stretches.last_mut() {
            Some((known, line)) if *known == is_thin => line.push(pair[1].at),
            _ => stretches.push((is_thin, vec![pair[0].at, pair[1].at])),
        }
    }
    stretches
}

/// An overlap in mm and where it is written, mm.
pub struct Figure {
    pub is_thin: bool,
    pub text: String,
    pub at: Coord<f64>,
}

/// The mean overlap of every thin stretch, else of the whole junction; none where one object simply lies
/// on the other.
pub fn figures(junction: &Junction, thin: f64) -> Vec<Figure> {
    let is_thin = |sample: &Sample| sample.overlap < thin;
    let stretches = junction.samples.chunk_by(|a, b| is_thin(a) == is_thin(b));
    let red = stretches.filter(|samples| samples.len() >= SHORT && is_thin(&samples[0]));
    let red: Vec<Figure> = red.filter_map(|samples| mean(samples, true)).collect();
    if red.is_empty() { mean(&junction.samples, false).into_iter().collect() } else { red }
}

fn mean(samples: &[Sample], is_thin: bool) -> Option<Figure> {
    let deep = samples.iter().filter(|sample| sample.overlap >= DEEPEST_MM).count();
    if 2 * deep > samples.len() {
        return None;
    }
    let mean = format!("{:.1}", Overlap::of(samples).mean);
    // A hair's gap is none.
    let text = if mean == "-0.0" { "0.0".to_owned() } else { mean.replace('-', "−") };
    Some(Figure { is_thin, text, at: samples.get(samples.len() / 2)?.at })
}
