//! An area cut into scanlines, and the scanlines joined into sections: the common ground of fills
//! and of travel inside an area.

use geo::{Coord, MultiPolygon};

/// Most scanlines of one area; far more than any sewing field holds.
const SCANS_MAX: f64 = 20_000.0;
/// Shortest scanline (mm); shorter ones lie in the very tip of a corner.
const SPAN_MIN: f64 = 0.3;
/// Scanlines at the very edge are taken this far inside (mm), where the outline is clear.
const EDGE_NUDGE: f64 = 1e-3;
/// A section ends where the next scanline shares less than half with it and jumps this far (mm).
const JUMP: f64 = 4.0;

/// One scanline's piece inside the area: x from `a` to `b` in the turned frame, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    pub a: f64,
    pub b: f64,
}

impl Span {
    pub fn clamp(self, x: f64) -> f64 {
        if self.a <= self.b { x.clamp(self.a, self.b) } else { (self.a + self.b) / 2.0 }
    }

    pub fn length(self) -> f64 {
        self.b - self.a
    }

    /// What two spans share; its length is negative where they do not meet.
    pub fn shared(self, other: Self) -> Self {
        Self { a: self.a.max(other.a), b: self.b.min(other.b) }
    }

    /// Made shorter by `margin` at both ends; down to its middle where it is too short.
    pub fn shrunk(self, margin: f64) -> Self {
        let margin = margin.min(self.length() / 2.0).max(0.0);
        Self { a: self.a + margin, b: self.b - margin }
    }
}

/// Neighbouring scanlines that follow one another without branching.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// Number of the lowest scanline.
    pub first: usize,
    pub spans: Vec<Span>,
    /// Sections that go on above the highest and below the lowest scanline.
    pub above: Vec<usize>,
    pub below: Vec<usize>,
}

impl Section {
    pub fn last(&self) -> usize {
        self.first + self.spans.len() - 1
    }

    /// Span of a scanline, the nearest one where the section does not reach it.
    pub fn span(&self, scan: usize) -> Span {
        self.spans[scan.clamp(self.first, self.last()) - self.first]
    }
}

/// A place on a scanline of a section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    pub section: usize,
    pub scan: usize,
    pub x: f64,
}

/// All sections of an area for scanlines in one direction.
#[derive(Clone, Debug, PartialEq)]
pub struct Sections {
    pub items: Vec<Section>,
    /// Distance between scanlines, mm.
    pub pitch: f64,
    y0: f64,
    sin: f64,
    cos: f64,
}

impl Sections {
    /// Scanlines `pitch` mm apart at `angle` degrees; the margin that the height leaves is the
    /// same at both ends. Nothing for an empty area or a pitch that is no distance.
    pub fn new(area: &MultiPolygon<f64>, angle: f64, pitch: f64) -> Self {
        Self::on_grid(area, angle, pitch, None)
    }

    /// As [`Sections::new`], but on the lines of which one goes through a place, if any of them
    /// crosses the area.
    pub fn on_grid(
        area: &MultiPolygon<f64>,
        angle: f64,
        pitch: f64,
        through: Option<Coord<f64>>,
    ) -> Self {
        let (sin, cos) = angle.to_radians().sin_cos();
        let mut sections = Self { items: Vec::new(), pitch, y0: 0.0, sin, cos };
        let edges = sections.edges(area);
        let low = edges.iter().map(|(a, b)| a.y.min(b.y)).fold(f64::INFINITY, f64::min);
        let high = edges.iter().map(|(a, b)| a.y.max(b.y)).fold(f64::NEG_INFINITY, f64::max);
        let lines = |height: f64| (height / pitch + 1e-6).floor();
        let line = through.map(|at| sections.turned(at).y);
        let on_grid = line.map(|line| low + (line - low).rem_euclid(pitch));
        let on_grid = on_grid.filter(|first| *first <= high);
        let count = lines(high - on_grid.unwrap_or(low));
        if pitch > 0.0 && (0.0..SCANS_MAX).contains(&count) {
            let middle = low + (high - low - count * pitch) / 2.0;
            sections.y0 = on_grid.unwrap_or(middle);
            let rows = sections.scan(&edges, count as usize + 1, low, high);
            sections.join(rows);
        }
        sections
    }

    /// Position in the turned frame, where scanlines are level.
    pub fn turned(&self, at: Coord<f64>) -> Coord<f64> {
        Coord { x: at.x * self.cos + at.y * self.sin, y: at.y * self.cos - at.x * self.sin }
    }

    /// Position on the garment of a place in the turned frame.
    pub fn back(&self, at: Coord<f64>) -> Coord<f64> {
        Coord { x: at.x * self.cos - at.y * self.sin, y: at.y * self.cos + at.x * self.sin }
    }

    /// Height of a scanline in the turned frame.
    pub fn height(&self, scan: usize) -> f64 {
        self.y0 + scan as f64 * self.pitch
    }

    /// Position on the garment of a place on a scanline.
    pub fn place(&self, scan: usize, x: f64) -> Coord<f64> {
        self.back(Coord { x, y: self.height(scan) })
    }

    /// The spot nearest to a position, among the sections that count, and its distance.
    pub fn nearest(&self, at: Coord<f64>, counts: impl Fn(usize) -> bool) -> Option<(Spot, f64)> {
        let at = self.turned(at);
        let mut best: Option<(Spot, f64)> = None;
        for (index, section) in self.items.iter().enumerate().filter(|(i, _)| counts(*i)) {
            for (i, span) in section.spans.iter().enumerate() {
                let scan = section.first + i;
                let x = span.clamp(at.x);
                let off = (x - at.x).hypot(self.height(scan) - at.y);
                if best.is_none_or(|(_, least)| off < least) {
                    best = Some((Spot { section: index, scan, x }, off));
                }
            }
        }
        best
    }

    /// Cuts a section above a scanline; the upper part becomes a section of its own, whose number
    /// is returned. Nothing happens at the highest scanline.
    pub fn split_above(&mut self, index: usize, scan: usize) -> Option<usize> {
        let new = self.items.len();
        let section = &mut self.items[index];
        if scan >= section.last() || scan < section.first {
            return None;
        }
        let spans = section.spans.split_off(scan + 1 - section.first);
        let above = std::mem::replace(&mut section.above, vec![new]);
        for other in &above {
            for below in &mut self.items[*other].below {
                if *below == index {
                    *below = new;
                }
            }
        }
        self.items.push(Section { first: scan + 1, spans, above, below: vec![index] });
        Some(new)
    }

    /// Moves every span end outwards (negative: inwards) by what `by` says for its position and
    /// outward direction on the garment.
    pub fn widen(&mut self, by: impl Fn(Coord<f64>, Coord<f64>) -> f64) {
        let out = Coord { x: self.cos, y: self.sin };
        for i in 0..self.items.len() {
            for k in 0..self.items[i].spans.len() {
                let span = self.items[i].spans[k];
                let scan = self.items[i].first + k;
                let a = span.a - by(self.place(scan, span.a), -out);
                let b = span.b + by(self.place(scan, span.b), out);
                if a < b {
                    self.items[i].spans[k] = Span { a, b };
                }
            }
        }
    }

    fn edges(&self, area: &MultiPolygon<f64>) -> Vec<(Coord<f64>, Coord<f64>)> {
        let rings = area.0.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
        rings
            .flat_map(|ring| ring.lines())
            .map(|line| (self.turned(line.start), self.turned(line.end)))
            .collect()
    }

    fn scan(
        &self,
        edges: &[(Coord<f64>, Coord<f64>)],
        count: usize,
        low: f64,
        high: f64,
    ) -> Vec<Vec<Span>> {
        // A sliver may be thinner than two nudges.
        let nudge = EDGE_NUDGE.min((high - low).max(0.0) / 4.0);
        let inside = |scan: usize| self.height(scan).clamp(low + nudge, high - nudge);
        let mut hits: Vec<Vec<f64>> = vec![Vec::new(); count];
        for (a, b) in edges {
            let (bottom, top) = (a.y.min(b.y), a.y.max(b.y));
            // One scanline more at either side, because the outermost are nudged.
            let from = ((bottom - self.y0) / self.pitch).floor().max(1.0) as usize - 1;
            let to = (((top - self.y0) / self.pitch).ceil().max(0.0) as usize + 1).min(count - 1);
            for (scan, hits) in hits.iter_mut().enumerate().take(to + 1).skip(from) {
                let y = inside(scan);
                if (a.y <= y) != (b.y <= y) {
                    hits.push(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
                }
            }
        }
        let spans = |mut xs: Vec<f64>| {
            xs.sort_by(f64::total_cmp);
            xs.chunks_exact(2)
                .map(|pair| Span { a: pair[0], b: pair[1] })
                .filter(|span| span.length() >= SPAN_MIN)
                .collect()
        };
        hits.into_iter().map(spans).collect()
    }

    /// Joins spans of neighbouring scanlines that meet one to one.
    fn join(&mut self, rows: Vec<Vec<Span>>) {
        let mut open: Vec<usize> = Vec::new(); // section of each span of the scanline before
        for (scan, row) in rows.into_iter().enumerate() {
            let meets: Vec<Vec<usize>> = row
                .iter()
                .map(|span| {
                    let meet = |i: &usize| self.items[*i].span(scan).shared(*span).length() > 0.0;
                    open.iter().copied().filter(meet).collect()
                })
                .collect();
            let mut now = Vec::with_capacity(row.len());
            for (span, below) in row.iter().zip(&meets) {
                let alone = |i: usize| meets.iter().filter(|m| m.contains(&i)).count() == 1;
                match below.as_slice() {
                    [i] if alone(*i) && follows(self.items[*i].span(scan), *span) => {
                        self.items[*i].spans.push(*span);
                        now.push(*i);
                    }
                    _ => {
                        let new = self.items.len();
                        for i in below {
                            self.items[*i].above.push(new);
                        }
                        self.items.push(Section {
                            first: scan,
                            spans: vec![*span],
                            above: Vec::new(),
                            below: below.clone(),
                        });
                        now.push(new);
                    }
                }
            }
            open = now;
        }
    }
}

/// Does a span go on from the one below it, without a jump to the side?
fn follows(below: Span, span: Span) -> bool {
    let (shared, longest) = (below.shared(span).length(), below.length().max(span.length()));
    shared * 2.0 >= longest || longest - shared < JUMP
}

#[cfg(test)]
mod tests {
    use geo::{LineString, Polygon};

    use super::*;
    use crate::fixtures::{circle, rect};

    fn area(outer: Vec<(f64, f64)>, holes: Vec<Vec<(f64, f64)>>) -> MultiPolygon<f64> {
        let holes = holes.into_iter().map(LineString::from).collect();
        MultiPolygon(vec![Polygon::new(LineString::from(outer), holes)])
    }

    #[test]
    fn a_rectangle_is_one_section() {
        let sections = Sections::new(&area(rect(0.0, 0.0, 10.0, 5.0), vec![]), 0.0, 0.5);
        assert_eq!(sections.items.len(), 1);
        assert_eq!(sections.items[0].spans.len(), 11);
        assert!(
            sections.items[0].spans.iter().all(|s| s.a.abs() < 1e-9 && (s.b - 10.0).abs() < 1e-9)
        );
        let upright = Sections::new(&area(rect(0.0, 0.0, 10.0, 5.0), vec![]), 90.0, 0.5);
        assert_eq!(upright.items[0].spans.len(), 21);
        let corner = upright.place(0, upright.items[0].spans[0].a);
        assert!((corner.x - 10.0).abs() < 1e-6 && corner.y.abs() < 1e-6);
    }

    #[test]
    fn a_hole_makes_four_sections_that_know_each_other() {
        let shape = area(rect(-10.0, -10.0, 10.0, 10.0), vec![circle((0.0, 0.0), 4.0, 64)]);
        let sections = Sections::new(&shape, 0.0, 0.5);
        assert_eq!(sections.items.len(), 4);
        assert_eq!(sections.items[0].above, [1, 2]);
        assert_eq!(sections.items[3].below, [1, 2]);
    }

    #[test]
    fn splitting_keeps_neighbours_right() {
        let shape = area(rect(-10.0, -10.0, 10.0, 10.0), vec![circle((0.0, 0.0), 4.0, 64)]);
        let mut sections = Sections::new(&shape, 0.0, 0.5);
        let new = sections.split_above(1, 20).unwrap();
        assert_eq!(sections.items[1].above, [new]);
        assert_eq!(sections.items[new].below, [1]);
        assert_eq!(sections.items[new].above, [3]);
        assert_eq!(sections.items[3].below, [new, 2]);
        assert_eq!(sections.items[new].first, 21);
    }

    #[test]
    fn lines_go_on_from_one_that_is_given() {
        let shape = area(rect(0.0, 0.0, 10.0, 5.0), vec![]);
        let sections = Sections::on_grid(&shape, 0.0, 0.5, Some(Coord { x: 0.0, y: -3.3 }));
        let heights: Vec<f64> = (0..10).map(|scan| sections.height(scan)).collect();
        let wanted: Vec<f64> = (0..10).map(|scan| 0.2 + 0.5 * f64::from(scan)).collect();
        assert!(heights.iter().zip(&wanted).all(|(a, b)| (a - b).abs() < 1e-9), "{heights:?}");
        assert_eq!(sections.items[0].spans.len(), 10);
        // None of the lines crosses a lower area: it has one of its own.
        let low = area(rect(0.0, 0.0, 10.0, 0.1), vec![]);
        let sections = Sections::on_grid(&low, 0.0, 0.5, Some(Coord { x: 0.0, y: -3.3 }));
        assert!((sections.height(0) - 0.05).abs() < 1e-9);
    }

    #[test]
    fn nothing_for_nothing() {
        assert!(Sections::new(&MultiPolygon(vec![]), 0.0, 0.5).items.is_empty());
        assert!(Sections::new(&area(rect(0.0, 0.0, 1.0, 1.0), vec![]), 0.0, 0.0).items.is_empty());
    }

    /// Repeated cuts leave such slivers of an area.
    #[test]
    fn a_sliver_thinner_than_rounding_is_no_error() {
        for height in [0.0, 1e-9, 0.0002, 0.0021] {
            for angle in [0.0, 8.0, 90.0] {
                let ring: LineString<f64> =
                    vec![(0.0, 7.0), (10.0, 7.0), (10.0, 7.0 + height), (0.0, 7.0 + height)].into();
                let area = MultiPolygon(vec![Polygon::new(ring, Vec::new())]);
                let sections = Sections::new(&area, angle, 0.25);
                let longest = sections.items.iter().flat_map(|s| &s.spans).map(|s| s.length());
                assert!(longest.fold(0.0, f64::max) <= 10.0 + 1e-9);
            }
        }
    }
}
