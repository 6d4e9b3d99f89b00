//! Small texts on a picture.

use std::fmt::Write;

use geo::Coord;

use super::marks::free_spot;
use super::objects::flipped;

/// Texts that keep clear of each other.
#[derive(Default)]
pub struct Labels {
    /// Height of the letters, points.
    size: f64,
    /// Middle and half width of each, points.
    placed: Vec<(f64, f64, f64)>,
    leaders: String,
    texts: String,
}

/// Width of a letter in heights, wide ones.
const LETTER: f64 = 0.62;

impl Labels {
    /// `size`: height of the letters, points.
    pub fn new(size: f64) -> Self {
        Self { size, ..Self::default() }
    }

    /// Half the width of a text, points.
    pub fn half(&self, text: &str) -> f64 {
        text.chars().count() as f64 * LETTER * self.size / 2.0
    }

    /// Writes a text, which must be safe in an SVG; `at` in mm. A text that has to give way is
    /// joined to its place by a line.
    pub fn put(&mut self, class: &str, text: &str, at: Coord<f64>) {
        let wanted = flipped(at);
        let half = self.half(text);
        let is_free = |(x, y): (f64, f64)| {
            let clear = |other: &(f64, f64, f64)| {
                (other.0 - x).abs() >= other.2 + half || (other.1 - y).abs() >= self.size
            };
            self.placed.iter().all(clear)
        };
        let (x, y) = free_spot((wanted.x, wanted.y), 0.8 * self.size, is_free);
        self.placed.push((x, y, half));
        // Near its place a text needs no line.
        if (x - wanted.x).hypot(y - wanted.y) > self.size {
            // Writing to a string cannot fail, here and below.
            let _ = writeln!(
                self.leaders,
                "<path class=\"leader\" d=\"M{:.1} {:.1}L{x:.1} {y:.1}\"/>",
                wanted.x, wanted.y
            );
        }
        let foot = y + 0.36 * self.size;
        let _ = writeln!(
            self.texts,
            "<text class=\"{class}\" x=\"{x:.1}\" y=\"{foot:.1}\">{text}</text>"
        );
    }

    /// All texts, their leaders beneath them.
    pub fn finish(self) -> String {
        self.leaders + &self.texts
    }
}
