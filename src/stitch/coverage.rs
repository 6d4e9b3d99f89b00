//! How well underlay supports an object, judged from geometry alone: beside its edges, and where
//! it crosses the centre seam. The survey and the edge run pass share these measures, so that
//! what one calls missing the other repairs, and what was repaired is never found again.

use std::collections::BTreeMap;

use geo::{Coord, Intersects, LineString, MultiPolygon, Rect};

use super::column::Column;
use crate::design::Link;
use crate::garment::Numbers;
use crate::geometry::engine;
use crate::geometry::footprint::Footprint;
use crate::geometry::polyline::{Measured, heading, length, simplify};
use crate::geometry::segments::{Segment, SegmentGrid};
use crate::geometry::vector::{between_lines, cross, dot, line_angle, norm, turn, unit};
use crate::objects::{Class, Label, Object, Objects, Satin, Shape};

/// Distance of the samples along an edge, mm.
const STEP: f64 = 0.5;
/// How far rounding to whole points may move a stitch, mm.
const ROUNDING: f64 = 0.05;
/// What crosses the seam reaches this far (mm) to both sides of it.
const ASTRIDE: f64 = 2.0;
/// Outlines of fills are smoothed by this much (mm): row ends make them jagged.
const SMOOTHING: f64 = 0.1;
/// Edges are extended under later objects by up to this, mm.
const EXTENDED: f64 = 1.9;
/// An edge run turns this far (mm) short of the open ends of a column.
const ENDS: f64 = 1.0;
/// A run serves the edge that it is nearer to by at least this much, mm.
const NEARER: f64 = 0.1;
/// Shorter columns (mm, J) need no underlay along them: two turns would be all of it.
const EDGE_MIN: f64 = 2.0;
/// Most stitches of a tie that count as one (J: no published number); short runs to and fro beside an
/// edge may be taken for more of it.
const TIE_STITCHES: usize = 4;
/// Stretches with fewer samples are not judged by themselves.
const SAMPLES_MIN: usize = 2;
/// Nor are shorter rings of a fill: slits that rounding leaves. On a shorter stretch one bare place
/// is more than the share that may be bare.
const SAMPLES_SHORT: usize = 8;

/// Underlay between two turns of so much (degrees) that is no longer than this (mm, J: open rows lie
/// half as far apart) leads from row to row: it holds the edge along its own length, and so much
/// further, mm.
const STEP_TURN: f64 = 35.0;
const STEP_LONGEST: f64 = 5.0;
const STEP_BEYOND: f64 = 0.3;

/// A stitch of which one end lies so much further from the edge than the other (mm, J: the run itself
/// may lie in a band of about this width) leads away from it.
const LEADS_AWAY: f64 = 0.75;

/// Measures of one design's underlay.
#[derive(Debug)]
pub struct Coverage<'a> {
    numbers: &'a Numbers,
    /// Stitches of underlay that serves many objects, with the place of its object in the order.
    shared: Vec<(usize, Stitch)>,
    /// What hides whatever lies beneath it, by its place in the order.
    covers: Vec<Cover<'a>>,
}

/// An object that hides what lies beneath it.
#[derive(Debug)]
struct Cover<'a> {
    place: usize,
    bounds: Rect<f64>,
    footprint: &'a Footprint,
}

impl Cover<'_> {
    fn hides(&self, at: Coord<f64>) -> bool {
        self.bounds.intersects(&at) && self.footprint.locator().contains(at)
    }
}

/// A place on an edge that should have an edge run beside it.
#[derive(Clone, Copy, Debug)]
struct Probe {
    at: Coord<f64>,
    /// Direction of the edge, a unit vector.
    direction: Coord<f64>,
    /// Width of the column here, square to it, mm.
    width: f64,
    /// The column is wide enough for a run beside each edge.
    wide: bool,
    /// Edges are judged one by one, and wide stretches of them apart from narrow ones.
    group: usize,
}

impl<'a> Coverage<'a> {
    pub fn new(objects: &'a Objects, numbers: &'a Numbers) -> Self {
        let nodes = objects.items.iter().enumerate().filter(|(_, o)| o.class == Class::Underlay);
        let shared = nodes
            .flat_map(|(place, object)| stitches(object, |_| true).map(move |s| (place, s)))
            .collect();
        let hiding = objects.items.iter().enumerate().filter(|(_, object)| object.hides);
        let covers = hiding.filter_map(|(place, Object { footprint, .. })| {
            let bounds = footprint.bounding_rect()?;
            Some(Cover { place, bounds, footprint })
        });
        Self { numbers, shared, covers: covers.collect() }
    }

    /// Share (0 to 1) of an object's edges that have underlay beside them, running along the edge
    /// within the distances of the garment: both rails of a satin, outline and holes of a fill
    /// (as far as it is wide enough for an edge run); the least of all edges. Where a column is too
    /// narrow for two runs, one in the middle serves. `place` is the object's place in the sewing
    /// order. `None` for objects without edges: runs, underlay, guards, unsure ones.
    pub fn edge_run_share(&self, object: &Object, place: usize) -> Option<f64> {
        let probes = probes(object, self.numbers);
        let (probes, least) = match object.fill() {
            Some(_) => (probes, SAMPLES_SHORT),
            None => (without_chance(probes), SAMPLES_MIN),
        };
        let groups = self.groups(&probes, object, place);
        let judged = groups.into_iter().filter(|(_, all)| *all >= least);
        judged.map(|(beside, all)| share(beside, all)).min_by(f64::total_cmp)
    }

    /// For each edge of an object that may have underlay, wide stretches of it apart from narrow
    /// ones: the share (0 to 1) that has underlay beside it, place by place with nothing pardoned,
    /// and the length that was judged, mm.
    pub fn edge_run_shares(&self, object: &Object, place: usize) -> Vec<(f64, f64)> {
        if !can_have_underlay(object, self.numbers) {
            return Vec::new();
        }
        let groups = self.groups(&probes(object, self.numbers), object, place);
        let measured = |(beside, all)| (beside as f64 / all as f64, all as f64 * STEP);
        groups.into_iter().map(measured).collect()
    }

    /// How many probes of each group have underlay beside them, and how many there are.
    fn groups(&self, probes: &[Probe], object: &Object, place: usize) -> Vec<(usize, usize)> {
        if probes.is_empty() {
            return Vec::new();
        }
        let beneath = Beneath::new(self.under(object, place));
        let mut groups: BTreeMap<usize, (usize, usize)> = BTreeMap::new();
        for probe in probes {
            let (beside, all) = groups.entry(probe.group).or_default();
            *beside += usize::from(self.beside(probe, &beneath, place));
            *all += 1;
        }
        groups.into_values().collect()
    }

    /// The share, where it is so low that the edge run counts as missing. Objects that are held,
    /// unsure or shorter than a junction need none; a satin too narrow for an edge run needs a
    /// centre run.
    pub fn edge_run_due(&self, object: &Object, place: usize) -> Option<f64> {
        let n = self.numbers;
        if !can_have_underlay(object, n) {
            return None;
        }
        if let Some(satin) = object.satin() {
            let longest = satin.rails.iter().map(|rail| length(rail)).fold(0.0, f64::max);
            let edges = takes_edges(satin, n);
            if longest < EDGE_MIN {
                return None;
            }
            let under = || self.segments(object, place).map(|s| length(&s)).sum::<f64>();
            if !edges && under() < n.centre_run_stitch_mm {
                return Some(0.0);
            }
        }
        self.edge_run_share(object, place).filter(|share| *share < n.edge_run_act_below)
    }

    /// Does an object cross the seam without underlay across its stitches' own support: zigzag
    /// under a satin, rows across the top rows under a fill? Gives the share that is supported.
    pub fn seam_due(&self, object: &Object, place: usize, seam_x: f64) -> Option<f64> {
        let n = self.numbers;
        if !can_have_underlay(object, n)
            || !wide_enough_for_band(object)
            || !reaches_over(object, seam_x)
        {
            return None;
        }
        let lines = [-1.5, -0.5, 0.5, 1.5].map(|dx| (seam_x + dx, heights(object, seam_x + dx)));
        let crosses = lines[1].1.iter().any(|(a, b)| {
            lines[2].1.iter().any(|(c, d)| b.min(*d) - a.max(*c) >= n.stitch_short_fault_mm)
        });
        if !crosses {
            return None;
        }
        let along = Along::of(object)?;
        let reach = n.zigzag_pitch_mm.max(n.fill_underlay_pitch_mm) / 2.0 + 2.0 * ROUNDING;
        let crossing = |segment: &Segment| {
            let near = |at: Coord<f64>| (at.x - seam_x) / (ASTRIDE + reach);
            let [a, b] = segment.map(near);
            a.min(b) <= 1.0 && a.max(b) >= -1.0 && along.crosses(segment, n.edge_run_parallel_deg)
        };
        let grid = SegmentGrid::new(self.segments(object, place).filter(crossing).collect());
        let (mut count, mut supported) = (0.0, 0.0);
        for (x, heights) in lines {
            for (low, high) in heights {
                // As far in as zigzag lies: in a narrow column less.
                let inset = n.zigzag_inset_mm.min((high - low) / 4.0);
                let mut y = low + inset;
                while y <= high - inset {
                    count += 1.0;
                    if grid.is_near(Coord { x, y }, reach, |_, _| true) {
                        supported += 1.0;
                    }
                    y += STEP;
                }
            }
        }
        let share = if count > 0.0 { supported / count } else { 1.0 };
        (share < n.seam_support_share).then_some(share)
    }

    /// Stitches under an object: its own before its top stitching, and shared ones sewn before.
    fn under(&self, object: &Object, place: usize) -> Vec<Stitch> {
        let mut under: Vec<Stitch> = stitches(object, |label| !Object::is_top(label)).collect();
        under.extend(self.shared.iter().filter(|(at, _)| *at < place).map(|(_, s)| *s));
        under
    }

    fn segments(&self, object: &Object, place: usize) -> impl Iterator<Item = Segment> {
        self.under(object, place).into_iter().map(|stitch| stitch.segment)
    }

    fn beside(&self, probe: &Probe, beneath: &Beneath, place: usize) -> bool {
        let n = self.numbers;
        // Where the column is too narrow for two runs, one in the middle serves both edges.
        let near = (n.edge_run_near_mm - ROUNDING).min(probe.width / 2.0 - 4.0 * ROUNDING);
        let far = n.edge_run_far_mm + ROUNDING;
        let slant = n.edge_run_parallel_deg.to_radians().sin();
        let serves = |far: f64, rows: bool| {
            beneath.grid.is_near(probe.at, far, |i, off| {
                let [a, b] = beneath.grid.segments()[i];
                off >= near
                    && (rows || !beneath.is_row[i])
                    && (!beneath.is_step[i] || faces(probe.at, [a, b]))
                    && cross(probe.direction, b - a).abs() <= (slant * norm(b - a)).min(LEADS_AWAY)
                    && (!probe.wide || 2.0 * off + NEARER <= probe.width)
            })
        };
        // An edge that was extended under a later object is held where that object begins, by a run:
        // rows of underlay that happen to lie there follow no edge.
        serves(far, true) || serves(far + EXTENDED, false) && self.is_hidden(probe.at, place)
    }

    /// Does a later object hide this place?
    fn is_hidden(&self, at: Coord<f64>, place: usize) -> bool {
        let later = &self.covers[self.covers.partition_point(|cover| cover.place <= place)..];
        later.iter().any(|cover| cover.hides(at))
    }
}

/// A stitch of underlay.
#[derive(Clone, Copy, Debug)]
struct Stitch {
    segment: Segment,
    /// It belongs to underlay in rows.
    is_row: bool,
}

/// Stitches beneath an object.
struct Beneath {
    grid: SegmentGrid,
    /// Those that lead from one row of underlay to the next: they turn at either end.
    is_step: Vec<bool>,
    /// Rows of underlay.
    is_row: Vec<bool>,
}

impl Beneath {
    fn new(stitches: Vec<Stitch>) -> Self {
        let is_row = stitches.iter().map(|stitch| stitch.is_row).collect();
        let segments: Vec<Segment> = stitches.iter().map(|stitch| stitch.segment).collect();
        let joined = |k: usize| segments[k - 1][1] == segments[k][0];
        let way = |k: usize| segments[k][1] - segments[k][0];
        // Stitches that follow each other without a sharp turn.
        let turns = |k: usize| !joined(k) || turn(way(k - 1), way(k)).abs() >= STEP_TURN;
        let mut is_step = Vec::with_capacity(segments.len());
        while is_step.len() < segments.len() {
            let from = is_step.len();
            let to = (from + 1..segments.len()).find(|k| turns(*k)).unwrap_or(segments.len());
            let length: f64 = (from..to).map(|k| norm(way(k))).sum();
            let between = from > 0 && joined(from) && to < segments.len() && joined(to);
            is_step.resize(to, between && length <= STEP_LONGEST);
        }
        Self { grid: SegmentGrid::new(segments), is_step, is_row }
    }
}

/// Does a stitch lie right beside a place, not before it or behind?
fn faces(at: Coord<f64>, [a, b]: Segment) -> bool {
    let along = dot(at - a, unit(b - a));
    (-STEP_BEYOND..=norm(b - a) + STEP_BEYOND).contains(&along)
}

/// Share of the places that have a run beside them; a single bare one on a short stretch counts as
/// served.
fn share(beside: usize, all: usize) -> f64 {
    let served = if all < SAMPLES_SHORT && beside > 0 { all.min(beside + 1) } else { beside };
    served as f64 / all as f64
}

/// May this object be given underlay at all?
pub fn can_have_underlay(object: &Object, n: &Numbers) -> bool {
    let filled =
        matches!(object.class, Class::Satin | Class::SplitSatin | Class::Fill | Class::CurvedFill);
    filled && !object.held && !object.fill().is_some_and(|fill| is_open(fill.row_pitch, n))
}

/// Do rows so far apart (mm) leave cloth between them, where underlay would show? Joined in a V,
/// every second one ends in the same place.
pub fn is_open(row_pitch: f64, n: &Numbers) -> bool {
    2.0 * row_pitch > n.thread_width_mm + n.sew_cover_closing_mm + ROUNDING
}

/// Is a satin wide enough somewhere for a run beside each edge? Others get a centre run.
pub fn takes_edges(satin: &Satin, n: &Numbers) -> bool {
    satin.width[2] >= n.edge_run_min_width_mm - ROUNDING
}

/// Narrowest column that has room for zigzag, mm (J): half of it, in stitches of three quarters of a
/// millimetre.
const BAND_WIDTH: f64 = 1.0;

/// Is there room for crossing underlay between the edges? Narrower columns get a centre run only.
fn wide_enough_for_band(object: &Object) -> bool {
    object.satin().is_none_or(|satin| satin.width[1] >= BAND_WIDTH - 2.0 * ROUNDING)
}

/// Does an object reach well to both sides of a vertical line? A column that stands on it does not
/// cross it.
fn reaches_over(object: &Object, x: f64) -> bool {
    let far = ASTRIDE - ROUNDING;
    object
        .footprint
        .bounding_rect()
        .is_some_and(|bounds| bounds.min().x <= x - far && bounds.max().x >= x + far)
}

/// Straight stitches of the leading parts of an object whose labels all `count`; what is sewn after a
/// cut or a jump has leading parts of its own. Ties are left out, but for what goes on beyond a
/// tie's length and the last stitch of one that a run follows: the run may begin on the tie.
fn stitches(object: &Object, counts: fn(Label) -> bool) -> impl Iterator<Item = Stitch> + '_ {
    let nexts = object.parts.iter().skip(1).map(|part| part.label);
    let parts = object.parts.iter().zip(nexts.chain([Label::Unsure]));
    let mut leads = true;
    let mut last: Option<Coord<f64>> = None;
    parts.flat_map(move |(part, next)| {
        leads = (leads || part.link != Link::Sewn) && counts(part.label);
        if !leads {
            last = part.needles.last().map(|needle| needle.at.mm());
            return Vec::new();
        }
        let led = usize::from(matches!(next, Label::EdgeRun | Label::CentreRun));
        let counted = match part.label {
            Label::Tie => part.needles.len().saturating_sub(led).min(TIE_STITCHES),
            _ => 0,
        };
        let is_row = part.label == Label::FillUnderlay;
        let mut found = Vec::new();
        for (k, needle) in part.needles.iter().enumerate() {
            let at = needle.at.mm();
            let sewn = k > 0 || part.link == Link::Sewn;
            if let Some(from) = last.filter(|from| sewn && *from != at && k >= counted) {
                found.push(Stitch { segment: [from, at], is_row });
            }
            last = Some(at);
        }
        found
    })
}

fn probes(object: &Object, n: &Numbers) -> Vec<Probe> {
    match &object.shape {
        Shape::Satin(_) => Column::of(object).map_or_else(Vec::new, |c| satin_probes(&c, n)),
        Shape::Fill(_) => fill_probes(&object.footprint, n),
        Shape::Line | Shape::Unknown => Vec::new(),
    }
}

fn satin_probes(column: &Column, n: &Numbers) -> Vec<Probe> {
    let mut probes = Vec::new();
    for rail in 0..2 {
        let line = &column.rails[rail];
        let measured = Measured::new(line);
        let clear = if column.closed { 0.0 } else { ENDS };
        let steps = ((measured.length() - 2.0 * clear) / STEP).floor().max(0.0) as usize;
        for k in 0..=steps {
            let along = clear + k as f64 * STEP;
            let (Some(at), Some((i, _))) = (measured.at(along), measured.segment(along)) else {
                continue;
            };
            if let Some(direction) = column.rail_along(rail, i) {
                let (direction, width) = (unit(direction), column.width(i));
                let wide = width >= n.edge_run_min_width_mm - ROUNDING;
                let group = 2 * rail + usize::from(wide);
                probes.push(Probe { at, direction, width, wide, group });
            }
        }
    }
    probes
}

/// Where a column is wide enough (or too narrow) for two runs at a few places only, that is
/// rounding or a tip: few wide places are served like the narrow ones, few narrow ones left out.
fn without_chance(mut probes: Vec<Probe>) -> Vec<Probe> {
    for rail in 0..2 {
        let count = |group| probes.iter().filter(|probe| probe.group == group).count();
        let (narrow, wide) = (2 * rail, 2 * rail + 1);
        let (few_narrow, few_wide) = (count(narrow) < SAMPLES_SHORT, count(wide) < SAMPLES_SHORT);
        if count(narrow) == 0 || count(wide) == 0 {
            continue;
        }
        if few_narrow && count(wide) > count(narrow) {
            probes.retain(|probe| probe.group != narrow);
        } else if few_wide {
            for probe in probes.iter_mut().filter(|probe| probe.group == wide) {
                (probe.wide, probe.group) = (false, narrow);
            }
        }
    }
    probes
}

fn fill_probes(footprint: &MultiPolygon<f64>, n: &Numbers) -> Vec<Probe> {
    let ideal = inset_rings(footprint, n.edge_run_inset_mm);
    let segments = ideal.iter().flat_map(|ring| ring.windows(2).map(|p| [p[0], p[1]]));
    let ideal = SegmentGrid::new(segments.collect());
    let mut probes = Vec::new();
    for (group, ring) in rings(&smoothed(footprint)).enumerate() {
        let measured = Measured::new(&ring.0);
        let steps = (measured.length() / STEP).floor() as usize;
        for k in 0..steps {
            let along = k as f64 * STEP;
            if let (Some(at), Some(tangent)) = (measured.at(along), measured.tangent(along)) {
                let room = ideal.is_near(at, n.edge_run_far_mm - ROUNDING, |_, _| true);
                if room {
                    let (direction, width) = (unit(tangent), f64::INFINITY);
                    probes.push(Probe { at, direction, width, wide: true, group });
                }
            }
        }
    }
    probes
}

/// The outline of a fill and of its holes moved inside by `inset` mm, as closed lines long enough
/// to sew: where the edge run belongs.
pub fn inset_rings(footprint: &MultiPolygon<f64>, inset: f64) -> Vec<Vec<Coord<f64>>> {
    let inner = engine::offset(&smoothed(footprint), -inset);
    let long = |ring: &Vec<Coord<f64>>| length(ring) >= 4.0 * inset;
    rings(&inner).map(|ring| simplify(&ring.0, SMOOTHING / 2.0)).filter(long).collect()
}

fn smoothed(area: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    let smooth = |ring: &LineString<f64>| LineString(simplify(&ring.0, SMOOTHING));
    let polygon = |p: &geo::Polygon<f64>| {
        geo::Polygon::new(smooth(p.exterior()), p.interiors().iter().map(smooth).collect())
    };
    MultiPolygon(area.0.iter().map(polygon).collect())
}

fn rings(area: &MultiPolygon<f64>) -> impl Iterator<Item = &LineString<f64>> {
    area.0.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
}

/// Where a vertical line crosses an object's footprint: spans of y, mm.
fn heights(object: &Object, x: f64) -> Vec<(f64, f64)> {
    let mut ys: Vec<f64> = rings(&object.footprint)
        .flat_map(|ring| ring.lines())
        .filter(|line| (line.start.x <= x) != (line.end.x <= x))
        .map(|line| {
            let t = (x - line.start.x) / (line.end.x - line.start.x);
            line.start.y + (line.end.y - line.start.y) * t
        })
        .collect();
    ys.sort_by(f64::total_cmp);
    ys.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
}

/// The direction that support has to cross: a column's own, a fill's rows.
enum Along {
    Column(Column),
    Rows(f64),
}

impl Along {
    fn of(object: &Object) -> Option<Self> {
        match &object.shape {
            Shape::Satin(_) => Column::of(object).map(Self::Column),
            Shape::Fill(fill) => Some(Self::Rows(fill.angle)),
            Shape::Line | Shape::Unknown => None,
        }
    }

    fn crosses(&self, segment: &Segment, parallel: f64) -> bool {
        let direction = match self {
            Self::Rows(angle) => Some(*angle),
            Self::Column(column) => {
                let at = crate::geometry::vector::middle(segment[0], segment[1]);
                let square = |i: &usize| {
                    let d = column.centre(*i) - at;
                    d.x * d.x + d.y * d.y
                };
                (0..column.len())
                    .min_by(|a, b| square(a).total_cmp(&square(b)))
                    .and_then(|i| column.along(i))
                    .map(line_angle)
            }
        };
        let own = heading(segment[0], segment[1]).map(line_angle);
        own.zip(direction).is_some_and(|(own, other)| between_lines(own, other) > parallel)
    }
}

#[cfg(test)]
#[path = "coverage_tests.rs"]
mod tests;
