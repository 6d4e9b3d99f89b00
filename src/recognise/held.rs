//! Appliqué and foam: stops that must stay as they are.

use geo::Coord;

use crate::geometry::locate::Locator;
use crate::geometry::polyline::length;
use crate::objects::{Class, Object, Objects, Satin};
use crate::settings::Settings;

/// Placement, tack-down and cover of an appliqué follow one outline within this distance, mm.
const SAME_OUTLINE: f64 = 1.3;
/// Columns over foam are at least this wide, mm (J).
const FOAM_WIDTH: f64 = 2.5;
/// Share of the outline that must agree.
const AGREES: f64 = 0.75;

pub fn mark(objects: &mut Objects, settings: &Settings) {
    mark_applique(objects);
    let foam = settings.profile.numbers.foam_pitch_mm;
    for object in &mut objects.items {
        if object.satin().is_some_and(|satin| is_over_foam(satin, foam)) {
            object.held = true;
        }
    }
}

/// Dense stitching covers foam in broad columns; in small letters it follows tight bends.
fn is_over_foam(satin: &Satin, pitch: f64) -> bool {
    satin.width[1] >= FOAM_WIDTH && mean_pitch(satin) < pitch
}

/// Mean distance of needle points on the same rail, mm: in a bend the inner ones crowd and the outer
/// ones part, and the grid rounds both.
fn mean_pitch(satin: &Satin) -> f64 {
    let steps: usize = satin.rails.iter().map(|rail| rail.len().saturating_sub(1)).sum();
    let length: f64 = satin.rails.iter().map(|rail| length(rail)).sum();
    length / steps.max(1) as f64
}

/// A run-only stop retraced by the next stop, then covered by a satin of a later stop.
fn mark_applique(objects: &mut Objects) {
    let stops = objects.items.iter().map(|o| o.stop + 1).max().unwrap_or(0);
    for stop in 0..stops {
        if !is_run_stop(objects, stop) {
            continue;
        }
        let outline = path(objects, stop);
        let retraced = (stop + 1..stops).find(|&next| follows(&outline, &path(objects, next)));
        let Some(tack) = retraced.filter(|&tack| is_run_stop(objects, tack)) else { continue };
        let cover = objects
            .items
            .iter()
            .position(|o| o.stop > tack && o.satin().is_some() && covers(o, &outline));
        if let Some(cover) = cover {
            objects.items[cover].held = true;
            for object in &mut objects.items {
                object.held |= object.stop == stop || object.stop == tack;
            }
        }
    }
}

fn is_run_stop(objects: &Objects, stop: u32) -> bool {
    let mut any = false;
    for object in objects.items.iter().filter(|o| o.stop == stop) {
        any = true;
        if !matches!(object.class, Class::Run | Class::Bean) {
            return false;
        }
    }
    any
}

fn path(objects: &Objects, stop: u32) -> Vec<Coord<f64>> {
    objects
        .items
        .iter()
        .filter(|o| o.stop == stop)
        .flat_map(Object::needles)
        .map(|(_, needle)| needle.at.mm())
        .collect()
}

/// Does most of one path lie beside the other?
fn follows(outline: &[Coord<f64>], path: &[Coord<f64>]) -> bool {
    if path.len() < 2 || outline.len() < 4 {
        return false;
    }
    let strip =
        crate::geometry::engine::stroke(&[geo::LineString::new(path.to_vec())], 2.0 * SAME_OUTLINE);
    let locator = Locator::new(&strip);
    let near = outline.iter().filter(|c| locator.contains(**c)).count();
    near as f64 >= AGREES * outline.len() as f64
}

fn covers(satin: &Object, outline: &[Coord<f64>]) -> bool {
    let locator = satin.footprint.locator();
    let inside = outline.iter().filter(|c| locator.is_within(**c, 0.3)).count();
    inside as f64 >= AGREES * outline.len() as f64
}
