//! Which object of a tape that is read back is which object of the original.

use std::collections::{BTreeMap, HashMap};

use crate::design::Pt;
use crate::objects::{Object, ObjectId, Objects};

/// For each object of `now` that has an original: its id there. Judged by shared needle points of
/// the top stitching in the same original stop; the original that shares most is taken.
pub fn objects(
    then: &Objects,
    now: &Objects,
    stop_order: &[Option<u32>],
) -> BTreeMap<ObjectId, ObjectId> {
    let mut at: HashMap<(u32, Pt), ObjectId> = HashMap::new();
    for object in &then.items {
        for needle in object.top() {
            at.entry((object.stop, needle.at)).or_insert(object.id);
        }
    }
    now.items
        .iter()
        .filter_map(|object| {
            let was = stop_order.get(object.stop as usize).copied().flatten()?;
            Some((object.id, original(object, was, &at)?))
        })
        .collect()
}

fn original(object: &Object, stop: u32, at: &HashMap<(u32, Pt), ObjectId>) -> Option<ObjectId> {
    let mut votes: BTreeMap<ObjectId, u32> = BTreeMap::new();
    for needle in object.top() {
        if let Some(id) = at.get(&(stop, needle.at)) {
            *votes.entry(*id).or_default() += 1;
        }
    }
    let most = votes.values().max().copied()?;
    votes.into_iter().find(|(_, count)| *count == most).map(|(id, _)| id)
}

/// Puts the original's ids in place of those of the tape read back; objects that the original does
/// not have (guards) are left out unless nothing else remains.
pub fn rename(ids: &mut Vec<u32>, names: &BTreeMap<ObjectId, ObjectId>) {
    let mut renamed: Vec<u32> = Vec::new();
    for id in ids.iter().filter_map(|id| names.get(&ObjectId(*id))) {
        if !renamed.contains(&id.0) {
            renamed.push(id.0);
        }
    }
    if !renamed.is_empty() {
        *ids = renamed;
    }
}
