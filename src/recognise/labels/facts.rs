//! What is measured once for every stitch before its label is chosen.

use std::cell::RefCell;
use std::collections::BTreeMap;

use geo::{BoundingRect, Coord, Intersects, MultiPoint, Rect};

use super::super::segment::{Kind, ReadStretch};
use super::super::track::{SAME_POINT, Track};
use super::super::weave::Weave;
use super::Scene;
use super::fill_underlay;
use super::place::Place;
use super::woven::{FEW_ROWS, Woven, few_rows, is_mesh, woven};
use crate::geometry::boxes::near;
use crate::geometry::vector::{distance, middle};

/// A stitch this near to an edge lies under the thread of the edge, mm.
pub const THREAD: f64 = 0.4;
/// A stitch that its top does not cover costs this much more.
pub const BARE: f64 = 0.5;
/// A run where its top does not cover it, and no edge can be measured from.
pub const NO_EDGE: f64 = 0.7;
/// A stitch of a weave as a run.
pub const WOVEN: f64 = 0.7;
/// A stitch under another top than the one that its stretch leads to.
pub const ASIDE: f64 = 0.6;
/// Few rows this near to a mesh are of its other pass, mm: so far apart rows lie at most.
const ROWS_APART: f64 = 3.5;
/// Shorter lines at the end of a stretch are none, mm.
const LINE_MM: f64 = 4.0;
/// Most tops that the stitches between two tops can belong to.
const TOPS_MAX: usize = 6;
/// Heading change from which a corner is sharp, degrees.
pub const SHARP: f64 = 68.0;
/// A bend of so many degrees, or more, of a line that leads somewhere costs this much.
const BEND_DEG: f64 = 16.0;
const BEND: f64 = 0.8;
/// A step as part of the line that it leads to, or from.
pub const STEP: f64 = 0.6;

/// A point of a stitch.
#[derive(Clone, Copy)]
pub enum Spot {
    From,
    Middle,
    To,
}

/// One stitch and where it lies.
pub struct Stitch {
    /// Its number among those to be labelled.
    pub number: usize,
    pub from: Coord<f64>,
    pub to: Coord<f64>,
    pub length: f64,
    /// Heading change before it and after it, degrees, to either side.
    pub turns: (f64, f64),
    /// It turns to one side before and to the other after.
    pub alternates: bool,
    /// Tops that cover its middle and are sewn later, in sewing order.
    pub covers: Vec<usize>,
    /// A top of its own stop is sewn over it later.
    pub under_own: bool,
    /// It lies under or on its own colour or, in a stretch with tops, under any other: not seen.
    pub hidden: bool,
    /// The open weave that it belongs to.
    pub weave: Option<Woven>,
    /// No thread was there before it in this stretch, and no corner: it need not have been sewn
    /// to get anywhere.
    pub first_way: bool,
    /// Another stitch of the same line goes over it.
    pub retraced: bool,
    /// It steps from the end of a top to where a line begins, or from a line to its top.
    pub is_step: bool,
}

impl Stitch {
    /// What it costs a line that leads somewhere to bend before this stitch.
    pub fn bend(&self) -> f64 {
        BEND * (self.turns.0 / BEND_DEG).powi(2).min(1.0)
    }
}

pub struct Facts<'a> {
    pub scene: Scene<'a>,
    pub stitches: Vec<Stitch>,
    /// Tops that the stitches may belong to.
    pub tops: Vec<usize>,
    /// The top that comes next, see [`leads_to`].
    pub leads_to: Option<usize>,
    /// Nothing but a tie was sewn before in the stretch.
    pub starts: bool,
    /// Nothing but a tie is sewn after them, and they are a line of their own.
    pub ends: bool,
    /// Places of needle points and of the middles between them, in turns, for each of `tops`.
    known: RefCell<Vec<Option<Place>>>,
}

impl<'a> Facts<'a> {
    /// `starts`: nothing but a tie was sewn before in the stretch; `ends`: nor is after.
    pub fn new(
        scene: Scene<'a>,
        stretch: &'a ReadStretch,
        points: (usize, usize),
        (starts, ends): (bool, bool),
    ) -> Self {
        let track = &stretch.track;
        let woven = woven(scene, stretch, points);
        let few = few_rows(track, points);
        let mesh = mesh(stretch, points);
        let with_top = stretch.has_top();
        let around = scene.cover.near(&track.at[points.0..=points.1], THREAD);
        let covering = |mid, after| {
            let covers = move |top: &usize| scene.cover.covers(*top, mid, after, THREAD);
            around.iter().copied().filter(covers)
        };
        let mut stitches = Vec::with_capacity(points.1 - points.0);
        let mut first_way = starts;
        for i in points.0 + 1..=points.1 {
            let (from, to) = (track.at[i - 1], track.at[i]);
            let (mid, after) = (middle(from, to), track.index[i]);
            let covers: Vec<usize> = covering(mid, after).collect();
            let same_stop = |top: &usize| scene.tops[*top].stop == stretch.stop;
            let in_mesh = mesh.is_some_and(|mesh| mesh.intersects(&mid));
            let near_mesh = mesh.is_some_and(|mesh| near(mesh, Rect::new(mid, mid), ROWS_APART));
            let few = few[i - points.0 - 1].filter(|rows| {
                let angles = covers.iter().filter_map(|top| scene.fill_angle(*top));
                near_mesh || angles.into_iter().any(|angle| fill_underlay::is_across(*rows, angle))
            });
            let under_own = covers.iter().any(same_stop);
            let (before, after_it) = (track.turn(i - 1), track.turn(i));
            let turns = (before.abs(), after_it.abs());
            first_way &= i == points.0 + 1 || turns.0 < SHARP;
            stitches.push(Stitch {
                number: i - points.0 - 1,
                from,
                to,
                length: distance(from, to),
                turns,
                alternates: before * after_it < 0.0,
                under_own,
                hidden: under_own
                    || with_top && !covers.is_empty()
                    || in_mesh
                    || covering(mid, 0).any(|top| same_stop(&top)),
                covers,
                weave: woven[i - points.0 - 1].or(few.map(|_| FEW_ROWS)),
                first_way,
                retraced: i >= 2 && distance(to, track.at[i - 2]) <= SAME_POINT
                    || i + 1 < track.len() && distance(from, track.at[i + 1]) <= SAME_POINT,
                is_step: i == points.0 + 1 && !starts && is_step(track, i, i + 1, turns.1)
                    || i == points.1 && is_step(track, i, i - 1, turns.0),
            });
        }
        let leads_to = leads_to(scene, stretch, &stitches, track.index[points.1]);
        let tops = candidates(scene, stretch, &stitches, leads_to);
        let known = RefCell::new(vec![None; tops.len() * (2 * stitches.len() + 1)]);
        let ends = ends && !starts && is_last_line(&stitches);
        Self { scene, stitches, tops, leads_to, starts, ends, known }
    }

    pub fn has_weaves(&self) -> bool {
        self.stitches.iter().any(|stitch| stitch.weave.is_some())
    }

    /// Where a stitch begins, its middle and its end lie in one of `tops`.
    pub fn place(&self, top: usize, stitch: &Stitch, spot: Spot) -> Place {
        let own = self.tops.iter().position(|candidate| *candidate == top).unwrap_or(0);
        let (at, step) = match spot {
            Spot::From => (stitch.from, 0),
            Spot::Middle => (middle(stitch.from, stitch.to), 1),
            Spot::To => (stitch.to, 2),
        };
        let index = own * (2 * self.stitches.len() + 1) + 2 * stitch.number + step;
        *self.known.borrow_mut()[index].get_or_insert_with(|| self.scene.places.of(top, at))
    }
}

/// The next top of the stretch; where a stretch is all underlay, the next one of its stop if that lies
/// over most of it; where one ends with underlay, if that lies over half of this.
fn leads_to(
    scene: Scene,
    stretch: &ReadStretch,
    stitches: &[Stitch],
    after: usize,
) -> Option<usize> {
    const MOST: f64 = 0.75;
    const HALF: f64 = 0.5;
    let next = scene.tops.partition_point(|top| top.first < after);
    let top = scene.tops.get(next)?;
    let covered = || stitches.iter().filter(|stitch| stitch.covers.contains(&next)).count();
    let over_most = || {
        let most = if stretch.has_top() { HALF } else { MOST };
        top.stop == stretch.stop && covered() as f64 >= most * stitches.len() as f64
    };
    (stretch.stretch.contains(&top.first) || over_most()).then_some(next)
}

/// Is this a line, rather than a tie?
fn is_last_line(stitches: &[Stitch]) -> bool {
    let new = stitches.iter().filter(|stitch| !stitch.retraced);
    new.map(|stitch| stitch.length).sum::<f64>() >= LINE_MM
}

/// Is a stitch much shorter than the one beside it, and turned off it?
fn is_step(track: &Track, stitch: usize, beside: usize, turn: f64) -> bool {
    const SHORTER: f64 = 0.5;
    const TURN: f64 = 25.0;
    turn >= TURN
        && (1..track.len()).contains(&beside)
        && track.stitch(stitch) <= SHORTER * track.stitch(beside)
}

/// Box around the wide rows between two points: what leads from some to others belongs to them.
fn mesh(stretch: &ReadStretch, (first, last): (usize, usize)) -> Option<Rect<f64>> {
    let rows = stretch.between(first, last).iter().filter_map(|segment| match &segment.kind {
        Kind::Open(weave) if is_mesh(&stretch.track, weave) => Some(weave.span()),
        _ => None,
    });
    let inside = rows.filter(|(from, to)| *from >= first && *to <= last);
    let points: Vec<Coord<f64>> =
        inside.flat_map(|(from, to)| stretch.track.at[from..=to].to_vec()).collect();
    MultiPoint::from(points).bounding_rect()
}

/// The tops of the stop that cover most of the stitches, the one that they lead to first.
fn candidates(
    scene: Scene,
    stretch: &ReadStretch,
    stitches: &[Stitch],
    leads_to: Option<usize>,
) -> Vec<usize> {
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    for top in stitches.iter().flat_map(|stitch| &stitch.covers) {
        if scene.tops[*top].stop == stretch.stop {
            *counts.entry(*top).or_default() += 1;
        }
    }
    let mut tops: Vec<usize> = counts.keys().copied().collect();
    tops.sort_by_key(|top| (Some(*top) != leads_to, std::cmp::Reverse(counts[top]), *top));
    tops.truncate(TOPS_MAX);
    tops.sort_unstable();
    tops
}

/// The top of the stretch's stop that lies over most of a weave's sweeps, and over how many; and
/// how many any later top lies over.
pub fn over_weave(
    scene: Scene,
    stretch: &ReadStretch,
    weave: &Weave,
) -> (Option<(usize, usize)>, usize) {
    let track = &stretch.track;
    let after = track.index[weave.span().1];
    let covers: Vec<Vec<usize>> =
        weave.sweeps.iter().map(|s| scene.cover.later(s.middle(track), after, 0.0)).collect();
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    for top in covers.iter().flatten().filter(|top| scene.tops[**top].stop == stretch.stop) {
        *counts.entry(*top).or_default() += 1;
    }
    let best = counts.into_iter().max_by_key(|(top, count)| (*count, std::cmp::Reverse(*top)));
    (best, covers.iter().filter(|covers| !covers.is_empty()).count())
}
