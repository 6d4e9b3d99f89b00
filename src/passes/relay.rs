//! A fill laid anew: rows and underlay over an area, between its old first and last needle.

use std::collections::BTreeSet;

use geo::{Coord, MultiPolygon};

use super::parts::{Cut, SHORTEST, Under};
use crate::design::Pt;
use crate::garment::Numbers;
use crate::geometry::engine;
use crate::geometry::footprint::Footprint;
use crate::geometry::polyline::distance;
use crate::geometry::segments::SegmentGrid;
use crate::objects::{Fill, Label, Needle, Object, ObjectId, Objects, Part, Shape};
use crate::stitch::coverage::is_open;
use crate::stitch::fill::{FillStyle, Tatami, tatami};
use crate::stitch::route::Router;
use crate::stitch::underlay;
use crate::survey::Junction;

/// Stagger where the old one is not regular: needle points line up every fourth row (Printwear
/// Jul 2019 p. 24).
const STAGGER: u32 = 4;
/// A later object's edge this close (mm) counts as over a row end: the overlap pass will close it.
const COVERED: f64 = 0.8;

/// How many stitches a row takes depends on its length too, since it ends in a short one: where a fill
/// would have less or more of them than these shares of what it had, …
/// (Less: row ends that reach further thin it a little. More: a fill a tenth denser than the standard 130
/// per cm² of the trade's stitch-count tables stays within 20 % of it up to 1.09, and ways between rows
/// count half here.)
const AS_DENSE: [f64; 2] = [0.97, 1.05];
/// … its stitches are made longer or shorter by these factors in turn, …
const LONGER: [f64; 3] = [1.07, 1.15, 1.25];
const SHORTER: [f64; 3] = [0.94, 0.87, 0.8];
/// … but neither shorter nor longer than is usual, mm (Printwear Feb 2016 p. 63: "minimum about 3",
/// here 2.8, and "maximum about 5").
const USUAL: [f64; 2] = [2.8, 5.0];
/// Shorter steps (mm) lead along the edge from one row to the next.
const STEP: f64 = 0.8;

/// The fill over `area` with rows at `angle`: row pitch and stagger are kept, and the stitch length
/// if that takes no more stitches than it did; free row ends reach a little further against the pull.
/// Underlay is laid to match, guards are kept.
///
/// # Errors
/// Why it cannot be done, in words.
pub fn laid_anew(
    object: &Object,
    angle: f64,
    area: MultiPolygon<f64>,
    covers: &Covers,
    n: &Numbers,
) -> Result<Object, &'static str> {
    let none = "its top stitching was not found";
    let old = object.fill().ok_or(none)?;
    let cut = Cut::of(object).ok_or(none)?;
    let (first, last) = (cut.first_top().ok_or(none)?, cut.last_top().ok_or(none)?);
    let entry = cut.entry().ok_or(none)?;
    let by = (n.fill_pull_total_mm / 2.0).min(n.fill_pull_end_max_mm);
    let pull = |at: Coord<f64>, _| if covers.reach(at) { 0.0 } else { by };
    let ends = (first.at.mm(), last.at.mm());
    let (rows, style) = as_dense(object, row_style(old, angle, n), &area, |style| {
        tatami(&area, style, ends.0, ends.1, pull)
            .map_err(|_| "its area falls into pieces that hidden travel cannot join")
    })?;
    let (top, rows) = rounded(&rows, first, last);

    let router = Router::new(&area);
    let mut under = Under::from(entry.at.mm());
    if !is_open(style.row_pitch, n) {
        underlay::edge_loops(&mut under.path, &area, &router, n);
        underlay::cross_rows(&mut under.path, &area, &router, angle + 90.0, first.at.mm(), n);
    }
    for guard in cut.under.iter().filter(|part| part.label == Label::Guard) {
        under.keep(guard, |path, to| underlay::link(path, &router, to, n));
    }
    underlay::link(&mut under.path, &router, first.at.mm(), n);
    let link = cut.top[0].link;
    let fresh = Cut { top: vec![Part { label: Label::Fill, link, needles: top }], ..cut };
    let parts = fresh.with_under(under.pieces());
    let shape = Shape::Fill(Fill {
        angle,
        row_pitch: style.row_pitch,
        stitch: style.stitch,
        stagger: style.stagger,
        rows,
    });
    Ok(Object { parts, shape, footprint: area.into(), ..object.clone() })
}

/// Rows with stitches of such a length that they are as many as the object has now.
fn as_dense<E>(
    object: &Object,
    style: FillStyle,
    area: &MultiPolygon<f64>,
    rows: impl Fn(&FillStyle) -> Result<Tatami, E>,
) -> Result<(Tatami, FillStyle), E> {
    let is_stitch = |two: &&[Coord<f64>]| distance(two[0], two[1]) >= STEP;
    let stitches = |needles: &[Coord<f64>]| needles.windows(2).filter(is_stitch).count() as f64;
    let needles: Vec<Coord<f64>> = object.top().map(|needle| needle.at.mm()).collect();
    let wanted = stitches(&needles) / engine::area(&object.footprint);
    let sewn = |stitch: f64| {
        let style = FillStyle { stitch, ..style };
        let rows = rows(&style)?;
        // Of the ways along an edge from row to row half counts: under a cover they lie further out.
        let row = |(a, b): &(u32, u32)| stitches(&rows.needles[*a as usize..=*b as usize]);
        let in_rows = rows.rows.iter().map(row).sum::<f64>();
        let density = (in_rows + stitches(&rows.needles)) / 2.0 / engine::area(area);
        Ok((density / wanted, rows, style))
    };
    let off = |ratio: f64| ratio.max(1.0 / ratio);
    let (least, most) = (USUAL[0].min(style.stitch), USUAL[1].max(style.stitch));
    let mut best = sewn(style.stitch)?;
    for factor in if best.0 > 1.0 { LONGER } else { SHORTER } {
        let stitch = (style.stitch * factor).clamp(least, most);
        if (AS_DENSE[0]..=AS_DENSE[1]).contains(&best.0) || stitch == best.2.stitch {
            break;
        }
        let other = sewn(stitch)?;
        if off(other.0) < off(best.0) {
            best = other;
        }
    }
    let (_, rows, style) = best;
    Ok((rows, style))
}

/// Were all of a fill's rows laid in this run? Then it may be laid again: nobody has seen it yet.
pub fn is_new(object: &Object) -> bool {
    let inner = object.top().filter(|needle| needle.origin.is_none()).count();
    object.fill().is_some() && inner > 0 && inner + 2 >= object.top().count()
}

/// How a fill's rows are sewn, at an angle of their own; what was not recognised is as the garment
/// has it.
pub fn row_style(old: &Fill, angle: f64, n: &Numbers) -> FillStyle {
    FillStyle {
        angle,
        row_pitch: if old.row_pitch > 0.05 { old.row_pitch } else { n.fill_row_pitch_mm },
        on: None,
        stitch: if old.stitch >= n.fill_stitch_min_mm { old.stitch } else { n.fill_stitch_mm },
        stagger: if old.stagger > 1 { old.stagger } else { STAGGER },
        least: n.fill_stitch_min_mm,
        travel: n.run_stitch_mm,
        margin: n.fill_underlay_inset_mm,
    }
}

/// Later objects along an object's edges.
pub struct Covers {
    /// Places on their edges.
    edges: SegmentGrid,
    areas: Vec<Footprint>,
}

impl Covers {
    pub fn of(id: ObjectId, objects: &Objects, junctions: &[Junction]) -> Self {
        let own: Vec<&Junction> = junctions.iter().filter(|j| j.under == id).collect();
        let overs: BTreeSet<ObjectId> = own.iter().map(|junction| junction.over).collect();
        let areas = overs.into_iter().filter_map(|over| objects.get(over));
        Self {
            edges: SegmentGrid::new(
                own.iter().flat_map(|j| &j.samples).map(|s| [s.at, s.at]).collect(),
            ),
            areas: areas.map(|object| object.footprint.clone()).collect(),
        }
    }

    /// Is a row end beneath one of them, or right beside its edge?
    fn reach(&self, at: Coord<f64>) -> bool {
        self.edges.is_near(at, COVERED, |_, _| true)
            || self.areas.iter().any(|area| area.locator().contains(at))
    }
}

/// Needle points on the tape's grid, none too near to the one before, between the old first and last needle; and
/// the rows counted anew.
fn rounded(fill: &Tatami, first: Needle, last: Needle) -> (Vec<Needle>, Vec<(u32, u32)>) {
    let mut needles = vec![first];
    let mut place = vec![0_u32];
    for at in fill.needles.iter().skip(1) {
        let at = Pt::from_mm(*at);
        if needles.last().is_none_or(|before| before.at.distance(at) >= SHORTEST) {
            needles.push(Needle::new(at));
        }
        place.push(needles.len() as u32 - 1);
    }
    while needles.len() > 1
        && needles.last().is_some_and(|needle| needle.at.distance(last.at) < SHORTEST)
    {
        needles.pop();
    }
    needles.push(last);
    let end = needles.len() as u32 - 1;
    let at = |i: u32| place[i as usize].min(end);
    let rows = fill.rows.iter().map(|(a, b)| (at(*a), at(*b)));
    (needles, rows.filter(|(a, b)| a < b).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::{self, rect, settings};

    /// Rows 4 % closer than they were stay as they are; at 7 % closer their stitches are made longer.
    #[test]
    fn a_fill_that_would_be_denser_gets_longer_stitches() {
        let n = &settings().profile.numbers;
        let area = rect(0.0, 0.0, 40.0, 20.0);
        let old = fixtures::fill(1, 0, &area, 0.0, 0.4, 4.0);
        let stitch = |closer: f64| {
            let style = row_style(old.fill().unwrap(), 0.0, n);
            let rows = |style: &FillStyle| {
                let new = fixtures::fill(2, 0, &area, 0.0, 0.4 / closer, style.stitch);
                let needles = new.top().map(|needle| needle.at.mm()).collect();
                Ok::<_, ()>(Tatami { needles, rows: new.fill().unwrap().rows.clone() })
            };
            let area = old.footprint.clone();
            as_dense(&old, style, &area, rows).unwrap().1.stitch
        };
        assert_eq!(stitch(1.0), 4.0);
        assert_eq!(stitch(1.04), 4.0);
        assert!(stitch(1.07) > 4.0);
    }
}
