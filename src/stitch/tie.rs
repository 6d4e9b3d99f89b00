//! Ties: a few short stitches that hold the thread at a cut.

use geo::Coord;

use crate::geometry::polyline::heading;

/// Needle points of a tie-in that begins at `at`: out towards `towards` (which should lie inside
/// the object, so that the tie is hidden), back, and out again is the sewing itself. `stitch` is
/// the length of a tie stitch, mm (M. Belova, Quality benchmarks: tie-offs: 1–1.5, never over 2).
pub fn tie_in(at: Coord<f64>, towards: Coord<f64>, stitch: f64) -> Vec<Coord<f64>> {
    match heading(at, towards) {
        Some(unit) => vec![at, at + unit * stitch, at],
        None => vec![at],
    }
}

/// Needle points of a tie-off after the needle point `at`: towards `towards` (inside the object),
/// back, and towards it once more.
pub fn tie_off(at: Coord<f64>, towards: Coord<f64>, stitch: f64) -> Vec<Coord<f64>> {
    match heading(at, towards) {
        Some(unit) => vec![at + unit * stitch, at, at + unit * stitch],
        None => Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::polyline::distance;

    #[test]
    fn ties_go_out_and_back() {
        let (at, inside) = (Coord { x: 1.0, y: 1.0 }, Coord { x: 1.0, y: 9.0 });
        let tie = tie_in(at, inside, 1.0);
        assert_eq!(tie.len(), 3);
        assert!(tie.windows(2).all(|p| (distance(p[0], p[1]) - 1.0).abs() < 1e-9));
        assert_eq!(tie[0], tie[2]);
        assert_eq!(tie_off(at, inside, 1.0)[1], at);
        assert_eq!(tie_in(at, at, 1.0), vec![at]);
    }
}
