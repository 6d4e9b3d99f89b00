//! Which objects lie over underlay and guards that stand by themselves.

use std::collections::BTreeSet;

use geo::Coord;

use crate::objects::{Class, Object, ObjectId, Objects};

/// Share of the needle points that objects of the same stop must cover to be all that the underlay
/// is for (J: the recogniser asks as much); else those of later stops count too.
const COVERED: f64 = 0.8;

/// A needle point this near to an edge lies under the thread of the edge, mm (J).
const EDGE_MM: f64 = 0.25;

/// For every object, in the order of `objects.items`, the objects that it was sewn for, in sewing
/// order; none unless it is underlay or a guard of its own.
///
/// Underlay serves what lies directly on its needle points; a guard all that lies over it, in any
/// stop, because it holds neighbours together.
pub fn parents(objects: &Objects) -> Vec<Vec<ObjectId>> {
    let of = |(position, object): (usize, &Object)| {
        let later: Vec<&Object> = objects.items[position + 1..].iter().collect();
        match object.class {
            Class::Underlay => supported(object, &later),
            Class::Guard => covers(object, &later).concat(),
            _ => Vec::new(),
        }
    };
    let sorted = |ids: Vec<ObjectId>| {
        let order: BTreeSet<usize> = ids.iter().filter_map(|id| objects.position(*id)).collect();
        order.into_iter().map(|position| objects.items[position].id).collect()
    };
    objects.items.iter().enumerate().map(of).map(sorted).collect()
}

fn supported(object: &Object, later: &[&Object]) -> Vec<ObjectId> {
    let same_stop: Vec<&Object> =
        later.iter().filter(|top| top.stop == object.stop).copied().collect();
    let all = covers(object, &same_stop);
    let covered = all.iter().filter(|tops| !tops.is_empty()).count();
    let all =
        if (covered as f64) < COVERED * all.len() as f64 { covers(object, later) } else { all };
    all.iter().filter_map(|tops| tops.first().copied()).collect()
}

/// For every needle point of the underlay in an object, what lies over it, in sewing order.
fn covers(object: &Object, later: &[&Object]) -> Vec<Vec<ObjectId>> {
    let over = |at: Coord<f64>| {
        let covers = |top: &&&Object| {
            let bounds = top.footprint.bounding_rect();
            let near = bounds.is_some_and(|b| {
                let (low, high) = (b.min(), b.max());
                (low.x - EDGE_MM..=high.x + EDGE_MM).contains(&at.x)
                    && (low.y - EDGE_MM..=high.y + EDGE_MM).contains(&at.y)
            });
            near && top.footprint.locator().is_within(at, EDGE_MM)
        };
        later.iter().filter(covers).map(|top| top.id).collect()
    };
    let underlay = object.needles().filter(|(label, _)| Object::is_underlay(*label));
    underlay.map(|(_, needle)| over(needle.at.mm())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::{fill, objects, rect, run, satin};
    use crate::objects::Label;

    /// Underlay of its own: a line, all of it of one label.
    fn lining(id: u32, stop: u32, class: Class, label: Label, line: &[(f64, f64)]) -> Object {
        let mut object = run(id, stop, line);
        object.class = class;
        object.parts[0].label = label;
        object
    }

    fn bar(id: u32, stop: u32, x: f64) -> Object {
        let rail = |y: f64| [(x, y), (x + 10.0, y)];
        satin(id, stop, &rail(3.0), &rail(0.0), 0.4)
    }

    fn of(items: Vec<Object>) -> Vec<Vec<u32>> {
        let ids = |ids: Vec<ObjectId>| ids.iter().map(|id| id.0).collect();
        parents(&objects(items)).into_iter().map(ids).collect()
    }

    /// Along the middle of three bars that begin at 0, 12 and 24 mm.
    const ALONG: [(f64, f64); 6] =
        [(1.0, 1.5), (5.0, 1.5), (9.0, 1.5), (13.0, 1.5), (17.0, 1.5), (21.0, 1.5)];

    #[test]
    fn underlay_of_several_objects_names_them_all() {
        let mesh = lining(1, 0, Class::Underlay, Label::FillUnderlay, &ALONG);
        let found = of(vec![mesh, bar(2, 0, 0.0), bar(3, 0, 12.0), bar(4, 0, 24.0)]);
        assert_eq!(found, [vec![2, 3], vec![], vec![], vec![]]);
    }

    #[test]
    fn underlay_serves_what_lies_directly_on_it() {
        let mesh = lining(1, 0, Class::Underlay, Label::FillUnderlay, &ALONG);
        let ground = fill(2, 0, &rect(0.0, 0.0, 24.0, 3.0), 0.0, 0.2, 4.0);
        assert_eq!(of(vec![mesh, ground, bar(3, 0, 0.0)])[0], [2]);
    }

    #[test]
    fn only_a_stop_that_covers_too_little_leaves_room_for_later_ones() {
        let mesh = |stop| lining(1, stop, Class::Underlay, Label::FillUnderlay, &ALONG);
        // All under bars of the same stop: the fill of the next one is on top of them.
        let over = || fill(4, 1, &rect(-1.0, -1.0, 30.0, 4.0), 0.0, 0.2, 4.0);
        assert_eq!(of(vec![mesh(0), bar(2, 0, 0.0), bar(3, 0, 12.0), over()])[0], [2, 3]);
        // Half of it, so that the fill is asked for the rest.
        assert_eq!(of(vec![mesh(0), bar(2, 0, 0.0), over()])[0], [2, 4]);
        // A stop of underlay alone.
        assert_eq!(of(vec![mesh(0), over()])[0], [4]);
    }

    #[test]
    fn a_guard_holds_both_neighbours_whatever_their_stop() {
        let zigzag = [(5.0, 2.0), (6.0, 4.0), (7.0, 2.0), (8.0, 4.0)];
        let guard = lining(1, 0, Class::Guard, Label::Guard, &zigzag);
        let ground = fill(2, 0, &rect(0.0, 2.9, 20.0, 12.0), 0.0, 0.2, 4.0);
        assert_eq!(of(vec![guard, ground, bar(3, 1, 0.0), bar(4, 1, 40.0)])[0], [2, 3]);
    }

    #[test]
    fn what_was_sewn_before_is_no_parent_and_nothing_has_none() {
        let mesh = lining(2, 0, Class::Underlay, Label::FillUnderlay, &ALONG);
        assert_eq!(of(vec![bar(1, 0, 0.0), mesh]), [vec![0; 0], vec![]]);
        assert!(of(vec![]).is_empty());
    }
}
