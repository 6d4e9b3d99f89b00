//! Object by object: does the changed tape say the same as the original?

use crownmend::design::Design;
use crownmend::objects::{Object, Objects, Shape};
use crownmend::recognise::recognise;
use geo::{Area, CoordsIter, Euclidean, Length, MultiPolygon};

use crate::moves::Map;
use crate::sample::{Sample, Step, TooLong, sewn};

/// How far an object may differ and still be the same one.
#[derive(Clone, Copy)]
pub struct Bounds {
    /// Needle points at its ends that may have gone to a neighbour: where two parts meet, either
    /// may own the point that they share.
    pub needles: u32,
    /// Least overlap of footprints (intersection over union).
    pub overlap: f64,
    /// Mean distance by which an edge may have moved on top of that, mm.
    pub edge: f64,
    /// Direction of rows, degrees.
    pub angle: f64,
    /// Row pitch of fills, same-side pitch of satins, mm.
    pub pitch: f64,
}

impl Bounds {
    /// The same stitches give the same medians, up to a stitch more or less at an end.
    pub const EXACT: Self = Self { needles: 2, overlap: 0.98, edge: 0.0, angle: 0.5, pitch: 0.02 };
    /// A needle point that is rounded anew lies up to 0.05 mm off along each axis, and 0.025 mm on
    /// average. A pitch is a distance of two such points, each up to 0.07 mm off; the original's own
    /// are rounded too, to whole points where columns lie along an axis, and their median with them.
    pub const ROUNDED: Self =
        Self { needles: 2, overlap: 0.98, edge: 0.025, angle: 1.0, pitch: 0.07 };

    /// Least overlap of an area: what rounding may do to it depends on the length of its edge.
    fn least_overlap(self, area: &MultiPolygon<f64>) -> f64 {
        let rings = area.0.iter().flat_map(|p| p.interiors().iter().chain([p.exterior()]));
        let around: f64 = rings.map(|ring| Euclidean.length(ring)).sum();
        self.overlap - self.edge * around / area.unsigned_area().max(f64::MIN_POSITIVE)
    }
}

/// What of an object changed first, in this order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    Class,
    Ends,
    Footprint,
    Angle,
    Pitch,
}

impl Change {
    pub const ALL: [Self; 5] = [Self::Class, Self::Ends, Self::Footprint, Self::Angle, Self::Pitch];
}

pub struct Changed {
    pub what: Change,
    pub words: String,
    pub was_right: bool,
}

/// What one change of a tape did to the objects of one sample.
#[derive(Default)]
pub struct Outcome {
    pub objects: usize,
    /// Objects that were read as the truth has them in the first place.
    pub right: usize,
    pub changed: Vec<Changed>,
    pub needles: usize,
    /// Needle points that kept their label.
    pub labelled: usize,
    /// Overlaps of all objects that kept class and ends.
    pub overlaps: Vec<f64>,
}

/// Recognises the steps as a tape and compares with the original.
pub fn compare(
    sample: &Sample,
    steps: &[Step],
    map: Map,
    bounds: Bounds,
) -> Result<Outcome, TooLong> {
    let design = sewn(sample, steps)?;
    let origins: Vec<u32> = steps.iter().filter_map(|step| step.origin).collect();
    let after = recognise(&design, &sample.settings);
    let mut outcome = Outcome::default();
    labels(sample, &after, &origins, &mut outcome);
    let owner = owners(sample, &design, &after, &origins);
    for object in &sample.read.items {
        let was_right = sample.confirms(object);
        outcome.objects += 1;
        outcome.right += usize::from(was_right);
        let (twin, lost) = twin(object, &owner);
        let pair = Pair { sample: &sample.name, before: object, after: &after.items[twin], lost };
        let change = pair.changed(&origins, map, bounds, &mut outcome);
        outcome.changed.extend(change.map(|(what, words)| Changed { what, words, was_right }));
    }
    Ok(outcome)
}

fn labels(sample: &Sample, after: &Objects, origins: &[u32], outcome: &mut Outcome) {
    let mut got = vec![None; sample.design.points.len()];
    for (label, needle) in after.stitches() {
        if let Some(index) = needle.origin {
            got[origins[index as usize] as usize] = Some(label);
        }
    }
    for (label, needle) in sample.read.stitches() {
        let Some(index) = needle.origin else { continue };
        outcome.needles += 1;
        outcome.labelled += usize::from(got[index as usize] == Some(label));
    }
}

/// For every needle point of the original the object (by place) that owns it in the changed tape.
fn owners(sample: &Sample, design: &Design, after: &Objects, origins: &[u32]) -> Vec<usize> {
    let mut owner = vec![usize::MAX; sample.design.points.len()];
    let mut needles = 0;
    for (place, object) in after.items.iter().enumerate() {
        for (_, needle) in object.needles() {
            let index = needle.origin.expect("recognised needles have an origin");
            owner[origins[index as usize] as usize] = place;
            needles += 1;
        }
    }
    assert_eq!(needles, design.points.len(), "{}: every needle has an owner", sample.name);
    owner
}

/// The object that owns most of another's needle points, and how many it does not own.
fn twin(object: &Object, owner: &[usize]) -> (usize, usize) {
    let mut owners: Vec<usize> = object
        .needles()
        .filter_map(|(_, needle)| needle.origin)
        .map(|index| owner[index as usize])
        .collect();
    owners.sort_unstable();
    let most = owners.chunk_by(|a, b| a == b).max_by_key(|same| same.len());
    let most = most.expect("every object has a needle");
    (most[0], owners.len() - most.len())
}

/// First and last needle point, as penetrations of the original.
fn ends(object: &Object, origins: Option<&[u32]>) -> (u32, u32) {
    let index = |i: u32| origins.map_or(i, |origins| origins[i as usize]);
    let indices = || object.needles().filter_map(|(_, needle)| needle.origin).map(index);
    (indices().min().unwrap_or(0), indices().max().unwrap_or(0))
}

/// An object of the original and the one that took its place.
struct Pair<'a> {
    sample: &'a str,
    before: &'a Object,
    after: &'a Object,
    /// Needle points that went to other objects.
    lost: usize,
}

impl Pair<'_> {
    fn changed(
        &self,
        origins: &[u32],
        map: Map,
        bounds: Bounds,
        outcome: &mut Outcome,
    ) -> Option<(Change, String)> {
        let (before, after) = (self.before, self.after);
        let ((a, b), (c, d)) = (ends(before, None), ends(after, Some(origins)));
        let was = format!("{} {:?} {a}..{b}", self.sample, before.class);
        if before.class != after.class {
            return Some((Change::Class, format!("{was} -> {:?} {c}..{d}", after.class)));
        }
        if a.abs_diff(c).max(b.abs_diff(d)) > bounds.needles {
            return Some((Change::Ends, format!("{was} -> {c}..{d}")));
        }
        if self.lost > 2 * bounds.needles as usize {
            return Some((Change::Ends, format!("{was} lost {} inside", self.lost)));
        }
        let overlap = overlap(&before.footprint, &map.area_back(&after.footprint));
        let [angle, pitch] = measures(before, after, map);
        outcome.overlaps.push(overlap);
        let over = |value: Option<f64>, most: f64| value.filter(|off| *off > most);
        if overlap < bounds.least_overlap(&before.footprint) {
            Some((Change::Footprint, format!("{was} overlap {overlap:.3}")))
        } else if let Some(off) = over(angle, bounds.angle) {
            Some((Change::Angle, format!("{was} off by {off:.2}")))
        } else {
            over(pitch, bounds.pitch).map(|off| (Change::Pitch, format!("{was} off by {off:.3}")))
        }
    }
}

/// Differences of row angle (degrees) and pitch (mm).
fn measures(before: &Object, after: &Object, map: Map) -> [Option<f64>; 2] {
    match (&before.shape, &after.shape) {
        (Shape::Fill(a), Shape::Fill(b)) => {
            let off = (a.angle - map.angle_back(b.angle)).rem_euclid(180.0);
            [Some(off.min(180.0 - off)), Some((a.row_pitch - b.row_pitch).abs())]
        }
        (Shape::Satin(a), Shape::Satin(b)) => {
            [None, Some((a.same_side_pitch - b.same_side_pitch).abs())]
        }
        _ => [None, None],
    }
}

/// Intersection over union; 1 for two empty areas.
fn overlap(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> f64 {
    if corners(a) == corners(b) {
        return 1.0;
    }
    crate::support::outline::overlap(a, b)
}

/// Corners on a grid of a micrometre, in order: equal for areas that differ by rounding alone.
fn corners(area: &MultiPolygon<f64>) -> Vec<(i64, i64)> {
    let micrometres = |value: f64| (value * 1000.0).round() as i64;
    let mut all: Vec<_> =
        area.coords_iter().map(|at| (micrometres(at.x), micrometres(at.y))).collect();
    all.sort_unstable();
    all.dedup();
    all
}
