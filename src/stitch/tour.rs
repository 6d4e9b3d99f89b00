//! The order in which the sections of an area are sewn, so that all travel lies under sections
//! that are still to come.

use std::collections::VecDeque;

use super::sections::{Sections, Spot};

/// Which end of a section its sewing ends at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finish {
    Top,
    Bottom,
}

/// A tree of sections over their meetings. Every section is sewn after all that hang below it and
/// towards its parent, so the way to the next one leads through its parent, which is not sewn yet.
#[derive(Clone, Debug)]
pub struct Tour {
    parent: Vec<Option<usize>>,
    finish: Vec<Finish>,
    /// Sections without a parent that still have a place in the tour: the root alone.
    root: usize,
    waiting: Vec<usize>,
    /// Sections on the way from the start to the root are entered first.
    preferred: Vec<bool>,
    sewn: Vec<bool>,
    stack: Vec<usize>,
}

impl Tour {
    /// A tour that begins near `start` and ends with the section `root`, towards its `finish`.
    pub fn new(sections: &Sections, root: usize, finish: Finish, start: usize) -> Self {
        let count = sections.items.len();
        let mut tour = Self {
            parent: vec![None; count],
            finish: vec![finish; count],
            root,
            waiting: vec![0; count],
            preferred: vec![false; count],
            sewn: vec![false; count],
            stack: vec![root],
        };
        tour.grow(sections);
        let mut at = Some(start);
        while let Some(index) = at {
            tour.preferred[index] = true;
            at = tour.parent[index];
        }
        tour
    }

    fn grow(&mut self, sections: &Sections) {
        let mut seen = vec![false; sections.items.len()];
        seen[self.root] = true;
        let mut queue = VecDeque::from([self.root]);
        while let Some(index) = queue.pop_front() {
            let section = &sections.items[index];
            let above = section.above.iter().map(|next| (*next, Finish::Bottom));
            for (next, finish) in above.chain(section.below.iter().map(|n| (*n, Finish::Top))) {
                if !std::mem::replace(&mut seen[next], true) {
                    self.parent[next] = Some(index);
                    self.finish[next] = finish;
                    self.waiting[index] += 1;
                    queue.push_back(next);
                }
            }
        }
    }

    /// Does the tour come to this section?
    pub fn reaches(&self, index: usize) -> bool {
        index == self.root || self.parent[index].is_some()
    }

    pub fn is_sewn(&self, index: usize) -> bool {
        self.sewn[index]
    }

    pub fn parent(&self, index: usize) -> Option<usize> {
        self.parent[index]
    }

    pub fn finish(&self, index: usize) -> Finish {
        self.finish[index]
    }

    /// The next section to sew, given where the needle is; counts as sewn from then on.
    pub fn next(&mut self, sections: &Sections, at: Spot) -> Option<usize> {
        while let Some(index) = self.stack.last().copied() {
            if self.waiting[index] == 0 {
                self.stack.pop();
                self.sewn[index] = true;
                if let Some(parent) = self.parent[index] {
                    self.waiting[parent] -= 1;
                }
                return Some(index);
            }
            let section = &sections.items[index];
            let far = |child: &usize| {
                let door = sections.items[*child].span(at.scan);
                let aside = (door.clamp(at.x) - at.x).abs();
                let entry = match self.finish[*child] {
                    Finish::Bottom => sections.items[*child].first,
                    Finish::Top => sections.items[*child].last(),
                };
                let off = entry.abs_diff(at.scan) as f64 * sections.pitch + aside;
                (!self.preferred[*child], off, *child)
            };
            let children = section.above.iter().chain(&section.below).copied();
            let next = children
                .filter(|child| self.parent[*child] == Some(index) && !self.sewn[*child])
                .min_by(|a, b| {
                    let (a, b) = (far(a), far(b));
                    a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2))
                });
            match next {
                Some(child) => self.stack.push(child),
                None => self.waiting[index] = 0,
            }
        }
        None
    }
}
