//! One object extended under its neighbours.

use geo::{Area, Coord, Polygon};

use super::clip::{Growth, keep_apart, shorten_crowded};
use super::edge::{Chain, chains};
use super::edits::{Edits, Mark, Stitch};
use super::patch::patch;
use super::place::Places;
use super::rows::{Base, out_and_back};
use super::strips;
use super::target::Target;
use crate::geometry::engine;
use crate::geometry::vector::{distance, dot, left_of, unit};
use crate::objects::{Class, Needle, Object, Satin, Shape, Side};
use crate::settings::{PassName, Settings};

/// Needle points that would move less than this stay, mm (J: a point and a half of rounding).
const MOVE_MIN_MM: f64 = 0.15;

/// A crossing is made longer by no more than this, mm: the aim and the gap, met at 30°.
const SATIN_REACH_MM: f64 = 3.0;

/// A row is made longer by no more than this, mm (J); at flatter angles to the edge rows are added.
const ROW_REACH_MM: f64 = 3.0;

/// Needle points further from the junctions than this are not looked at, mm.
const NEAR_MM: f64 = 3.0;

/// A crossing is at least this share of the usual width.
const ACROSS: f64 = 0.6;

/// Where the corner of a column lies under its neighbour's edge, so many of the needle points at its
/// end go out beside it, and by no more than this, mm (J: the usual allowance).
const END_NEEDLES: usize = 6;
const CORNER_MM: f64 = 1.0;

/// Added crossings, which are hidden, reach this far beyond the rails at a corner, mm (J: the usual
/// allowance).
const WIDER_MM: f64 = 1.0;

/// Areas smaller than this that stay empty get no rows of their own, mm² (J).
const AREA_MIN_MM2: f64 = 0.4;

/// Slivers up to twice this width are ignored, mm.
const SLIVER_MM: f64 = 0.1;

/// The object extended, or `None` if nothing moves far enough to matter.
pub fn extend(object: &Object, target: &Target, settings: &Settings) -> Option<Object> {
    let top: Vec<Needle> = object.top().collect();
    let chains = chains(object, &top);
    let mut growth = growth(object, &chains, target);
    limit_stitches(&top, &chains, &mut growth, settings);
    keep_apart(&chains, &mut growth);
    let short = shorten_crowded(&chains, &mut growth);
    for by in growth.iter_mut().flatten().filter(|by| **by < MOVE_MIN_MM) {
        *by = 0.0;
    }
    let places = Places::new(object, &top);
    let mut edits = Edits::none(top.len());
    places.move_edges(object, &top, (&chains, &growth, &short), target, settings, &mut edits);
    let mut footprint = strips::grown(&object.footprint, &chains, &growth, &short);
    let empty = engine::open(&engine::difference(&target.band, &footprint), SLIVER_MM);
    for area in empty.0.iter().filter(|area| area.unsigned_area() >= AREA_MIN_MM2) {
        match &object.shape {
            Shape::Fill(fill) if object.class == Class::Fill => {
                let last = settings.takes_other_way(PassName::Overlap, object.id);
                let own = (fill, top.as_slice());
                if let Some(patch) = patch(area, own, target, settings, &edits, last) {
                    footprint = engine::union_all(&[&footprint, &patch.area]);
                    if patch.leads {
                        places.begin_with(
                            (object, &footprint),
                            patch.rows,
                            patch.start,
                            &mut edits,
                        );
                    } else {
                        places.insert_rows(patch.index, &patch.rows, patch.start, &mut edits);
                    }
                }
            }
            Shape::Satin(satin) => {
                let added = crossings_beyond(area, satin, &top, target, settings, &edits);
                if let Some((index, start, rows)) = added {
                    footprint = strips::with_rows(&footprint, start, &rows);
                    if index == 0 {
                        let rows = rows.into_iter().rev();
                        let inwards = rows.skip_while(|s| s.mark != Mark::AddedRow).collect();
                        places.begin_with((object, &footprint), inwards, start, &mut edits);
                    } else {
                        places.insert_rows(index, &rows, start, &mut edits);
                    }
                }
            }
            _ => {}
        }
    }
    let changed =
        edits.of.iter().any(|e| e.moved.is_some() || !(e.lead.is_empty() && e.trail.is_empty()));
    changed.then(|| edits.apply(object, footprint))
}

fn growth(object: &Object, chains: &[Chain], target: &Target) -> Growth {
    let straight_rows = object.class == Class::Fill;
    let open_column = object.satin().is_some_and(|satin| !satin.closed);
    let longest = if straight_rows { ROW_REACH_MM } else { SATIN_REACH_MM };
    chains
        .iter()
        .map(|chain| {
            chain
                .iter()
                .enumerate()
                .map(|(i, needle)| {
                    let (at, axis) = (needle.at, needle.axis);
                    let at_end = i.min(chain.len() - 1 - i) < END_NEEDLES;
                    if straight_rows && target.near(at, NEAR_MM)
                        || !straight_rows && target.faces(at, axis, NEAR_MM)
                    {
                        target.reach(at, axis, longest)
                    } else if open_column && at_end && target.near(at, CORNER_MM) {
                        target.reach_up_to(at, axis, CORNER_MM)
                    } else {
                        0.0
                    }
                })
                .collect()
        })
        .collect()
}

/// No stitch grows past the longest that a machine sews; fills get new needle points instead.
fn limit_stitches(top: &[Needle], chains: &[Chain], growth: &mut Growth, settings: &Settings) {
    let longest = settings.profile.numbers.stitch_max_mm - 0.1;
    for (c, chain) in chains.iter().enumerate() {
        for (i, needle) in chain.iter().enumerate() {
            let by = &mut growth[c][i];
            if *by <= 0.0 || *by > SATIN_REACH_MM {
                continue;
            }
            let neighbours = [needle.index.checked_sub(1), Some(needle.index + 1)];
            for other in neighbours.into_iter().flatten().filter_map(|k| top.get(k)) {
                let too_long =
                    |by: f64| distance(needle.at + needle.axis * by, other.at.mm()) > longest;
                while *by > 0.0 && too_long(*by) {
                    *by -= 0.1;
                }
            }
        }
    }
}

type Added = (usize, Coord<f64>, Vec<Stitch>);

/// Crossings for an area beyond one end of an open satin.
fn crossings_beyond(
    area: &Polygon<f64>,
    satin: &Satin,
    top: &[Needle],
    target: &Target,
    settings: &Settings,
    edits: &Edits,
) -> Option<Added> {
    let count = top.len().min(satin.sides.len());
    if satin.closed || count < 3 {
        return None;
    }
    let forward: Vec<usize> = (0..count).filter(|i| satin.sides[*i] != Side::Inner).collect();
    let backward: Vec<usize> = forward.iter().rev().copied().collect();
    [backward, forward].into_iter().find_map(|order| {
        let a = *order.first()?;
        let at = top[a].at.mm();
        // A split point near the end may pass for the other side.
        let across = |i: &usize| {
            satin.sides[*i] != satin.sides[a]
                && distance(top[*i].at.mm(), at) >= ACROSS * satin.width[1]
        };
        let b = *order.iter().find(|i| across(i))?;
        let other = top[b].at.mm();
        let before = *order.iter().skip_while(|i| **i != b).nth(1)?;
        let along = unit(other - at);
        let square = left_of(along);
        let away = dot(at - top[before].at.mm(), square) >= 0.0;
        let out = if away { square } else { square * -1.0 };
        let (low, high) =
            (dot(at, along).min(dot(other, along)), dot(at, along).max(dot(other, along)));
        let base = Base {
            along,
            out,
            level: (dot(at, out) + dot(other, out)) / 2.0,
            pitch: (satin.same_side_pitch / 2.0).max(0.1),
            stitch: settings.profile.numbers.satin_width_split_mm,
            bounds: (low - WIDER_MM, high + WIDER_MM),
        };
        let extent = base.extent(area);
        let shared = high.min(extent.along.1) - low.max(extent.along.0);
        let beside = extent.out.0 <= base.level + 0.5 && shared >= 0.5 * (high - low);
        let start = edits.tip(a, at);
        let rows = out_and_back(area, &base, start, [satin.sides[a], satin.sides[b]]);
        (beside && !rows.is_empty() && all_held(start, &rows, target)).then_some((a, start, rows))
    })
}

/// Do the rows, and the way back from them, lie in the target?
fn all_held(start: Coord<f64>, rows: &[Stitch], target: &Target) -> bool {
    let mut from = start;
    let ways = rows.iter().map(|stitch| stitch.at).chain([start]);
    !rows.is_empty()
        && ways.into_iter().all(|to| {
            let held = target.holds(from, to);
            from = to;
            held
        })
}
