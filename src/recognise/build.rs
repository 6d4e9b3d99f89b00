//! Puts labelled chunks and tops together as objects.

use std::collections::BTreeMap;
use std::ops::Range;

use geo::Area;

use super::fill::ReadFill;
use super::grid::Grid;
use super::labels::tie;
use super::labels::{self, Chunk, Places, Scene};
use super::segment::{Kind, ReadStretch, Segment};
use super::tops::{Cover, Top, by_section};
use super::track::Track;
use crate::design::{Design, Link};
use crate::geometry::vector::{direction, dot, left_of};
use crate::objects::{
    Class, Fill, Label, Needle, Object, ObjectId, Objects, Part, Shape, Side, Ways,
};
use crate::settings::Settings;

/// Labelled penetrations `first..=last`, and the top that they support or are.
#[derive(Clone, Copy, Debug)]
struct Piece {
    label: Label,
    first: usize,
    last: usize,
    /// Top that the piece is (`is_top`) or supports.
    top: Option<usize>,
    is_top: bool,
}

pub fn build(
    design: &Design,
    stretches: &[ReadStretch],
    tops: &[Top],
    cover: &Cover,
    settings: &Settings,
) -> Objects {
    let places = Places::new(stretches, tops);
    let scene = Scene { stretches, tops, cover, places: &places, under: &[] };
    let under = labels::rows_beneath(scene);
    let scene = Scene { under: &under, ..scene };
    let sections = by_section(tops);
    let mut builder =
        Builder { design, stretches, tops, settings, objects: Vec::new(), open: None };
    let mut pending: Vec<Piece> = Vec::new();
    let mut stop = None;
    for (s, stretch) in stretches.iter().enumerate() {
        if stop.is_some_and(|stop| stop != stretch.stop) {
            builder.flush(&mut pending, true);
        }
        stop = Some(stretch.stop);
        let pieces = stretch_pieces(design, s, scene, &sections);
        builder.take_stretch(pieces, &mut pending);
    }
    builder.flush(&mut pending, true);
    Objects {
        items: builder.objects,
        ways: Ways { loose: design.loose.clone(), ..Ways::default() },
    }
}

/// All pieces of a stretch, in order and without gaps.
fn stretch_pieces(
    design: &Design,
    s: usize,
    scene: Scene,
    sections: &BTreeMap<(usize, usize), usize>,
) -> Vec<Piece> {
    let stretch = &scene.stretches[s];
    if design.sequin[stretch.stretch.clone()].iter().any(|flag| *flag) {
        let (first, last) = (stretch.stretch.start, stretch.stretch.end - 1);
        return vec![Piece { label: Label::Unsure, first, last, top: None, is_top: false }];
    }
    let mut pieces = Vec::new();
    let mut g = 0;
    while g < stretch.segments.len() {
        let segment = &stretch.segments[g];
        if let Some(label) = top_label(&segment.kind) {
            let top = sections.get(&(s, g)).copied();
            let (from, to) = segment.points;
            pieces.push((Chunk { label, from, to, top }, true));
            g += 1;
        } else {
            let end = (g..stretch.segments.len())
                .find(|h| stretch.segments[*h].is_top())
                .unwrap_or(stretch.segments.len());
            let chunks = other_chunks(scene, stretch, g..end);
            pieces.extend(chunks.into_iter().map(|chunk| (chunk, false)));
            g = end;
        }
    }
    to_penetrations(stretch, &pieces)
}

fn top_label(kind: &Kind) -> Option<Label> {
    match kind {
        Kind::Satin(_) => Some(Label::Satin),
        Kind::SplitSatin(_) => Some(Label::SplitSatin),
        Kind::Fill(_) => Some(Label::Fill),
        Kind::Open(_) | Kind::Line | Kind::Tie => None,
    }
}

/// Segments without a top: ties at the ends of the stretch, then what lies between them.
fn other_chunks(scene: Scene, stretch: &ReadStretch, segments: Range<usize>) -> Vec<Chunk> {
    let (track, all) = (&stretch.track, &stretch.segments);
    let (mut from, mut to) = (all[segments.start].points.0, all[segments.end - 1].points.1);
    let (first, last) = (&all[segments.start], &all[segments.end - 1]);
    let (at_start, at_end) = (segments.start == 0, segments.end == all.len());
    let head = match first.kind {
        Kind::Tie if at_start => first.points.1,
        Kind::Line if at_start => tie::at_start(track, from, first.points.1),
        _ => 0,
    };
    let tail = match last.kind {
        Kind::Tie if at_end => to - last.points.0.max(from + head),
        Kind::Line if at_end => tie::at_end(track, last.points.0.max(from + head), to),
        _ => 0,
    };
    let tie = |from, to| Chunk { label: Label::Tie, from, to, top: None };
    let mut chunks = Vec::new();
    if head > 0 {
        chunks.push(tie(from, from + head));
        from += head;
    }
    to -= tail;
    if from < to {
        chunks.extend(labels::choose(scene, stretch, (from, to), (at_start, at_end)));
    }
    if tail > 0 {
        chunks.push(tie(to, to + tail));
    }
    if chunks.is_empty() {
        // a lone needle point
        chunks.push(Chunk { label: Label::Travel, from, to, top: None });
    }
    chunks
}

/// Chunks own stitches; as penetrations the first chunk also owns the stretch's first needle point,
/// and a top owns the needle point where its first crossing starts.
fn to_penetrations(stretch: &ReadStretch, chunks: &[(Chunk, bool)]) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = Vec::new();
    let mut next = stretch.stretch.start;
    for (i, (chunk, is_top)) in chunks.iter().enumerate() {
        let mut last = stretch.last_penetration(chunk.to);
        if chunks.get(i + 1).is_some_and(|(_, next_is_top)| *next_is_top && !is_top) {
            last = stretch.track.index[chunk.to].saturating_sub(1);
        }
        if last < next {
            continue;
        }
        let (label, top, is_top) = (chunk.label, chunk.top, *is_top);
        pieces.push(Piece { label, first: next, last, top, is_top });
        next = last + 1;
    }
    pieces
}

struct Builder<'a> {
    design: &'a Design,
    stretches: &'a [ReadStretch],
    tops: &'a [Top],
    settings: &'a Settings,
    objects: Vec<Object>,
    /// Top that the last object is, while sections of it are still to come.
    open: Option<usize>,
}

impl Builder<'_> {
    fn take_stretch(&mut self, pieces: Vec<Piece>, pending: &mut Vec<Piece>) {
        let stretch_start = pieces.first().map_or(0, |p| p.first);
        let end = pieces.len();
        for (i, mut piece) in pieces.into_iter().enumerate() {
            if self.inside_fill(&piece) {
                if !piece.is_top && piece.label != Label::Tie {
                    piece.label = Label::Travel;
                }
                self.append(piece);
                self.describe_last();
                continue;
            }
            match piece.label {
                _ if piece.is_top => self.take_top(piece, pending),
                Label::Run | Label::Bean | Label::Unsure => {
                    self.flush(pending, false);
                    let class = match piece.label {
                        Label::Run => Class::Run,
                        Label::Bean => Class::Bean,
                        _ => Class::Unsure,
                    };
                    self.finish(pending, piece, class, None);
                }
                // A tie at the end of a stretch secures what was sewn before it.
                Label::Tie if i + 1 == end && self.ends_at(piece.first, stretch_start) => {
                    self.append(piece);
                }
                _ => pending.push(piece),
            }
        }
        let waits = pending.iter().any(|p| Object::is_underlay(p.label));
        if !waits && !pending.is_empty() && self.ends_at(pending[0].first, stretch_start) {
            for piece in std::mem::take(pending) {
                self.append(piece);
            }
        }
    }

    /// Does the last object end right before a penetration, in the stretch that starts at `start`?
    fn ends_at(&self, penetration: usize, start: usize) -> bool {
        self.objects
            .last()
            .and_then(Object::last)
            .and_then(|needle| needle.origin)
            .is_some_and(|last| last as usize + 1 == penetration && last as usize >= start)
    }

    fn append(&mut self, piece: Piece) {
        let part = self.part(piece);
        if let Some(object) = self.objects.last_mut() {
            object.parts.push(part);
        }
    }

    /// A new object for a top, with what waits for it.
    fn take_top(&mut self, piece: Piece, pending: &mut Vec<Piece>) {
        let Some(t) = piece.top else { return };
        self.detach_foreign(t, pending);
        let class = class_of(self.stretches, &self.tops[t]);
        self.finish(pending, piece, class, Some(t));
    }

    /// Does a piece lie between the sections of the fill that is being put together, or is it one?
    fn inside_fill(&self, piece: &Piece) -> bool {
        self.open.is_some_and(|t| piece.last <= self.tops[t].last)
    }

    /// Splits off the front of `pending` what does not belong to top `t` alone: guards, and
    /// underlay of other tops.
    fn detach_foreign(&mut self, t: usize, pending: &mut Vec<Piece>) {
        for (matches, class) in [(Label::Guard, Class::Guard), (Label::Unsure, Class::Underlay)] {
            let foreign = |p: &Piece| match class {
                Class::Guard => p.label == matches,
                _ => Object::is_underlay(p.label) && p.top != Some(t),
            };
            if let Some(last) = pending.iter().rposition(foreign) {
                let front: Vec<Piece> = pending.drain(..=last).collect();
                self.push(front, class, None);
            }
        }
    }

    /// Makes an object of everything that waits, when nothing it supports can follow any more.
    fn flush(&mut self, pending: &mut Vec<Piece>, stop_ends: bool) {
        let supports = pending.iter().any(|p| Object::is_underlay(p.label));
        if pending.is_empty() || (!stop_ends && !supports) {
            return;
        }
        let guard = pending.iter().any(|p| p.label == Label::Guard);
        let class = match (guard, supports) {
            (true, _) => Class::Guard,
            (false, true) => Class::Underlay,
            (false, false) => Class::Run,
        };
        let pieces = std::mem::take(pending);
        if class == Class::Run && self.same_stop_as_last(&pieces) {
            for piece in pieces {
                self.append(piece);
            }
        } else {
            self.push(pieces, class, None);
        }
    }

    fn same_stop_as_last(&self, pieces: &[Piece]) -> bool {
        let stop = pieces.first().map(|p| self.design.stops[p.first]);
        self.objects.last().map(|object| object.stop) == stop
    }

    fn finish(&mut self, pending: &mut Vec<Piece>, piece: Piece, class: Class, top: Option<usize>) {
        let mut pieces = std::mem::take(pending);
        pieces.push(piece);
        self.push(pieces, class, top);
    }

    fn push(&mut self, pieces: Vec<Piece>, class: Class, top: Option<usize>) {
        let Some(first) = pieces.first() else { return };
        let id = ObjectId(self.objects.len() as u32);
        self.objects.push(Object {
            id,
            class,
            stop: self.design.stops[first.first],
            parts: pieces.into_iter().map(|piece| self.part(piece)).collect(),
            shape: if class == Class::Unsure { Shape::Unknown } else { Shape::Line },
            footprint: geo::MultiPolygon(Vec::new()).into(),
            confidence: if class == Class::Unsure { 0.0 } else { 1.0 },
            element: id.0,
            held: false,
            hides: false,
        });
        self.open = top;
        self.describe_last();
    }

    fn part(&self, piece: Piece) -> Part {
        Part {
            label: piece.label,
            link: self.design.links.get(piece.first).copied().unwrap_or(Link::Sewn),
            needles: (piece.first..=piece.last)
                .map(|i| Needle { at: self.design.points[i], origin: Some(i as u32) })
                .collect(),
        }
    }

    /// Gives the last object the shape of its top.
    fn describe_last(&mut self) {
        let Some(t) = self.open else { return };
        let (stretches, settings) = (self.stretches, self.settings);
        let top = &self.tops[t];
        let Some(object) = self.objects.last_mut() else { return };
        let tops: Vec<usize> = object
            .parts
            .iter()
            .filter(|part| Object::is_top(part.label))
            .flat_map(|part| part.needles.iter().filter_map(|n| n.origin.map(|o| o as usize)))
            .collect();
        let complete = tops.last().is_some_and(|last| *last >= top.last);
        if !complete {
            return;
        }
        self.open = None;
        let (shape, explained) = shape_of(stretches, top, &tops);
        object.footprint = top.footprint.clone();
        object.confidence = explained;
        object.hides = hides(&shape, settings);
        object.shape = shape;
        if explained < settings.profile.numbers.confidence_min {
            make_unsure(object);
        }
    }
}

fn class_of(stretches: &[ReadStretch], top: &Top) -> Class {
    // The largest section of a fill tells.
    let rows = |(s, g): &&(usize, usize)| match &stretches[*s].segments[*g].kind {
        Kind::Fill(read) => read.rows.len(),
        _ => 0,
    };
    let (s, g) = *top.sections.iter().max_by_key(rows).unwrap_or(&top.sections[0]);
    match &stretches[s].segments[g].kind {
        Kind::SplitSatin(_) => Class::SplitSatin,
        Kind::Fill(read) if read.straight => Class::Fill,
        Kind::Fill(_) => Class::CurvedFill,
        _ => Class::Satin,
    }
}

/// What is not understood passes through as it is.
fn make_unsure(object: &mut Object) {
    object.class = Class::Unsure;
    object.shape = Shape::Unknown;
    object.hides = false;
    for part in &mut object.parts {
        part.label = Label::Unsure;
    }
}

fn shape_of(stretches: &[ReadStretch], top: &Top, needles: &[usize]) -> (Shape, f64) {
    let (s, g) = top.sections[0];
    let stretch = &stretches[s];
    match &stretch.segments[g].kind {
        Kind::Satin(read) | Kind::SplitSatin(read) => {
            let mut satin = read.satin.clone();
            satin.sides = needles
                .iter()
                .map(|&i| {
                    // What is folded into a point lies on its side.
                    let point = stretch.track.index.partition_point(|p| *p <= i) - 1;
                    point
                        .checked_sub(read.points.0)
                        .and_then(|k| read.satin.sides.get(k).copied())
                        .unwrap_or(Side::Inner)
                })
                .collect();
            (Shape::Satin(satin), read.explained)
        }
        _ => fill_shape(stretches, top, needles),
    }
}

fn fill_shape(stretches: &[ReadStretch], top: &Top, needles: &[usize]) -> (Shape, f64) {
    let mut rows = Vec::new();
    let mut largest: Option<(&ReadStretch, &Segment, &ReadFill)> = None;
    let (mut explained, mut weight) = (0.0, 0.0);
    let place = |penetration: usize| needles.partition_point(|p| *p < penetration) as u32;
    for &(s, g) in &top.sections {
        let stretch = &stretches[s];
        let segment = &stretch.segments[g];
        let Kind::Fill(read) = &segment.kind else { continue };
        let count = read.rows.len() as f64;
        explained += read.explained * count;
        weight += count;
        // It says most about angle and pitch.
        if largest.is_none_or(|(.., most)| most.rows.len() < read.rows.len()) {
            largest = Some((stretch, segment, read));
        }
        for &(a, b) in &read.rows {
            rows.push((place(stretch.track.index[a]), place(stretch.track.index[b])));
        }
    }
    let Some((stretch, segment, read)) = largest else { return (Shape::Unknown, 0.0) };
    let confidence = if weight > 0.0 { explained / weight } else { 0.0 };
    let mut fill = Fill { rows, ..read.fill.clone() };
    let grid = Grid::of_segment(&stretch.track, segment);
    if let Some(grid) = grid {
        (fill.angle, fill.row_pitch) = (grid.angle(), grid.pitch());
    }
    let gradient = grid.is_none() && read.is_gradient();
    let mean = gradient.then(|| mean_pitch(stretches, top, fill.angle)).flatten();
    fill.row_pitch = mean.unwrap_or_else(|| fill.row_pitch / passes(stretches, top));
    (Shape::Fill(fill), confidence)
}

/// Mean distance of the rows of all sections, mm; those of two sections may lie on one line.
fn mean_pitch(stretches: &[ReadStretch], top: &Top, angle: f64) -> Option<f64> {
    /// Rows are further apart, mm.
    const SAME_LINE: f64 = 0.12;
    let across = left_of(direction(angle));
    let height =
        |track: &Track, row: &(usize, usize)| dot(across, track.at[row.0] + track.at[row.1]) / 2.0;
    let mut heights: Vec<f64> = Vec::new();
    for &(s, g) in &top.sections {
        if let Kind::Fill(read) = &stretches[s].segments[g].kind {
            heights.extend(read.rows.iter().map(|row| height(&stretches[s].track, row)));
        }
    }
    heights.sort_by(f64::total_cmp);
    heights.dedup_by(|b, a| *b - *a < SAME_LINE);
    let (low, high) = (heights.first()?, heights.last()?);
    (heights.len() > 1).then(|| (high - low) / (heights.len() - 1) as f64)
}

/// How often a fill was sewn over its area: a second pass puts its rows between those of the first.
fn passes(stretches: &[ReadStretch], top: &Top) -> f64 {
    let area = |&(s, g): &(usize, usize)| match &stretches[s].segments[g].kind {
        Kind::Fill(read) => read.footprint.unsigned_area(),
        _ => 0.0,
    };
    let sewn: f64 = top.sections.iter().map(area).sum();
    (sewn / top.footprint.unsigned_area().max(f64::EPSILON)).round().max(1.0)
}

/// Does the thread cover the whole footprint? A satin's crossings lie half the same-side pitch
/// apart; at the edges the gaps between them reach the full pitch but taper off within a window.
fn hides(shape: &Shape, settings: &Settings) -> bool {
    let thread = settings.profile.numbers.thread_width_mm;
    match shape {
        Shape::Satin(satin) => satin.same_side_pitch <= 1.8 * thread,
        Shape::Fill(fill) => fill.row_pitch <= 1.05 * thread,
        Shape::Line | Shape::Unknown => false,
    }
}
