//! Turn fills: rows close to the seam's direction open over it, so they are sewn again near
//! horizontal, over the same area.

use std::collections::BTreeSet;

use geo::Coord;

use super::parts::{Cut, Under, count, place, source};
use super::{Left, Outcome};
use crate::design::Pt;
use crate::geometry::engine;
use crate::geometry::locate::Locator;
use crate::geometry::segments::SegmentGrid;
use crate::geometry::vector::between_lines;
use crate::objects::{Class, Fill, Label, Needle, Object, ObjectId, Objects, Part, Shape};
use crate::report::{Change, Grade};
use crate::settings::{PassName, Settings};
use crate::stitch::fill::{FillStyle, Tatami, tatami};
use crate::stitch::route::Router;
use crate::stitch::underlay;
use crate::survey::{Junction, junctions};

/// Direction of the seam, degrees.
const UPRIGHT: f64 = 90.0;
/// Stagger where the old one is not regular: needle points line up every fourth row (Printwear
/// Jul 2019 p. 24).
const STAGGER: u32 = 4;
/// Slits this wide (mm) between the strips of a footprint are not part of the design.
const SLIT: f64 = 0.25;
/// A later object's edge this close (mm) counts as over a row end: the overlap pass will close it.
const COVERED: f64 = 0.8;

/// Turns every fill whose rows run within the garment's limit of the seam.
pub fn turn_fill(objects: &Objects, settings: &Settings) -> Outcome {
    let mut outcome = Outcome::unchanged(objects);
    if settings.seam_x().is_none() {
        return outcome;
    }
    let upright: Vec<usize> =
        (0..objects.items.len()).filter(|i| is_upright(&objects.items[*i], settings)).collect();
    if upright.is_empty() {
        return outcome;
    }
    let junctions = junctions(objects, settings);
    for index in upright {
        let object = &objects.items[index];
        if object.class != Class::Fill {
            outcome.left.push(left(object, "its rows bend or fan out, which turning would lose"));
            continue;
        }
        let angle = new_angle(object, &outcome.objects, &junctions, settings);
        let covers = Covers::of(object.id, objects, &junctions);
        match turned(object, angle, &covers, settings) {
            Ok(new) => {
                outcome.changes.push(change(object, &new, objects, settings));
                outcome.objects.items[index] = new;
            }
            Err(reason) => outcome.left.push(left(object, reason)),
        }
    }
    outcome
}

fn is_upright(object: &Object, settings: &Settings) -> bool {
    let limit = settings.profile.numbers.fill_upright_within_deg;
    matches!(object.class, Class::Fill | Class::CurvedFill)
        && !object.held
        && settings.allows(PassName::TurnFill, object.id)
        && object.fill().is_some_and(|fill| between_lines(fill.angle, UPRIGHT) <= limit)
}

/// Which of the two directions beside horizontal: the one whose rows cross fewer neighbours'
/// stitches steeply, then the one that keeps the difference from adjoining fills.
fn new_angle(
    object: &Object,
    objects: &Objects,
    junctions: &[Junction],
    settings: &Settings,
) -> f64 {
    let n = &settings.profile.numbers;
    let old = object.fill().map_or(UPRIGHT, |fill| fill.angle);
    let cost = |angle: f64| {
        let (mut steep, mut changed) = (0_usize, 0.0);
        for (junction, other, is_under) in neighbours(object.id, junctions) {
            let fill = objects.get(other).and_then(Object::fill);
            for sample in &junction.samples {
                let own = if is_under { sample.over_direction } else { sample.under_direction };
                let direction = fill.map_or(own, |fill| fill.angle);
                let crossing = between_lines(angle, direction);
                steep += usize::from(crossing >= n.guard_min_angle_deg);
                if fill.is_some() {
                    changed += (crossing - between_lines(old, own)).abs();
                }
            }
        }
        (steep, changed)
    };
    let (up, down) = (n.fill_turn_to_deg, 180.0 - n.fill_turn_to_deg);
    let (a, b) = (cost(up), cost(down));
    if a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).is_le() { up } else { down }
}

/// Junctions of an object, with the other object and whether this one is sewn first.
fn neighbours(
    id: ObjectId,
    junctions: &[Junction],
) -> impl Iterator<Item = (&Junction, ObjectId, bool)> {
    junctions.iter().filter_map(move |j| {
        if j.under == id {
            Some((j, j.over, true))
        } else {
            (j.over == id).then_some((j, j.under, false))
        }
    })
}

/// The object with its rows in the new direction, and underlay to match.
fn turned(
    object: &Object,
    angle: f64,
    covers: &Covers,
    settings: &Settings,
) -> Result<Object, &'static str> {
    let n = &settings.profile.numbers;
    let none = "its top stitching was not found";
    let old = object.fill().ok_or(none)?;
    let cut = Cut::of(object).ok_or(none)?;
    let (first, last) = (cut.first_top().ok_or(none)?, cut.last_top().ok_or(none)?);
    let entry = cut.entry().ok_or(none)?;
    let area = if object.footprint.0.len() > 1 {
        engine::close(&object.footprint, SLIT)
    } else {
        object.footprint.clone()
    };
    let style = FillStyle {
        angle,
        row_pitch: if old.row_pitch > 0.05 { old.row_pitch } else { n.fill_row_pitch_mm },
        stitch: if old.stitch >= n.fill_stitch_min_mm { old.stitch } else { n.fill_stitch_mm },
        stagger: if old.stagger > 1 { old.stagger } else { STAGGER },
        least: n.fill_stitch_min_mm,
        travel: n.run_stitch_mm,
        margin: n.fill_underlay_inset_mm,
    };
    let by = (n.fill_pull_total_mm / 2.0).min(n.fill_pull_end_max_mm);
    let pull = |at: Coord<f64>, _| if covers.reach(at) { 0.0 } else { by };
    let rows = tatami(&area, &style, first.at.mm(), last.at.mm(), pull)
        .map_err(|_| "its area falls into pieces that hidden travel cannot join")?;
    let (top, rows) = rounded(&rows, first, last);

    let router = Router::new(&area);
    let mut under = Under::from(entry.at.mm());
    underlay::edge_loops(&mut under.path, &area, &router, n);
    underlay::cross_rows(&mut under.path, &area, &router, angle + 90.0, first.at.mm(), n);
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
    Ok(Object { parts, shape, footprint: area, ..object.clone() })
}

/// Later objects along this one's edges.
struct Covers {
    /// Places on their edges.
    edges: SegmentGrid,
    areas: Vec<Locator>,
}

impl Covers {
    fn of(id: ObjectId, objects: &Objects, junctions: &[Junction]) -> Self {
        let own: Vec<&Junction> = junctions.iter().filter(|j| j.under == id).collect();
        let overs: BTreeSet<ObjectId> = own.iter().map(|junction| junction.over).collect();
        let areas = overs.into_iter().filter_map(|over| objects.get(over));
        Self {
            edges: SegmentGrid::new(
                own.iter().flat_map(|j| &j.samples).map(|s| [s.at, s.at]).collect(),
            ),
            areas: areas.map(|object| Locator::new(&object.footprint)).collect(),
        }
    }

    /// Is a row end beneath one of them, or right beside its edge?
    fn reach(&self, at: Coord<f64>) -> bool {
        !self.edges.near(at, COVERED).is_empty() || self.areas.iter().any(|area| area.contains(at))
    }
}

/// Needle points on the tape's grid, without repeats, between the old first and last needle; and
/// the rows counted anew.
fn rounded(fill: &Tatami, first: Needle, last: Needle) -> (Vec<Needle>, Vec<(u32, u32)>) {
    let mut needles = vec![first];
    let mut place = vec![0_u32];
    for at in fill.needles.iter().skip(1) {
        let at = Pt::from_mm(*at);
        if needles.last().is_none_or(|before| before.at != at) {
            needles.push(Needle::new(at));
        }
        place.push(needles.len() as u32 - 1);
    }
    if needles.len() > 1 && needles.last().is_some_and(|needle| needle.at == last.at) {
        needles.pop();
    }
    needles.push(last);
    let rows = fill.rows.iter().map(|(a, b)| (place[*a as usize], place[*b as usize]));
    (needles, rows.filter(|(a, b)| a < b).collect())
}

fn change(old: &Object, new: &Object, objects: &Objects, settings: &Settings) -> Change {
    let n = &settings.profile.numbers;
    let angle = |object: &Object| object.fill().map_or(0.0, |fill| fill.angle);
    let [before, after] = [&old.parts, &new.parts].map(|parts| -> BTreeSet<u32> {
        parts.iter().flat_map(|p| &p.needles).filter_map(|n| n.origin).collect()
    });
    let kept = before.intersection(&after).count();
    Change {
        id: format!("{}-{}", PassName::TurnFill.name(), old.id),
        pass: PassName::TurnFill,
        objects: vec![old.id.0],
        place: place(old, objects, settings),
        before: format!(
            "rows at {:.0}°, {:.0}° from the seam's direction",
            angle(old),
            between_lines(angle(old), UPRIGHT)
        ),
        after: format!(
            "rows at {:.0}°, {:.0}° off horizontal; free row ends reach {:.2} mm further; edge run \
             and rows across beneath",
            angle(new),
            between_lines(angle(new), 0.0),
            (n.fill_pull_total_mm / 2.0).min(n.fill_pull_end_max_mm)
        ),
        reason: "rows along the seam sink into it and part over it; rows across it hold".to_owned(),
        source: source(settings, "fill_turn_to_deg"),
        stitches_added: count(&new.parts).saturating_sub(kept) as u32,
        stitches_removed: count(&old.parts).saturating_sub(kept) as u32,
        grade: Grade::Safe,
    }
}

fn left(object: &Object, reason: &str) -> Left {
    Left { pass: PassName::TurnFill, objects: vec![object.id.0], reason: reason.to_owned() }
}

#[cfg(test)]
#[path = "turn_fill_tests.rs"]
mod tests;
