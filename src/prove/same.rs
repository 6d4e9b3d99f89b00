//! Which object of a tape that is read back is which object of the original.

use std::collections::BTreeMap;

use super::quick::QuickMap;
use crate::design::Pt;
use crate::objects::{Label, Needle, Object, ObjectId, Objects};

/// Needle points of the original: stop, place, whether the object has top stitching.
type Places = QuickMap<(u32, Pt, bool), ObjectId>;

/// The objects of the original, found by their needle points.
pub struct Originals {
    at: Places,
}

impl Originals {
    pub fn of(then: &Objects) -> Self {
        let mut at = Places::default();
        at.reserve(then.stitch_count());
        for object in &then.items {
            let has_top = has_top(object);
            for needle in telling(object, has_top) {
                at.entry((object.stop, needle.at, has_top)).or_insert(object.id);
            }
        }
        Self { at }
    }

    /// For each object of `now` that has an original: its id there. Judged by shared needle points
    /// of the top stitching (of all stitching where there is no top) in the same original stop; the
    /// original that shares most is taken.
    pub fn names(&self, now: &Objects, stop_order: &[Option<u32>]) -> BTreeMap<ObjectId, ObjectId> {
        let name = |object: &Object| {
            let was = stop_order.get(object.stop as usize).copied().flatten()?;
            Some((object.id, original(object, was, &self.at)?))
        };
        now.items.iter().filter_map(name).collect()
    }
}

fn has_top(object: &Object) -> bool {
    object.top().next().is_some()
}

/// Needle points that an object is known by.
fn telling(object: &Object, has_top: bool) -> impl Iterator<Item = Needle> + '_ {
    let counts = move |(label, _): &(Label, Needle)| !has_top || Object::is_top(*label);
    object.needles().filter(counts).map(|(_, needle)| needle)
}

/// The original of an object that is known by enough of its needle points; where nearly all of them
/// were moved, as the edges of a column that was widened, by those beside them.
fn original(object: &Object, stop: u32, at: &Places) -> Option<ObjectId> {
    const ENOUGH: f64 = 0.3;
    let has_top = has_top(object);
    let (own, count) =
        most_voted(object, |point| at.get(&(stop, point, has_top)).into_iter().copied());
    let all = telling(object, has_top).count();
    if count as f64 >= ENOUGH * all as f64 {
        return own;
    }
    let near = |point: Pt| {
        let mut ids: Vec<ObjectId> =
            around(point).filter_map(|point| at.get(&(stop, point, has_top)).copied()).collect();
        ids.sort_unstable();
        ids.dedup();
        ids.into_iter()
    };
    match most_voted(object, near) {
        (beside, votes) if votes > 2 * count => beside,
        _ => own,
    }
}

/// What most needle points of an object vote for, the first of equals, and how many do.
fn most_voted<I: Iterator<Item = ObjectId>>(
    object: &Object,
    ids: impl Fn(Pt) -> I,
) -> (Option<ObjectId>, u32) {
    let mut votes: BTreeMap<ObjectId, u32> = BTreeMap::new();
    for id in telling(object, has_top(object)).flat_map(|needle| ids(needle.at)) {
        *votes.entry(id).or_default() += 1;
    }
    let most = votes.values().max().copied().unwrap_or(0);
    (votes.into_iter().find(|(_, count)| *count == most).map(|(id, _)| id), most)
}

/// The points to which a needle point may have been moved a little.
pub fn around(at: Pt) -> impl Iterator<Item = Pt> {
    const FAR: i32 = 2;
    (-FAR..=FAR).flat_map(move |dx| (-FAR..=FAR).map(move |dy| at + Pt::new(dx, dy)))
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

/// The same in words: `o5` becomes what it is called in the original.
pub fn rename_words(words: &str, names: &BTreeMap<ObjectId, ObjectId>) -> String {
    let mut renamed = String::with_capacity(words.len());
    for (k, word) in words.split(' ').enumerate() {
        if k > 0 {
            renamed.push(' ');
        }
        let id = word.trim_end_matches(|c: char| !c.is_ascii_digit());
        match id.strip_prefix('o').and_then(|digits| digits.parse().ok()) {
            Some(number) => {
                let name = names.get(&ObjectId(number));
                renamed.push_str(&name.map_or("a new object".to_owned(), ToString::to_string));
                renamed.push_str(&word[id.len()..]);
            }
            None => renamed.push_str(word),
        }
    }
    renamed
}

/// The same in a change's id, as `overlap-o5`; what was done to an object that the original does not
/// have is told by `new`.
pub fn rename_change(id: &str, names: &BTreeMap<ObjectId, ObjectId>) -> String {
    let parts = id.rsplit_once("-o").and_then(|(pass, number)| Some((pass, number.parse().ok()?)));
    let Some((pass, number)) = parts else { return id.to_owned() };
    match names.get(&ObjectId(number)) {
        Some(name) => format!("{pass}-{name}"),
        None => format!("{pass}-new"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn objects_are_called_by_the_ids_of_the_original() {
        let names = BTreeMap::from([(ObjectId(5), ObjectId(2)), (ObjectId(12), ObjectId(10))]);
        let words = "o5 ends 0.2 mm before o12, o7 over 5 mm of edge";
        let renamed = "o2 ends 0.2 mm before o10, a new object over 5 mm of edge";
        assert_eq!(rename_words(words, &names), renamed);
        let ids = ["edge-run-o5", "guard-o7", "sequence-s1"];
        let renamed = ids.map(|id| rename_change(id, &names));
        assert_eq!(renamed, ["edge-run-o2", "guard-new", "sequence-s1"]);
    }
}
