//! Plain figures of a tape: counts, size, sewing time, thread.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::design::{Design, Link};
use crate::garment::Numbers;

use super::{Place, round};

/// What a tape holds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TapeFacts {
    /// Needle penetrations.
    pub stitches: u32,
    pub trims: u32,
    /// Uncut jumps: thread that stays on the face or under later stitches.
    pub jumps: u32,
    /// Colour blocks that hold stitches.
    pub stops: u32,
    /// Extent of the needle points, mm.
    pub width_mm: f64,
    pub height_mm: f64,
    /// Extent of the needle points from the start point, mm: min x, min y, max x, max y.
    pub bounds_mm: [f64; 4],
}

impl TapeFacts {
    pub fn of(design: &Design) -> Self {
        // The way to the first needle point cuts no thread.
        let links = || design.links.iter().skip(1);
        let count = |link: Link| links().filter(|l| **l == link).count() as u32;
        let bounds = design.bounds_mm().unwrap_or_default();
        Self {
            stitches: design.points.len() as u32,
            trims: count(Link::Trim),
            jumps: count(Link::Jump),
            stops: design.stop_count(),
            width_mm: round(bounds[2] - bounds[0], 1),
            height_mm: round(bounds[3] - bounds[1], 1),
            bounds_mm: bounds,
        }
    }

    /// The whole design as a place.
    pub fn place(&self, seam_x: f64) -> Place {
        Place::of_bounds(self.bounds_mm, seam_x, self.bounds_mm[1])
    }
}

/// Time and thread that a tape takes on one head.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Sewing {
    /// Stitches over speed, plus trims, plus colour changes; no loading, no thread breaks.
    pub seconds: f64,
    /// Length of all stitches: what lies on the cloth. Thread drawn down to the lock and tails
    /// at trims come on top.
    pub top_thread_m: f64,
    pub bobbin_thread_m: f64,
}

impl Sewing {
    /// The time model is the one of "Defaults proposed" in the garment profiles: `speed_spm`,
    /// `trim_seconds`, `stop_seconds` and `bobbin_per_top`, each with its source there.
    pub fn of(design: &Design, numbers: &Numbers) -> Self {
        let facts = TapeFacts::of(design);
        let changes = f64::from(facts.stops.saturating_sub(1));
        let seconds = f64::from(facts.stitches) / numbers.speed_spm.max(1.0) * 60.0
            + f64::from(facts.trims) * numbers.trim_seconds
            + changes * numbers.stop_seconds;
        let metres = sewn_mm(design) / 1000.0;
        Self {
            seconds: round(seconds, 0),
            top_thread_m: round(metres, 2),
            bobbin_thread_m: round(metres * numbers.bobbin_per_top, 2),
        }
    }
}

/// Length of all sewn stitches, mm.
fn sewn_mm(design: &Design) -> f64 {
    let pairs = design.points.windows(2).zip(design.links.iter().skip(1));
    pairs.filter(|(_, link)| **link == Link::Sewn).map(|(p, _)| p[0].distance(p[1])).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Pt;
    use crate::garment;

    fn design(steps: &[(i32, i32, Link, u32)]) -> Design {
        Design {
            points: steps.iter().map(|s| Pt::new(s.0, s.1)).collect(),
            links: steps.iter().map(|s| s.2).collect(),
            stops: steps.iter().map(|s| s.3).collect(),
            ..Design::default()
        }
    }

    #[test]
    fn counts_and_size_of_a_small_tape() {
        let tape = design(&[
            (-20, 5, Link::Jump, 0),
            (10, 5, Link::Sewn, 0),
            (10, 45, Link::Trim, 0),
            (0, 0, Link::Stop, 1),
        ]);
        let facts = TapeFacts::of(&tape);
        assert_eq!((facts.stitches, facts.trims, facts.jumps, facts.stops), (4, 1, 0, 2));
        assert_eq!((facts.width_mm, facts.height_mm), (3.0, 4.5));
        assert_eq!(facts.bounds_mm, [-2.0, 0.0, 1.0, 4.5]);
    }

    /// 26,000 stitches and 12 colour changes against 22,000 and 6 at 1,000 a minute save "over
    /// 5 minutes" a run: E. Campbell, "Efficiency in digitising", Images.
    #[test]
    fn time_model_agrees_with_the_published_case() {
        let tape = |stitches: usize, changes: u32| Design {
            points: vec![Pt::default(); stitches],
            links: vec![Link::Sewn; stitches],
            stops: vec![changes; stitches],
            ..Design::default()
        };
        let mut numbers = garment::built_in("finished-cap").unwrap().numbers;
        numbers.speed_spm = 1000.0;
        let saved = Sewing::of(&tape(26_000, 12), &numbers).seconds
            - Sewing::of(&tape(22_000, 6), &numbers).seconds;
        assert!((300.0..=330.0).contains(&saved), "{saved} s");
    }

    /// 199 stitches to the metre of top thread at a mean stitch of 4 to 5 mm, so about 5 m in
    /// 1,000 stitches, and 3 m bobbin: "Thread Consumption"; the geometry alone is its lower end.
    #[test]
    fn thread_of_a_thousand_long_stitches() {
        let tape = Design {
            points: (0..1001).map(|i| Pt::new(if i % 2 == 0 { 0 } else { 45 }, 0)).collect(),
            links: vec![Link::Sewn; 1001],
            stops: vec![0; 1001],
            ..Design::default()
        };
        let sewing = Sewing::of(&tape, &garment::built_in("finished-cap").unwrap().numbers);
        assert!((4.0..=5.0).contains(&sewing.top_thread_m));
        assert_eq!(sewing.top_thread_m, 4.5);
        assert_eq!(sewing.bobbin_thread_m, 2.7);
    }

    #[test]
    fn jumps_and_trims_take_no_sewn_thread() {
        let tape = design(&[(0, 0, Link::Sewn, 0), (1000, 0, Link::Jump, 0)]);
        let numbers = garment::built_in("finished-cap").unwrap().numbers;
        assert_eq!(Sewing::of(&tape, &numbers).top_thread_m, 0.0);
    }
}
