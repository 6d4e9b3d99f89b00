//! Junctions: where the edges of two objects run alongside each other.

use std::collections::{BTreeMap, BTreeSet};

use geo::{Coord, Rect};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use super::direction::Directions;
use super::edge::{EdgePoint, SAMPLE_MM, sample_rings};
use crate::geometry::boxes;
use crate::geometry::locate::Locator;
use crate::geometry::vector::{between_lines, distance, line_angle, unit};
use crate::objects::{Class, Object, ObjectId, Objects, Shape};
use crate::settings::Settings;

/// What an object's stitches do at an edge.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Meeting {
    /// Stitches meet the curve (within 30° of its normal): they pull away from it.
    PullEnd,
    /// Stitches run along the curve (within 30° of it): they push towards it.
    PushSide,
    Skew,
}

/// One sample of a shared curve, taken every 0.5 mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Point on the edge of the object sewn later, mm.
    pub at: Coord<f64>,
    /// Unit normal of that edge, pointing into the later object.
    pub inward: Coord<f64>,
    /// How far the earlier object reaches under the later one along `inward`, mm; negative = gap.
    pub overlap: f64,
    /// Can the later object hide the full allowance here?
    pub can_hide: bool,
    /// Deepest reach along `inward` (mm) that stays `far margin` away from the far edge of the
    /// hiding region; 0 where nothing can be hidden.
    pub room: f64,
    /// Direction of the stitches of each object here, degrees in [0, 180).
    pub under_direction: f64,
    pub over_direction: f64,
    pub under_meeting: Meeting,
    pub over_meeting: Meeting,
}

/// Two objects whose edges run alongside each other, cut into samples along one shared curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Junction {
    /// Sewn first.
    pub under: ObjectId,
    /// Sewn later.
    pub over: ObjectId,
    pub samples: Vec<Sample>,
    /// Length of the shared curve, mm.
    pub length: f64,
    /// The curve is a closed loop.
    pub closed: bool,
    /// For both ends of an open curve: does the later object go on beyond it, so that it hides
    /// what fades out there?
    pub hidden_ends: [bool; 2],
    /// Two push sides meet along nearly all of it: they close by themselves. A fill under a satin
    /// never does ("Embroidery at a stretch", Images, Feb 2022: a fill under its satin border gets
    /// the full allowance).
    pub closes_itself: bool,
}

/// Overlap and room are measured up to this depth, mm: beyond it one object simply lies on the
/// other.
pub const DEEPEST_MM: f64 = 5.0;

/// Angle to the curve's normal (or to the curve) up to which stitches pull (or push), degrees (J).
const MEETING_DEG: f64 = 30.0;

/// Breaks in a shared curve up to this length are bridged, mm (J).
const BRIDGE_MM: f64 = 1.0;

/// One row further back, mm (J), for so many samples, is no wider gap: rows one degree off the edge step
/// back every 11 mm.
const ROW_MM: f64 = 0.2;
const ROW_SAMPLES: usize = 60;

/// An overlap fades out within this distance beyond the end of a curve, mm (J).
const FADE_MM: f64 = 1.0;

/// Share of a curve along which two push sides meet, from which it closes by itself (J): elsewhere
/// a step in the overlap would show.
const PUSH_SHARE: f64 = 0.8;
/// Rows of a fill that lie no further than this off the curve push against it, degrees (J: steeper
/// ones pull back by more than a quarter of their pull).
const ALONG_DEG: f64 = 15.0;

/// The earlier object must show beside the later one by this much, else it merely lies beneath
/// it with its edge in the same place, mm (J: two points of rounding).
const BESIDE_MM: f64 = 0.2;

/// Cracks in a footprint up to this width do not end it, mm (J: a row of stitches is as wide).
const CRACK_MM: f64 = 0.3;

/// An area that can share an edge, with its indexes.
struct Area<'a> {
    position: usize,
    object: &'a Object,
    locator: &'a Locator,
    directions: Directions,
}

/// All junctions of a design, in a fixed order (under, over, place along the edge).
///
/// Only recognised satins and fills that are not held take part. Where a third object lies over
/// the one sewn first, the two do not meet in view and there is no junction: what opens there
/// shows the third. Each curve lies on the edge of the object sewn later; where the other lies
/// deep beneath it, the overlap is capped at 5 mm.
pub fn junctions(objects: &Objects, settings: &Settings) -> Vec<Junction> {
    junctions_where(objects, settings, |_, _| true)
}

/// The junctions between those pairs (sewn first, sewn later) that are wanted.
pub fn junctions_where(
    objects: &Objects,
    settings: &Settings,
    wanted: impl Fn(&Object, &Object) -> bool,
) -> Vec<Junction> {
    junctions_among(&objects.items.iter().collect::<Vec<_>>(), settings, wanted)
}

/// As [`junctions_where`], among some objects in sewing order.
pub fn junctions_among(
    items: &[&Object],
    settings: &Settings,
    wanted: impl Fn(&Object, &Object) -> bool,
) -> Vec<Junction> {
    let all = neighbours(items, settings);
    let is_wanted = |(over, under): &&(usize, usize)| wanted(items[*under], items[*over]);
    let pairs: Vec<(usize, usize)> = all.iter().filter(is_wanted).copied().collect();
    let mut areas: Vec<Option<Area>> = Vec::new();
    areas.resize_with(items.len(), || None);
    let mut positions: Vec<usize> =
        pairs.iter().flat_map(|(over, under)| [*over, *under]).collect();
    // What lies over an edge hides it, whether its own junctions are wanted or not.
    let edges: BTreeSet<usize> = pairs.iter().map(|(over, _)| *over).collect();
    let mut at_edge: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (edge, other) in all.iter().flat_map(|(a, b)| [(*a, *b), (*b, *a)]) {
        if edges.contains(&edge) {
            at_edge.entry(edge).or_default().push(other);
        }
    }
    positions.extend(at_edge.values().flatten());
    for position in positions {
        let object = items[position];
        areas[position].get_or_insert_with(|| Area {
            position,
            object,
            locator: object.footprint.locator(),
            directions: Directions::new(object),
        });
    }
    let mut found = Vec::new();
    for group in pairs.chunk_by(|a, b| a.0 == b.0) {
        let Some(over) = &areas[group[0].0] else { continue };
        let rings = sample_rings(&over.object.footprint);
        let beside = at_edge.get(&over.position).into_iter().flatten();
        let beside = beside.filter_map(|other| areas[*other].as_ref());
        let beside: Vec<&Area> = beside.filter(|other| other.object.hides).collect();
        for &(_, under) in group {
            let Some(under) = &areas[under] else { continue };
            let later = beside.iter().filter(|other| other.position > under.position);
            let above: Vec<&Area> = later.copied().collect();
            for ring in &rings {
                let along = shared_curves(under, (over, &above), ring, settings);
                found.extend(along.into_iter().map(|j| ((under.position, over.position), j)));
            }
        }
    }
    found.sort_by_key(|(key, _)| *key);
    found.into_iter().map(|(_, junction)| junction).collect()
}

/// May this object's edges be judged at all?
fn takes_part(object: &Object) -> bool {
    !object.held
        && matches!(
            object.class,
            Class::Satin | Class::SplitSatin | Class::Fill | Class::CurvedFill
        )
        && matches!(object.shape, Shape::Satin(_) | Shape::Fill(_))
}

/// Pairs (later, earlier) of positions whose bounding boxes come near each other, sorted.
fn neighbours(items: &[&Object], settings: &Settings) -> Vec<(usize, usize)> {
    let reach = settings.profile.numbers.overlap_gap_limit_mm + 0.1;
    let boxes: Vec<_> = items
        .iter()
        .enumerate()
        .filter(|(_, object)| takes_part(object))
        .filter_map(|(position, object)| Some((position, object.footprint.bounding_rect()?)))
        .collect();
    let envelope = |rect: &Rect<f64>, by: f64| {
        AABB::from_corners(
            [rect.min().x - by, rect.min().y - by],
            [rect.max().x + by, rect.max().y + by],
        )
    };
    let entry = |(position, rect): &(usize, Rect<f64>)| {
        GeomWithData::new(Rectangle::from_aabb(envelope(rect, 0.0)), *position)
    };
    let tree = RTree::bulk_load(boxes.iter().map(entry).collect());
    let mut pairs: Vec<_> = boxes
        .iter()
        .flat_map(|(over, rect)| {
            let near = tree.locate_in_envelope_intersecting(&envelope(rect, reach));
            near.map(|entry| (*over, entry.data)).filter(|(over, under)| under < over)
        })
        .collect();
    pairs.sort_unstable();
    pairs
}

/// The stretches of one ring of `over` beside or over which `under` lies.
fn shared_curves(
    under: &Area,
    (over, above): (&Area, &[&Area]),
    ring: &[EdgePoint],
    settings: &Settings,
) -> Vec<Junction> {
    let margin = settings.profile.numbers.overlap_far_margin_mm;
    let gap_limit = settings.profile.numbers.overlap_gap_limit_mm;
    let Some(bounds) = under.object.footprint.bounding_rect() else { return Vec::new() };
    let near = |at: Coord<f64>| boxes::near(bounds, Rect::new(at, at), gap_limit + ROW_MM);
    let overlap = |p: &EdgePoint, gap: f64| {
        let overlap = near(p.at).then(|| overlap_at(under.locator, p, gap)).flatten();
        overlap.filter(|_| !is_hidden(p.at, above, margin))
    };
    let mut overlaps: Vec<Option<f64>> = ring.iter().map(|p| overlap(p, gap_limit)).collect();
    bridge(&mut overlaps, |i| overlap(&ring[i], gap_limit + ROW_MM));
    stretches(&overlaps)
        .into_iter()
        .filter_map(|(range, closed)| {
            let samples: Vec<Sample> = range
                .filter_map(|i| {
                    let i = i % ring.len();
                    overlaps[i].map(|overlap| sample(under, over, &ring[i], overlap, settings))
                })
                .collect();
            let length = curve_length(&samples, closed);
            let of_fill = under.object.fill().is_some();
            let bordered = of_fill && over.object.satin().is_some();
            let pushes = samples.iter().filter(|s| both_push(s, of_fill)).count();
            let closes_itself = !bordered && pushes as f64 >= PUSH_SHARE * samples.len() as f64;
            (length >= settings.profile.numbers.junction_min_length_mm - 1e-9).then_some(Junction {
                under: under.object.id,
                over: over.object.id,
                hidden_ends: [true, false].map(|start| hides_beyond(&samples, start, over)),
                samples,
                length,
                closed,
                closes_itself,
            })
        })
        .collect()
}

/// Does the later object go on beyond the start (or the end) of a curve on its edge?
fn hides_beyond(samples: &[Sample], start: bool, over: &Area) -> bool {
    let ends = match samples {
        [first, next, ..] if start => (first, next),
        [.., before, last] if !start => (last, before),
        _ => return false,
    };
    let out = unit(ends.0.at - ends.1.at);
    let beyond = ends.0.at + out * FADE_MM + ends.0.inward * (FADE_MM / 2.0);
    over.object.hides && over.locator.contains(beyond)
}

/// Do both run so near along the curve that they push more than they pull? Columns whose crossings
/// do so have no rows that could be added.
fn both_push(sample: &Sample, of_fill: bool) -> bool {
    let normal = line_angle(sample.inward);
    let most = if of_fill { ALONG_DEG } else { MEETING_DEG };
    let along = |direction: f64| between_lines(direction, normal) >= 90.0 - most;
    along(sample.under_direction) && along(sample.over_direction)
}

/// Does a third object lie over a place?
fn is_hidden(at: Coord<f64>, above: &[&Area], margin: f64) -> bool {
    above.iter().any(|later| later.locator.inside_by(at, margin))
}

/// Length of the curve that the samples stand for: each stands for its half of the way to its
/// neighbours.
fn curve_length(samples: &[Sample], closed: bool) -> f64 {
    let steps: f64 = samples.windows(2).map(|pair| distance(pair[0].at, pair[1].at)).sum();
    let ends = match (samples.first(), samples.last()) {
        (Some(first), Some(last)) if closed => distance(first.at, last.at),
        (Some(_), Some(_)) => SAMPLE_MM,
        _ => 0.0,
    };
    steps + ends
}

/// Ranges of a cyclic list where there is something, bridged over small breaks; whether the one
/// range goes all the way round. Ranges may run past the end of the list: take them modulo.
fn stretches<T>(ring: &[Option<T>]) -> Vec<(std::ops::Range<usize>, bool)> {
    let bridge = (BRIDGE_MM / SAMPLE_MM).round() as usize;
    let count = ring.len();
    let mut breaks = Vec::new();
    // A break may run through the end of the list: begin after something.
    let Some(first) = ring.iter().position(Option::is_some) else { return Vec::new() };
    let mut i = first;
    while i < first + count {
        let length = (i..first + count).take_while(|k| ring[k % count].is_none()).count();
        if length > bridge {
            breaks.push(i..i + length);
        }
        i += length.max(1);
    }
    match breaks.as_slice() {
        [] => vec![(first..first + count, true)],
        [head, ..] => {
            let ends = breaks.iter().skip(1).map(|b| b.start).chain([head.start + count]);
            breaks.iter().zip(ends).map(|(b, end)| (b.end..end, false)).collect()
        }
    }
    .into_iter()
    .filter(|(range, _)| !range.is_empty())
    .collect()
}

/// Fills short breaks between two stretches of a curve where all of it comes near enough by another
/// measure: one row further back does not part the two.
fn bridge(overlaps: &mut [Option<f64>], wider: impl Fn(usize) -> Option<f64>) {
    let count = overlaps.len();
    let Some(start) = overlaps.iter().position(Option::is_some) else { return };
    let mut open: Vec<usize> = Vec::new();
    for i in (start + 1..=start + count).map(|i| i % count) {
        if overlaps[i].is_none() {
            open.push(i);
            continue;
        }
        if (1..=ROW_SAMPLES).contains(&open.len()) {
            let found: Option<Vec<f64>> = open.iter().map(|k| wider(*k)).collect();
            for (k, overlap) in open.iter().zip(found.unwrap_or_default()) {
                overlaps[*k] = Some(overlap);
            }
        }
        open.clear();
    }
}

/// How far `under` reaches inward from a point on the edge of the later object, mm; negative for
/// a gap, `None` where it does not lie beside that point.
fn overlap_at(under: &Locator, point: &EdgePoint, gap_limit: f64) -> Option<f64> {
    let from = point.at - point.inward * gap_limit;
    let reach = gap_limit + DEEPEST_MM;
    let inside = inside_intervals(under, from, point.inward, reach);
    let (start, end) = inside.into_iter().rfind(|(start, _)| *start <= gap_limit - BESIDE_MM)?;
    // What ends outside within the limit is a gap, and what begins there reaches under.
    let (start, end) = (start - gap_limit, (end - gap_limit).min(DEEPEST_MM));
    (start < end && end >= -gap_limit).then_some(end)
}

/// Where a ray lies inside an area: intervals of distance, in order; cracks are closed.
fn inside_intervals(
    area: &Locator,
    from: Coord<f64>,
    direction: Coord<f64>,
    reach: f64,
) -> Vec<(f64, f64)> {
    let mut cuts = vec![0.0];
    cuts.extend(area.hits(from, direction, reach));
    cuts.push(reach);
    // Inside and outside take turns: one look at the longest piece settles them all.
    let length = |i: &usize| cuts[i + 1] - cuts[*i];
    let pieces = cuts.len() - 1;
    let Some(longest) = (0..pieces).max_by(|a, b| length(a).total_cmp(&length(b))) else {
        return Vec::new();
    };
    let middle = (cuts[longest] + cuts[longest + 1]) / 2.0;
    let even_inside = area.contains(from + direction * middle) == longest.is_multiple_of(2);
    let mut intervals: Vec<(f64, f64)> = Vec::new();
    for i in (0..pieces).filter(|i| i.is_multiple_of(2) == even_inside) {
        match intervals.last_mut() {
            Some(last) if cuts[i] - last.1 <= CRACK_MM => last.1 = cuts[i + 1],
            _ if cuts[i + 1] > cuts[i] => intervals.push((cuts[i], cuts[i + 1])),
            _ => {}
        }
    }
    intervals
}

fn sample(
    under: &Area,
    over: &Area,
    point: &EdgePoint,
    overlap: f64,
    settings: &Settings,
) -> Sample {
    let normal = line_angle(point.inward);
    let meeting = |direction: f64| match between_lines(direction, normal) {
        angle if angle <= MEETING_DEG => Meeting::PullEnd,
        angle if angle >= 90.0 - MEETING_DEG => Meeting::PushSide,
        _ => Meeting::Skew,
    };
    let under_direction = under.directions.at(point.at);
    let over_direction = over.directions.at(point.at);
    let room = if over.object.hides { room(over.locator, point, settings) } else { 0.0 };
    Sample {
        at: point.at,
        inward: point.inward,
        overlap,
        can_hide: room >= settings.profile.numbers.overlap_allowance_mm - 1e-9,
        room,
        under_direction,
        over_direction,
        under_meeting: meeting(under_direction),
        over_meeting: meeting(over_direction),
    }
}

/// How deep something can lie under the later object and stay the far margin inside its edges.
fn room(over: &Locator, point: &EdgePoint, settings: &Settings) -> f64 {
    let numbers = &settings.profile.numbers;
    let margin = numbers.overlap_far_margin_mm;
    // Step over the edge itself.
    let start = 0.05;
    let hits = over.hits(point.at + point.inward * start, point.inward, DEEPEST_MM + margin);
    let exit = hits.first().map_or(DEEPEST_MM + margin, |d| d + start);
    let straight = (exit - margin).max(0.0);
    // Sideways: the edge beside must not come nearer either. Near its own edge a point cannot be
    // farther from it than it is deep, and on a corner's bisector it is nearer still.
    let mut clear = 0.0;
    for step in 1..=4 {
        let depth = numbers.overlap_aim_mm * f64::from(step) / 4.0;
        if depth > straight {
            return straight;
        }
        let needed = margin.min(0.6 * depth) - 0.02;
        if over.is_near_edge(point.at + point.inward * depth, needed) {
            return clear;
        }
        clear = depth;
    }
    straight
}
