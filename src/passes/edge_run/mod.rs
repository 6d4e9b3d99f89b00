//! Edge run: underlay beside the edges holds the top stitches up and keeps them from pulling in;
//! underlay across holds what crosses the seam.

mod column;
mod fill;
mod stray_rows;

use std::collections::BTreeMap;

use super::parts::{count, place, source};
use super::{Left, Outcome};
use crate::design::Pt;
use crate::objects::{Object, Objects, Shape};
use crate::report::{Change, Grade};
use crate::settings::{PassName, Settings};
use crate::stitch::coverage::{Coverage, can_have_underlay, takes_edges};

/// Lays edge runs where they are missing, and support across the seam where there is none.
pub fn edge_run(objects: &Objects, settings: &Settings) -> Outcome {
    let mut outcome = Outcome::unchanged(objects);
    let coverage = Coverage::new(objects, &settings.profile.numbers);
    for (index, object) in objects.items.iter().enumerate() {
        if !can_have_underlay(object, &settings.profile.numbers)
            || !settings.allows(PassName::EdgeRun, object.id)
        {
            continue;
        }
        let measure = Measure { coverage: &coverage, place: index, seam_x: settings.seam_x() };
        let Some(due) = measure.due(object) else { continue };
        match supported(object, &due, &measure, settings) {
            Some(new) => {
                let share = coverage.edge_run_share(&new, index);
                outcome.changes.push(change(object, &new, &due, share, objects, settings));
                outcome.objects.items[index] = new;
            }
            None => outcome.left.push(Left {
                pass: PassName::EdgeRun,
                objects: vec![object.id.0],
                reason: reason_left(&due).to_owned(),
            }),
        }
    }
    outcome
}

/// Edge runs that do not reach far enough are laid where they add this share of the edges (J).
const WORTH: f64 = 0.3;

/// How an object's underlay is judged, at its place in the order.
struct Measure<'a> {
    coverage: &'a Coverage<'a>,
    place: usize,
    seam_x: Option<f64>,
}

/// What an object lacks.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Due {
    /// Share of the edges that has an edge run, where that is too little.
    edges: Option<f64>,
    /// Share of the seam crossing that is supported, where that is too little.
    seam: Option<f64>,
}

impl Measure<'_> {
    fn edges(&self, object: &Object) -> Option<f64> {
        self.coverage.edge_run_due(object, self.place)
    }

    /// The first that has enough beside its edges, else what has most, where that is worth having:
    /// a further run gains nothing then, so that it changes nothing.
    fn best(&self, ways: impl Iterator<Item = Object>, share: f64) -> Option<Object> {
        let mut most: Option<(f64, Object)> = None;
        for way in ways {
            let Some(reached) = self.edges(&way) else { return Some(way) };
            if reached >= share + WORTH && most.as_ref().is_none_or(|(most, _)| reached > *most) {
                most = Some((reached, way));
            }
        }
        most.map(|(_, way)| way)
    }

    fn seam(&self, object: &Object) -> Option<f64> {
        self.coverage.seam_due(object, self.place, self.seam_x?)
    }

    fn due(&self, object: &Object) -> Option<Due> {
        let due = Due { edges: self.edges(object), seam: self.seam(object) };
        (due != Due::default()).then_some(due)
    }
}

/// The object with all that it lacks; `None` if that cannot be reached.
fn supported(object: &Object, due: &Due, measure: &Measure, settings: &Settings) -> Option<Object> {
    let n = &settings.profile.numbers;
    let is_satin = matches!(object.shape, Shape::Satin(_));
    let mut new = object.clone();
    let mut edges = due.edges;
    if let Some(share) = due.edges {
        // A fill has one way only.
        let ways = [true, false].into_iter().take(if is_satin { 2 } else { 1 });
        let way = |at_once: bool| match is_satin {
            true => column::with_edges(object, n, at_once),
            false => fill::with_edges(object, n),
        };
        match measure.best(ways.filter_map(way), share) {
            Some(edged) => new = edged,
            None if due.seam.is_none() => return None,
            // The support across the seam alone is worth having.
            None => edges = None,
        }
    }
    if let Some(x) = settings.seam_x()
        && measure.seam(&new).is_some()
    {
        let band =
            if is_satin { column::with_band(&new, x, n) } else { fill::with_band(&new, x, n) };
        match band.filter(|banded| measure.seam(banded).is_none()) {
            Some(banded) => new = banded,
            // The edges alone are worth having.
            None if edges.is_some() => {}
            None => return None,
        }
    }
    Some(new)
}

/// Why an object is left with what it lacks.
fn reason_left(due: &Due) -> &'static str {
    match due.edges {
        Some(share) if share >= WORTH => "its edge run reaches as far as its shape leaves room",
        _ => "its shape leaves no room for underlay that would hold it",
    }
}

fn change(
    old: &Object,
    new: &Object,
    due: &Due,
    share: Option<f64>,
    objects: &Objects,
    settings: &Settings,
) -> Change {
    let n = &settings.profile.numbers;
    let percent = |share: f64| format!("{:.0} %", share * 100.0);
    let narrow = old.satin().is_some_and(|satin| !takes_edges(satin, n));
    let (mut before, mut after, mut reason) = (Vec::new(), Vec::new(), Vec::new());
    if let Some(edges) = due.edges {
        if narrow && edges == 0.0 {
            before.push("no underlay".to_owned());
            after.push(format!("centre run in stitches of {:.1} mm", n.centre_run_stitch_mm));
        } else {
            before.push(format!("edge run beside {} of its edges", percent(edges)));
            let share = percent(share.unwrap_or(0.0));
            let (inset, stitch) = (n.edge_run_inset_mm, n.edge_run_stitch_mm);
            after.push(format!("{share}, {inset:.1} mm inside in stitches of {stitch:.1} mm"));
        }
        reason.push("without a run beside the edge the stitches pull in and the edge sinks");
    }
    if let Some(seam) = due.seam {
        before.push(format!("underlay across {} of its seam crossing", percent(seam)));
        after.push(format!("underlay across it for {:.0} mm to either side", n.seam_band_mm));
        reason.push("on the ridge of the seam stitches without underlay across slide apart");
    }
    let number = if due.edges.is_some() { "edge_run_inset_mm" } else { "seam_band_mm" };
    let kept = kept(old, new);
    Change {
        id: format!("{}-{}", PassName::EdgeRun.name(), old.id),
        pass: PassName::EdgeRun,
        objects: vec![old.id.0],
        place: place(old, objects, settings),
        before: before.join("; "),
        after: after.join("; "),
        reason: reason.join("; "),
        source: source(settings, number),
        stitches_added: count(&new.parts).saturating_sub(kept) as u32,
        stitches_removed: count(&old.parts).saturating_sub(kept) as u32,
        trims_added: 0,
        grade: Grade::Safe,
    }
}

/// How many needles of the old object the new one still has.
fn kept(old: &Object, new: &Object) -> usize {
    let mut counts: BTreeMap<(Pt, Option<u32>), usize> = BTreeMap::new();
    for (_, needle) in new.needles() {
        *counts.entry((needle.at, needle.origin)).or_default() += 1;
    }
    let mut kept = 0;
    for (_, needle) in old.needles() {
        if let Some(left) = counts.get_mut(&(needle.at, needle.origin)).filter(|left| **left > 0) {
            *left -= 1;
            kept += 1;
        }
    }
    kept
}

#[cfg(test)]
mod tests;
