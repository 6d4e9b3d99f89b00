//! The visible areas of a design, in sewing order, and which of them covers a point.

use std::borrow::Cow;
use std::collections::BTreeMap;

use geo::{Area, Coord, MultiPolygon};
use rstar::{AABB, RTree, RTreeObject};

use super::bent;
use super::fill::{ReadFill, join_footprints};
use super::grid::Grid;
use super::seams;
use super::sections::{TOUCHING, are_parted, corner_is_within};
use super::segment::{Kind, ReadStretch, Segment};
use crate::geometry::boxes::near;
use crate::geometry::engine;
use crate::geometry::footprint::Footprint;
use crate::geometry::vector::between_lines;
use crate::objects::Fill;

/// Sections of one fill agree in angle to this many degrees, and what their rows cannot tell; those of
/// few rows to more.
const LARGE_ANGLE: f64 = 1.0;
const SAME_ANGLE: f64 = 3.0;

/// Islands of one fill lie this close, mm (J).
const ISLAND_MM: f64 = 12.0;

/// A line of more stitches that leads nowhere is none between sections (J).
const LONG_LINE: usize = 24;

/// They are sewn at most so many sections after each other.
const NEAR_ISLANDS: usize = 8;

/// Most stitches of a line between sections of a curved fill that does not go straight.
const BENT_LINK: usize = 8;

/// Most sections of few rows between two of one fill whose angle or pitch is off, and how many times as
/// many rows the two have.
const WEDGED: usize = 3;
const WEDGE: usize = 3;

/// Two rows and what the grid adds.
pub const TWO_ROWS: f64 = 2.2;

/// The grids of two tops.
type Grids = [Option<Grid>; 2];

/// One top object: a satin, or a fill of one or more sections.
pub struct Top {
    pub stop: u32,
    /// (stretch, segment) of each section, in order.
    pub sections: Vec<(usize, usize)>,
    /// First and last penetration of the top stitching, sections' travel included.
    pub first: usize,
    pub last: usize,
    pub footprint: Footprint,
}

/// Collects the tops of all stretches and joins the sections of one fill.
pub fn collect(stretches: &[ReadStretch]) -> Vec<Top> {
    let mut tops: Vec<Top> = Vec::new();
    for (s, stretch) in stretches.iter().enumerate() {
        for (g, segment) in stretch.segments.iter().enumerate() {
            tops.extend(top_of(stretch, s, g, segment));
        }
    }
    let linked = links(stretches, &tops);
    let mut joined: Vec<Top> = Vec::new();
    let mut run: Vec<Top> = Vec::new();
    for (k, top) in tops.into_iter().enumerate() {
        if k > 0 && !linked[k - 1] {
            joined.extend(join_run(stretches, std::mem::take(&mut run)));
        }
        run.push(top);
    }
    joined.extend(join_run(stretches, run));
    joined
}

/// For every top but the last: may the next one be a section of the same fill? What a few rows tell
/// does not part two sections that they lie between.
fn links(stretches: &[ReadStretch], tops: &[Top]) -> Vec<bool> {
    let goes_on =
        |a: &Top, b: &Top| alike(stretches, a, b, || [grid(stretches, a), grid(stretches, b)]);
    let mut linked: Vec<bool> = tops.windows(2).map(|pair| goes_on(&pair[0], &pair[1])).collect();
    let rows = |top: &Top| read_fill(stretches, top.sections[0]).map_or(0, |read| read.rows.len());
    let rows: Vec<usize> = tops.iter().map(rows).collect();
    let few = |k: usize, a: usize, b: usize| WEDGE * rows[k] <= rows[a].min(rows[b]);
    for a in 0..tops.len() {
        for b in (a + 2..tops.len()).take(WEDGED) {
            let wedged = linked[a..b].contains(&false)
                && rows[b] > 0
                && (a + 1..b).all(|k| few(k, a, b))
                && (a..b).all(|k| tops[k].last == tops[k + 1].first);
            if wedged && goes_on(&tops[a], &tops[b]) {
                linked[a..b].fill(true);
            }
        }
    }
    linked
}

/// The section as a fill, if it is one.
fn read_fill(stretches: &[ReadStretch], (s, g): (usize, usize)) -> Option<&ReadFill> {
    match &stretches[s].segments[g].kind {
        Kind::Fill(read) => Some(read),
        _ => None,
    }
}

/// The top that each (stretch, segment) is a section of.
pub fn by_section(tops: &[Top]) -> BTreeMap<(usize, usize), usize> {
    let sections = |(t, top): (usize, &Top)| {
        top.sections.iter().map(|section| (*section, t)).collect::<Vec<_>>()
    };
    tops.iter().enumerate().flat_map(sections).collect()
}

/// Joins those of a run of alike fills that touch, also through a later one (the tips of a wave
/// touch its body, not each other), and islands that are sewn in turns.
fn join_run(stretches: &[ReadStretch], run: Vec<Top>) -> Vec<Top> {
    if run.len() < 2 {
        return run;
    }
    let mut group = groups(stretches, &run);
    join_turns(&mut group);
    let mut sections: Vec<Vec<Top>> = Vec::new();
    let mut last = None;
    for (i, top) in run.into_iter().enumerate() {
        match sections.last_mut() {
            Some(some) if last == Some(group[i]) => some.push(top),
            _ => sections.push(vec![top]),
        }
        last = Some(group[i]);
    }
    sections.into_iter().filter_map(|some| join(stretches, some)).collect()
}

/// Number of the connected group of every top (the least index in it).
fn groups(stretches: &[ReadStretch], run: &[Top]) -> Vec<usize> {
    // Rows that are joined in a V leave a gap of two of them between sections.
    let pitch = |section: &(usize, usize)| {
        read_fill(stretches, *section).map_or(0.0, |read| read.fill.row_pitch)
    };
    let widest = run.iter().flat_map(|top| top.sections.iter().map(pitch)).fold(0.0, f64::max);
    let far = TOUCHING.max(TWO_ROWS * widest);
    let grids: Vec<Option<Grid>> = run.iter().map(|top| grid(stretches, top)).collect();
    let one_grid =
        |a: usize, b: usize| lie_on_one(stretches, [grids[a], grids[b]], &run[a], &run[b]);
    let both = |a: usize, b: usize| [grids[a], grids[b]];
    // Underlay, or a long line, comes before an object of its own.
    let parted = |a: usize, b: usize| {
        let (last, next) = (run[a].sections[run[a].sections.len() - 1], run[b].sections[0]);
        are_parted(stretches, last, next, LONG_LINE)
    };
    // Islands far apart may have others between them.
    let by_way = |group: &[usize], a: usize, b: usize| {
        let own = |k: &usize| group[*k] == group[a];
        (a + 1..b).filter(own).any(|k| touch(&run[k], &run[b], ISLAND_MM))
    };
    let mut group: Vec<usize> = (0..run.len()).collect();
    for b in 1..run.len() {
        for a in 0..b {
            if group[a] != group[b]
                && (touch(&run[a], &run[b], far)
                    && (b == a + 1 || alike(stretches, &run[a], &run[b], || both(a, b)))
                    && (one_grid(a, b) || !parted(a, b))
                    || touch(&run[a], &run[b], ISLAND_MM)
                        && (one_grid(a, b)
                            || b == a + 1 && next_island(stretches, &run[a], &run[b], both(a, b)))
                    || b - a <= NEAR_ISLANDS && by_way(&group, a, b) && one_grid(a, b))
            {
                let (low, high) = (group[a].min(group[b]), group[a].max(group[b]));
                group.iter_mut().filter(|g| **g == high).for_each(|g| *g = low);
            }
        }
    }
    group
}

/// Are these islands of one fill, sewn one after the other, as far as few rows can tell?
fn next_island(stretches: &[ReadStretch], a: &Top, b: &Top, grids: Grids) -> bool {
    /// Degrees, and share of the pitch, that they may differ by.
    const OFF: (f64, f64) = (2.0, 0.12);
    let (last, next) = (a.sections[a.sections.len() - 1], b.sections[0]);
    let fill = |section: (usize, usize)| {
        read_fill(stretches, section).filter(|read| read.straight).map(|read| &read.fill)
    };
    let alike = |a: &Fill, b: &Fill| {
        between_lines(a.angle, b.angle) <= OFF.0
            && (a.row_pitch - b.row_pitch).abs() <= OFF.1 * a.row_pitch.max(b.row_pitch)
    };
    fill(last).zip(fill(next)).is_some_and(|(a, b)| alike(a, b))
        && !are_parted(stretches, last, next, BENT_LINK)
        && !denies(stretches, grids[0], b)
        && !denies(stretches, grids[1], a)
}

fn grid(stretches: &[ReadStretch], top: &Top) -> Option<Grid> {
    let (s, g) = top.sections[0];
    Grid::of_segment(&stretches[s].track, &stretches[s].segments[g])
}

/// Do the rows of one of two tops lie on the lines of the other?
fn lie_on_one(stretches: &[ReadStretch], grids: Grids, a: &Top, b: &Top) -> bool {
    grids[0].is_some_and(|grid| on_grid(stretches, b, &grid))
        || grids[1].is_some_and(|grid| on_grid(stretches, a, &grid))
}

/// Do the rows of a top lie on the lines of another?
fn on_grid(stretches: &[ReadStretch], top: &Top, grid: &Grid) -> bool {
    let (s, g) = top.sections[0];
    let weave = stretches[s].segments[g].weave.as_ref();
    weave.is_some_and(|weave| grid.holds(&stretches[s].track, &weave.sweeps))
}

/// Makes one of groups that do not each follow without a break.
fn join_turns(group: &mut [usize]) {
    let last = |group: &[usize], g: usize| group.iter().rposition(|other| *other == g);
    let mut start = 0;
    while start < group.len() {
        let mut end = start;
        let mut i = start;
        while i <= end {
            end = end.max(last(group, group[i]).unwrap_or(i));
            i += 1;
        }
        let first = group[start];
        group[start..=end].fill(first);
        start = end + 1;
    }
}

fn top_of(stretch: &ReadStretch, s: usize, g: usize, segment: &Segment) -> Option<Top> {
    let footprint = segment.footprint()?.clone();
    let points = segment.points;
    Some(Top {
        stop: stretch.stop,
        sections: vec![(s, g)],
        first: stretch.track.index[points.0],
        last: stretch.last_penetration(points.1),
        footprint: footprint.into(),
    })
}

/// May two tops that follow each other be sections of one fill, by angle and pitch?
fn alike(stretches: &[ReadStretch], a: &Top, b: &Top, grids: impl Fn() -> Grids) -> bool {
    let (last, next) = (a.sections[a.sections.len() - 1], b.sections[0]);
    if a.stop == b.stop
        && bent::goes_on(stretches, last, next)
        && !are_parted(stretches, last, next, BENT_LINK)
    {
        return true;
    }
    let fill = |section: &(usize, usize)| {
        let read = read_fill(stretches, *section);
        read.filter(|read| read.straight || read.nearly_straight || small_section(read))
    };
    let (Some(fa), Some(fb)) = (a.sections.iter().find_map(fill), fill(&b.sections[0])) else {
        return false;
    };
    if !(fa.straight || small_section(fa) || fb.straight) {
        return false;
    }
    // A section of few or short rows says little about angle and pitch; a gradient changes its pitch.
    let small = small_section(fa) || small_section(fb);
    let doubt = angle_doubt(stretches, a).max(angle_doubt(stretches, b));
    let (angle, pitch) = match (small, follow_on(stretches, a, b)) {
        (false, true) => (LARGE_ANGLE + doubt, 1.0),
        (true, _) => ((SAME_ANGLE + doubt).min(4.0 * SAME_ANGLE), 0.6),
        _ => (LARGE_ANGLE + doubt, 0.25),
    };
    let (pa, pb) = (fa.fill.row_pitch, fb.fill.row_pitch);
    let spaced_alike = (pa - pb).abs() <= pitch * pa.max(pb)
        || (fa.is_gradient() || fb.is_gradient()) && spacings_meet(fa, fb);
    a.stop == b.stop && between_lines(fa.fill.angle, fb.fill.angle) <= angle && {
        let [of_a, of_b] = grids();
        (spaced_alike || lie_on_one(stretches, [of_a, of_b], a, b))
            // Each may have a grid on which the rows of the other do not lie.
            && !(denies(stretches, of_a, b) && denies(stretches, of_b, a))
    }
}

/// How far off the angle of few and short rows may be, degrees: the tape's grid moves their ends,
/// and rows that join in a V lean to either side.
fn angle_doubt(stretches: &[ReadStretch], top: &Top) -> f64 {
    /// What rounding both ends comes to, mm.
    const GRID_MM: f64 = 0.1;
    let (s, g) = top.sections[0];
    let (track, weave) = (&stretches[s].track, stretches[s].segments[g].weave.as_ref());
    weave.map_or(0.0, |weave| {
        let lean = weave.advance(track) / weave.sweeps.len() as f64;
        ((GRID_MM + lean) / weave.length(track)).atan().to_degrees()
    })
}

/// Is there a grid on which the many rows of a top do not lie?
fn denies(stretches: &[ReadStretch], grid: Option<Grid>, top: &Top) -> bool {
    let (s, g) = top.sections[0];
    let weave = stretches[s].segments[g].weave.as_ref();
    grid.zip(weave).is_some_and(|(grid, weave)| grid.denies(&stretches[s].track, &weave.sweeps))
}

/// Do the distances between rows of one section go on in the other?
fn spacings_meet(a: &ReadFill, b: &ReadFill) -> bool {
    const OFF: f64 = 1.35;
    a.spacing.0 <= OFF * b.spacing.1 && b.spacing.0 <= OFF * a.spacing.1
}

/// Is `b` sewn right after `a`, without a stitch that belongs to neither?
fn follow_on(stretches: &[ReadStretch], a: &Top, b: &Top) -> bool {
    let ((s, g), (t, h)) = (a.sections[a.sections.len() - 1], b.sections[0]);
    s == t && g + 1 == h && stretches[s].segments[g].points.1 == stretches[s].segments[h].points.0
}

fn small_section(read: &ReadFill) -> bool {
    read.rows.len() < 15 || read.footprint.unsigned_area() < 10.0
}

/// Do two areas touch, judged at their corners?
fn touch(a: &Top, b: &Top, far: f64) -> bool {
    let one_way =
        |from: &Top, to: &Top| corner_is_within(&from.footprint, to.footprint.locator(), far);
    let boxes = [a.footprint.bounding_rect(), b.footprint.bounding_rect()];
    matches!(boxes, [Some(ra), Some(rb)] if near(ra, rb, far)) && (one_way(a, b) || one_way(b, a))
}

fn join(stretches: &[ReadStretch], mut sections: Vec<Top>) -> Option<Top> {
    if sections.len() < 2 {
        return sections.pop();
    }
    let all: Vec<(usize, usize)> =
        sections.iter().flat_map(|top| top.sections.iter().copied()).collect();
    // The section with most rows says most about their angle and pitch.
    let most = all.iter().filter_map(|section| read_fill(stretches, *section));
    let most = most.max_by_key(|read| read.rows.len());
    let (angle, pitch) = most.map_or((0.0, 0.0), |read| (read.fill.angle, read.fill.row_pitch));
    let seams = seams::between(stretches, &all, angle, pitch);
    // The sections of all tops, one top after the other.
    let mut forks = seams.forks.iter();
    let areas = sections.iter().map(|top| {
        let own: Vec<_> = forks.by_ref().take(top.sections.len()).collect();
        without(&top.footprint, &engine::union_all(&own))
    });
    let areas: Vec<Cow<MultiPolygon<f64>>> = areas.collect();
    let areas: Vec<&MultiPolygon<f64>> =
        areas.iter().map(|area| &**area).chain(&seams.strips).collect();
    let footprint = join_footprints(&areas, pitch);
    Some(Top {
        stop: sections[0].stop,
        first: sections[0].first,
        last: sections[sections.len() - 1].last,
        footprint: footprint.into(),
        sections: all,
    })
}

/// What is left of an area without some others.
fn without<'a>(
    area: &'a MultiPolygon<f64>,
    others: &MultiPolygon<f64>,
) -> Cow<'a, MultiPolygon<f64>> {
    if others.0.is_empty() {
        return Cow::Borrowed(area);
    }
    Cow::Owned(engine::difference(area, others))
}

/// Finds the tops that cover a point.
pub struct Cover<'a> {
    tops: &'a [Top],
    tree: RTree<Boxed>,
}

struct Boxed {
    top: usize,
    envelope: AABB<[f64; 2]>,
}

impl RTreeObject for Boxed {
    type Envelope = AABB<[f64; 2]>;
    fn envelope(&self) -> Self::Envelope {
        self.envelope
    }
}

impl<'a> Cover<'a> {
    pub fn new(tops: &'a [Top]) -> Self {
        let boxes = tops
            .iter()
            .enumerate()
            .filter_map(|(top, t)| {
                let r = t.footprint.bounding_rect()?;
                let envelope = AABB::from_corners([r.min().x, r.min().y], [r.max().x, r.max().y]);
                Some(Boxed { top, envelope })
            })
            .collect();
        Self { tops, tree: RTree::bulk_load(boxes) }
    }

    /// Tops (in sewing order) that are sewn after penetration `after` and cover the point, or whose
    /// edge is no further than `beyond` mm away: thread has a width.
    pub fn later(&self, at: Coord<f64>, after: usize, beyond: f64) -> Vec<usize> {
        let mut near = self.in_box(AABB::from_point([at.x, at.y]), beyond);
        near.retain(|&top| self.covers(top, at, after, beyond));
        near
    }

    /// Tops (in sewing order) that may cover one of some points: asked once for all of them.
    pub fn near(&self, points: &[Coord<f64>], beyond: f64) -> Vec<usize> {
        let corners: Vec<[f64; 2]> = points.iter().map(|at| [at.x, at.y]).collect();
        self.in_box(AABB::from_points(&corners), beyond)
    }

    /// Is a top sewn after penetration `after`, and does it cover the point?
    pub fn covers(&self, top: usize, at: Coord<f64>, after: usize, beyond: f64) -> bool {
        let top = &self.tops[top];
        let in_box = || {
            top.footprint.bounding_rect().is_some_and(|bounds| {
                at.x >= bounds.min().x - beyond
                    && at.x <= bounds.max().x + beyond
                    && at.y >= bounds.min().y - beyond
                    && at.y <= bounds.max().y + beyond
            })
        };
        top.last > after && in_box() && top.footprint.locator().is_within(at, beyond)
    }

    fn in_box(&self, bounds: AABB<[f64; 2]>, beyond: f64) -> Vec<usize> {
        let ([x0, y0], [x1, y1]) = (bounds.lower(), bounds.upper());
        let wider = AABB::from_corners([x0 - beyond, y0 - beyond], [x1 + beyond, y1 + beyond]);
        let mut found: Vec<usize> =
            self.tree.locate_in_envelope_intersecting(&wider).map(|boxed| boxed.top).collect();
        found.sort_unstable();
        found
    }
}
