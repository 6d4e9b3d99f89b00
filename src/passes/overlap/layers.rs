//! Where as many objects lie on each other as are borne, nothing more is put beneath.

use geo::{BoundingRect, Intersects, MultiPolygon};

use crate::geometry::engine;

/// The part of a band over or under which as many of the others lie as there may be layers in all.
pub fn full(
    band: &MultiPolygon<f64>,
    others: &[&MultiPolygon<f64>],
    most: usize,
) -> MultiPolygon<f64> {
    let own = band.bounding_rect();
    let meets = |other: &&&MultiPolygon<f64>| {
        own.zip(other.bounding_rect()).is_some_and(|(own, other)| own.intersects(&other))
    };
    let near: Vec<_> = others.iter().filter(meets).collect();
    if near.len() < most || most == 0 {
        return MultiPolygon(Vec::new());
    }
    // `lying[k]`: where at least `k + 1` of those looked at lie.
    let mut lying = vec![MultiPolygon(Vec::new()); most];
    for other in near {
        let here = engine::intersection(band, other);
        for k in (1..most).rev() {
            let both = engine::intersection(&lying[k - 1], &here);
            lying[k] = engine::union_all(&[&lying[k], &both]);
        }
        lying[0] = engine::union_all(&[&lying[0], &here]);
    }
    lying.pop().unwrap_or(MultiPolygon(Vec::new()))
}

#[cfg(test)]
mod tests {
    use geo::{Area, Rect};

    use super::*;

    fn square(x: f64, y: f64, side: f64) -> MultiPolygon<f64> {
        let corner = geo::Coord { x, y };
        let far = geo::Coord { x: x + side, y: y + side };
        MultiPolygon(vec![Rect::new(corner, far).to_polygon()])
    }

    #[test]
    fn only_where_enough_lie_on_each_other() {
        let band = square(0.0, 0.0, 10.0);
        let others = [square(0.0, 0.0, 6.0), square(4.0, 0.0, 6.0), square(4.0, 4.0, 6.0)];
        let others: Vec<&MultiPolygon<f64>> = others.iter().collect();
        // All three: 4 to 6 across, 4 to 6 up. Two of them: worked out by hand.
        assert!((full(&band, &others, 3).unsigned_area() - 4.0).abs() < 0.01);
        assert!((full(&band, &others, 2).unsigned_area() - 20.0).abs() < 0.01);
        assert!(full(&band, &others, 4).0.is_empty());
    }
}
