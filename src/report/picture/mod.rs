//! A tape as an SVG: thread on cap cloth, the seam, numbered findings and a mm scale.

mod marks;
mod strokes;
mod xml;

use std::fmt::Write;

use super::thread::{Rgb, hex, luma, mix};
use super::{TapeFacts, thread, words};
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

/// Free space around the stitches, points.
const MARGIN: f64 = 50.0;

/// Draws a picture. One SVG unit is one point (0.1 mm); the SVG has its true size in mm.
pub fn svg(picture: &Picture) -> String {
    let runs = strokes::runs(picture.design);
    let stops = picture.design.stop_count() as usize;
    let threads: Vec<Rgb> = (0..stops)
        .map(|stop| thread::drawn(stop, picture.threads.get(stop).copied().flatten()))
        .collect();
    let sheet = Sheet::new(picture, &threads);
    let mut svg = sheet.head(&strokes::styles(&runs, &threads), picture.title);
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
    svg.push_str(&sheet.captions(picture));
    svg.push_str("</svg>\n");
    svg
}

/// Measures of the drawing, in points, y downwards.
struct Sheet {
    left: f64,
    top: f64,
    width: f64,
    height: f64,
    /// Lowest stitch.
    foot: f64,
    /// Size of small print.
    unit: f64,
    ground: Rgb,
    legend: Vec<String>,
}

impl Sheet {
    fn new(picture: &Picture, threads: &[Rgb]) -> Self {
        let [x0, y0, x1, y1] = TapeFacts::of(picture.design).bounds_mm.map(|mm| mm * 10.0);
        let unit = ((x1 - x0).max(y1 - y0) / 40.0).clamp(16.0, 80.0);
        let legend = marks::legend(picture.findings);
        let below = unit * (3.2 + 1.4 * legend.len() as f64);
        let width = (x1 - x0 + 2.0 * MARGIN).max(24.0 * unit);
        Self {
            left: (x0 + x1 - width) / 2.0,
            top: -y1 - MARGIN - 2.0 * unit,
            width,
            height: y1 - y0 + 2.0 * MARGIN + 2.0 * unit + below,
            foot: -y0,
            unit,
            ground: thread::ground(threads),
            legend,
        }
    }

    /// Opening tag, styles, ground.
    fn head(&self, styles: &str, title: &str) -> String {
        let dark = luma(self.ground) < 128;
        let ink = if dark { [0xf2, 0xef, 0xe8] } else { [0x2b, 0x2b, 0x2b] };
        let line = mix(self.ground, ink, 0.45);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{mm_w:.1}mm\" height=\"{mm_h:.1}mm\" \
             viewBox=\"{x:.1} {y:.1} {w:.1} {h:.1}\">\n<title>{title}</title>\n<style>\
             .thread{{fill:none;stroke-linecap:round;stroke-linejoin:round}}{styles}\
             text{{font-family:sans-serif;font-size:{unit:.1}px;fill:{ink}}}\
             .line{{fill:none;stroke:{line};stroke-width:{thin:.1}}}\
             .seam{{stroke-dasharray:{dash:.1} {dash:.1};opacity:0.7}}\
             .fault text,.advice text{{font-size:{small:.1}px;font-weight:bold;text-anchor:middle}}\
             .fault circle{{fill:#fff7e8;stroke:#b3261e;stroke-width:{thin:.1}}}\
             .fault text{{fill:#8c1d18}}.fault path{{stroke:#b3261e;stroke-width:{thin:.1}}}\
             .advice circle{{fill:#fffdf8;stroke:#5c6470;stroke-width:{thin:.1}}}\
             .advice text{{fill:#3f4650}}.advice path{{stroke:#5c6470;stroke-width:{thin:.1}}}\
             </style>\n<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{w:.1}\" height=\"{h:.1}\" \
             fill=\"{ground}\"/>\n",
            mm_w = self.width / 10.0,
            mm_h = self.height / 10.0,
            x = self.left,
            y = self.top,
            w = self.width,
            h = self.height,
            title = xml::escape(title),
            unit = self.unit,
            small = marks::DIGIT * self.unit,
            thin = 0.09 * self.unit,
            dash = 0.6 * self.unit,
            ink = hex(ink),
            line = hex(line),
            ground = hex(self.ground),
        )
    }

    fn seam(&self, seam_x: Option<f64>) -> String {
        let Some(x) = seam_x.map(|mm| mm * 10.0) else { return String::new() };
        let (from, to) = (self.top + 2.2 * self.unit, self.foot + MARGIN);
        format!("<path class=\"line seam\" d=\"M{x:.1} {from:.1}V{to:.1}\"/>\n")
    }

    /// Title above; scale and legend below.
    fn captions(&self, picture: &Picture) -> String {
        let (x, unit) = (self.left + MARGIN / 2.0, self.unit);
        let facts = TapeFacts::of(picture.design);
        let mut svg = format!(
            "<text x=\"{x:.1}\" y=\"{:.1}\">{} · {} stitches · {:.1} × {:.1} mm</text>\n",
            self.top + 1.7 * unit,
            xml::escape(picture.title),
            words::thousands(facts.stitches),
            facts.width_mm,
            facts.height_mm
        );
        svg.push_str(&self.scale(x, picture.seam_x.is_some()));
        for (line, text) in self.legend.iter().enumerate() {
            let y = self.foot + MARGIN + unit * (3.2 + 1.4 * line as f64);
            let _ = writeln!(svg, "<text x=\"{x:.1}\" y=\"{y:.1}\">{}</text>", xml::escape(text));
        }
        svg
    }

    /// A ruler of 10 mm (50 mm on large designs) with ticks in between.
    fn scale(&self, x: f64, seam: bool) -> String {
        let (unit, y) = (self.unit, self.foot + MARGIN + 1.0 * self.unit);
        let (length, step) = if self.width > 1500.0 { (500.0, 100.0) } else { (100.0, 10.0) };
        let mut path = format!("M{x:.1} {y:.1}h{length}");
        for tick in 0..=(length / step) as u32 {
            let reach = if tick % 5 == 0 { 0.7 } else { 0.4 };
            let at = x + f64::from(tick) * step;
            let _ = write!(path, "M{at:.1} {y:.1}v{:.1}", -reach * unit);
        }
        let note = if seam { " · dashed: centre seam" } else { "" };
        format!(
            "<path class=\"line\" d=\"{path}\"/><text x=\"{:.1}\" y=\"{y:.1}\">{:.0} mm{note}</text>\n",
            x + length + 0.6 * unit,
            length / 10.0
        )
    }
}

#[cfg(test)]
mod tests;
