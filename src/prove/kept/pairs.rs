//! How many of some places have another one near, each its own.

use crate::design::Pt;

/// Places that are looked through for the next in order.
const AHEAD: usize = 24;
/// More looks than this, and what is left has none: a loss is said rather than a long time taken.
const LOOKS: usize = 50_000_000;

/// Most pairs of a place of `wanted` and one of `there` no further than `far` mm apart, none in two pairs
/// (a maximum bipartite matching, by augmenting paths: Kuhn 1955, "The Hungarian method for the assignment
/// problem", for pairs that all count the same).
pub fn most_pairs(wanted: &[Pt], there: &[Pt], far: f64) -> usize {
    let mut pairs = Pairs { wanted, there, far, owner: vec![None; there.len()] };
    let left = pairs.take_in_order();
    // A place from which no path led on leads nowhere later either.
    let mut open: Vec<usize> = (0..there.len()).collect();
    let mut lost = 0;
    for (tried, start) in left.iter().enumerate() {
        if tried * there.len() > LOOKS {
            lost += left.len() - tried;
            break;
        }
        lost += usize::from(!pairs.find_place(*start, &mut open));
    }
    wanted.len() - lost
}

struct Pairs<'a> {
    wanted: &'a [Pt],
    there: &'a [Pt],
    far: f64,
    /// For each place the member of `wanted` that has it.
    owner: Vec<Option<usize>>,
}

impl Pairs<'_> {
    fn is_near(&self, member: usize, place: usize) -> bool {
        self.there[place].distance(self.wanted[member]) <= self.far
    }

    /// Gives members the first place a little way on, each; returns those that find none.
    fn take_in_order(&mut self) -> Vec<usize> {
        let mut next = 0;
        let mut left = Vec::new();
        for member in 0..self.wanted.len() {
            let mut ahead = next..self.there.len().min(next + AHEAD);
            match ahead.find(|place| self.is_near(member, *place)) {
                Some(place) => {
                    self.owner[place] = Some(member);
                    next = place + 1;
                }
                None => left.push(member),
            }
        }
        left
    }

    /// Finds a place for a member, where others must for theirs; says whether there is one. Places in vain
    /// are taken out of `open`.
    fn find_place(&mut self, start: usize, open: &mut Vec<usize>) -> bool {
        let mut left = open.clone();
        // Members to find a place for, each with the place that it would give up.
        let mut queue: Vec<(usize, Option<usize>)> = vec![(start, None)];
        // For each place where in the queue the member stands that asked for it.
        let mut asked: Vec<Option<usize>> = vec![None; self.there.len()];
        let (mut free, mut next) = (None, 0);
        while let Some(&(member, _)) = queue.get(next).filter(|_| free.is_none()) {
            let (near, other): (Vec<usize>, Vec<usize>) =
                left.into_iter().partition(|place| self.is_near(member, *place));
            left = other;
            for place in near {
                asked[place] = Some(next);
                match self.owner[place] {
                    None => free = free.or(Some(place)),
                    Some(holder) => queue.push((holder, Some(place))),
                }
            }
            next += 1;
        }
        let Some(mut place) = free else {
            *open = left;
            return false;
        };
        while let Some((member, given_up)) = asked[place].map(|at| queue[at]) {
            self.owner[place] = Some(member);
            let Some(before) = given_up else { break };
            place = before;
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(xs: &[i32]) -> Vec<Pt> {
        xs.iter().map(|x| Pt::new(*x, 0)).collect()
    }

    /// By hand: on a line, where the nearest place is not always the one to take.
    #[test]
    fn each_place_serves_once() {
        let pairs = |wanted: &[i32], there: &[i32]| most_pairs(&line(wanted), &line(there), 1.0);
        assert_eq!(pairs(&[0, 1, 2], &[1]), 1);
        // 8 must take 0, so that 12 can have 15.
        assert_eq!(pairs(&[8, 12], &[0, 15]), 2);
        assert_eq!(pairs(&[12, 8], &[15, 0]), 2);
        // A chain: each gives up its place for the next one.
        assert_eq!(pairs(&[10, 20, 30, 5], &[10, 20, 30, 40]), 4);
        assert_eq!(pairs(&[10, 20, 30, 5], &[10, 20, 30]), 3);
        assert_eq!(pairs(&[0, 100], &[50]), 0);
        assert_eq!(pairs(&[], &[1]), 0);
    }
}
