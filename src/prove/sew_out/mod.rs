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

use self::drift::{Draws, Drift, Mover};
use self::rows::Rows;
use self::zones::{Edges, Now, Probe, Zone};
use super::sewn::Sewn;
use super::{Settings, Violation, blame::Blame};
use crate::geometry::vector::dot;
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

/// Exposed cap in one draw: area (mm²) and widest gap (mm).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Seen {
    area: f64,
    gap: f64,
}

/// What shows at one junction, or at all, in every draw.
type Figures = Vec<Seen>;

/// What the model says.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SewOut {
    pub exposure: Vec<Exposure>,
    pub junctions: Vec<JunctionProof>,
    pub violations: Vec<Violation>,
}

/// The original in all draws.
pub struct Model<'a> {
    settings: &'a Settings,
    zones: Vec<Zone>,
    /// For each zone how its two objects move against each other.
    draws: Vec<Draws>,
    /// For each zone what shows, at every scale.
    figures: Vec<[Figures; 3]>,
    rows: Rows,
}

impl<'a> Model<'a> {
    pub fn of(before: &Sewn, settings: &'a Settings) -> Self {
        let zones = zones::all(before, settings);
        let movers = movers(&zones);
        let ranks = before.judged.objects.items.len().saturating_sub(1) as u32;
        let drifts = drift::draws(DRAWS, &movers, ranks, &settings.profile.numbers);
        let draws: Vec<Draws> =
            zones.iter().map(|zone| Draws::new(relative(zone, &movers, &drifts))).collect();
        // Junctions in parallel, each with all its draws; they are summed up in their own order.
        let figures = (&zones, &draws)
            .into_par_iter()
            .map(|(zone, draws)| sew_all(zone, &zone.edges, draws))
            .collect();
        Self { settings, zones, draws, figures, rows: rows::all(before, settings) }
    }

    /// Sews the other tape out in the same draws.
    pub fn compare(&self, after: &Sewn, blame: &Blame) -> SewOut {
        let now = Now::of(after, self.settings);
        let edges: Vec<Vec<Edges>> = self.zones.iter().map(|zone| now.edges(zone)).collect();
        let places: Vec<usize> = (0..self.zones.len()).collect();
        // None where nothing is different.
        let figures: Vec<Option<[Figures; 3]>> = places
            .par_iter()
            .map(|place| {
                let zone = &self.zones[*place];
                let new = edges[*place] != zone.edges;
                new.then(|| sew_all(zone, &edges[*place], &self.draws[*place]))
            })
            .collect();
        let both: Vec<[&[Figures; 3]; 2]> = self
            .figures
            .iter()
            .zip(&figures)
            .map(|(was, is)| [was, is.as_ref().unwrap_or(was)])
            .collect();
        self.report(&both, &rows::all(after, self.settings), blame)
    }

    fn report(&self, figures: &[[&[Figures; 3]; 2]], rows: &Rows, blame: &Blame) -> SewOut {
        let mut out = SewOut::default();
        for (index, scale) in SCALES.into_iter().enumerate() {
            // What rows along the seam add is the same in every draw.
            let total = |side: usize, rows: &Rows| {
                total(figures.iter().map(|both| &both[side][index]), rows.opened_mm2(scale))
            };
            let (was, is) = (total(0, &self.rows), total(1, rows));
            let (area_mm2, widest_gap_mm) = spreads([&was, &is]);
            out.exposure.push(Exposure { scale, area_mm2, widest_gap_mm });
        }
        for (zone, both) in self.zones.iter().zip(figures) {
            let (area_mm2, widest_gap_mm) = spreads(both.map(|figures| &figures[UNSCALED]));
            let proof = JunctionProof {
                under: zone.under.0,
                over: zone.over.0,
                length_mm: round(zone.length_mm(), 1),
                area_mm2,
                widest_gap_mm,
            };
            out.violations.extend(worse(zone, &proof, blame));
            out.junctions.push(proof);
        }
        out
    }
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

/// One junction at every scale.
fn sew_all(zone: &Zone, edges: &[Edges], draws: &Draws) -> [Figures; 3] {
    SCALES.map(|scale| sew(&zone.probes, edges, draws, scale))
}

/// All draws of one junction.
fn sew(probes: &[Probe], edges: &[Edges], draws: &Draws, scale: f64) -> Figures {
    // The farthest draws first, so that those which cannot open a place are left out together;
    // most places are covered far too well to open in any.
    let mut sorted = vec![Seen::default(); draws.drifts.len()];
    for (probe, edges) in probes.iter().zip(edges) {
        let gap = edges.gap(scale);
        let grown = scale * probe.growth;
        let open = draws.reach.partition_point(|reach| gap + grown * reach > 0.0);
        let (inward, seam) = (probe.sample.inward, f64::from(u8::from(probe.at_seam)));
        let bare = 1.0 - edges.held;
        for (seen, drift) in sorted[..open].iter_mut().zip(&draws.drifts) {
            let along = dot(drift.by, inward) + seam * drift.seam * inward.x;
            let gap = (gap + grown * along).clamp(0.0, zones::GAP_MAX_MM);
            seen.area += gap * bare * probe.length;
            seen.gap = seen.gap.max(gap);
        }
    }
    let mut figures = vec![Seen::default(); sorted.len()];
    for (number, seen) in draws.numbers.iter().zip(sorted) {
        figures[*number] = seen;
    }
    figures
}

/// All junctions together, with what is open in every draw.
fn total<'a>(figures: impl Iterator<Item = &'a Figures>, open: f64) -> Figures {
    let mut all = vec![Seen { area: open, gap: 0.0 }; DRAWS as usize];
    for figures in figures {
        for (sum, part) in all.iter_mut().zip(figures) {
            sum.area += part.area;
            sum.gap = sum.gap.max(part.gap);
        }
    }
    all
}

/// Area and widest gap, before and after.
fn spreads(figures: [&Figures; 2]) -> (BeforeAfter<Spread>, BeforeAfter<Spread>) {
    let both = |of: fn(&Seen) -> f64| {
        let [before, after] = figures.map(|figures| Spread::of(figures.iter().map(of).collect()));
        BeforeAfter { before, after }
    };
    (both(|seen| seen.area), both(|seen| seen.gap))
}

impl Spread {
    /// Mean and 95th percentile of the draws, rounded to thousandths.
    fn of(mut draws: Vec<f64>) -> Self {
        draws.sort_unstable_by(f64::total_cmp);
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
    let at =
        zone.probes.get(zone.probes.len() / 2).map_or(Coord { x: 0.0, y: 0.0 }, |p| p.sample.at);
    let objects: Vec<ObjectId> = guilty.map_or(pair.to_vec(), |(_, id)| vec![id]);
    Some(Violation {
        at: None,
        opens: Some(zone.under),
        pass: guilty.map(|(pass, _)| pass),
        objects: objects.into_iter().map(|id| id.0).collect(),
        words: format!(
            "{:.2} mm² of cap would show between {} and {}, {:.2} mm² before, at {:.1}, {:.1}",
            after.mean, zone.under, zone.over, before.mean, at.x, at.y
        ),
    })
}
