//! Keeps longer crossings apart: in a concave corner they would meet, on the inside of a curve
//! they would crowd.

use geo::Coord;
use rstar::primitives::{GeomWithData, Line};
use rstar::{AABB, RTree};

use super::edge::Chain;
use crate::geometry::vector::{cross, distance};

/// A crossing stops this far before another one, mm (J).
const APART_MM: f64 = 0.1;

/// Needle points this near each other, with almost the same axis, are doubled, mm.
const DOUBLED_MM: f64 = 0.15;

/// Needle points nearer than this to their neighbour on the rail are crowded, mm (J: half of the
/// usual same-side pitch).
const CROWDED_MM: f64 = 0.2;

/// By how much each needle point of each chain moves out along its axis, mm.
pub type Growth = Vec<Vec<f64>>;

struct Ray {
    at: Coord<f64>,
    axis: Coord<f64>,
    length: f64,
    /// Chain and place in it.
    of: (usize, usize),
}

/// Shortens what would cross: of two crossings that meet, the one with the longer way to the
/// meeting point stops before it. In a corner they all end near the line halfway between its two
/// edges.
pub fn keep_apart(chains: &[Chain], growth: &mut Growth) {
    let mut rays: Vec<Ray> = Vec::new();
    for (c, chain) in chains.iter().enumerate() {
        for (i, needle) in chain.iter().enumerate().filter(|(i, _)| growth[c][*i] > 0.0) {
            rays.push(Ray { at: needle.at, axis: needle.axis, length: growth[c][i], of: (c, i) });
        }
    }
    let mut meetings = meetings(&rays);
    meetings.sort_by(|a, b| a.later.total_cmp(&b.later).then(a.stops.cmp(&b.stops)));
    for meeting in meetings {
        if rays[meeting.goes].length >= meeting.sooner
            && rays[meeting.stops].length >= meeting.later
        {
            rays[meeting.stops].length = (meeting.later - APART_MM).max(0.0);
        }
    }
    for ray in rays {
        growth[ray.of.0][ray.of.1] = ray.length;
    }
}

/// Two rays that meet: how far along them, the sooner going on and the later stopping.
struct Meeting {
    goes: usize,
    stops: usize,
    sooner: f64,
    later: f64,
}

fn meetings(rays: &[Ray]) -> Vec<Meeting> {
    let line = |ray: &Ray| {
        let to = ray.at + ray.axis * ray.length;
        Line::new([ray.at.x, ray.at.y], [to.x, to.y])
    };
    let entry = |(i, ray): (usize, &Ray)| GeomWithData::new(line(ray), i);
    let tree = RTree::bulk_load(rays.iter().enumerate().map(entry).collect());
    let mut found = Vec::new();
    for (i, ray) in rays.iter().enumerate() {
        let to = ray.at + ray.axis * ray.length;
        let near = AABB::from_corners([ray.at.x, ray.at.y], [to.x, to.y]);
        for entry in tree.locate_in_envelope_intersecting(&near).filter(|e| e.data > i) {
            let k = entry.data;
            let other = &rays[k];
            let turn = cross(ray.axis, other.axis);
            // Neighbours are parallel but for rounding; what meets far out does no harm.
            if turn.abs() < 1e-6 {
                continue;
            }
            let mine = cross(other.at - ray.at, other.axis) / turn;
            let its = cross(other.at - ray.at, ray.axis) / turn;
            // The doubled crossings where a ring closes lie on each other: that is no meeting.
            if turn.abs() < 0.17 && distance(ray.at, other.at) < DOUBLED_MM {
                continue;
            }
            if (0.0..=ray.length).contains(&mine) && (0.0..=other.length).contains(&its) {
                let (goes, stops) = if mine < its { (i, k) } else { (k, i) };
                found.push(Meeting { goes, stops, sooner: mine.min(its), later: mine.max(its) });
            }
        }
    }
    found
}

/// Where needle points come too close to each other on the inside of a curve, every second one
/// goes only half the way: short stitches. Returns which ones do.
pub fn shorten_crowded(chains: &[Chain], growth: &mut Growth) -> Vec<Vec<bool>> {
    let mut short: Vec<Vec<bool>> = chains.iter().map(|c| vec![false; c.len()]).collect();
    for (c, chain) in chains.iter().enumerate() {
        let tip = |i: usize, by: f64| chain[i].at + chain[i].axis * by;
        for i in 1..chain.len() {
            let (before, this) = (growth[c][i - 1], growth[c][i]);
            let pitch = distance(chain[i - 1].at, chain[i].at);
            // Doubled needle points stay doubled.
            if short[c][i - 1] || this <= 0.0 || before <= 0.0 || pitch < 1e-9 {
                continue;
            }
            if distance(tip(i - 1, before), tip(i, this)) < CROWDED_MM.min(pitch / 2.0) {
                short[c][i] = true;
                growth[c][i] = this / 2.0;
            }
        }
    }
    short
}
