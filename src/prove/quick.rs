//! Finding equal things among many: needle points and stitches, by a hash that costs little.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hash, Hasher};

/// The odd number nearest to 2^64 divided by the golden ratio: spreads neighbouring numbers.
const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;

/// A hash of a few small numbers; the same in every run.
#[derive(Default)]
pub struct Quick(u64);

impl Quick {
    fn add(&mut self, value: u64) {
        self.0 = (self.0.rotate_left(23) ^ value).wrapping_mul(GOLDEN);
    }
}

impl Hasher for Quick {
    fn write(&mut self, bytes: &[u8]) {
        bytes.iter().for_each(|byte| self.add(u64::from(*byte)));
    }

    fn write_u8(&mut self, value: u8) {
        self.add(u64::from(value));
    }

    fn write_u32(&mut self, value: u32) {
        self.add(u64::from(value));
    }

    fn write_i32(&mut self, value: i32) {
        self.add(u64::from(value.cast_unsigned()));
    }

    fn write_usize(&mut self, value: usize) {
        self.add(value as u64);
    }

    fn finish(&self) -> u64 {
        self.0 ^ (self.0 >> 32)
    }
}

pub type QuickMap<K, V> = HashMap<K, V, BuildHasherDefault<Quick>>;

/// Where each of many things stands in a list, in rising order.
pub struct Index<K> {
    /// Number of each different thing.
    numbers: QuickMap<K, u32>,
    /// Where the places of each begin in `places`; one more at the end.
    starts: Vec<u32>,
    places: Vec<u32>,
}

impl<K: Hash + Eq> Index<K> {
    pub fn of(list: impl ExactSizeIterator<Item = K>) -> Self {
        let mut numbers: QuickMap<K, u32> = QuickMap::default();
        numbers.reserve(list.len());
        let mut counts: Vec<u32> = Vec::new();
        let of: Vec<u32> = list
            .map(|key| {
                let next = numbers.len() as u32;
                let number = *numbers.entry(key).or_insert(next);
                if number == next {
                    counts.push(0);
                }
                counts[number as usize] += 1;
                number
            })
            .collect();
        let mut end = 0;
        let mut starts: Vec<u32> = std::iter::once(0)
            .chain(counts.iter().map(|count| {
                end += count;
                end
            }))
            .collect();
        let mut places = vec![0; of.len()];
        let mut next = starts.clone();
        for (place, number) in of.into_iter().enumerate() {
            let at = &mut next[number as usize];
            places[*at as usize] = place as u32;
            *at += 1;
        }
        starts.shrink_to_fit();
        Self { numbers, starts, places }
    }

    /// How many different things there are.
    pub fn kinds(&self) -> usize {
        self.numbers.len()
    }

    /// Number of a thing among the different ones.
    pub fn number(&self, key: &K) -> Option<usize> {
        self.numbers.get(key).map(|number| *number as usize)
    }

    /// Places of a thing by its number.
    pub fn places_of(&self, number: usize) -> &[u32] {
        &self.places[self.starts[number] as usize..self.starts[number + 1] as usize]
    }

    /// Places of a thing; none if it is not there.
    pub fn places(&self, key: &K) -> &[u32] {
        self.number(key).map_or(&[], |number| self.places_of(number))
    }
}

/// Members of the longest rising part of a list of different numbers, in its order.
pub fn longest_rising(list: &[u32]) -> Vec<usize> {
    // For each length the member that ends such a part with the least number.
    let mut ends: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = Vec::with_capacity(list.len());
    for (member, value) in list.iter().enumerate() {
        let length = match ends.last() {
            Some(last) if list[*last] >= *value => ends.partition_point(|end| list[*end] < *value),
            _ => ends.len(),
        };
        before.push(length.checked_sub(1).map(|shorter| ends[shorter]));
        if length == ends.len() {
            ends.push(member);
        } else {
            ends[length] = member;
        }
    }
    let mut rising: Vec<usize> =
        std::iter::successors(ends.last().copied(), |member| before[*member]).collect();
    rising.reverse();
    rising
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_found_in_rising_order() {
        let index = Index::of([(7, -1), (3, 2), (7, -1), (-7, 1), (7, -1)].into_iter());
        assert_eq!(index.places(&(7, -1)), [0, 2, 4]);
        assert_eq!(index.places(&(3, 2)), [1]);
        assert!(index.places(&(2, 3)).is_empty());
        assert_eq!(index.kinds(), 3);
    }

    /// Worked by hand: a block that moved to the front is left out, as the smaller one.
    #[test]
    fn the_longest_rising_part_leaves_out_what_moved() {
        let list = [7, 8, 0, 1, 2, 9, 3, 4];
        assert_eq!(longest_rising(&list), [2, 3, 4, 6, 7]);
        assert_eq!(longest_rising(&[]), [0; 0]);
        assert_eq!(longest_rising(&[3, 2, 1]).len(), 1);
    }
}
