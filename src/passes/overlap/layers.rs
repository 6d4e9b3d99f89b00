//! Where as many objects lie on each other as are borne, nothing more is put beneath.

use geo::{BoundingRect, CoordsIter, Intersects, MultiPolygon, Rect};

use crate::geometry::engine;
use crate::geometry::footprint::Footprint;

/// The part of a band over or under which as many of the others lie as there may be layers in all.
pub fn full(band: &MultiPolygon<f64>, others: &[&Footprint], most: usize) -> MultiPolygon<f64> {
    let nothing = MultiPolygon(Vec::new());
    let Some(own) = band.bounding_rect() else { return nothing };
    let boxed = others.iter().filter_map(|other| Some((*other, other.bounding_rect()?)));
    let near: Vec<(&Footprint, Rect<f64>)> = boxed.filter(|(_, b)| own.intersects(b)).collect();
    if near.len() < most || most == 0 || !any_corner_is_full(band, &near, most) {
        return nothing;
    }
    // `lying[k]`: where at least `k + 1` of those looked at lie.
    let mut lying = vec![nothing; most];
    for (other, _) in near {
        let here = engine::intersection(band, other);
        for k in (1..most).rev() {
            let both = engine::intersection(&lying[k - 1], &here);
            lying[k] = engine::union_all(&[&lying[k], &both]);
        }
        lying[0] = engine::union_all(&[&lying[0], &here]);
    }
    lying.pop().unwrap_or(MultiPolygon(Vec::new()))
}

/// Do enough of the others lie at a corner of the band? It has one every half millimetre.
fn any_corner_is_full(
    band: &MultiPolygon<f64>,
    near: &[(&Footprint, Rect<f64>)],
    most: usize,
) -> bool {
    band.coords_iter().any(|at| {
        let inside = near.iter().filter(|(_, bounds)| bounds.intersects(&at));
        let inside: Vec<&&Footprint> = inside.map(|(other, _)| other).collect();
        inside.len() >= most && {
            let lie = inside.iter().filter(|other| other.locator().contains(at));
            lie.take(most).count() == most
        }
    })
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
        // In pieces, as a band has corners all along.
        let tiles = (0..100).map(|i| square(f64::from(i % 10), f64::from(i / 10), 1.0).0);
        let band = MultiPolygon(tiles.flatten().collect());
        let others = [square(0.0, 0.0, 6.0), square(4.0, 0.0, 6.0), square(4.0, 4.0, 6.0)];
        let others = others.map(Footprint::from);
        let others: Vec<&Footprint> = others.iter().collect();
        // All three: 4 to 6 across, 4 to 6 up. Two of them: worked out by hand.
        assert!((full(&band, &others, 3).unsigned_area() - 4.0).abs() < 0.01);
        assert!((full(&band, &others, 2).unsigned_area() - 20.0).abs() < 0.01);
        assert!(full(&band, &others, 4).0.is_empty());
    }
}
