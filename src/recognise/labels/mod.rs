//! The label of every stitch that is no top, decided for all stitches between two tops at once.
//!
//! Each label has a file of its own that says what a stitch costs under it; going from one label to
//! another costs as well, and the cheapest way through is taken. What a label means depends on the
//! top that is sewn over the stitch later: underlay belongs to one, a run is seen.

mod bean;
mod centre_run;
mod edge_run;
mod facts;
mod fill_underlay;
mod guard;
mod place;
mod run;
pub mod tie;
mod travel;
mod unsure;
mod woven;
mod zigzag;

use super::grid::Grid;
use super::segment::{Kind, ReadStretch};
use super::tops::{Cover, Top};
use super::track::Track;
use crate::objects::Label;
use facts::{Facts, Stitch};
pub use place::Places;

/// Going from one label, or from one top, to another.
const CHANGE: f64 = 0.81;
/// Going to travel or from it.
const LINK: f64 = 0.14;
/// Either, where the thread goes on as it went: what ends there turns off or back.
const SMOOTH: f64 = 0.5;
const SMOOTH_DEG: f64 = 49.0;
/// Underlay that a stretch ends with after a top: what it lies under is sewn in the same stretch.
const UNDER_LAST: f64 = 1.5;
/// The place of travel among the states.
const TRAVEL: usize = 0;
/// More than any stitch costs under a label that it can have at all.
const NEVER: f64 = 1e6;

/// A labelled chunk: stitches after track point `from` up to `to`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chunk {
    pub label: Label,
    pub from: usize,
    pub to: usize,
    /// The top that it supports.
    pub top: Option<usize>,
}

/// What is known about the whole design when labels are chosen.
#[derive(Clone, Copy)]
pub struct Scene<'a> {
    pub stretches: &'a [ReadStretch],
    pub tops: &'a [Top],
    pub cover: &'a Cover<'a>,
    pub places: &'a Places<'a>,
    /// The rows of underlay beneath each top.
    pub under: &'a [Vec<Rows>],
}

/// Rows of underlay.
pub struct Rows {
    /// Their direction, degrees.
    pub angle: f64,
    /// The lines that they lie on, where there are enough to tell.
    pub grid: Option<Grid>,
}

/// For each top the rows of underlay beneath it.
pub fn rows_beneath(scene: Scene) -> Vec<Vec<Rows>> {
    let mut under: Vec<Vec<Rows>> = scene.tops.iter().map(|_| Vec::new()).collect();
    for stretch in scene.stretches {
        for segment in &stretch.segments {
            let Kind::Open(weave) = &segment.kind else { continue };
            if let (true, (Some((top, _)), _)) =
                (weave.has_rows(), facts::over_weave(scene, stretch, weave))
            {
                let (angle, grid) =
                    (weave.axis(&stretch.track).0, Grid::of_wide(&stretch.track, weave));
                under[top].push(Rows { angle, grid });
            }
        }
    }
    under
}

impl Scene<'_> {
    fn is_fill(&self, top: usize) -> bool {
        self.fill_angle(top).is_some()
    }

    /// Direction of the rows of a fill, degrees.
    fn fill_angle(&self, top: usize) -> Option<f64> {
        let (s, g) = self.tops[top].sections[0];
        match &self.stretches[s].segments[g].kind {
            Kind::Fill(read) => Some(read.fill.angle),
            _ => None,
        }
    }
}

/// Labels the stitches after track point `from` up to `to`, which hold no top.
/// `starts`: nothing but a tie was sewn before them in the stretch; `ends`: nor follows.
pub fn choose(
    scene: Scene,
    stretch: &ReadStretch,
    points: (usize, usize),
    (starts, ends): (bool, bool),
) -> Vec<Chunk> {
    let facts = Facts::new(scene, stretch, points, (starts, ends));
    let states = states(&facts);
    let way = cheapest(&facts, &states);
    let mut chunks: Vec<Chunk> = Vec::new();
    for (place, state) in way.into_iter().enumerate() {
        let (label, top) = states[state];
        let to = points.0 + place + 1;
        match chunks.last_mut() {
            Some(last) if (last.label, last.top) == (label, top) => last.to = to,
            _ => chunks.push(Chunk { label, from: to - 1, to, top }),
        }
    }
    split_off_travel(&facts, points.0, &mut chunks);
    split_off_beans(&stretch.track, &mut chunks);
    for (place, chunk) in chunks.iter_mut().enumerate() {
        match (chunk.label, chunk.top) {
            (Label::Run, _) => chunk.label = run_kind(&stretch.track, chunk.from, chunk.to),
            (Label::EdgeRun, Some(top))
                if scene.is_fill(top)
                    && !(starts && place == 0)
                    && travel::is_straight(&stretch.track, chunk.from, chunk.to) =>
            {
                (chunk.label, chunk.top) = (Label::Travel, None);
            }
            _ => {}
        }
    }
    split_off_motifs(&stretch.track, &mut chunks);
    chunks
}

/// A last line of a stretch that begins at a corner on its own colour: what leads there from a top,
/// unseen or straight, is travel.
fn split_off_travel(facts: &Facts, first: usize, chunks: &mut Vec<Chunk>) {
    /// Heading change at such a corner, degrees.
    const CORNER: f64 = 30.0;
    let [chunk] = chunks.as_slice() else { return };
    if facts.starts || !facts.ends || chunk.label != Label::Run {
        return;
    }
    let is_corner = |stitch: &Stitch| stitch.turns.0 >= CORNER;
    let leads = |k: usize| {
        let (before, line) = facts.stitches.split_at(k);
        line[0].hidden
            && is_corner(&line[0])
            && (before.iter().all(|stitch| stitch.hidden) || !before[1..].iter().any(is_corner))
    };
    if let Some(corner) = (1..facts.stitches.len()).rev().find(|k| leads(*k)) {
        let to = first + corner;
        chunks.insert(0, Chunk { label: Label::Travel, from: first, to, top: None });
        chunks[1].from = to;
    }
}

/// Runs of which a part is a bean are two lines, or three; one goes on as far as it goes back over
/// itself, also beneath a later top.
fn split_off_beans(track: &Track, chunks: &mut Vec<Chunk>) {
    let is_run = |chunk: &&Chunk| chunk.label == Label::Run;
    let part = |chunk: &Chunk| bean::part(track, chunk.from, chunk.to);
    let ends = chunks.first().zip(chunks.last()).map(|(first, last)| (first.from, last.to));
    let whole = |bean: (usize, usize)| ends.map(|line| bean::along(track, bean, line));
    let beans: Vec<_> = chunks.iter().filter(is_run).filter_map(part).filter_map(whole).collect();
    for (first, last) in beans {
        let cut = |chunk: Chunk| {
            let part = |from: usize, to: usize| Chunk { from, to: to.max(from), ..chunk };
            [part(chunk.from, chunk.to.min(first)), part(chunk.from.max(last), chunk.to)]
        };
        let bean = Chunk { label: Label::Run, from: first, to: last, top: None };
        *chunks = chunks.drain(..).flat_map(cut).chain([bean]).filter(|c| c.from < c.to).collect();
        chunks.sort_by_key(|chunk| chunk.from);
    }
}

/// A motif that stitches thrown any way lead to is a line of its own.
fn split_off_motifs(track: &Track, chunks: &mut Vec<Chunk>) {
    let cut = |chunk: Chunk| {
        let Chunk { label, from, to, .. } = chunk;
        let wild = label == Label::Unsure;
        let Some(start) = wild.then(|| unsure::motif_from(track, from, to)).flatten() else {
            return vec![chunk];
        };
        let part = |from, to| Chunk { label: run_kind(track, from, to), from, to, ..chunk };
        vec![part(from, start), part(start, to)]
    };
    *chunks = chunks.drain(..).flat_map(cut).collect();
}

/// Every label that may occur here, with the top that it belongs to.
fn states(facts: &Facts) -> Vec<(Label, Option<usize>)> {
    let mut states = vec![(Label::Travel, None), (Label::Run, None)];
    if facts.has_weaves() {
        states.extend([(Label::Guard, None), (Label::FillUnderlay, None)]);
    }
    for &top in &facts.tops {
        let own = if facts.scene.is_fill(top) {
            [Label::CentreRun, Label::EdgeRun, Label::FillUnderlay].as_slice()
        } else {
            [Label::CentreRun, Label::EdgeRun, Label::Zigzag].as_slice()
        };
        states.extend(own.iter().map(|label| (*label, Some(top))));
    }
    states
}

/// The state of every stitch on the cheapest way through.
fn cheapest(facts: &Facts, states: &[(Label, Option<usize>)]) -> Vec<usize> {
    let first = |label| match label {
        Label::Travel if facts.starts => travel::BEGIN_FIRST,
        _ => begin(label),
    };
    let mut total: Vec<f64> = states.iter().map(|(label, _)| first(*label)).collect();
    let mut next = total.clone();
    // For each stitch the state before it, state by state.
    let mut came: Vec<u8> = Vec::with_capacity(facts.stitches.len() * states.len());
    for (i, stitch) in facts.stitches.iter().enumerate() {
        let least = index_of_least(&total);
        for (state, (label, top)) in states.iter().enumerate() {
            let mut best = (total[state], state);
            if i > 0 {
                // What leads somewhere goes straight; it may begin at a corner.
                best.0 += if state == TRAVEL { stitch.bend() } else { 0.0 };
                let smooth = if stitch.turns.0 < SMOOTH_DEG { SMOOTH } else { 0.0 };
                // From any label to any other, or by way of travel, which leads from one to the next.
                let change = if state == TRAVEL { LINK } else { CHANGE };
                for (before, change) in [(least, change), (TRAVEL, LINK)] {
                    let cost = total[before] + change + smooth + begin(*label);
                    if before != state && cost < best.0 {
                        best = (cost, before);
                    }
                }
            }
            next[state] = best.0 + price(facts, stitch, *label, *top);
            came.push(best.1 as u8);
        }
        std::mem::swap(&mut total, &mut next);
    }
    if facts.ends {
        total[TRAVEL] += travel::END_LAST;
        if !facts.starts {
            let own = states.iter().zip(&mut total).filter(|((_, top), _)| top.is_some());
            own.for_each(|(_, total)| *total += UNDER_LAST);
        }
    }
    let mut state = index_of_least(&total);
    let mut way = vec![0; facts.stitches.len()];
    for (place, from) in came.chunks_exact(states.len()).enumerate().rev() {
        way[place] = state;
        state = usize::from(from[state]);
    }
    way
}

fn index_of_least(values: &[f64]) -> usize {
    (0..values.len()).min_by(|a, b| values[*a].total_cmp(&values[*b])).unwrap_or(0)
}

/// What it costs that a label begins.
fn begin(label: Label) -> f64 {
    match label {
        Label::Run => run::BEGIN,
        Label::EdgeRun => edge_run::BEGIN,
        Label::CentreRun => centre_run::BEGIN,
        Label::Zigzag => zigzag::BEGIN,
        Label::FillUnderlay => fill_underlay::BEGIN,
        Label::Guard => guard::BEGIN,
        _ => 0.0,
    }
}

/// What one stitch costs under a label.
fn price(facts: &Facts, stitch: &Stitch, label: Label, top: Option<usize>) -> f64 {
    let Some(top) = top else {
        return match label {
            Label::Travel => travel::price(stitch),
            Label::Run => run::price(facts, stitch),
            Label::Guard => guard::price(stitch),
            Label::FillUnderlay => fill_underlay::bare_price(stitch),
            _ => NEVER,
        };
    };
    let covered = stitch.covers.contains(&top);
    let own = match label {
        Label::FillUnderlay => {
            let angle = facts.scene.fill_angle(top).unwrap_or(0.0);
            fill_underlay::price(stitch, &facts.scene.under[top], angle)
        }
        Label::Zigzag => zigzag::price(facts, stitch, covered.then_some(top)),
        // Where there is no edge to measure from, a run beside it or in the middle is far off.
        Label::EdgeRun | Label::CentreRun if !covered => facts::NO_EDGE,
        Label::EdgeRun | Label::CentreRun if stitch.weave.is_some_and(|weave| !weave.few) => {
            facts::WOVEN
        }
        Label::EdgeRun => edge_run::price(facts, stitch, top),
        Label::CentreRun => centre_run::price(facts, stitch, top),
        _ => NEVER,
    };
    // Underlay lies under its top, and in its own stretch under the top that it leads to.
    let bare = if covered { 0.0 } else { facts::BARE };
    let aside = facts.leads_to.is_some_and(|next| next != top);
    let step = if stitch.is_step { facts::STEP } else { 0.0 };
    own + bare + step + if aside { facts::ASIDE } else { 0.0 }
}

/// Runs that are seen: which kind?
fn run_kind(track: &Track, from: usize, to: usize) -> Label {
    if bean::part(track, from, to) == Some((from, to)) {
        Label::Bean
    } else if unsure::is_wild(track, from, to) {
        Label::Unsure
    } else {
        Label::Run
    }
}
