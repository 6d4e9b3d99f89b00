//! Rows or crossings added beside the last ones, where stitches run along the edge and cannot be
//! made longer.

use geo::{Coord, MultiPolygon, Polygon};

use super::edits::{Mark, Stitch};
use crate::geometry::locate::Locator;
use crate::geometry::vector::{distance, dot};
use crate::objects::Side;

/// Added rows shorter than this are left out, mm (J).
const ROW_MIN_MM: f64 = 0.6;

/// Longest stitch on the hidden way back from the last row, mm (J).
const RETURN_MM: f64 = 2.5;

/// Needle points inside an added row keep this distance from its ends, mm: the shortest ordinary
/// stitch.
const INNER_MIN_MM: f64 = 1.0;

/// The line beside which rows are added.
#[derive(Clone, Copy, Debug)]
pub struct Base {
    /// Unit vector along the rows.
    pub along: Coord<f64>,
    /// Unit vector square to them, towards the added ones.
    pub out: Coord<f64>,
    /// Place of the line in direction `out`, mm.
    pub level: f64,
    /// Distance between neighbouring rows, mm.
    pub pitch: f64,
    /// Longest stitch inside a row, mm.
    pub stitch: f64,
    /// Rows go no further than this along `along`, mm.
    pub bounds: (f64, f64),
}

impl Base {
    fn at(&self, along: f64, level: f64) -> Coord<f64> {
        self.along * along + self.out * level
    }

    /// Extent of a polygon along the rows and square to them.
    pub fn extent(&self, polygon: &Polygon<f64>) -> Extent {
        let points = || polygon.exterior().0.iter();
        let range = |axis: Coord<f64>| {
            points()
                .map(|p| dot(*p, axis))
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
        };
        Extent { along: range(self.along), out: range(self.out) }
    }
}

/// Lowest and highest place in two directions.
#[derive(Clone, Copy, Debug)]
pub struct Extent {
    pub along: (f64, f64),
    pub out: (f64, f64),
}

/// Fills an area beside the base line with rows that join in a V, as far as its far side and
/// straight back: `start`, the needle point before them, is also where the needle goes on. Empty
/// where the area is too small.
pub fn out_and_back(
    area: &Polygon<f64>,
    base: &Base,
    start: Coord<f64>,
    sides: [Side; 2],
) -> Vec<Stitch> {
    let mut spans = spans(area, base);
    let (Some(first), Some(last)) = (spans.first().copied(), spans.last().copied()) else {
        return Vec::new();
    };
    // An even number of rows ends on the side where it began; the closing one runs level, so that
    // both sides reach as far.
    if !spans.len().is_multiple_of(2) {
        spans.push(last);
    }
    let along = dot(start, base.along);
    let starts_low = (along - first.low).abs() <= (along - first.high).abs();
    let mut stitches = Vec::new();
    let mut from = start;
    for (row, span) in spans.iter().enumerate() {
        let far = row.is_multiple_of(2);
        let to = base.at(if far == starts_low { span.high } else { span.low }, span.level);
        stitches.extend(inner_points(from, to, base.stitch, row).map(Stitch::plain));
        stitches.push(Stitch { at: to, side: sides[usize::from(far)], mark: Mark::AddedRow });
        from = to;
    }
    let way = distance(from, start);
    let steps = (way / RETURN_MM).ceil() as u32;
    let on_way = |k: u32| from + (start - from) * (f64::from(k) / f64::from(steps));
    stitches.extend((1..steps).map(|k| Stitch::plain(on_way(k))));
    stitches
}

/// One level of the area: where a row would lie.
#[derive(Clone, Copy, Debug)]
struct Span {
    level: f64,
    low: f64,
    high: f64,
}

fn spans(area: &Polygon<f64>, base: &Base) -> Vec<Span> {
    let extent = base.extent(area);
    let height = extent.out.1 - base.level;
    let reach = extent.along.1 - extent.along.0 + 2.0;
    if height < 0.5 * base.pitch || !height.is_finite() || !reach.is_finite() {
        return Vec::new();
    }
    let count = (height / base.pitch).round().max(1.0);
    let count = if count % 2.0 == 0.0 { count + 1.0 } else { count };
    let locator = Locator::new(&MultiPolygon(vec![area.clone()]));
    let mut spans = Vec::new();
    for k in 1..=count as usize {
        let level = base.level + height * k as f64 / count;
        // The outermost row lies on the area's edge: look just inside of it.
        let look = level.min(extent.out.1 - 0.03).max(extent.out.0 + 0.03);
        let from = base.at(extent.along.0 - 1.0, look);
        let hits = locator.hits(from, base.along, reach);
        let widest = hits.chunks_exact(2).max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])));
        let Some(&[a, b]) = widest else { continue };
        if b - a < ROW_MIN_MM {
            continue;
        }
        let at = |d: f64| (extent.along.0 - 1.0 + d).clamp(base.bounds.0, base.bounds.1);
        spans.push(Span { level, low: at(a), high: at(b) });
    }
    spans
}

/// Needle points inside a row, none where one stitch will do; shifted from row to row so that they
/// do not line up.
fn inner_points(
    from: Coord<f64>,
    to: Coord<f64>,
    stitch: f64,
    row: usize,
) -> impl Iterator<Item = Coord<f64>> {
    let length = (to - from).x.hypot((to - from).y);
    let needed = length > 1.25 * stitch;
    let shift = stitch * (1.0 + (row % 4) as f64) / 4.0;
    let count = if needed { (length / stitch).ceil() as usize + 1 } else { 0 };
    (0..count)
        .map(move |k| shift + k as f64 * stitch)
        .filter(move |d| (INNER_MIN_MM..=length - INNER_MIN_MM).contains(d))
        .map(move |d| from + (to - from) * (d / length))
}
