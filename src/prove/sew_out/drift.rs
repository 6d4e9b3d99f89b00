//! Where each object ends up: displacement by stop, by a slow walk in sewing rank, and at the seam.

use geo::Coord;

use super::random::{Purpose, normals};
use crate::garment::Numbers;
use crate::geometry::vector::norm;

/// An object of the original as the model knows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Mover {
    /// Place in the original's sewing order.
    pub rank: u32,
    /// Stop of the original.
    pub stop: u32,
}

/// One draw of one object, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Drift {
    pub by: Coord<f64>,
    /// Added across the seam where the seam is near.
    pub seam: f64,
}

/// Displacements of the movers (in rising rank) in one draw. `ranks` objects make the whole walk,
/// at whose end its standard deviation is that of the garment.
fn draw(number: u32, movers: &[Mover], ranks: u32, numbers: &Numbers) -> Vec<Drift> {
    let step = numbers.sew_walk_sigma_mm / f64::from(ranks.max(1)).sqrt();
    let (mut walk, mut rank) = (Coord { x: 0.0, y: 0.0 }, 0);
    let mut stop = (None, [0.0; 2]);
    movers
        .iter()
        .map(|mover| {
            // Steps that nobody is asked for are taken at once.
            let steps = f64::from(mover.rank - rank).sqrt();
            rank = mover.rank;
            let [x, y] = normals(number, Purpose::Walk, mover.rank);
            walk = walk + Coord { x, y } * (step * steps);
            if stop.0 != Some(mover.stop) {
                stop = (Some(mover.stop), normals(number, Purpose::Stop, mover.stop));
            }
            let [x, y] = stop.1;
            let [seam, _] = normals(number, Purpose::Seam, mover.rank);
            Drift {
                by: walk + Coord { x, y } * numbers.sew_stop_sigma_mm,
                seam: seam * numbers.sew_seam_sigma_mm,
            }
        })
        .collect()
}

/// The first draws of the movers. Every odd one mirrors the one before it, as its random numbers
/// do (see `random`).
pub fn draws(count: u32, movers: &[Mover], ranks: u32, numbers: &Numbers) -> Vec<Vec<Drift>> {
    let mut draws: Vec<Vec<Drift>> = Vec::with_capacity(count as usize);
    for number in 0..count {
        let mirrored = draws.last().filter(|_| !number.is_multiple_of(2));
        draws.push(match mirrored {
            Some(last) => last.iter().map(|d| Drift { by: d.by * -1.0, seam: -d.seam }).collect(),
            None => draw(number, movers, ranks, numbers),
        });
    }
    draws
}

/// How two objects move against each other in all draws, the farthest first.
pub struct Draws {
    pub drifts: Vec<Drift>,
    /// Number of each of them among the draws.
    pub numbers: Vec<usize>,
    /// How far each can move anything, mm, where nothing grows.
    pub reach: Vec<f64>,
}

impl Draws {
    pub fn new(drifts: Vec<Drift>) -> Self {
        // A hair more, so that rounding leaves none out.
        let far = |d: &Drift| (norm(d.by) + d.seam.abs()) * (1.0 + 1e-9);
        let mut sorted: Vec<(f64, usize)> =
            drifts.iter().enumerate().map(|(number, drift)| (far(drift), number)).collect();
        sorted.sort_by(|a, b| b.0.total_cmp(&a.0));
        let numbers: Vec<usize> = sorted.iter().map(|(_, number)| *number).collect();
        Self {
            drifts: numbers.iter().map(|number| drifts[*number]).collect(),
            numbers,
            reach: sorted.into_iter().map(|(reach, _)| reach).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::settings;

    /// Variance per axis over many draws, worked by hand: two objects of one stop differ by the
    /// walk between them alone; of two stops by both stops' variances more.
    #[test]
    fn draws_have_the_given_variances() {
        let numbers = settings().profile.numbers;
        let movers = [(0, 0), (50, 0), (100, 1)].map(|(rank, stop)| Mover { rank, stop });
        let draws = draws(4000, &movers, 100, &numbers);
        type Pick = fn(&[Drift]) -> f64;
        let variance =
            |of: Pick| draws.iter().map(|d| of(d).powi(2)).sum::<f64>() / draws.len() as f64;
        let (walk, stop, seam) = (0.2_f64.powi(2), 0.35_f64.powi(2), 0.2_f64.powi(2));
        let cases: [(Pick, f64); 5] = [
            (|d| d[0].by.x, stop),
            (|d| d[1].by.y - d[0].by.y, walk / 2.0),
            (|d| d[2].by.x - d[0].by.x, walk + 2.0 * stop),
            (|d| d[2].by.y - d[1].by.y, walk / 2.0 + 2.0 * stop),
            (|d| d[1].seam, seam),
        ];
        for (number, (of, wanted)) in cases.into_iter().enumerate() {
            let found = variance(of);
            // Standard error of a variance from 4000 draws: 2.2 %.
            assert!((found / wanted - 1.0).abs() < 0.09, "case {number}: {found} for {wanted}");
        }
    }
}
