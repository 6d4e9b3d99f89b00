//! The sheet that a picture is drawn on: true size, ground, seam, title, scale and legend.

use std::fmt::Write;

use super::xml::escape;
use crate::report::thread::{Rgb, hex, luma, mix};
use crate::report::{TapeFacts, words};

/// Free space around the stitches, points.
const MARGIN: f64 = 50.0;

/// Width of a letter in units of small print, and the letters that the narrowest sheet has room for;
/// longer headings make it wider, up to a limit.
const LETTER: f64 = 0.57;
const LEAST_LETTERS: usize = 40;
const MOST_LETTERS: usize = 120;

/// Measures of the drawing, in points, y downwards.
pub struct Sheet<'a> {
    /// Escaped where it is written.
    title: &'a str,
    left: f64,
    top: f64,
    width: f64,
    height: f64,
    /// Lowest stitch.
    foot: f64,
    /// Size of small print.
    pub unit: f64,
    ground: Rgb,
    legend: Vec<String>,
    facts: TapeFacts,
}

impl<'a> Sheet<'a> {
    /// One line of small print below the scale for each line of the legend, escaped here.
    pub fn new(title: &'a str, facts: TapeFacts, ground: Rgb, legend: Vec<String>) -> Self {
        let [x0, y0, x1, y1] = facts.bounds_mm.map(|mm| mm * 10.0);
        let unit = ((x1 - x0).max(y1 - y0) / 40.0).clamp(16.0, 80.0);
        let below = unit * (3.2 + 1.4 * legend.len() as f64);
        let letters = heading(title, &facts).chars().count().clamp(LEAST_LETTERS, MOST_LETTERS);
        let width = (x1 - x0 + 2.0 * MARGIN).max(letters as f64 * LETTER * unit + MARGIN);
        Self {
            title,
            left: (x0 + x1 - width) / 2.0,
            top: -y1 - MARGIN - 2.0 * unit,
            width,
            height: y1 - y0 + 2.0 * MARGIN + 2.0 * unit + below,
            foot: -y0,
            unit,
            ground,
            legend,
            facts,
        }
    }

    /// Opening tag, styles, ground.
    pub fn head(&self, styles: &str) -> String {
        let dark = luma(self.ground) < 128;
        let ink = if dark { [0xf2, 0xef, 0xe8] } else { [0x2b, 0x2b, 0x2b] };
        let line = mix(self.ground, ink, 0.45);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{mm_w:.1}mm\" height=\"{mm_h:.1}mm\" \
             viewBox=\"{x:.1} {y:.1} {w:.1} {h:.1}\">\n<title>{title}</title>\n<style>{styles}\
             text{{font-family:sans-serif;font-size:{unit:.1}px;fill:{ink}}}\
             .line{{fill:none;stroke:{line};stroke-width:{thin:.1}}}\
             .seam{{stroke-dasharray:{dash:.1} {dash:.1};opacity:0.7}}\
             </style>\n<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{w:.1}\" height=\"{h:.1}\" \
             fill=\"{ground}\"/>\n",
            mm_w = self.width / 10.0,
            mm_h = self.height / 10.0,
            x = self.left,
            y = self.top,
            w = self.width,
            h = self.height,
            title = escape(self.title),
            unit = self.unit,
            thin = 0.09 * self.unit,
            dash = 0.6 * self.unit,
            ink = hex(ink),
            line = hex(line),
            ground = hex(self.ground),
        )
    }

    pub fn seam(&self, seam_x: Option<f64>) -> String {
        let Some(x) = seam_x.map(|mm| mm * 10.0) else { return String::new() };
        let (from, to) = (self.top + 2.2 * self.unit, self.foot + MARGIN);
        format!("<path class=\"line seam\" d=\"M{x:.1} {from:.1}V{to:.1}\"/>\n")
    }

    /// Title above; scale and legend below.
    pub fn captions(&self, seam: bool) -> String {
        let (x, unit) = (self.left + MARGIN / 2.0, self.unit);
        let mut svg = format!(
            "<text x=\"{x:.1}\" y=\"{:.1}\">{}</text>\n",
            self.top + 1.7 * unit,
            escape(&heading(self.title, &self.facts))
        );
        svg.push_str(&self.scale(x, seam));
        for (line, text) in self.legend.iter().enumerate() {
            let y = self.foot + MARGIN + unit * (3.2 + 1.4 * line as f64);
            let _ = writeln!(svg, "<text x=\"{x:.1}\" y=\"{y:.1}\">{}</text>", escape(text));
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

fn heading(title: &str, facts: &TapeFacts) -> String {
    let stitches = words::thousands(facts.stitches);
    format!("{title} · {stitches} stitches · {:.1} × {:.1} mm", facts.width_mm, facts.height_mm)
}
