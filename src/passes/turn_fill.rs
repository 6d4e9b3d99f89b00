//! Turn fills: rows close to the seam's direction open over it, so they are sewn again near
//! horizontal, over the same area.

use std::collections::BTreeSet;

use geo::MultiPolygon;

use super::parts::{count, islands, place, source};
use super::relay::{Covers, laid_anew};
use super::{Left, Outcome};
use crate::geometry::engine;
use crate::geometry::vector::between_lines;
use crate::objects::{Class, Fill, Object, ObjectId, Objects, Shape};
use crate::report::{Change, Grade};
use crate::settings::{PassName, Settings};
use crate::stitch::coverage::is_open;
use crate::survey::{Junction, junctions_where};

/// Direction of the seam, degrees.
const UPRIGHT: f64 = 90.0;
/// Slits this wide (mm) between the strips of a footprint are not part of the design.
const SLIT: f64 = 0.25;
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
    let turns = |object: &Object| upright.iter().any(|i| objects.items[*i].id == object.id);
    let junctions = junctions_where(objects, settings, |under, over| turns(under) || turns(over));
    for index in upright.iter().copied() {
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
/// stitches steeply, then the one that keeps the difference from adjoining fills; or the other, where
/// that has failed and the other keeps as much of the difference: guards hold what it crosses.
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
    let best_is_up = a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).is_le();
    let lost = if best_is_up { b.1 - a.1 } else { a.1 - b.1 };
    let failed = settings.takes_other_way(PassName::TurnFill, object.id);
    if best_is_up != (failed && lost <= 0.0) { up } else { down }
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
    let area = if object.footprint.0.len() > 1 {
        engine::close(&object.footprint, SLIT)
    } else {
        MultiPolygon::clone(&object.footprint)
    };
    let whole =
        |object: &Object, area| laid_anew(object, angle, area, covers, &settings.profile.numbers);
    if area.0.len() < 2 {
        return whole(object, area);
    }
    by_island(&Object { footprint: area.into(), ..object.clone() }, |island| {
        whole(island, MultiPolygon::clone(&island.footprint))
    })
}

/// Islands that are sewn one after the other, each after a trim, are turned one by one.
fn by_island(
    object: &Object,
    turned: impl Fn(&Object) -> Result<Object, &'static str>,
) -> Result<Object, &'static str> {
    let (mut parts, mut rows) = (Vec::new(), Vec::new());
    let mut shape = None;
    let mut needles = 0;
    for island in islands(object) {
        let sews = island.top().next().is_some();
        if sews && island.footprint.0.is_empty() {
            return Err("a part of its area is sewn in several goes");
        }
        if !sews {
            parts.extend(island.parts);
            continue;
        }
        let island = turned(&island)?;
        let offset = needles as u32;
        if let Some(fill) = island.fill() {
            rows.extend(fill.rows.iter().map(|(a, b)| (a + offset, b + offset)));
        }
        needles += island.top().count();
        parts.extend(island.parts);
        shape = Some(island.shape);
    }
    match shape {
        Some(Shape::Fill(fill)) => {
            let shape = Shape::Fill(Fill { rows, ..fill });
            Ok(Object { parts, shape, ..object.clone() })
        }
        _ => Err("its top stitching was not found"),
    }
}

fn change(old: &Object, new: &Object, objects: &Objects, settings: &Settings) -> Change {
    let n = &settings.profile.numbers;
    let angle = |object: &Object| object.fill().map_or(0.0, |fill| fill.angle);
    let [before, after] = [&old.parts, &new.parts].map(|parts| -> BTreeSet<u32> {
        parts.iter().flat_map(|p| &p.needles).filter_map(|n| n.origin).collect()
    });
    let kept = before.intersection(&after).count();
    let stitch = |object: &Object| object.fill().map_or(0.0, |fill| fill.stitch);
    let in_stitches = match (stitch(new) - stitch(old)).abs() > 0.05 {
        true => format!(" in stitches of {:.1} mm, to be as many", stitch(new)),
        false => String::new(),
    };
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
            "rows at {:.0}°, {:.0}° off horizontal{}; free row ends reach {:.2} mm further; {}",
            angle(new),
            between_lines(angle(new), 0.0),
            in_stitches,
            (n.fill_pull_total_mm / 2.0).min(n.fill_pull_end_max_mm),
            match new.fill().is_some_and(|fill| is_open(fill.row_pitch, n)) {
                true => "no underlay, which would show between them",
                false => "edge run and rows across beneath",
            }
        ),
        reason: "rows along the seam sink into it and part over it; rows across it hold".to_owned(),
        source: source(settings, "fill_turn_to_deg"),
        stitches_added: count(&new.parts).saturating_sub(kept) as u32,
        stitches_removed: count(&old.parts).saturating_sub(kept) as u32,
        trims_added: 0,
        grade: Grade::Safe,
    }
}

fn left(object: &Object, reason: &str) -> Left {
    Left { pass: PassName::TurnFill, objects: vec![object.id.0], reason: reason.to_owned() }
}

#[cfg(test)]
#[path = "turn_fill_tests.rs"]
mod tests;
