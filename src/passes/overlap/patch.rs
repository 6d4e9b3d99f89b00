//! Rows added to a fill where its own run along the edge and cannot be made longer: the empty part
//! of the band is sewn as a section of its own, out from the end of a row and back to it.

use geo::{BoundingRect, Coord, MultiPolygon, Polygon, Rect};

use super::edits::{Edits, Mark, Stitch};
use super::target::Target;
use crate::design::Pt;
use crate::garment::Numbers;
use crate::geometry::boxes::near;
use crate::geometry::engine;
use crate::geometry::locate::Locator;
use crate::geometry::vector::{direction, distance, dot, left_of};
use crate::objects::{Fill, Needle, Side};
use crate::passes::parts::SHORTEST;
use crate::passes::relay::row_style;
use crate::settings::Settings;
use crate::stitch::fill::{FillStyle, Tatami, tatami};

/// A row that ends this near to an area leads to it, mm (J).
const NEAR_MM: f64 = 1.0;

/// The added rows begin up to this far inside the object, as far as they cannot be seen, mm: where
/// rows end at a flat angle they leave notches.
const LAP_MM: f64 = 0.3;

/// Row ends that are tried as the place to begin from.
const CANDIDATES: usize = 4;

/// A section that reaches no further, mm, is not worth its stitches (J).
const WORTH_MM: f64 = 1.0;

/// An area lies beside a row if it begins within so many pitches of it.
const BESIDE_PITCHES: f64 = 3.0;
/// And if they have this share of the shorter one's length in common.
const BESIDE_SHARE: f64 = 0.4;

/// A section to be sewn at a needle point.
pub struct Patch {
    /// The needle point at which it is sewn, and where its row ends now.
    pub index: usize,
    pub start: Coord<f64>,
    /// It comes before the object's first row and ends at `start`; else it begins there, and the
    /// rows include the way back.
    pub leads: bool,
    pub rows: Vec<Stitch>,
    pub area: MultiPolygon<f64>,
}

/// Rows for an area beside a fill, after its last row if they may and can be; `None` where no row leads
/// to it.
pub fn patch(
    area: &Polygon<f64>,
    (fill, top): (&Fill, &[Needle]),
    target: &Target,
    settings: &Settings,
    edits: &Edits,
    after_last: bool,
) -> Option<Patch> {
    let area_alone = MultiPolygon(vec![area.clone()]);
    let lapped = engine::intersection(&engine::offset(&area_alone, LAP_MM), &target.whole);
    let lapped = engine::union_all(&[&target.under_covers(&lapped), &area_alone]);
    let ends = row_ends(&lapped, fill, top, edits, settings.second_choices);
    let style = style(fill, &ends, &settings.profile.numbers);
    let row = |k: usize| {
        let (a, b) = *fill.rows.get(k)?;
        let tip = |i: u32| Some(edits.tip(i as usize, top.get(i as usize)?.at.mm()));
        Some((a as usize, tip(a)?, b as usize, tip(b)?))
    };
    let sew = |from, to| tatami(&lapped, &style, from, to, |_, _| 0.0).ok();
    let done = |index, start, leads, rows: Vec<Stitch>| {
        let reaches = rows.iter().any(|stitch| distance(stitch.at, start) >= WORTH_MM);
        reaches.then(|| Patch { index, start, leads, rows, area: lapped.clone() })
    };
    if let Some((0, start, _, other)) = row(0)
        && let Some(far) = beyond(area, (start, other), fill)
        && let Some(sewn) = sew(far, start)
    {
        return done(0, start, true, stitches(&sewn, None, start));
    }
    // An area beyond the last row can be sewn after it as well.
    let last = fill.rows.len().checked_sub(1).filter(|_| after_last).and_then(row);
    let after = last.filter(|(_, other, _, end)| beyond(area, (*other, *end), fill).is_some());
    let after = after.map(|(_, _, index, end)| (index, end)).filter(|end| ends.contains(end));
    after.into_iter().chain(ends.iter().copied().take(CANDIDATES)).find_map(|(index, start)| {
        done(index, start, false, stitches(&sew(start, start)?, Some(start), start))
    })
}

/// As the fill's own rows and on their lines, so that the added ones cannot be told from them; but
/// travel may go along the narrow band's edge.
fn style(fill: &Fill, ends: &[(usize, Coord<f64>)], n: &Numbers) -> FillStyle {
    let own = row_style(fill, fill.angle, n);
    let on = line_through(ends, fill.angle, own.row_pitch);
    FillStyle { stagger: fill.stagger.max(2), margin: 0.0, on, ..own }
}

/// A place on one of the lines that row ends lie on, by their mean: each of them is on the grid.
fn line_through(ends: &[(usize, Coord<f64>)], angle: f64, pitch: f64) -> Option<Coord<f64>> {
    let (_, first) = *ends.first()?;
    let square = left_of(direction(angle));
    let off = |at: Coord<f64>| {
        let steps = dot(at - first, square) / pitch;
        (steps - steps.round()) * pitch
    };
    let mean = ends.iter().map(|(_, at)| off(*at)).sum::<f64>() / ends.len() as f64;
    Some(first + square * mean)
}

/// The place of an area furthest from a row that it lies beside; `None` where it does not.
fn beyond(
    area: &Polygon<f64>,
    (a, b): (Coord<f64>, Coord<f64>),
    fill: &Fill,
) -> Option<Coord<f64>> {
    let along = direction(fill.angle);
    let square = left_of(along);
    let off = |at: Coord<f64>| dot(at, square) - (dot(a, square) + dot(b, square)) / 2.0;
    let points = &area.exterior().0;
    let far = points.iter().copied().max_by(|p, q| off(*p).abs().total_cmp(&off(*q).abs()))?;
    let near = points.iter().map(|p| off(*p) * off(far).signum()).fold(f64::INFINITY, f64::min);
    let range = |points: &mut dyn Iterator<Item = f64>| {
        points.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)))
    };
    let row = range(&mut [dot(a, along), dot(b, along)].into_iter());
    let own = range(&mut points.iter().map(|p| dot(*p, along)));
    let shared = row.1.min(own.1) - row.0.max(own.0);
    let shorter = (row.1 - row.0).min(own.1 - own.0);
    let pitch = fill.row_pitch.max(0.1);
    (near.abs() <= BESIDE_PITCHES * pitch && shared >= BESIDE_SHARE * shorter).then_some(far)
}

/// Row ends near an area, those of inner rows first: the object's own start and end stay where
/// they are. If so asked, those last as well that leave a row alone before the section or after it: it
/// could pass for a way.
fn row_ends(
    area: &MultiPolygon<f64>,
    fill: &Fill,
    top: &[Needle],
    edits: &Edits,
    never_alone: bool,
) -> Vec<(usize, Coord<f64>)> {
    let locator = Locator::new(area);
    let Some(bounds) = area.bounding_rect() else { return Vec::new() };
    let count = fill.rows.len();
    let mut found: Vec<(bool, f64, usize, Coord<f64>)> = Vec::new();
    for (k, &(first, last)) in fill.rows.iter().enumerate() {
        for index in [first as usize, last as usize] {
            let Some(needle) = top.get(index) else { continue };
            let at = edits.tip(index, needle.at.mm());
            if !near(bounds, Rect::new(at, at), NEAR_MM) {
                continue;
            }
            let off = if locator.contains(at) { 0.0 } else { locator.distance_to_edge(at) };
            if off <= NEAR_MM {
                let leaves_one =
                    k == 1 && index == first as usize || k + 2 == count && index == last as usize;
                let outer = k == 0 || k + 1 == count || never_alone && leaves_one;
                found.push((outer, off, index, at));
            }
        }
    }
    found.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)));
    found.dedup_by_key(|end| end.2);
    found.into_iter().map(|(_, _, index, at)| (index, at)).collect()
}

/// The section's needle points on the grid and without repeats: after `from`, or from the first on;
/// the last one, at `to`, is left to what follows.
fn stitches(sewn: &Tatami, from: Option<Coord<f64>>, to: Coord<f64>) -> Vec<Stitch> {
    let mut stitches: Vec<Stitch> = Vec::new();
    let mut last = from.map(Pt::from_mm);
    for (i, at) in sewn.needles.iter().enumerate().skip(usize::from(from.is_some())) {
        let rounded = Pt::from_mm(*at);
        if last.is_some_and(|last| last.distance(rounded) < SHORTEST) {
            continue;
        }
        last = Some(rounded);
        let i = i as u32;
        let mark = match () {
            () if i > 0 && sewn.rows.iter().any(|(_, end)| *end == i) => Mark::AddedRow,
            () if sewn.rows.iter().any(|(begin, _)| *begin == i) => Mark::RowBegin,
            () => Mark::Plain,
        };
        stitches.push(Stitch { at: rounded.mm(), side: Side::Inner, mark });
    }
    let to = Pt::from_mm(to);
    let is_there = |s: &Stitch| Pt::from_mm(s.at).distance(to) < SHORTEST;
    // Once back there, scraps of rows beside it are not worth going out again.
    let far = |s: &Stitch| Pt::from_mm(s.at).distance(to) >= WORTH_MM;
    let rest = stitches.iter().rposition(far).map_or(0, |last| last + 1);
    if let Some(back) = stitches[rest..].iter().position(is_there) {
        stitches.truncate(rest + back);
    }
    stitches
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scrap_of_a_row_where_the_section_ends_is_left_out() {
        let c = |x: f64, y: f64| Coord { x, y };
        let start = c(0.0, 0.0);
        // Out by travel, two rows 3 mm long, back at the start; then half a millimetre aside.
        let way = [c(0.0, 0.0), c(1.5, 0.8), c(3.0, 0.8), c(0.0, 0.8), c(3.0, 0.4), c(0.0, 0.0)];
        let sewn = |scrap: &[Coord<f64>], rows: &[(u32, u32)]| {
            let needles = way.iter().chain(scrap).copied().collect();
            stitches(&Tatami { needles, rows: rows.to_vec() }, Some(start), start)
        };
        let rows = [(2, 3), (4, 5)];
        let whole = sewn(&[], &rows);
        assert_eq!(whole.last().map(|stitch| stitch.at), Some(c(3.0, 0.4)));
        let scrap = sewn(&[c(0.5, -0.2), c(0.1, -0.1)], &[rows[0], rows[1], (5, 6)]);
        assert_eq!(
            scrap.iter().map(|s| s.at).collect::<Vec<_>>(),
            whole.iter().map(|s| s.at).collect::<Vec<_>>()
        );
        // A row that goes on for more is sewn.
        let row = sewn(&[c(1.5, -0.4), c(0.1, -0.1)], &[rows[0], rows[1], (5, 6)]);
        assert!(row.len() > whole.len());
    }
}
