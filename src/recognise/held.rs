//! Appliqué and foam: stops that must stay as they are.

use geo::{BoundingRect, Coord, MultiPoint, Rect};

use crate::geometry::boxes::near;
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

/// What one stop sews.
#[derive(Default)]
struct Stop {
    path: Vec<Coord<f64>>,
    bounds: Option<Rect<f64>>,
    /// Nothing but runs.
    runs: bool,
}

/// A run-only stop retraced by the next stop, then covered by a satin of a later stop.
fn mark_applique(objects: &mut Objects) {
    let stops = stops(objects);
    for (s, stop) in stops.iter().enumerate().filter(|(_, stop)| stop.runs) {
        let retraced = (s + 1..stops.len()).find(|&next| retraces(stop, &stops[next]));
        let Some(tack) = retraced.filter(|&tack| stops[tack].runs) else { continue };
        let cover = objects
            .items
            .iter()
            .position(|o| o.stop as usize > tack && o.satin().is_some() && covers(o, &stop.path));
        if let Some(cover) = cover {
            objects.items[cover].held = true;
            for object in &mut objects.items {
                object.held |= object.stop as usize == s || object.stop as usize == tack;
            }
        }
    }
}

fn stops(objects: &Objects) -> Vec<Stop> {
    let mut stops: Vec<Stop> = Vec::new();
    for object in &objects.items {
        let stop = object.stop as usize;
        if stops.len() <= stop {
            stops.resize_with(stop + 1, Stop::default);
        }
        let is_run = matches!(object.class, Class::Run | Class::Bean);
        let so_far = stops[stop].path.is_empty() || stops[stop].runs;
        stops[stop].runs = so_far && is_run;
        stops[stop].path.extend(object.needles().map(|(_, needle)| needle.at.mm()));
    }
    for stop in &mut stops {
        stop.bounds = MultiPoint::from(stop.path.clone()).bounding_rect();
    }
    stops
}

/// Does a stop follow the outline that another one sews? Most lie elsewhere: their boxes tell.
fn retraces(outline: &Stop, stop: &Stop) -> bool {
    let (Some(own), Some(bounds)) = (outline.bounds, stop.bounds) else { return false };
    if !near(own, bounds, SAME_OUTLINE) {
        return false;
    }
    let within = |c: &&Coord<f64>| near(Rect::new(**c, **c), bounds, SAME_OUTLINE);
    let count = outline.path.iter().filter(within).count();
    count as f64 >= AGREES * outline.path.len() as f64 && follows(&outline.path, &stop.path)
}

/// Does most of one path lie beside the other?
fn follows(outline: &[Coord<f64>], path: &[Coord<f64>]) -> bool {
    if path.len() < 2 || outline.len() < 4 {
        return false;
    }
    let path = Locator::of_line(path);
    let near = outline.iter().filter(|c| path.is_near_edge(**c, SAME_OUTLINE)).count();
    near as f64 >= AGREES * outline.len() as f64
}

fn covers(satin: &Object, outline: &[Coord<f64>]) -> bool {
    let locator = satin.footprint.locator();
    let inside = outline.iter().filter(|c| locator.is_within(**c, 0.3)).count();
    inside as f64 >= AGREES * outline.len() as f64
}
