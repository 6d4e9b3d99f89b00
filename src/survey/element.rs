//! Elements: groups of objects that hang together, such as a letter with its outline.

use std::collections::BTreeMap;

use geo::{Coord, CoordsIter};
use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree};

use super::junction::Junction;
use crate::objects::{Object, Objects};

/// Looks at this many points of an object to find out what it lies on.
const PROBES: usize = 7;

/// Element number of every object, in the order of `objects.items`; numbers count up in sewing
/// order. Objects belong together if a junction joins them or one lies on the other.
pub fn elements(objects: &Objects, junctions: &[Junction]) -> Vec<u32> {
    let items = &objects.items;
    let mut groups = Groups::new(items.len());
    let position: BTreeMap<_, _> =
        items.iter().enumerate().map(|(i, object)| (object.id, i)).collect();
    for junction in junctions {
        if let (Some(a), Some(b)) = (position.get(&junction.under), position.get(&junction.over)) {
            groups.join(*a, *b);
        }
    }
    let probes: Vec<Vec<Coord<f64>>> = items.iter().map(probes).collect();
    let entries = probes.iter().enumerate().flat_map(|(guest, points)| {
        points.iter().map(move |p| GeomWithData::new([p.x, p.y], guest))
    });
    let tree = RTree::bulk_load(entries.collect());
    for (host, object) in items.iter().enumerate() {
        let Some(bounds) = object.footprint.bounding_rect() else { continue };
        let (low, high) = (bounds.min(), bounds.max());
        let mut within: BTreeMap<usize, Vec<Coord<f64>>> = BTreeMap::new();
        let near = AABB::from_corners([low.x, low.y], [high.x, high.y]);
        for probe in tree.locate_in_envelope(&near) {
            let [x, y] = *probe.geom();
            within.entry(probe.data).or_default().push(Coord { x, y });
        }
        // Most pairs are joined already or have too few points within the bounds.
        within.retain(|guest, points| {
            points.len() * 2 > probes[*guest].len() && groups.root(*guest) != groups.root(host)
        });
        if within.is_empty() {
            continue;
        }
        let locator = object.footprint.locator();
        for (guest, points) in within {
            let inside = points.iter().filter(|p| locator.contains(**p)).count();
            if inside * 2 > probes[guest].len() {
                groups.join(host, guest);
            }
        }
    }
    groups.numbers()
}

/// A few points of an object, evenly spread.
fn probes(object: &Object) -> Vec<Coord<f64>> {
    let all: Vec<Coord<f64>> = if object.footprint.0.is_empty() {
        object.needles().map(|(_, needle)| needle.at.mm()).collect()
    } else {
        object.footprint.coords_iter().collect()
    };
    let step = (all.len() / PROBES).max(1);
    all.into_iter().step_by(step).take(PROBES).collect()
}

/// Disjoint groups of numbers.
struct Groups {
    parent: Vec<usize>,
}

impl Groups {
    fn new(count: usize) -> Self {
        Self { parent: (0..count).collect() }
    }

    fn root(&mut self, mut of: usize) -> usize {
        while self.parent[of] != of {
            self.parent[of] = self.parent[self.parent[of]];
            of = self.parent[of];
        }
        of
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.parent[a.max(b)] = a.min(b);
    }

    fn numbers(mut self) -> Vec<u32> {
        let mut known = BTreeMap::new();
        (0..self.parent.len())
            .map(|i| {
                let root = self.root(i);
                let next = known.len() as u32;
                *known.entry(root).or_insert(next)
            })
            .collect()
    }
}
