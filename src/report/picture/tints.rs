//! A tint of its own for every object, so that neighbours are told apart, by the red-green blind too.

use super::seen::Seen;
use crate::report::thread::{Rgb, mix};

/// Hues that colour-blind people tell apart, from "Color Universal Design (CUD)" (its black left
/// out: it is the ink).
const HUES: [Rgb; 7] = [
    [0x56, 0xb4, 0xe9],
    [0xe6, 0x9f, 0x00],
    [0x00, 0x9e, 0x73],
    [0xf0, 0xe4, 0x42],
    [0xcc, 0x79, 0xa7],
    [0x00, 0x72, 0xb2],
    [0xd5, 0x5e, 0x00],
];

/// Shares of white that make tints of a hue.
const LEVELS: [f64; 4] = [0.1, 0.25, 0.4, 0.55];

/// Every further use of one hue and level mixes this much more white in; a level has room for
/// `STEPS` of them.
const STEP: f64 = 0.015;
const STEPS: u32 = 10;

/// Neighbours that are this far apart (of 442) are told apart easily; farther is no better (J).
const ENOUGH: f64 = 80.0;

/// A tint for every object; for each its neighbours among those before it are given.
///
/// Each takes the hue and level that keeps it farthest apart from its neighbours, among equals the
/// one that was used least.
pub fn tints(neighbours: &[Vec<usize>]) -> Vec<Rgb> {
    let mut uses = [[0; LEVELS.len()]; HUES.len()];
    let mut tints: Vec<(Rgb, Seen)> = Vec::with_capacity(neighbours.len());
    for beside in neighbours {
        let beside: Vec<Seen> =
            beside.iter().filter_map(|index| tints.get(*index)).map(|(_, seen)| *seen).collect();
        let (hue, level) = best(&beside, &uses);
        let tint = mixed(hue, level, uses[hue][level]);
        uses[hue][level] += 1;
        tints.push((tint, Seen::of(tint)));
    }
    tints.into_iter().map(|(tint, _)| tint).collect()
}

type Uses = [[u32; LEVELS.len()]; HUES.len()];

/// Hue and level of the next tint beside some others.
fn best(beside: &[Seen], uses: &Uses) -> (usize, usize) {
    let choices = (0..HUES.len()).flat_map(|hue| (0..LEVELS.len()).map(move |level| (hue, level)));
    let scored = choices.map(|(hue, level)| {
        let used = uses[hue][level];
        let seen = Seen::of(mixed(hue, level, used));
        let nearest = beside.iter().map(|other| seen.apart(other)).fold(ENOUGH, f64::min);
        ((hue, level), nearest, (uses[hue].iter().sum::<u32>(), used))
    });
    let better = scored.reduce(|best, next| {
        if next.1 > best.1 || next.1 == best.1 && next.2 < best.2 { next } else { best }
    });
    better.map_or((0, 0), |(choice, _, _)| choice)
}

fn mixed(hue: usize, level: usize, used: u32) -> Rgb {
    mix(HUES[hue], [0xff; 3], LEVELS[level] + STEP * f64::from(used % STEPS))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Objects in a row, each beside the two before it.
    fn row(count: usize) -> Vec<Vec<usize>> {
        (0..count).map(|i| (i.saturating_sub(2)..i).collect()).collect()
    }

    #[test]
    fn neighbours_differ_for_the_colour_blind_too() {
        let tints = tints(&row(200));
        for three in tints.windows(3) {
            for (a, b) in [(0, 1), (1, 2), (0, 2)] {
                // White and a grey of 85 % are 66 apart.
                assert!(Seen::of(three[a]).apart(&Seen::of(three[b])) > 66.0, "{three:?}");
            }
        }
    }

    #[test]
    fn every_object_has_a_tint_of_its_own() {
        let mut tints = tints(&row(64));
        tints.sort_unstable();
        tints.dedup();
        assert_eq!(tints.len(), 64);
    }

    #[test]
    fn a_crowd_of_neighbours_still_gets_tints() {
        let all: Vec<Vec<usize>> = (0..300).map(|i| (0..i).collect()).collect();
        assert_eq!(tints(&all).len(), 300);
        assert_eq!(tints(&all), tints(&all));
        assert!(tints(&[]).is_empty());
    }
}
