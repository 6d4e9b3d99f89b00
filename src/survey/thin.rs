//! Where one object reaches too little under the next.

use std::collections::BTreeMap;

use geo::Coord;

use super::edge::SAMPLE_MM;
use super::junction::{Junction, Meeting, Sample};
use crate::garment::Numbers;
use crate::geometry::vector::distance;
use crate::objects::ObjectId;
use crate::settings::Settings;

/// What one junction lacks.
#[derive(Clone, Debug, PartialEq)]
pub struct Lack {
    /// Overlap that each sample should have, mm; `None` where none is wanted or can be hidden.
    pub wanted: Vec<Option<f64>>,
    /// Does the overlap fall short at each sample, in a stretch long enough to matter?
    pub short: Vec<bool>,
    /// Length of what falls short, mm.
    pub length: f64,
}

/// Breaks up to this length do not end a stretch, mm (J).
const BRIDGE_MM: f64 = 1.0;

/// Covers with less room than this are too narrow to extend anything under them, mm (J).
const ROOM_MIN_MM: f64 = 0.5;

/// Ends of two junctions this near each other are one curve that goes on, mm (J).
const CHAIN_MM: f64 = 1.2;

/// Measures every junction against the allowance. Push side beside push side wants none (the two
/// close by themselves), and the fade at the ends of a curve is left out of account.
pub fn lacks(junctions: &[Junction], settings: &Settings) -> Vec<Lack> {
    let numbers = &settings.profile.numbers;
    let enough = numbers.overlap_aim_mm - numbers.overlap_act_below_mm;
    let lack = |(junction, ends): (&Junction, [bool; 2])| {
        let is_full = settings.gets_full_overlap(junction.under);
        lack(junction, ends, numbers, if is_full { 0.0 } else { enough })
    };
    junctions.iter().zip(chained_ends(junctions)).map(lack).collect()
}

/// What is less than the allowance by no more than `slack` (mm) is enough.
fn lack(junction: &Junction, goes_on: [bool; 2], numbers: &Numbers, slack: f64) -> Lack {
    let samples = &junction.samples;
    let fades = fades(junction, goes_on, numbers);
    let mut wanted = Vec::with_capacity(samples.len());
    let mut states = Vec::with_capacity(samples.len());
    for (sample, fade) in samples.iter().zip(fades) {
        let depth = numbers.overlap_aim_mm.min(sample.room);
        if depth < ROOM_MIN_MM || junction.closes_itself {
            wanted.push(None);
            states.push(State::Silent);
            continue;
        }
        wanted.push(Some(sample.overlap + (depth - sample.overlap).max(0.0) * fade));
        states.push(match sample.overlap < depth - slack - 1e-6 {
            true if fade < 1.0 => State::ShortInFade,
            true => State::Short,
            false => State::Good,
        });
    }
    let (short, length) = short_stretches(junction, &states, numbers);
    Lack { wanted, short, length }
}

/// Samples that are short by some measure, if they come to as much as a junction must be long.
pub fn short_beside<'a>(
    junction: &'a Junction,
    is_short: &dyn Fn(&Sample) -> bool,
    numbers: &Numbers,
) -> Option<Vec<&'a Sample>> {
    let state = |s: &Sample| if is_short(s) { State::Short } else { State::Good };
    let states: Vec<State> = junction.samples.iter().map(state).collect();
    let (short, length) = short_stretches(junction, &states, numbers);
    let samples = junction.samples.iter().zip(short).filter(|(_, short)| *short);
    (length > 0.0).then(|| samples.map(|(sample, _)| sample).collect())
}

#[derive(Clone, Copy, PartialEq)]
enum State {
    Good,
    Short,
    /// Short, but so near the end of the curve that it may stay so.
    ShortInFade,
    /// Nothing is wanted here.
    Silent,
}

/// Share of the missing overlap that each sample gets: 1, and less towards the open ends.
fn fades(junction: &Junction, goes_on: [bool; 2], numbers: &Numbers) -> Vec<f64> {
    let count = junction.samples.len();
    // A short curve is not all fade (J: at most a quarter at each end).
    let fade = numbers.overlap_fade_mm.min(junction.length / 4.0);
    let step = junction.length / count as f64;
    (0..count)
        .map(|i| {
            let from_ends = [i, count - 1 - i].map(|steps| (steps as f64 + 0.5) * step / fade);
            // What is sewn along the curve is made longer there, over its whole width.
            let whole = junction.closed
                || fade <= 0.0
                || junction.samples[i].under_meeting == Meeting::PushSide;
            let hidden = |k: usize| goes_on[k] || junction.hidden_ends[k];
            let end = |k: usize| if hidden(k) { 1.0 } else { from_ends[k].min(1.0) };
            if whole { 1.0 } else { end(0).min(end(1)) }
        })
        .collect()
}

/// Which samples are short in a stretch as long as a junction must be, of which at least 1 mm
/// lies outside the fade; and the length of these.
fn short_stretches(junction: &Junction, states: &[State], numbers: &Numbers) -> (Vec<bool>, f64) {
    let count = states.len();
    let mut short = vec![false; count];
    let step = if count > 0 { junction.length / count as f64 } else { 0.0 };
    let bridge = (BRIDGE_MM / SAMPLE_MM).round() as usize;
    let start = match states.iter().position(|s| *s == State::Good) {
        Some(good) if junction.closed => good,
        _ => 0,
    };
    let mut length = 0.0;
    let mut stretch: Vec<usize> = Vec::new();
    let mut good = 0;
    for i in 0..=count {
        let at = (start + i) % count.max(1);
        let state = if i < count { states[at] } else { State::Good };
        good = if state == State::Good { good + 1 } else { 0 };
        if matches!(state, State::Short | State::ShortInFade) {
            stretch.push(at);
        }
        if good > bridge || i == count {
            let core = stretch.iter().filter(|k| states[**k] == State::Short).count();
            let long = stretch.len() as f64 * step >= numbers.junction_min_length_mm - step / 2.0;
            if long && core as f64 * step >= BRIDGE_MM {
                length += stretch.len() as f64 * step;
                stretch.iter().for_each(|k| short[*k] = true);
            }
            stretch.clear();
        }
    }
    (short, length)
}

/// For both ends of every junction: does the same object's edge go on under another neighbour?
fn chained_ends(junctions: &[Junction]) -> Vec<[bool; 2]> {
    let ends = |j: &Junction| [j.samples.first().map(|s| s.at), j.samples.last().map(|s| s.at)];
    let mut open_ends: BTreeMap<ObjectId, Vec<(usize, Coord<f64>)>> = BTreeMap::new();
    for (i, junction) in junctions.iter().enumerate().filter(|(_, j)| !j.closed) {
        let of_object = open_ends.entry(junction.under).or_default();
        of_object.extend(ends(junction).into_iter().flatten().map(|end| (i, end)));
    }
    let goes_on = |i: usize, junction: &Junction, end: Option<Coord<f64>>| {
        let others = open_ends.get(&junction.under).into_iter().flatten();
        end.is_some_and(|end| {
            others.filter(|(k, _)| *k != i).any(|(_, other)| distance(*other, end) <= CHAIN_MM)
        })
    };
    junctions.iter().enumerate().map(|(i, j)| ends(j).map(|end| goes_on(i, j, end))).collect()
}
