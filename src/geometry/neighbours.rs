//! How many points lie near each one.

use geo::Coord;

/// How many points lie within the radius of each one, itself included.
pub fn neighbours(points: &[Coord<f64>], radius: f64) -> Vec<u32> {
    // Column and row of a cell in one number that sorts by both; far from its ends.
    let cell = |at: f64| ((at / radius).floor() + f64::from(1u32 << 31)) as u64;
    let key = |p: &Coord<f64>| cell(p.x) << 32 | cell(p.y);
    let mut sorted: Vec<(u64, u32)> =
        points.iter().enumerate().map(|(i, p)| (key(p), i as u32)).collect();
    sorted.sort_unstable();
    let places: Vec<Coord<f64>> = sorted.iter().map(|(_, i)| points[*i as usize]).collect();
    // In every column of cells a window moves up along with the points.
    let mut counts = vec![0; points.len()];
    for column in 0..3 {
        let (mut low, mut high) = (0, 0);
        for ((key, i), at) in sorted.iter().zip(&places) {
            let middle = key + (column << 32) - (1 << 32);
            let (from, to) = (middle - 1, middle + 2);
            while low < sorted.len() && sorted[low].0 < from {
                low += 1;
            }
            high = high.max(low);
            while high < sorted.len() && sorted[high].0 < to {
                high += 1;
            }
            let near = |other: &&Coord<f64>| {
                let away = **other - *at;
                away.x * away.x + away.y * away.y <= radius * radius + 1e-9
            };
            counts[*i as usize] += places[low..high].iter().filter(near).count() as u32;
        }
    }
    counts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_are_counted_as_one_by_one() {
        let mut state = 7_u64;
        let mut random = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            ((state >> 33) % 60) as f64 / 10.0 - 3.0
        };
        let points: Vec<_> = (0..400).map(|_| Coord { x: random(), y: random() }).collect();
        let plain: Vec<u32> = points
            .iter()
            .map(|a| {
                let near = |b: &&Coord<f64>| (b.x - a.x).hypot(b.y - a.y) <= 0.25 + 1e-9;
                points.iter().filter(near).count() as u32
            })
            .collect();
        assert_eq!(neighbours(&points, 0.25), plain);
    }
}
