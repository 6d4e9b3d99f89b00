//! Stitches sewn in reverse order inside their span, all else as it was.
//!
//! Spans come from the truth. What would become another design is left out and counted; the
//! functions that choose the spans say why.

use std::collections::BTreeMap;

use crownmend::design::{Link, Pt};

use crate::sample::{Sample, Step, True};

/// A new way between two needle points is sewn up to this length, as any travel (common practice,
/// no published source); beyond it the needle jumps.
const SEWN_MM: f64 = 3.0;

/// First and last penetration of stitches that are reversed; each is reached from the one before
/// by a stitch, the first one from wherever the span begins.
pub type Span = (usize, usize);

fn is_area(label: &str) -> bool {
    matches!(label, "satin" | "split-satin" | "fill")
}

fn is_line(label: &str) -> bool {
    matches!(label, "run" | "bean")
}

fn is_underlay(label: &str) -> bool {
    matches!(label, "centre-run" | "edge-run" | "zigzag" | "fill-underlay" | "guard")
}

/// Spans to reverse, and how many objects or passes of underlay are left out because they would
/// become another design.
#[derive(Default)]
pub struct Choice {
    pub spans: Vec<Span>,
    pub left_out: usize,
}

/// Tops of columns, fills, runs and beans.
///
/// Left out are tops from whose end stitches lead on to another object without a cut: the needle
/// would have to jump back into the middle of that way. Fills with travel between their sections
/// are judged by themselves ([`sections`]).
pub fn tops(sample: &Sample) -> Choice {
    chosen_tops(sample, false)
}

/// Fills with travel between their sections, section by section. Travel lies under the rows that
/// are sewn after it; with the whole fill reversed it would lie on top of them in full view. As it
/// is, the needle jumps to where the travel begins and away from where it ends.
pub fn sections(sample: &Sample) -> Choice {
    chosen_tops(sample, true)
}

fn chosen_tops(sample: &Sample, with_travel: bool) -> Choice {
    let (objects, left_out) = wholes(sample);
    let mut choice = Choice { left_out, ..Choice::default() };
    let top = |i: &usize| is_area(&sample.labels[*i]) || is_line(&sample.labels[*i]);
    for (first, last) in objects {
        let spans = cut(sample, (first..=last).filter(top), |_, _| true);
        if leads_on(sample, last) {
            choice.left_out += 1;
        } else if spans.iter().any(|span| span.1 < last && leads_on(sample, span.1)) == with_travel
        {
            choice.spans.extend(spans);
        }
    }
    choice
}

/// Spans of single objects and of groups. Columns of one group are taken for one object by some
/// readers, so that they can only be reversed together; a group with other stitches between its
/// columns is left out: underlay of one column would come to lie on another.
fn wholes(sample: &Sample) -> (Vec<Span>, usize) {
    let tops = |object: &&True| !matches!(object.class.as_str(), "underlay" | "guard" | "unsure");
    let mut groups: BTreeMap<&str, Vec<&True>> = BTreeMap::new();
    let mut spans = Vec::new();
    for object in sample.objects.iter().filter(tops) {
        match &object.group {
            Some(group) => groups.entry(group).or_default().push(object),
            None => spans.push((object.first, object.last)),
        }
    }
    let mut left_out = 0;
    for group in groups.values() {
        let (first, last) = True::span(group);
        if sample.labels[first..=last].iter().all(|label| is_area(label)) {
            spans.push((first, last));
        } else {
            left_out += group.len();
        }
    }
    spans.sort_unstable();
    (spans, left_out)
}

/// Every pass of underlay by itself.
pub fn passes(sample: &Sample) -> Choice {
    let beneath = |i: &usize| is_underlay(&sample.labels[*i]);
    let same = |a: usize, b: usize| sample.labels[a] == sample.labels[b];
    chosen(sample, cut(sample, (0..sample.labels.len()).filter(beneath), same))
}

/// All underlay of an object at once, so that its last pass comes first, with the travel between
/// them. Guards stay: they are sewn before everything that they serve.
pub fn underlays(sample: &Sample) -> Choice {
    let beneath = |i: usize| is_underlay(&sample.labels[i]) && sample.labels[i] != "guard";
    let other = |i: &usize| sample.labels[*i] != "travel";
    let between = |i: usize| {
        let (before, after) = ((0..i).rev().find(other), (i..sample.labels.len()).find(other));
        before.is_some_and(beneath) && after.is_some_and(beneath)
    };
    let wanted = |i: &usize| beneath(*i) || !other(i) && between(*i);
    chosen(sample, cut(sample, (0..sample.labels.len()).filter(wanted), |_, _| true))
}

/// Leaves out underlay that is reached by travel from another object: the needle would have to
/// jump at its end, and the travel would lead nowhere.
fn chosen(sample: &Sample, spans: Vec<Span>) -> Choice {
    let all = spans.len();
    let spans: Vec<Span> =
        spans.into_iter().filter(|(first, _)| !comes_from_another(sample, *first)).collect();
    Choice { left_out: all - spans.len(), spans }
}

/// Do stitches lead on from the end of a top, or from the ties there?
fn leads_on(sample: &Sample, last: usize) -> bool {
    let sewn = |i: &usize| sample.design.links.get(*i) == Some(&Link::Sewn);
    let next = (last + 1..).find(|i| !sewn(i) || sample.labels[*i] != "tie");
    next.is_some_and(|next| sewn(&next))
}

/// Is a penetration reached from a top of the same stretch, by travel or directly?
fn comes_from_another(sample: &Sample, first: usize) -> bool {
    let joined = (1..=first).rev().take_while(|i| sample.design.links[*i] == Link::Sewn);
    let before = joined.map(|i| sample.labels[i - 1].as_str()).find(|label| *label != "travel");
    before.is_some_and(|label| is_area(label) || is_line(label))
}

/// Runs of neighbours that are joined by stitches and belong together, at least three stitches long.
fn cut(
    sample: &Sample,
    penetrations: impl Iterator<Item = usize>,
    together: impl Fn(usize, usize) -> bool,
) -> Vec<Span> {
    let all: Vec<usize> = penetrations.collect();
    let joined = |a: &usize, b: &usize| {
        a + 1 == *b && sample.design.links[*b] == Link::Sewn && together(*a, *b)
    };
    all.chunk_by(joined)
        .map(|run| (run[0], run[run.len() - 1]))
        .filter(|(first, last)| first + 2 <= *last)
        .collect()
}

/// The steps with these spans reversed. A span begins at the needle point before its first stitch,
/// which is sewn once more: it also ends what comes before.
pub fn reversed(sample: &Sample, spans: &[Span]) -> Vec<Step> {
    let mut editor = Editor::new(sample);
    for span in spans {
        editor.reverse(*span);
    }
    editor.finish()
}

struct Editor<'a> {
    sample: &'a Sample,
    steps: Vec<Step>,
    /// Step of each penetration.
    place: Vec<usize>,
    /// First step that was not copied yet.
    next: usize,
    out: Vec<Step>,
}

impl<'a> Editor<'a> {
    fn new(sample: &'a Sample) -> Self {
        let steps = sample.steps();
        let place = (0..steps.len()).filter(|i| steps[*i].origin.is_some()).collect();
        Self { sample, steps, place, next: 0, out: Vec::new() }
    }

    /// Ties go along to the other end.
    fn reverse(&mut self, (first, last): Span) {
        let begin = if self.sewn(first) { first - 1 } else { first };
        let tie_in = self.tie_in(first).unwrap_or(first)..first;
        let (from, to) = (self.point(begin), self.point(last));
        let turned = self.is_turned(begin, last);
        let moved = |at: Pt, by: Pt| if turned { from + to - at } else { at + by };
        if tie_in.is_empty() && self.sewn(first) {
            self.copy_until(self.place[begin] + 1);
            self.reach(to, true);
        } else {
            // The needle point that a jump leads to is not sewn where it was.
            let landing = if tie_in.is_empty() { begin } else { tie_in.start };
            self.copy_until(self.place[landing]);
            self.reach(moved(self.point(landing), to - from), false);
        }
        for i in tie_in {
            self.sew(i, moved(self.point(i), to - from));
        }
        for i in (begin..=last).rev() {
            self.sew(i, self.point(i));
        }
        let left = self.tie_off(last).unwrap_or(last);
        for i in last + 1..=left {
            self.sew(i, moved(self.point(i), from - to));
        }
        self.next = self.place[left] + 1;
        self.return_to(left);
    }

    /// Do the ends of these stitches look towards each other? Ties, which lie along the stitches
    /// that they secure, then turn by half a turn when they change ends.
    fn is_turned(&self, begin: usize, last: usize) -> bool {
        let points = &self.sample.design.points[begin..=last];
        let sum = points.iter().fold(Pt::default(), |sum, at| sum + *at);
        let middle = sum.mm() / points.len() as f64;
        let (a, b) = (middle - self.point(begin).mm(), middle - self.point(last).mm());
        a.x * b.x + a.y * b.y < 0.0
    }

    /// First penetration of the tie-in that leads to a span and begins a stretch.
    fn tie_in(&self, first: usize) -> Option<usize> {
        let start = (0..=first).rev().find(|i| !self.sewn(*i))?;
        let ties = self.sample.labels[start..first].iter().all(|label| label == "tie");
        // It may have gone along with what is sewn before it.
        (ties && self.place[start] >= self.next).then_some(start)
    }

    /// Last penetration of the tie-off that follows a span.
    fn tie_off(&self, last: usize) -> Option<usize> {
        let tie = |i: &usize| self.sewn(*i) && self.sample.labels[*i] == "tie";
        (last + 1..).take_while(tie).last()
    }

    fn point(&self, penetration: usize) -> Pt {
        self.sample.design.points[penetration]
    }

    fn sewn(&self, penetration: usize) -> bool {
        self.sample.design.links.get(penetration) == Some(&Link::Sewn)
    }

    fn sew(&mut self, penetration: usize, at: Pt) {
        self.out.push(Step::stitch(at, penetration as u32));
    }

    fn copy_until(&mut self, step: usize) {
        self.out.extend_from_slice(&self.steps[self.next.min(step)..step]);
        self.next = step;
    }

    /// Brings the needle back to where what follows sets out from.
    fn return_to(&mut self, penetration: usize) {
        let sewn = self.sewn(penetration + 1);
        self.reach(self.point(penetration), sewn);
        if sewn {
            self.sew(penetration, self.point(penetration));
        }
    }

    /// Jumps to a place unless a stitch will do.
    fn reach(&mut self, to: Pt, may_sew: bool) {
        let from = self.out.last().map_or(Pt::default(), |step| step.at);
        if !may_sew || from.distance(to) > SEWN_MM {
            self.out.push(Step::jump(to));
        }
    }

    fn finish(mut self) -> Vec<Step> {
        self.copy_until(self.steps.len());
        self.out
    }
}
