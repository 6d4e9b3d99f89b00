//! What was recognised in a tape, as an SVG.

use std::fmt::Write;

use super::labels::Labels;
use super::near::neighbours;
use super::objects::is_area;
use super::sheet::Sheet;
use super::{curves, objects, places, tints};
use crate::design::Design;
use crate::geometry::vector::{direction, left_of};
use crate::objects::{Class, Objects};
use crate::report::thread::Rgb;
use crate::report::{TapeFacts, round_angle};
use crate::survey::Junction;

/// What a picture of a survey shows.
#[derive(Clone, Copy, Debug)]
pub struct SurveyPicture<'a> {
    /// Any text, for example the file name; escaped here.
    pub title: &'a str,
    pub design: &'a Design,
    pub objects: &'a Objects,
    pub junctions: &'a [Junction],
    /// x of the centre seam, mm.
    pub seam_x: Option<f64>,
    /// An overlap under this is too thin, mm.
    pub thin: f64,
}

/// Paper: tints show true on it.
const GROUND: Rgb = [0xfb, 0xfa, 0xf7];

/// Size of names and figures, in units of small print.
const SMALL: f64 = 0.5;

/// Greatest length of the line that shows the rows' angle, in units of small print.
const ROWS: f64 = 6.0;

/// Draws a survey. One SVG unit is one point (0.1 mm); the SVG has its true size in mm.
pub fn survey_svg(picture: &SurveyPicture) -> String {
    let items = &picture.objects.items;
    let facts = TapeFacts::of(picture.design);
    let sheet = Sheet::new(picture.title, facts, GROUND, legend(picture.thin));
    let mut svg = sheet.head(&styles(sheet.unit));
    let tinted: Vec<_> = items.iter().zip(tints::tints(&neighbours(items))).collect();
    // Lines after areas: what lies beneath is to be seen too.
    for areas in [true, false] {
        let wanted = tinted.iter().filter(|(object, _)| is_area(object) == areas);
        svg.extend(wanted.map(|(object, tint)| objects::group(object, *tint)));
    }
    svg.extend(picture.junctions.iter().map(|junction| curves::group(junction, picture.thin)));
    svg.push_str(&sheet.seam(picture.seam_x));
    svg.push_str(&texts(picture, sheet.unit));
    svg.push_str(&sheet.captions(picture.seam_x.is_some()));
    svg.push_str("</svg>\n");
    svg
}

fn styles(unit: f64) -> String {
    format!(
        "{}{}.name,.figure{{font-size:{small:.1}px;text-anchor:middle;paint-order:stroke;\
         stroke:#fff;stroke-width:{rim:.1}px;stroke-linejoin:round}}\
         .figure{{fill:#123a6b}}.red{{font-weight:bold;fill:#8c1d18}}\
         .leader{{stroke:#222;stroke-width:{leader:.1}}}",
        objects::styles(unit),
        curves::styles(unit),
        small = SMALL * unit,
        rim = 0.14 * unit,
        leader = 0.05 * unit,
    )
}

/// Names of objects, angles of rows, overlaps of junctions.
fn texts(picture: &SurveyPicture, unit: f64) -> String {
    let mut labels = Labels::new(SMALL * unit);
    let mut rows = String::new();
    let items = &picture.objects.items;
    for (index, object) in items.iter().enumerate() {
        let Some(at) = places::anchor(object, &items[index + 1..]) else { continue };
        let bar = places::along_rows(object, at, ROWS * unit / 10.0);
        let (Some(fill), Some(ends)) = (object.fill(), bar) else {
            labels.put("name", &object.id.to_string(), at);
            continue;
        };
        // Writing to a string cannot fail, here and below.
        let _ = writeln!(rows, "<path class=\"rows\" d=\"{}\"/>", objects::path(&ends));
        let about = if object.class == Class::CurvedFill { "≈ " } else { "" };
        let name = format!("{} {about}{}°", object.id, round_angle(fill.angle, 0));
        // Beside the bar.
        let off = left_of(direction(fill.angle));
        let reach = SMALL * unit * off.y.abs() + labels.half(&name) * off.x.abs() + 0.1 * unit;
        labels.put("name", &name, at + off * (reach / 10.0));
    }
    for junction in picture.junctions {
        for figure in curves::figures(junction, picture.thin) {
            let class = if figure.is_thin { "figure red" } else { "figure" };
            labels.put(class, &figure.text, figure.at);
        }
    }
    rows + &labels.finish()
}

/// Lines short enough for the narrowest sheet.
fn legend(thin: f64) -> Vec<String> {
    vec![
        "o0, o1 …: objects in sewing order".to_owned(),
        "edges: left rail solid, right rail dashed".to_owned(),
        "bar and °: direction of a fill’s rows".to_owned(),
        "dotted: underlay, guards; thin: unsure".to_owned(),
        format!("red: edge with less than {thin:.1} mm of overlap"),
        "figures: mean overlap of what is red, else of".to_owned(),
        "the whole edge, mm; below 0 a gap".to_owned(),
    ]
}

#[cfg(test)]
#[path = "survey_tests.rs"]
mod tests;
