//! Recognised objects: area, rails, lines and the direction of rows, each object a group of its own.

use std::fmt::Write;

use geo::{Coord, coord};

use super::xml::escape;
use crate::objects::{Class, Object, Shape};
use crate::report::thread::{Rgb, hex, mix};
use crate::report::{round_angle, words};

/// Thread on cloth, points: common practice of 40 weight, no published source.
const THREAD: f64 = 4.0;

/// How objects look. `unit` is the size of small print in points.
pub fn styles(unit: f64) -> String {
    let (edge, dash) = (0.07 * unit, 0.25 * unit);
    format!(
        ".area{{fill-opacity:0.9;fill-rule:evenodd;stroke-width:{edge:.1}}}\
         .satin{{stroke-width:{hair:.1}}}\
         .rail{{fill:none;stroke-width:{edge:.1}}}\
         .right{{stroke-dasharray:{dash:.1} {dash:.1}}}\
         .sewn{{fill:none;stroke-width:{THREAD};stroke-linecap:round;stroke-linejoin:round}}\
         .beneath{{stroke-width:{edge:.1};stroke-dasharray:{edge:.1} {dash:.1}}}\
         .unsure{{stroke-width:{edge:.1}}}\
         .rows{{fill:none;stroke:#222;stroke-width:{rows:.1};stroke-linecap:round}}",
        hair = 0.2 * edge,
        rows = 0.12 * unit,
    )
}

/// One object in its tint, with what was read out of it as a tool tip.
pub fn group(object: &Object, tint: Rgb) -> String {
    let (fill, edge) = (hex(tint), hex(mix(tint, [0; 3], 0.45)));
    let mut svg = format!(
        "<g id=\"{id}\" class=\"object\" fill=\"{fill}\" stroke=\"{edge}\"><title>{words}</title>",
        id = object.id,
        words = escape(&described(object))
    );
    // Writing to a string cannot fail, here and below.
    if is_area(object) {
        let class = if object.satin().is_some() { "area satin" } else { "area" };
        let _ = write!(svg, "<path class=\"{class}\" d=\"{}\"/>", area(object));
        if let Some(satin) = object.satin() {
            for (class, rail) in ["rail", "rail right"].into_iter().zip(&satin.rails) {
                let _ = write!(svg, "<path class=\"{class}\" d=\"{}\"/>", path(rail));
            }
        }
    } else {
        let (class, stroke) = match object.class {
            Class::Underlay | Class::Guard => ("sewn beneath", &edge),
            Class::Unsure => ("sewn unsure", &edge),
            _ => ("sewn", &fill),
        };
        let _ = write!(svg, "<path class=\"{class}\" stroke=\"{stroke}\" d=\"{}\"/>", line(object));
    }
    svg.push_str("</g>\n");
    svg
}

/// Has the object an area that can be drawn? All others are lines.
pub fn is_area(object: &Object) -> bool {
    object.class != Class::Unsure && !object.footprint.0.is_empty()
}

fn described(object: &Object) -> String {
    let mut text = format!(
        "{}: {}, stop {}, element {}, {:.0} % sure",
        object.id,
        words::class(object.class),
        object.stop + 1,
        object.element,
        100.0 * object.confidence
    );
    let _ = match &object.shape {
        Shape::Satin(satin) => write!(
            text,
            "; {:.1} mm wide, same-side pitch {:.2} mm",
            satin.width[1], satin.same_side_pitch
        ),
        Shape::Fill(fill) => write!(
            text,
            "; rows at {}°, row pitch {:.2} mm, stitch {:.1} mm",
            round_angle(fill.angle, 0),
            fill.row_pitch,
            fill.stitch
        ),
        Shape::Line | Shape::Unknown => Ok(()),
    };
    text
}

/// mm upwards to points downwards.
pub fn flipped(at: Coord<f64>) -> Coord<f64> {
    coord! { x: at.x * 10.0, y: -at.y * 10.0 }
}

/// Path data of a polyline, mm.
pub fn path(line: &[Coord<f64>]) -> String {
    let mut data = String::new();
    for (index, at) in line.iter().enumerate() {
        let at = flipped(*at);
        let pen = if index == 0 { 'M' } else { 'L' };
        let _ = write!(data, "{pen}{:.1} {:.1}", at.x, at.y);
    }
    data
}

fn area(object: &Object) -> String {
    let rings = object
        .footprint
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors().iter()));
    rings.map(|ring| path(&ring.0) + "Z").collect()
}

/// All stitches of an object; the pen is lifted where nothing is sewn.
fn line(object: &Object) -> String {
    let mut data = String::new();
    for part in &object.parts {
        for (index, needle) in part.needles.iter().enumerate() {
            let lifted = index == 0 && part.link != crate::design::Link::Sewn || data.is_empty();
            let pen = if lifted { 'M' } else { 'L' };
            let _ = write!(data, "{pen}{} {}", needle.at.x, -needle.at.y);
        }
    }
    data
}
