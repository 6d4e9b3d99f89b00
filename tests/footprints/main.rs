//! An independent measure of footprints: the cloth that the thread of an object covers.
//!
//! The top stitches of every satin and fill at least 2 mm wide are drawn as thread 0.4 mm wide on
//! a raster, gaps between neighbouring threads are closed, half a thread is taken off all around,
//! and what is left must be as large as the recognised polygon, within 2 %. Print all that differ,
//! and the worst ten, with `cargo test --test footprints -- --nocapture`.
//!
//! Cloth shows between rows further apart than thread is wide, and between the needle points on
//! one edge, which in a zigzag are two crossings apart. So a gap is closed if it is at most 0.1 mm
//! wider than what the object leaves between its needle points on one edge ([`edge_gap`]); objects
//! that are open on purpose are measured like all others. Only this length comes from what was
//! recognised. Jagged edges with jags narrower than a thread are covered where the polygon is
//! not, and count as different.
//!
//! Where what thread covers differs by more than that from the outline that a random design was drawn
//! with, too, it is this measure that is off (jags finer than thread, rows wider than it). Those are
//! counted and named, and a second share leaves them out.

mod cover;
#[allow(dead_code, reason = "only tapes are used")]
#[path = "../family/truth.rs"]
mod family;
#[path = "../support/mod.rs"]
mod support;

use cover::{Cover, THREAD_MM};
use crownmend::objects::{Object, Objects, Shape};
use crownmend::settings::Settings;
use crownmend::{design, garment, recognise, tape};
use geo::{Area, Coord, Distance, Euclidean, Point};
use rayon::prelude::*;
use support::outline;

/// Objects from this width on are measured, mm; areas may differ by this share.
const WIDTH_MM: f64 = 2.0;
const DIFFERENCE: f64 = 0.02;
/// Least share of objects within that difference, and of those that the measure can judge: what holds
/// today. All should be.
const FLOOR: f64 = 0.99;
const FLOOR_JUDGED: f64 = 1.0;

/// A gap that is closed may be this much wider than usual, mm: twice what the grid of 0.1 mm can
/// move a needle point along an axis.
const GAP_ROOM_MM: f64 = 0.1;

/// Pixels along the longer side of an object, and bounds of their size, mm.
const PIXELS: f64 = 1000.0;
const PIXEL_MM: [f64; 2] = [0.02, 0.05];

#[test]
fn footprints_are_as_large_as_what_thread_covers() {
    let read = all();
    let objects = read.iter().flat_map(|tape| tape.objects.items.iter().map(move |o| (tape, o)));
    let wide: Vec<(&Read, &Object)> = objects.filter(|(_, o)| width(o) >= WIDTH_MM).collect();
    let mut measured: Vec<Measured> =
        wide.par_iter().map(|(tape, object)| Measured::new(tape, object)).collect();
    measured.sort_by(|a, b| b.difference().abs().total_cmp(&a.difference().abs()));
    let within = measured.iter().filter(|m| m.is_within()).count();
    let share = within as f64 / measured.len() as f64;
    println!("{} areas, {within} within 2 %: {:.1} %", measured.len(), 100.0 * share);
    let judged = measured.iter().filter(|m| m.is_within() || !m.is_beyond_measure()).count();
    let share_judged = within as f64 / judged as f64;
    println!(
        "{} of them differ from the outline as drawn, too; of the others {:.1} %",
        measured.len() - judged,
        100.0 * share_judged
    );
    for m in measured.iter().take((measured.len() - within).max(10)) {
        println!(
            "{:40} thread covers {:8.2} mm², polygon {:8.2} mm², {:+6.2} %{}",
            m.name,
            m.covered,
            m.polygon,
            100.0 * m.difference(),
            if m.is_beyond_measure() { ", as the outline drawn" } else { "" }
        );
    }
    assert!(share >= FLOOR, "only {within} of {} areas within 2 %", measured.len());
    assert!(share_judged >= FLOOR_JUDGED, "only {within} of {judged} areas within 2 %");
}

/// A tape as it was recognised, and the truth of a random design.
struct Read {
    name: String,
    objects: Objects,
    truth: Vec<family::TruthObject>,
}

/// Every tape of the corpus and of its family of random designs, recognised.
fn all() -> Vec<Read> {
    let corpus = support::corpus().into_iter();
    let corpus = corpus.map(|case| (case.name, case.bytes, case.truth.garment, Vec::new()));
    let random = family::family().into_iter().map(|design| {
        let name = format!("family {}", design.name);
        (name, design.bytes, "finished-cap".to_owned(), design.truth.objects)
    });
    let read = |(name, bytes, garment, truth): (String, Vec<u8>, String, _)| {
        let (tape, _) = tape::read(&bytes, tape::Salvage::Refuse).expect("a whole tape");
        let settings = Settings::new(garment::built_in(&garment).expect("built in"));
        let objects = recognise::recognise(&design::from_tape(&tape), &settings);
        Read { name, objects, truth }
    };
    corpus.chain(random).map(read).collect()
}

struct Measured {
    name: String,
    covered: f64,
    polygon: f64,
    /// Area of the outline that a random design was drawn with.
    drawn: Option<f64>,
}

impl Measured {
    fn new(read: &Read, object: &Object) -> Self {
        let top = object.parts.iter().filter(|part| Object::is_area(part.label));
        let lines: Vec<Vec<Coord<f64>>> =
            top.map(|part| part.needles.iter().map(|needle| needle.at.mm()).collect()).collect();
        let bounds = object.footprint.bounding_rect().expect("an area");
        let pixel = bounds.width().max(bounds.height()) / PIXELS;
        let thread = Cover::draw(&lines, pixel.clamp(PIXEL_MM[0], PIXEL_MM[1]));
        let cover = thread.closed(edge_gap(object) + GAP_ROOM_MM).eroded(THREAD_MM / 2.0);
        let first = object.first().and_then(|needle| needle.origin).unwrap_or(0);
        Self {
            name: format!("{} {:?} at stitch {first}", read.name, object.class),
            covered: cover.area(),
            polygon: object.footprint.unsigned_area(),
            drawn: drawn(&read.truth, object),
        }
    }

    fn is_within(&self) -> bool {
        self.difference().abs() <= DIFFERENCE
    }

    /// Does thread not cover what was drawn, either?
    fn is_beyond_measure(&self) -> bool {
        self.drawn.is_some_and(|drawn| (self.covered / drawn - 1.0).abs() > DIFFERENCE)
    }

    /// Share by which thread covers more than the polygon.
    fn difference(&self) -> f64 {
        self.covered / self.polygon - 1.0
    }
}

/// Area of the outline of the true object that most of a top is.
fn drawn(truth: &[family::TruthObject], object: &Object) -> Option<f64> {
    let needles: Vec<usize> = object.top().filter_map(|n| n.origin.map(|i| i as usize)).collect();
    let middle = needles.get(needles.len() / 2)?;
    let own = truth.iter().find(|t| (t.first..=t.last).contains(middle))?;
    own.area().map(|area| area.unsigned_area())
}

/// Usual width of a satin's crossings; of a fill its rows' usual length or the area by that,
/// whichever is less; mm.
fn width(object: &Object) -> f64 {
    match &object.shape {
        Shape::Satin(satin) => satin.width[1],
        Shape::Fill(fill) => {
            let top = top(object);
            let rows =
                fill.rows.iter().map(|row| distance(top[row.0 as usize], top[row.1 as usize]));
            let long = quantile(rows.collect(), 0.5);
            long.min(object.footprint.unsigned_area() / long)
        }
        Shape::Line | Shape::Unknown => 0.0,
    }
}

/// Distance between needle points on one edge, mm: of a satin the usual one on the wider rail; of
/// a fill the one between ends of neighbouring rows that four rows in five keep, since rows at a
/// break between sections have no neighbour.
fn edge_gap(object: &Object) -> f64 {
    match &object.shape {
        Shape::Satin(satin) => {
            let along = |rail: &Vec<Coord<f64>>| {
                quantile(rail.windows(2).map(|pair| distance(pair[0], pair[1])).collect(), 0.5)
            };
            satin.rails.iter().map(along).fold(0.0, f64::max)
        }
        Shape::Fill(fill) => {
            let top = top(object);
            let gap = |rows: &[(u32, u32)]| {
                let across = |a: u32, b: u32| distance(top[a as usize], top[b as usize]);
                across(rows[0].0, rows[1].1).max(across(rows[0].1, rows[1].0))
            };
            quantile(fill.rows.windows(2).map(gap).collect(), 0.8)
        }
        Shape::Line | Shape::Unknown => 0.0,
    }
}

/// Needle points of the top, mm.
fn top(object: &Object) -> Vec<Coord<f64>> {
    object.top().map(|needle| needle.at.mm()).collect()
}

fn distance(a: Coord<f64>, b: Coord<f64>) -> f64 {
    Euclidean.distance(Point(a), Point(b))
}

/// The value that a share of all stays under; 0 without any.
fn quantile(mut values: Vec<f64>, share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get((values.len().saturating_sub(1) as f64 * share) as usize).copied().unwrap_or(0.0)
}
