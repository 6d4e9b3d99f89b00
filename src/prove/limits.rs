//! What machines and cloth bear: each limit is held against the original, and only what is worse
//! than there counts. (No record can move the needle by more than 121 points per axis: the format
//! has no room for more.)

use std::cell::OnceCell;

use geo::{Coord, Rect};

use super::blame::Blame;
use super::quick::Index;
use super::regions;
use super::sewn::{Sewn, Stitch};
use super::{Settings, Violation};
use crate::design::{Link, Pt};
use crate::geometry::raster::Canvas;
use crate::geometry::vector::distance;
use crate::objects::{Object, ObjectId};
use crate::report::words::count;
use crate::settings::{PassName, StopRule};
use crate::tape::Warning;

/// No new stitch may be shorter, mm (J: half of what is a fault in ordinary stitches; ties and
/// fine work go lower than those).
const SHORT_MM: f64 = 0.3;
/// A short stitch of the original may have moved this far, mm (J: with its edge, by the allowance
/// and what it lacked).
const SHORT_MOVED_MM: f64 = 1.5;
/// One needle point more in a place may be rounding: it was as near before, just outside (J).
const CROWD_ROUNDING: f64 = 1.0;
/// Rounding to whole points at both ends, mm.
const ROUNDING_MM: f64 = 0.1;
/// Side of the cells in which layers are counted, mm: a thread's width.
const LAYER_CELL_MM: f64 = 0.4;
/// Smaller places with a layer more are none, mm² (J: two by two; edges of footprints are rounded).
const LAYER_MM2: f64 = 4.0;

pub fn check(before: &Sewn, after: &Sewn, blame: &Blame, settings: &Settings) -> Vec<Violation> {
    let mut violations = ends_and_stops(before, after, settings);
    violations.extend(header(before, after));
    violations.extend(growth(before, after, blame, settings));
    violations.extend(more_trims(before, after, blame));
    violations.extend(short(before, after, blame));
    violations.extend(long(before, after, blame, settings));
    violations.extend(crowding(before, after, blame, settings));
    violations.extend(layers(before, after, settings));
    violations
}

fn of_file(pass: Option<PassName>, words: String) -> Violation {
    Violation { pass, objects: Vec::new(), words, at: None, opens: None }
}

fn ends_and_stops(before: &Sewn, after: &Sewn, settings: &Settings) -> Vec<Violation> {
    let (was, is) = (before.judged.design, after.judged.design);
    let mut violations = Vec::new();
    if was.final_position != is.final_position {
        violations.push(of_file(None, "the needle would not end where it did".to_owned()));
    }
    let (stops, new_stops) = (was.stop_count(), is.stop_count());
    if settings.stops == StopRule::Keep && stops != new_stops {
        violations.push(of_file(None, format!("{stops} stops would become {new_stops}")));
    }
    violations
}

fn more_trims(before: &Sewn, after: &Sewn, blame: &Blame) -> Option<Violation> {
    let trims = |sewn: &Sewn| {
        let links = sewn.judged.design.links.iter().skip(1);
        links.filter(|link| **link == Link::Trim).count()
    };
    let (was, is) = (trims(before), trims(after));
    let words = || format!("{} would become {is}", count(was, "trim"));
    (is > was + blame.trims_told()).then(|| of_file(Some(PassName::Sequence), words()))
}

/// The header of new records agrees with them.
fn header(before: &Sewn, after: &Sewn) -> Vec<Violation> {
    let (was, is) = (before.judged.tape, after.judged.tape);
    if was.records == is.records {
        return Vec::new();
    }
    let differs = |warning: &Warning| matches!(warning, Warning::HeaderDiffers { .. });
    let wrong = is.parsed_header().differences(is).into_iter().filter(differs);
    wrong.map(|warning| of_file(None, warning.to_string())).collect()
}

/// The design may grow at free row ends only, and not out of the sewing field.
fn growth(before: &Sewn, after: &Sewn, blame: &Blame, settings: &Settings) -> Option<Violation> {
    let numbers = &settings.profile.numbers;
    let (old, new) = (before.judged.design.bounds_mm()?, after.judged.design.bounds_mm()?);
    let grown = [old[0] - new[0], old[1] - new[1], new[2] - old[2], new[3] - old[3]];
    let side = (0..4).max_by(|a, b| grown[*a].total_cmp(&grown[*b]))?;
    let over = |b: &[f64; 4]| {
        b[2] - b[0] > numbers.frame_width_mm || b[3] - b[1] > numbers.frame_height_mm
    };
    let most = grown[side];
    if most <= numbers.fill_pull_end_max_mm + ROUNDING_MM && (over(&old) || !over(&new)) {
        return None;
    }
    let outermost = |p: &Pt| [-p.x, -p.y, p.x, p.y][side];
    let points = &after.judged.design.points;
    let index = (0..points.len()).max_by_key(|i| outermost(&points[*i]))?;
    Some(blame_point(after, index, blame, format!("the design would grow by {most:.1} mm")))
}

fn blame_point(after: &Sewn, index: usize, blame: &Blame, words: String) -> Violation {
    let index = index as u32;
    let at = after.judged.design.points[index as usize].mm();
    blame.at(at, after.suspect(index), words)
}

/// Short stitches that the original did not have.
fn short(before: &Sewn, after: &Sewn, blame: &Blame) -> Vec<Violation> {
    let is_short = |s: &Stitch| s.length_mm() < SHORT_MM - 1e-9;
    added(before, after, blame, is_short, |_, _| true)
}

/// Stitches over the longest that machines sew, longer than any that was there.
fn long(before: &Sewn, after: &Sewn, blame: &Blame, settings: &Settings) -> Vec<Violation> {
    let limit = settings.profile.numbers.stitch_max_mm + ROUNDING_MM / 2.0;
    let is_long = |s: &Stitch| s.length_mm() > limit;
    let as_long = |old: &Stitch, new: &Stitch| old.length_mm() >= new.length_mm() - ROUNDING_MM;
    added(before, after, blame, is_long, as_long)
}

/// Stitches of a kind that are new: none of that kind, and no better, went from the same place.
fn added(
    before: &Sewn,
    after: &Sewn,
    blame: &Blame,
    of_kind: impl Fn(&Stitch) -> bool,
    no_better: impl Fn(&Stitch, &Stitch) -> bool,
) -> Vec<Violation> {
    let counts = |s: &&Stitch| s.sewn && !s.known && of_kind(s);
    let mut gone: Vec<&Stitch> = before.stitches.iter().filter(counts).collect();
    let mut violations = Vec::new();
    for stitch in after.stitches.iter().filter(counts) {
        let moved = gone.iter().position(|old| {
            old.stop == stitch.stop
                && no_better(old, stitch)
                && old.to.distance(stitch.to) <= SHORT_MOVED_MM
        });
        match moved {
            Some(old) => drop(gone.swap_remove(old)),
            None => {
                let words = format!("a new stitch of {:.1} mm", stitch.length_mm());
                violations.push(blame_point(after, stitch.index as usize, blame, words));
            }
        }
    }
    violations
}

/// Places with far more needle points than are good, and more than there were: lesser crowds are
/// for advice only.
fn crowding(before: &Sewn, after: &Sewn, blame: &Blame, settings: &Settings) -> Vec<Violation> {
    let numbers = &settings.profile.numbers;
    let radius = numbers.crowd_radius_mm.max(0.05);
    let now = Neighbours::of(after, radius);
    let then = OnceCell::new();
    let then = || then.get_or_init(|| Neighbours::of(before, radius));
    // The first crowd that would be refused is one too many, if only a new needle point beside an
    // old one makes it; where there is one already, rounding is borne.
    let had_any = OnceCell::new();
    let is_refused = |at: &Coord<f64>| f64::from(then().count(*at)) > numbers.crowd_refuse;
    let had_any = || *had_any.get_or_init(|| then().points.iter().any(is_refused));
    let most = |at: Coord<f64>| match now.count(at) {
        few if f64::from(few) < numbers.crowd_refuse / 2.0 || had_any() => few,
        _ => now.most_near(at),
    };
    let crowded = new_points(after)
        .map(|(index, stitch)| (stitch, most(after.judged.design.points[index].mm())))
        .filter(|(_, count)| f64::from(*count) > numbers.crowd_refuse);
    let mut told: Vec<Coord<f64>> = Vec::new();
    let mut violations = Vec::new();
    for (stitch, count) in crowded {
        let at = stitch.to.mm();
        let was = then().most_near(at);
        let borne = f64::from(was) + if had_any() { CROWD_ROUNDING } else { 0.0 };
        let is_told = |place: &Coord<f64>| distance(*place, at) <= 2.0 * radius;
        if f64::from(count) <= borne || told.iter().any(is_told) {
            continue;
        }
        told.push(at);
        let words = format!("{count} needle points within {:.1} mm, {was} before", 2.0 * radius);
        violations.push(blame_point(after, stitch.index as usize, blame, words));
    }
    violations
}

/// Needle points that end a new stitch, by penetration.
fn new_points<'a>(sewn: &'a Sewn) -> impl Iterator<Item = (usize, &'a Stitch)> {
    sewn.stitches.iter().filter(|s| !s.known).map(|s| (s.index as usize, s))
}

/// The needle points of a tape, found by place.
struct Neighbours {
    radius: f64,
    points: Vec<Coord<f64>>,
    /// By cell; cells are as long as the radius.
    cells: Index<(i32, i32)>,
}

impl Neighbours {
    fn of(sewn: &Sewn, radius: f64) -> Self {
        let points: Vec<Coord<f64>> = sewn.judged.design.points.iter().map(|p| p.mm()).collect();
        let cells = Index::of(points.iter().map(|at| cell(*at, radius)));
        Self { radius, points, cells }
    }

    /// Points within a distance of up to two radii.
    fn within(&self, at: Coord<f64>, mm: f64) -> impl Iterator<Item = Coord<f64>> + '_ {
        let (x, y) = cell(at, self.radius);
        let far = if mm > self.radius { 2 } else { 1 };
        let cells = (x - far..=x + far).flat_map(move |x| (y - far..=y + far).map(move |y| (x, y)));
        cells
            .flat_map(|cell| self.cells.places(&cell))
            .map(|place| self.points[*place as usize])
            .filter(move |point| {
                let away = *point - at;
                away.x * away.x + away.y * away.y <= mm * mm + 1e-9
            })
    }

    /// How many needle points lie around one, itself included.
    fn count(&self, at: Coord<f64>) -> u32 {
        self.within(at, self.radius).count() as u32
    }

    /// The highest count of a needle point that is as near as a crowd is wide; 0 where none has
    /// others around it.
    fn most_near(&self, at: Coord<f64>) -> u32 {
        let counts = self.within(at, 2.0 * self.radius).map(|point| self.count(point));
        counts.filter(|count| *count > 1).max().unwrap_or(0)
    }
}

fn cell(at: Coord<f64>, side: f64) -> (i32, i32) {
    ((at.x / side).floor() as i32, (at.y / side).floor() as i32)
}

/// Places with more top layers than are good, and more than there were.
fn layers(before: &Sewn, after: &Sewn, settings: &Settings) -> Vec<Violation> {
    let most = settings.profile.numbers.layers_max;
    let tops = |sewn: &Sewn| -> Vec<(ObjectId, Rect<f64>)> {
        let all = sewn.judged.objects.items.iter();
        all.filter_map(|o| Some((o.id, o.footprint.bounding_rect()?))).collect()
    };
    let boxes: Vec<Rect<f64>> =
        tops(before).into_iter().chain(tops(after)).map(|(_, rect)| rect).collect();
    let Some(bounds) = boxes.iter().copied().reduce(joined) else { return Vec::new() };
    let empty = Canvas::new(bounds, LAYER_CELL_MM);
    let pile = |sewn: &Sewn| {
        let mut canvas = empty.alike();
        sewn.judged.objects.items.iter().for_each(|o| canvas.count_area(&o.footprint));
        canvas
    };
    let (was, is) = (pile(before), pile(after));
    let worse = was.cells().iter().zip(is.cells()).enumerate();
    let worse = worse
        .filter(|(_, (was, is))| f64::from(**is) > most && is > was)
        .map(|(index, _)| (index, ()))
        .collect();
    let cells_min = (LAYER_MM2 / (is.cell_mm() * is.cell_mm())).ceil() as usize;
    regions::joined(&worse, is.width())
        .into_iter()
        .filter(|region| region.cells.len() >= cells_min)
        .map(|region| {
            let cell = region.cells[region.cells.len() / 2];
            let at = is.middle_of(cell);
            let objects = grown_over(before, after, at);
            let words = format!(
                "{} top layers over {:.1} mm², {} before, at {:.1}, {:.1}",
                is.cells()[cell],
                is.area(region.cells.len()),
                was.cells()[cell],
                at.x,
                at.y
            );
            Violation { pass: Some(PassName::Overlap), objects, words, at: Some(at), opens: None }
        })
        .collect()
}

fn joined(a: Rect<f64>, b: Rect<f64>) -> Rect<f64> {
    let (low, high) = (a.min(), b.min());
    let min = Coord { x: low.x.min(high.x), y: low.y.min(high.y) };
    let (low, high) = (a.max(), b.max());
    Rect::new(min, Coord { x: low.x.max(high.x), y: low.y.max(high.y) })
}

/// Objects of the original that cover a place now and did not.
fn grown_over(before: &Sewn, after: &Sewn, at: Coord<f64>) -> Vec<u32> {
    let covers = |object: &Object| object.footprint.locator().contains(at);
    let was: Vec<ObjectId> =
        before.judged.objects.items.iter().filter(|o| covers(o)).map(|o| o.id).collect();
    let is = after.judged.objects.items.iter().filter(|o| covers(o));
    let new = is.filter_map(|o| after.name(o.id)).filter(|name| !was.contains(name));
    new.map(|name| name.0).collect()
}
