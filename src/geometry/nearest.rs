//! The nearest of many places.

use geo::Coord;

use super::buckets::{Buckets, Edge};

/// Places (mm), each with something that belongs to it. A place with a coordinate that is not
/// finite is left out.
#[derive(Debug)]
pub struct Nearest<T> {
    places: Buckets,
    data: Vec<T>,
}

impl<T> Nearest<T> {
    pub fn new(places: impl Iterator<Item = (Coord<f64>, T)>) -> Self {
        let finite = |(at, _): &(Coord<f64>, T)| at.x.is_finite() && at.y.is_finite();
        let (edges, data) = places
            .filter(finite)
            .enumerate()
            .map(|(ring, (at, data))| (Edge { a: at, b: at, ring }, data))
            .unzip();
        Self { places: Buckets::new(edges), data }
    }

    /// The place nearest to `at`, the first of several; `None` if there is none at all.
    pub fn of(&self, at: Coord<f64>) -> Option<(Coord<f64>, &T)> {
        let place = self.places.nearest(at)?;
        Some((place.a, &self.data[place.ring]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::vector::distance;

    #[test]
    fn the_nearest_is_found_wherever_one_asks() {
        let places: Vec<Coord<f64>> = (0..200)
            .map(|i| f64::from(i) * 0.7)
            .map(|t| Coord { x: 20.0 * t.sin() * t.cos(), y: 5.0 * (1.3 * t).sin() })
            .collect();
        let index = Nearest::new(places.iter().enumerate().map(|(i, at)| (*at, i)));
        for x in -15..=15 {
            for y in -9..=9 {
                let at = Coord { x: f64::from(x) * 1.1, y: f64::from(y) * 0.9 };
                let least = places.iter().map(|p| distance(*p, at)).fold(f64::INFINITY, f64::min);
                let found = index.of(at).map(|(place, i)| (distance(place, at), *i));
                let (off, i) = found.expect("there are places");
                assert!(off <= least + 1e-12);
                assert!((distance(places[i], at) - off).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn nothing_is_nearest_among_none() {
        let none: [(Coord<f64>, u8); 0] = [];
        assert!(Nearest::new(none.into_iter()).of(Coord { x: 0.0, y: 0.0 }).is_none());
        let odd = [(Coord { x: f64::NAN, y: 0.0 }, 1), (Coord { x: 3.0, y: 4.0 }, 2)];
        let index = Nearest::new(odd.into_iter());
        assert_eq!(index.of(Coord { x: 0.0, y: 0.0 }).map(|(_, data)| *data), Some(2));
    }
}
