//! A fill laid anew: rows and underlay over an area, between its old first and last needle.

use std::collections::BTreeSet;

use geo::{Coord, MultiPolygon};

use super::parts::{Cut, SHORTEST, Under};
use crate::design::Pt;
use crate::garment::Numbers;
use crate::geometry::footprint::Footprint;
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

/// The fill over `area` with rows at `angle`: row pitch, stitch length and stagger are kept, free
/// row ends reach a little further against the pull. Underlay is laid to match, guards are kept.
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
    let style = row_style(old, angle, n);
    let by = (n.fill_pull_total_mm / 2.0).min(n.fill_pull_end_max_mm);
    let pull = |at: Coord<f64>, _| if covers.reach(at) { 0.0 } else { by };
    let rows = tatami(&area, &style, first.at.mm(), last.at.mm(), pull)
        .map_err(|_| "its area falls into pieces that hidden travel cannot join")?;
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
