//! Cloth that thread covers, measured on a raster that shares nothing with the program's geometry.

use std::f64::consts::PI;

use geo::Coord;
use tiny_skia::{FillRule, LineCap, LineJoin, Mask, PathBuilder, Stroke, Transform};

/// Thread is this wide, mm.
pub const THREAD_MM: f64 = 0.4;
/// Cloth around the drawing, mm.
const MARGIN_MM: f64 = 1.0;
/// Directions along which gaps are measured, evenly over half a turn.
const DIRECTIONS: u32 = 36;

/// Lines of thread on cloth.
pub struct Cover {
    width: usize,
    height: usize,
    /// Size of a pixel, mm.
    pixel: f64,
    covered: Vec<bool>,
}

impl Cover {
    /// Draws lines (mm) as thread with round ends: a thread that turns round in a needle hole
    /// reaches half its width beyond it, as it does to either side. So all of the drawing
    /// lies half a thread outside the needle lines, and `eroded` by that much it fits them.
    pub fn draw(lines: &[Vec<Coord<f64>>], pixel: f64) -> Self {
        let all = || lines.iter().flatten();
        let least = |of: fn(&Coord<f64>) -> f64| all().map(of).fold(f64::INFINITY, f64::min);
        let origin = Coord { x: least(|at| at.x), y: least(|at| at.y) };
        let size = |most: f64| ((most + 2.0 * MARGIN_MM) / pixel).ceil() as u32;
        let width = size(-least(|at| -at.x) - origin.x);
        let height = size(-least(|at| -at.y) - origin.y);
        let mut mask = Mask::new(width, height).expect("a size that is not zero");
        let stroke = Stroke {
            width: (THREAD_MM / pixel) as f32,
            line_cap: LineCap::Round,
            line_join: LineJoin::Round,
            ..Stroke::default()
        };
        let place = |at: &Coord<f64>| {
            let on = |mm: f64| ((mm + MARGIN_MM) / pixel) as f32;
            (on(at.x - origin.x), on(at.y - origin.y))
        };
        for stitch in lines.iter().flat_map(|line| line.windows(2)).filter(|s| s[0] != s[1]) {
            let mut path = PathBuilder::new();
            let ((ax, ay), (bx, by)) = (place(&stitch[0]), place(&stitch[1]));
            path.move_to(ax, ay);
            path.line_to(bx, by);
            let outline = path.finish().and_then(|path| path.stroke(&stroke, 1.0));
            let outline = outline.expect("a stitch has an outline");
            mask.fill_path(&outline, FillRule::Winding, false, Transform::identity());
        }
        let covered = mask.data().iter().map(|value| *value != 0).collect();
        Self { width: width as usize, height: height as usize, pixel, covered }
    }

    /// Area, mm².
    pub fn area(&self) -> f64 {
        self.covered.iter().filter(|covered| **covered).count() as f64 * self.pixel.powi(2)
    }

    /// Covers every gap of up to `gap` mm: cloth that lies between thread and thread on a
    /// straight line of that length in any direction.
    pub fn closed(&self, gap: f64) -> Self {
        let reach = gap / self.pixel;
        let mut covered = self.covered.clone();
        for k in 0..DIRECTIONS {
            let (sin, cos) = (PI * f64::from(k) / f64::from(DIRECTIONS)).sin_cos();
            let steps = (reach * cos.abs().max(sin.abs())).floor() as usize;
            self.close_along(cos, sin, steps, &mut covered);
        }
        Self { covered, ..*self }
    }

    /// Closes gaps of up to `steps` pixels along one direction. Every line of pixels in that
    /// direction is a copy of one line, moved square to the axis that it mostly follows. Goes row by
    /// row, in the order in which that comes to the pixels of each line.
    fn close_along(&self, cos: f64, sin: f64, steps: usize, covered: &mut [bool]) {
        let level = cos.abs() >= sin.abs();
        let slope = if level { sin / cos } else { cos / sin };
        let long = if level { self.width } else { self.height };
        let drift: Vec<isize> = (0..long).map(|i| (slope * i as f64).round() as isize).collect();
        let most = drift[long - 1].abs();
        let mut last = vec![None; self.width.max(self.height) + 2 * most.unsigned_abs()];
        for row in 0..self.height {
            let y = if level && slope < 0.0 { self.height - 1 - row } else { row };
            for x in (0..self.width).filter(|x| self.covered[y * self.width + x]) {
                let (i, beside) = if level { (x, y) } else { (y, x) };
                let line = beside as isize - drift[i] + most;
                let Some(before) = last[line as usize].replace(i).filter(|j| i - j <= steps) else {
                    continue;
                };
                for (between, drift) in drift.iter().enumerate().take(i).skip(before + 1) {
                    let beside = (line + drift - most) as usize;
                    let (x, y) = if level { (between, beside) } else { (beside, between) };
                    covered[y * self.width + x] = true;
                }
            }
        }
    }

    /// Takes off everything within `by` mm of bare cloth.
    pub fn eroded(&self, by: f64) -> Self {
        // The edge lies half a pixel before the centre of the first bare pixel.
        let least = (by / self.pixel + 0.5).powi(2);
        let far = self.squared_distances();
        Self { covered: far.iter().map(|d| *d > least as f32).collect(), ..*self }
    }

    /// Squared distance of every pixel to the next bare one, in pixels: first along rows, then
    /// along columns as the lower envelope of parabolas (Felzenszwalb and Huttenlocher, "Distance
    /// Transforms of Sampled Functions", 2012).
    fn squared_distances(&self) -> Vec<f32> {
        let (width, height) = (self.width, self.height);
        let start = |covered: &bool| if *covered { f32::INFINITY } else { 0.0 };
        let mut far: Vec<f32> = self.covered.iter().map(start).collect();
        let mut line = Vec::new();
        for y in 0..height {
            envelope(&mut far[y * width..(y + 1) * width], &mut line);
        }
        let mut column = vec![0.0; height];
        for x in 0..width {
            for y in 0..height {
                column[y] = far[y * width + x];
            }
            envelope(&mut column, &mut line);
            for y in 0..height {
                far[y * width + x] = column[y];
            }
        }
        far
    }
}

/// A parabola of the envelope: where it stands, how high, and from where on it is the lowest.
struct Parabola {
    at: f64,
    height: f64,
    from: f64,
}

/// Turns heights into the lowest of all parabolas that stand on them.
fn envelope(heights: &mut [f32], lowest: &mut Vec<Parabola>) {
    lowest.clear();
    for (at, height) in heights.iter().enumerate().filter(|(_, height)| height.is_finite()) {
        let (at, height) = (at as f64, f64::from(*height));
        let mut from = f64::NEG_INFINITY;
        while let Some(last) = lowest.last() {
            from = (height + at * at - last.height - last.at * last.at) / (2.0 * (at - last.at));
            if from > last.from {
                break;
            }
            from = f64::NEG_INFINITY;
            lowest.pop();
        }
        lowest.push(Parabola { at, height, from });
    }
    let mut next = 0;
    for (at, height) in heights.iter_mut().enumerate() {
        let at = at as f64;
        while lowest.get(next + 1).is_some_and(|parabola| parabola.from <= at) {
            next += 1;
        }
        if let Some(parabola) = lowest.get(next) {
            *height = ((at - parabola.at).powi(2) + parabola.height) as f32;
        }
    }
}

#[test]
fn measures_what_can_be_worked_out_by_hand() {
    // Level rows 0.4 mm apart, 10 mm long, over a height of 6 mm; then rows 0.6 mm apart.
    for (rows, pitch) in [(16, 0.4), (11, 0.6)] {
        let row = |i: i32| {
            let y = f64::from(i) * pitch;
            vec![Coord { x: 0.0, y }, Coord { x: 10.0, y }]
        };
        let cover = Cover::draw(&(0..rows).map(row).collect::<Vec<_>>(), 0.02);
        let area = cover.closed(pitch + 0.1).eroded(THREAD_MM / 2.0).area();
        assert!((area / 60.0 - 1.0).abs() < 0.005, "{rows} rows: {area} instead of 60 mm²");
    }
    // A zigzag between two rails 3 mm apart, 20 mm long, is a parallelogram of 3 by 20 mm less the
    // two triangles at its ends, which no crossing reaches.
    let at = |i: i32| Coord { x: f64::from(i) * 0.2, y: if i % 2 == 0 { 0.0 } else { 3.0 } };
    let cover = Cover::draw(&[(0..=100).map(at).collect::<Vec<_>>()], 0.02);
    let area = cover.closed(0.5).eroded(THREAD_MM / 2.0).area();
    let true_area = 3.0 * (20.0 - 0.2);
    assert!((area / true_area - 1.0).abs() < 0.005, "{area} instead of {true_area} mm²");
}
