//! What is done to a whole tape: turned, mirrored, shifted, its jumps split, needle points doubled.

use crownmend::design::Pt;
use crownmend::tape::Kind;
use geo::{Coord, MapCoords, MultiPolygon};

use crate::sample::Step;

/// Turn about the start point, after a mirror if any, and a shift; then rounded to whole points.
#[derive(Clone, Copy, Debug)]
pub struct Map {
    mirrored: bool,
    degrees: f64,
    shift: Pt,
}

impl Map {
    pub const NONE: Self = Self { mirrored: false, degrees: 0.0, shift: Pt::new(0, 0) };

    pub fn turn(degrees: f64) -> Self {
        Self { degrees, ..Self::NONE }
    }

    /// Left for right.
    pub fn mirror_x() -> Self {
        Self { mirrored: true, ..Self::NONE }
    }

    /// Bottom for top.
    pub fn mirror_y() -> Self {
        Self { mirrored: true, degrees: 180.0, ..Self::NONE }
    }

    pub fn shift(x: i32, y: i32) -> Self {
        Self { shift: Pt::new(x, y), ..Self::NONE }
    }

    /// Sine and cosine, exact for quarter turns.
    fn sin_cos(self) -> (f64, f64) {
        match self.degrees {
            0.0 => (0.0, 1.0),
            90.0 => (1.0, 0.0),
            180.0 => (0.0, -1.0),
            270.0 => (-1.0, 0.0),
            other => other.to_radians().sin_cos(),
        }
    }

    pub fn point(self, at: Pt) -> Pt {
        let (sin, cos) = self.sin_cos();
        let (x, y) = (f64::from(if self.mirrored { -at.x } else { at.x }), f64::from(at.y));
        let turned = |value: f64| value.round() as i32;
        Pt::new(turned(cos * x - sin * y), turned(sin * x + cos * y)) + self.shift
    }

    /// Where a place of the changed tape (mm) was in the original.
    fn back(self, at: Coord<f64>) -> Coord<f64> {
        let (sin, cos) = self.sin_cos();
        let at = at - self.shift.mm();
        let (x, y) = (cos * at.x + sin * at.y, -sin * at.x + cos * at.y);
        Coord { x: if self.mirrored { -x } else { x }, y }
    }

    pub fn area_back(self, area: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        area.map_coords(|at| self.back(at))
    }

    /// Direction of rows (degrees in [0, 180)) in the original.
    pub fn angle_back(self, degrees: f64) -> f64 {
        let turned = degrees - self.degrees;
        (if self.mirrored { -turned } else { turned }).rem_euclid(180.0)
    }

    pub fn apply(self, steps: &[Step]) -> Vec<Step> {
        // The way to the new start may be too long for the first record.
        let start = Some(Step::jump(self.shift)).filter(|s| s.at != Pt::default());
        start.into_iter().chain(steps.iter().map(|s| Step { at: self.point(s.at), ..*s })).collect()
    }
}

/// Splits every jump of more than 4 mm in three. Shorter ones may be marks, which a machine reads
/// as they are.
pub fn split_jumps(steps: &[Step]) -> Vec<Step> {
    const LONG: i32 = 40;
    let mut from = Pt::default();
    let mut out = Vec::new();
    for step in steps {
        let by = step.at - from;
        if step.kind == Kind::Jump && by.x.abs().max(by.y.abs()) > LONG {
            out.extend((1..3).map(|k| Step::jump(from + Pt::new(by.x * k / 3, by.y * k / 3))));
        }
        out.push(*step);
        from = step.at;
    }
    out
}

/// Sews one needle point in ten twice; which ones follows from `seed`.
pub fn double_needles(steps: &[Step], seed: u64) -> Vec<Step> {
    // Knuth's linear congruential generator (The Art of Computer Programming, volume 2, 3.3.4).
    let mut state = seed;
    let mut draw = move || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        state >> 33
    };
    let copies = |step: &Step| if step.kind == Kind::Stitch && draw() % 10 == 0 { 2 } else { 1 };
    steps
        .iter()
        .map(copies)
        .zip(steps)
        .flat_map(|(n, step)| std::iter::repeat_n(*step, n))
        .collect()
}
