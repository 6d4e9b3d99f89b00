//! Which pass did something, told from where it is and what kind of stitch it is.

use std::collections::BTreeMap;

use geo::Coord;

use super::Violation;
use crate::objects::{Label, Object, ObjectId, Objects};
use crate::report::Change;
use crate::settings::PassName;

/// A guard may reach this far beyond the place that its change names, mm (J).
const NEAR_MM: f64 = 2.0;

/// Whose stitch it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Suspect {
    /// Id in the original of its object; `None` for objects that the original does not have.
    pub owner: Option<ObjectId>,
    /// Stop of the original.
    pub stop: u32,
    pub label: Label,
}

/// The changes that may be guilty.
pub struct Blame<'a> {
    changes: &'a [Change],
    /// Stop of each object of the original.
    stops: BTreeMap<u32, u32>,
}

impl<'a> Blame<'a> {
    pub fn new(changes: &'a [Change], objects: &Objects) -> Self {
        let stops = objects.items.iter().map(|object| (object.id.0, object.stop)).collect();
        Self { changes, stops }
    }

    /// Trims that the changes say they add.
    pub fn trims_told(&self) -> usize {
        self.changes.iter().map(|change| change.trims_added as usize).sum()
    }

    /// What a stitch did at a place.
    pub fn at(&self, at: Coord<f64>, suspect: Suspect, words: String) -> Violation {
        let Suspect { owner, stop, label } = suspect;
        let first = |change: &Change| change.objects.first().copied();
        let of_owner = |change: &&Change| owner.is_some_and(|owner| first(change) == Some(owner.0));
        let near = || {
            let same_stop =
                |change: &Change| first(change).and_then(|id| self.stops.get(&id)) == Some(&stop);
            self.changes.iter().filter(move |change| same_stop(change) && is_near(change, at))
        };
        let mut suspects: Vec<&Change> = self.changes.iter().filter(of_owner).collect();
        if label == Label::Guard {
            suspects.extend(near().filter(|change| change.pass == PassName::Guard));
        }
        if suspects.is_empty() {
            // Whatever was done in the same thread nearest around.
            suspects.extend(near());
            suspects.sort_by(|a, b| size(a).total_cmp(&size(b)));
        }
        let guilty = preferred(label)
            .into_iter()
            .find_map(|pass| suspects.iter().find(|change| change.pass == pass));
        let guilty = guilty.or(suspects.first());
        // Where nothing was done near by, the pass that may have sewn such a stitch did it from afar.
        let any = |pass: &PassName| self.changes.iter().any(|change| change.pass == *pass);
        let afar = || preferred(label).into_iter().find(any);
        let pass = guilty.map(|change| change.pass).or_else(afar);
        let objects = match (guilty, owner) {
            (Some(change), _) => change.objects.iter().take(1).copied().collect(),
            (None, Some(owner)) => vec![owner.0],
            (None, None) => Vec::new(),
        };
        let words = format!("{words} at {:.1}, {:.1}", at.x, at.y);
        Violation { pass, objects, words, at: Some(at), opens: None }
    }

    /// What was done to an object as a whole.
    pub fn of(&self, owner: ObjectId, pass: Option<PassName>, words: String) -> Violation {
        Violation { pass, objects: vec![owner.0], words, at: None, opens: None }
    }

    /// Did a pass change this object first of all?
    pub fn did(&self, pass: PassName, owner: ObjectId) -> bool {
        self.changes.iter().any(|c| c.pass == pass && c.objects.first() == Some(&owner.0))
    }
}

fn is_near(change: &Change, at: Coord<f64>) -> bool {
    let [x0, y0, x1, y1] = change.place.bounds_mm;
    at.x >= x0 - NEAR_MM && at.x <= x1 + NEAR_MM && at.y >= y0 - NEAR_MM && at.y <= y1 + NEAR_MM
}

/// Extent of the place of a change, mm.
fn size(change: &Change) -> f64 {
    let [x0, y0, x1, y1] = change.place.bounds_mm;
    (x1 - x0).max(y1 - y0)
}

/// Passes that may have sewn a label, the likeliest first.
fn preferred(label: Label) -> Vec<PassName> {
    use PassName::{
        EdgeRun, Guard, MergeShort, Overlap, Sequence, StrayTies, ThinCrowded, TurnFill, WidenThin,
    };
    let mut passes = match label {
        Label::Guard => vec![Guard, EdgeRun, TurnFill],
        Label::Tie => vec![Sequence, TurnFill, EdgeRun],
        Label::Travel => vec![EdgeRun, Guard, TurnFill, Overlap, Sequence],
        label if Object::is_underlay(label) => vec![EdgeRun, TurnFill, Guard, Overlap],
        _ => vec![TurnFill, WidenThin, Overlap, EdgeRun, Sequence, Guard],
    };
    passes.extend([MergeShort, ThinCrowded, StrayTies]);
    passes
}
