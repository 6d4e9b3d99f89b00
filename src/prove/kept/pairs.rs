//! How many of some places have another one near, each its own.

use crate::design::Pt;

/// Most pairs of a place of `wanted` and one of `there` no further than `far` mm apart, none in two pairs
/// (a maximum bipartite matching, by augmenting paths: Kuhn 1955, "The Hungarian method for the assignment
/// problem", for pairs that all count the same).
pub fn most_pairs(wanted: &[Pt], there: &[Pt], far: f64) -> usize {
    let mut owner: Vec<Option<usize>> = vec![None; there.len()];
    // A place from which no path led on leads nowhere later either.
    let mut open: Vec<usize> = (0..there.len()).collect();
    let mut pairs = 0;
    for start in 0..wanted.len() {
        let mut left = open.clone();
        // Members of `wanted` to find a place for, each with the place that it would give up.
        let mut queue: Vec<(usize, Option<usize>)> = vec![(start, None)];
        // For each place the member that asked for it.
        let mut asked: Vec<Option<usize>> = vec![None; there.len()];
        let mut free = None;
        let mut next = 0;
        while let Some(&(member, _)) = queue.get(next).filter(|_| free.is_none()) {
            let (near, other): (Vec<usize>, Vec<usize>) =
                left.into_iter().partition(|k| there[*k].distance(wanted[member]) <= far);
            left = other;
            for k in near {
                asked[k] = Some(next);
                match owner[k] {
                    None => free = free.or(Some(k)),
                    Some(holder) => queue.push((holder, Some(k))),
                }
            }
            next += 1;
        }
        match free {
            None => open = left,
            Some(mut place) => {
                pairs += 1;
                while let Some((member, given_up)) = asked[place].map(|at| queue[at]) {
                    owner[place] = Some(member);
                    let Some(before) = given_up else { break };
                    place = before;
                }
            }
        }
    }
    pairs
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
        // 8 must take 0, so that 12 can have 20.
        assert_eq!(pairs(&[8, 12], &[0, 15]), 2);
        assert_eq!(pairs(&[12, 8], &[15, 0]), 2);
        // A chain: each gives up its place for the next one.
        assert_eq!(pairs(&[10, 20, 30, 5], &[10, 20, 30, 40]), 4);
        assert_eq!(pairs(&[10, 20, 30, 5], &[10, 20, 30]), 3);
        assert_eq!(pairs(&[0, 100], &[50]), 0);
        assert_eq!(pairs(&[], &[1]), 0);
    }
}
