//! How it would sew: cap that shows at junctions once cloth and thread have moved.
//!
//! Every sample of a shared curve is looked at along the curve's normal: the thread of the object
//! sewn first reaches so far, that of the object sewn later begins there. Both edges are pulled
//! back along their stitches (less where an edge run holds them) and pushed out square to them;
//! then each object moves with its stop, with a slow walk over the sewing order and, near the seam,
//! across it, the more the farther it lies from bottom centre. What opens between the two edges is
//! exposed cap, as far as the original meant it to be covered and no third object lies beneath.
//!
//! Limits of the model: it knows edges, not single threads; objects move as a whole; corners are
//! cut off square; a column narrower than it moves exposes no more than the gap at its one edge.
//! It compares two tapes under the same draws and promises nothing about one of them.

mod drift;
mod edges;
mod ground;
mod random;
mod rows;
#[cfg(test)]
mod tests;
mod twins;
mod zones;

use geo::Coord;
use rayon::prelude::*;

use self::drift::{Drift, Mover};
use self::zones::{Probe, Zone};
use super::sewn::Sewn;
use super::{Settings, Violation, blame::Blame};
use crate::objects::ObjectId;
use crate::report::{BeforeAfter, Exposure, JunctionProof, Spread, round};
use crate::settings::PassName;

/// Draws of the model (J: the 95th percentile of 200 draws is steady to about a tenth).
pub const DRAWS: u32 = 200;
/// What the distortions are scaled by; the middle one is the model itself.
const SCALES: [f64; 3] = [0.5, 1.0, 2.0];
const UNSCALED: usize = 1;
/// A junction is worse where its mean exposure grows by more than this share (J) …
const WORSE_SHARE: f64 = 0.05;
/// … and by more than this, mm² (J: less is lost in the rounding to the grid).
const WORSE_MM2: f64 = 0.05;

/// Figures of one junction or of all, for every scale.
#[derive(Clone, Debug, Default, PartialEq)]
struct Figures {
    /// Exposed area and widest gap per draw, before and after.
    draws: Vec<[Seen; 2]>,
}

/// Exposed cap in one draw.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Seen {
    area: f64,
    gap: f64,
}

/// What the model says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SewOut {
    pub exposure: Vec<Exposure>,
    pub junctions: Vec<JunctionProof>,
    pub violations: Vec<Violation>,
}

/// Sews both tapes out, in the same draws.
pub fn compare(before: &Sewn, after: &Sewn, blame: &Blame, settings: &Settings) -> SewOut {
    let zones = zones::all(before, after, settings);
    let rows = rows::all(before, after, settings);
    let movers = movers(&zones);
    let ranks = before.judged.objects.items.len().saturating_sub(1) as u32;
    let numbers = &settings.profile.numbers;
    let drifts: Vec<Vec<Drift>> =
        (0..DRAWS).map(|number| drift::draw(number, &movers, ranks, numbers)).collect();
    // Junctions in parallel, each with all its draws; they are summed up in their own order.
    let figures: Vec<[Figures; 3]> = zones
        .par_iter()
        .map(|zone| {
            let relative = relative(zone, &movers, &drifts);
            SCALES.map(|scale| sew(&zone.probes, &relative, scale))
        })
        .collect();
    let mut out = SewOut::default();
    for (index, scale) in SCALES.into_iter().enumerate() {
        let open = rows.map_both(|rows| rows.opened_mm2(scale));
        out.exposure.push(total(figures.iter().map(|f| &f[index]), scale, open));
    }
    for (zone, figures) in zones.iter().zip(&figures) {
        let unscaled = &figures[UNSCALED];
        let proof = JunctionProof {
            under: zone.under.0,
            over: zone.over.0,
            length_mm: round(zone.length_mm(), 1),
            area_mm2: unscaled.spread(|seen| seen.area),
            widest_gap_mm: unscaled.spread(|seen| seen.gap),
        };
        out.violations.extend(worse(zone, &proof, blame));
        out.junctions.push(proof);
    }
    out
}

/// The objects that take part, in rising rank.
fn movers(zones: &[Zone]) -> Vec<Mover> {
    let mut movers: Vec<Mover> = zones.iter().flat_map(|zone| zone.movers).collect();
    movers.sort_unstable();
    movers.dedup();
    movers
}

/// How the object sewn later moves against the one sewn first, draw by draw.
fn relative(zone: &Zone, movers: &[Mover], drifts: &[Vec<Drift>]) -> Vec<Drift> {
    let [under, over] = zone.movers.map(|mover| movers.binary_search(&mover).unwrap_or(0));
    let between = |draw: &Vec<Drift>| Drift {
        by: draw[over].by - draw[under].by,
        seam: draw[over].seam - draw[under].seam,
    };
    drifts.iter().map(between).collect()
}

/// All draws of one junction.
fn sew(probes: &[Probe], relative: &[Drift], scale: f64) -> Figures {
    let reach = relative.iter().map(|d| d.by.x.hypot(d.by.y) + d.seam.abs()).fold(0.0, f64::max);
    // Most places are covered far too well to open in any draw.
    let open = |probe: &&Probe| {
        let worst = scale * reach * probe.growth;
        probe.edges.iter().any(|edge| edge.gap(scale) + worst > 0.0)
    };
    let live: Vec<&Probe> = probes.iter().filter(open).collect();
    let draws = relative
        .iter()
        .map(|drift| {
            let mut seen = [Seen::default(); 2];
            for probe in &live {
                let moved = scale * probe.growth * probe.along_normal(drift);
                for (seen, edge) in seen.iter_mut().zip(&probe.edges) {
                    let gap = (edge.gap(scale) + moved).clamp(0.0, zones::GAP_MAX_MM);
                    seen.area += gap * (1.0 - edge.held) * probe.length;
                    seen.gap = seen.gap.max(gap);
                }
            }
            seen
        })
        .collect();
    Figures { draws }
}

impl Figures {
    fn spread(&self, of: fn(&Seen) -> f64) -> BeforeAfter<Spread> {
        let side = |side: usize| Spread::of(self.draws.iter().map(|d| of(&d[side])).collect());
        BeforeAfter { before: side(0), after: side(1) }
    }
}

/// All junctions together; `open` is what rows along the seam add, the same in every draw.
fn total<'a>(
    figures: impl Iterator<Item = &'a Figures>,
    scale: f64,
    open: BeforeAfter<f64>,
) -> Exposure {
    let rows = [open.before, open.after].map(|area| Seen { area, gap: 0.0 });
    let mut all = Figures { draws: vec![rows; DRAWS as usize] };
    for figures in figures {
        for (sum, part) in all.draws.iter_mut().zip(&figures.draws) {
            for (sum, part) in sum.iter_mut().zip(part) {
                sum.area += part.area;
                sum.gap = sum.gap.max(part.gap);
            }
        }
    }
    Exposure {
        scale,
        area_mm2: all.spread(|seen| seen.area),
        widest_gap_mm: all.spread(|seen| seen.gap),
    }
}

impl Spread {
    /// Mean and 95th percentile of the draws, rounded to thousandths.
    fn of(mut draws: Vec<f64>) -> Self {
        draws.sort_by(f64::total_cmp);
        let mean = draws.iter().sum::<f64>() / draws.len().max(1) as f64;
        let p95 = (draws.len() * 95).div_ceil(100).checked_sub(1).and_then(|i| draws.get(i));
        Self { mean: round(mean, 3), p95: round(p95.copied().unwrap_or(0.0), 3) }
    }
}

fn worse(zone: &Zone, proof: &JunctionProof, blame: &Blame) -> Option<Violation> {
    let BeforeAfter { before, after } = proof.area_mm2;
    let grown = after.mean - before.mean;
    if grown <= WORSE_MM2 || grown <= WORSE_SHARE * before.mean {
        return None;
    }
    let pair = [zone.under, zone.over];
    let guilty = [PassName::TurnFill, PassName::Overlap, PassName::EdgeRun]
        .into_iter()
        .flat_map(|pass| pair.map(|id| (pass, id)))
        .find(|(pass, id)| blame.did(*pass, *id));
    let at = zone.probes.get(zone.probes.len() / 2).map_or(Coord { x: 0.0, y: 0.0 }, |p| p.at);
    let objects: Vec<ObjectId> = guilty.map_or(pair.to_vec(), |(_, id)| vec![id]);
    Some(Violation {
        pass: guilty.map(|(pass, _)| pass),
        objects: objects.into_iter().map(|id| id.0).collect(),
        words: format!(
            "{:.2} mm² of cap would show between {} and {}, {:.2} mm² before, at {:.1}, {:.1}",
            after.mean, zone.under, zone.over, before.mean, at.x, at.y
        ),
    })
}
