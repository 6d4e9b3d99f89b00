//! A tape as an SVG: thread on cap cloth, the seam, numbered findings and a mm scale; or the objects
//! that were recognised in it.

mod curves;
mod labels;
mod marks;
mod near;
mod objects;
mod places;
mod seen;
mod sheet;
mod strokes;
mod survey;
mod tints;
mod xml;

use std::fmt::Write;

use sheet::Sheet;
pub use survey::{SurveyPicture, survey_svg};

use super::thread::Rgb;
use super::{TapeFacts, thread};
use crate::design::Design;
use crate::survey::Finding;

/// What a picture shows.
#[derive(Clone, Copy, Debug)]
pub struct Picture<'a> {
    /// Any text, for example file name and state; escaped here.
    pub title: &'a str,
    pub design: &'a Design,
    /// Colour of each stop where it is known; the others come from a built-in palette.
    pub threads: &'a [Option<Rgb>],
    /// x of the centre seam, mm.
    pub seam_x: Option<f64>,
    /// Marked and numbered in this order, from 1.
    pub findings: &'a [Finding],
}

/// Draws a picture. One SVG unit is one point (0.1 mm); the SVG has its true size in mm.
pub fn svg(picture: &Picture) -> String {
    let runs = strokes::runs(picture.design);
    let stops = picture.design.stop_count() as usize;
    let threads: Vec<Rgb> = (0..stops)
        .map(|stop| thread::drawn(stop, picture.threads.get(stop).copied().flatten()))
        .collect();
    let facts = TapeFacts::of(picture.design);
    let legend = marks::legend(picture.findings);
    let sheet = Sheet::new(picture.title, facts, thread::ground(&threads), legend);
    let styles = format!(
        ".thread{{fill:none;stroke-linecap:round;stroke-linejoin:round}}{}{}",
        strokes::styles(&runs, &threads),
        marks::styles(sheet.unit)
    );
    let mut svg = sheet.head(&styles);
    svg.push_str("<g class=\"thread\">\n");
    for (index, run) in runs.iter().enumerate() {
        // Writing to a string cannot fail, here and below.
        let _ = writeln!(
            svg,
            "<g class=\"a{stop}-{level}\"><path id=\"r{index}\" d=\"{path}\"/>\
             <use href=\"#r{index}\" class=\"b{stop}-{level}\"/></g>",
            stop = run.stop,
            level = run.level,
            path = run.path
        );
    }
    svg.push_str("</g>\n");
    svg.push_str(&sheet.seam(picture.seam_x));
    svg.push_str(&marks::badges(picture.findings, sheet.unit));
    svg.push_str(&sheet.captions(picture.seam_x.is_some()));
    svg.push_str("</svg>\n");
    svg
}

#[cfg(test)]
mod tests;
