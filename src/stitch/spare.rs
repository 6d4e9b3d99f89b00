//! Needle points that can be left out without moving the thread.

use std::collections::BTreeMap;

use geo::Coord;

use crate::design::Pt;
use crate::garment::Numbers;
use crate::geometry::neighbours::neighbours;
use crate::geometry::polyline::nearest_on_segment;
use crate::geometry::vector::distance;
use crate::objects::{Label, Object, Objects, Part, Shape};

/// Thread may move by this, mm: one point of the tape.
pub const STAYS_MM: f64 = 0.1;
/// Points left out in a row at most: all are looked at again for each one more.
const IN_A_ROW: usize = 64;
/// Needle points this close are one, mm: what rounding may set apart.
const SAME_MM: f64 = 0.15;
/// More short stitches than this share of an object make it a fault, not a detail (J).
const SHORT_SHARE: f64 = 0.1;
/// Fewest stitches to and fro on one spot, with nothing cut beside them, that are a tie; the longest
/// of a tie, mm (M. Belova, Quality benchmarks: tie-offs: never over 2).
const TIE_STITCHES: usize = 3;
const TIE_MM: f64 = 2.0;
/// What goes to and fro in more of its stitches does so by intention (J).
const HABIT: f64 = 0.2;

/// A part of an object, and a needle point in it.
pub type Spot = (usize, usize);

/// Labels whose every needle point counts: ties are short on purpose, rows of a fill stagger, a bean
/// goes over its own holes, and what is not understood stays.
fn is_kept(label: Label) -> bool {
    matches!(label, Label::Tie | Label::Fill | Label::Bean | Label::Unsure)
}

/// Ordinary stitches of an object that are too short.
#[derive(Clone, Debug, Default)]
pub struct Short {
    /// Where they end, mm.
    pub places: Vec<Coord<f64>>,
    /// Length of the shortest, mm.
    pub shortest: f64,
    /// There are so many that the object will sew badly, not a detail here and there.
    pub is_fault: bool,
}

/// Stitches shorter than the garment bears. Ties are short on purpose, doubled points are one hole, and
/// the steps from row to row of a fill are as long as its row pitch.
pub fn short_stitches(object: &Object, numbers: &Numbers) -> Short {
    let limit = numbers.stitch_short_fault_mm;
    let is_fill = matches!(object.shape, Shape::Fill(_));
    let mut short = Short { shortest: f64::INFINITY, ..Short::default() };
    let is_step = |label| label == Label::Tie || is_fill && label == Label::Fill;
    let mut count = 0_usize;
    for (from, at, _) in object.stitches().filter(|(.., label)| !is_step(*label)) {
        let length = distance(from, at);
        count += 1;
        if length > 1e-9 && length < limit - 1e-9 {
            short.shortest = short.shortest.min(length);
            short.places.push(at);
        }
    }
    short.is_fault = short.places.len() as f64 > SHORT_SHARE * count as f64;
    short
}

/// Needle points at stitches shorter than the garment bears, zero length aside, where there are too
/// many; elsewhere only at new ones.
pub fn short(object: &Object, numbers: &Numbers) -> Vec<Spot> {
    let limit = numbers.stitch_short_fault_mm - 1e-9;
    let all = short_stitches(object, numbers).is_fault;
    let is_new = |(p, k): Spot| object.parts[p].needles[k].origin.is_none();
    let is_short = |a: Coord<f64>, b: Coord<f64>| (1e-9..limit).contains(&distance(a, b));
    let wanted = |a, at, b, spot| (all || is_new(spot)) && (is_short(a, at) || is_short(at, b));
    spots(object, |part| !is_kept(part.label), numbers, wanted)
}

/// Needle points of places that hold far more of them than the garment bears, for each object, until
/// no place holds too many or none can be left out; elsewhere only new ones.
pub fn crowded(objects: &Objects, numbers: &Numbers) -> Vec<Vec<Spot>> {
    let radius = numbers.crowd_radius_mm.max(0.05);
    let all: Vec<Coord<f64>> =
        objects.items.iter().flat_map(Object::needles).map(|(_, needle)| needle.at.mm()).collect();
    let mut counts = neighbours(&all, radius);
    let is_over = |count: u32| f64::from(count) > numbers.crowd_count;
    let is_fault: Vec<bool> =
        counts.iter().map(|count| f64::from(*count) > numbers.crowd_refuse).collect();
    if !counts.iter().any(|count| is_over(*count)) {
        return vec![Vec::new(); objects.items.len()];
    }
    let mut places: BTreeMap<Pt, Vec<usize>> = BTreeMap::new();
    for (i, at) in all.iter().enumerate().filter(|(i, _)| is_over(counts[*i])) {
        places.entry(Pt::from_mm(*at)).or_default().push(i);
    }
    let mut first = 0;
    let mut left_out = Vec::with_capacity(objects.items.len());
    for object in &objects.items {
        let starts: Vec<usize> = object
            .parts
            .iter()
            .scan(first, |next, part| {
                let own = *next;
                *next += part.needles.len();
                Some(own)
            })
            .collect();
        let found =
            spots(object, |part| !matches!(part.label, Label::Tie | Label::Unsure), numbers, {
                |a: Coord<f64>, at, b, (p, k): Spot| {
                    let doubled = distance(a, at) < 1e-9 || distance(at, b) < 1e-9;
                    let own = starts[p] + k;
                    let may = is_fault[own] || object.parts[p].needles[k].origin.is_none();
                    let over = is_over(counts[own])
                        && may
                        && (doubled || Object::is_underlay(object.parts[p].label));
                    if over {
                        lower(&mut counts, &places, &all, at, radius);
                    }
                    over
                }
            });
        first += object.stitch_count();
        left_out.push(found);
    }
    left_out
}

/// One needle point fewer around a place.
fn lower(
    counts: &mut [u32],
    places: &BTreeMap<Pt, Vec<usize>>,
    all: &[Coord<f64>],
    at: Coord<f64>,
    radius: f64,
) {
    let (middle, reach) = (Pt::from_mm(at), (radius * 10.0).ceil() as i32);
    for x in middle.x - reach..=middle.x + reach {
        let column = Pt::new(x, middle.y - reach)..=Pt::new(x, middle.y + reach);
        for i in places.range(column).flat_map(|(_, own)| own) {
            if distance(all[*i], at) <= radius + 1e-9 {
                counts[*i] = counts[*i].saturating_sub(1);
            }
        }
    }
}

/// Ties in the middle of sewing, where nothing is cut: all of their stitches there and back, by pairs.
pub fn stray_ties(object: &Object) -> Vec<Spot> {
    if !object.is_open() {
        return Vec::new();
    }
    let lines = |part: &Part| {
        matches!(part.label, Label::Run | Label::Travel)
            || Object::is_underlay(part.label) && part.label != Label::Zigzag
    };
    let parts = object.parts.iter().enumerate().filter(|(_, part)| lines(part));
    parts
        .flat_map(|(p, part)| {
            let loops = loops(part);
            let many = loops.len() as f64 > HABIT * part.needles.len() as f64;
            loops.into_iter().filter(move |_| !many).map(move |k| (p, k))
        })
        .collect()
}

/// Needle points of a line that are sewn to and fro, beyond the once that leads on.
fn loops(part: &Part) -> Vec<usize> {
    let at: Vec<Coord<f64>> = part.needles.iter().map(|needle| needle.at.mm()).collect();
    let is_back = |k: usize| {
        distance(at[k], at[k - 2]) <= SAME_MM
            && (SAME_MM..=TIE_MM).contains(&distance(at[k], at[k - 1]))
    };
    let mut found = Vec::new();
    let mut k = 2;
    while k < at.len() {
        let end = (k..at.len()).find(|i| !is_back(*i)).unwrap_or(at.len());
        // Stitches `k - 1 .. end - 1` lie on each other; the line comes in before and goes on after.
        let stitches = end - (k - 1);
        if end > k && stitches >= TIE_STITCHES && k > 2 && end < at.len() {
            let pairs = stitches / 2;
            found.extend(k - 1..k - 1 + 2 * pairs);
        }
        k = end.max(k) + 1;
    }
    found
}

/// The wanted needle points of an object that can be left out one by one: the thread stays where it
/// was, to a point, and no stitch becomes longer than a run or, in a column, than it may be.
fn spots(
    object: &Object,
    is_asked: impl Fn(&Part) -> bool,
    numbers: &Numbers,
    mut wanted: impl FnMut(Coord<f64>, Coord<f64>, Coord<f64>, Spot) -> bool,
) -> Vec<Spot> {
    let mut found = Vec::new();
    if !object.is_open() {
        return found;
    }
    for (p, part) in object.parts.iter().enumerate().filter(|(_, part)| is_asked(part)) {
        let longest = longest(part, numbers);
        let at = |k: usize| part.needles[k].at.mm();
        let mut kept = 0;
        for k in 1..part.needles.len().saturating_sub(1) {
            let (from, to) = (at(kept), at(k + 1));
            let stays = || {
                k - kept <= IN_A_ROW
                    && (kept + 1..=k).all(|i| beside(at(i), from, to) <= STAYS_MM + 1e-9)
            };
            if distance(from, to) <= longest && stays() && wanted(from, at(k), to, (p, k)) {
                found.push((p, k));
            } else {
                kept = k;
            }
        }
    }
    found
}

/// Longest stitch that may come of it, mm.
fn longest(part: &Part, numbers: &Numbers) -> f64 {
    if !Object::is_area(part.label) {
        return numbers.link_sewn_max_mm;
    }
    let was = part.needles.windows(2).map(|w| w[0].at.distance(w[1].at)).fold(0.0, f64::max);
    was.min(numbers.satin_width_warn_mm)
}

/// Distance of a place from the stitch between two others, mm.
pub fn beside(at: Coord<f64>, from: Coord<f64>, to: Coord<f64>) -> f64 {
    distance(nearest_on_segment(from, to, at).0, at)
}
