//! Pass 4: guard stitching under crossings that would pull open.
//!
//! Where the rows of a fill and the stitches of its neighbour cross steeply, or both pull away
//! square to the edge between them, an open zigzag in the colour of the object sewn first goes
//! under the edge, before both. It stays under what is sewn later and returns to where it began,
//! so that the object's own start, ties and links are kept.

mod path;
#[cfg(test)]
mod tests;
mod zigzag;

use std::collections::{BTreeMap, BTreeSet};

use geo::MultiPolygon;

use super::{Left, Outcome};
use crate::geometry::engine;
use crate::objects::{Class, Label, Needle, Object, ObjectId, Objects, Part, Shape};
use crate::report::{Change, Grade, Place};
use crate::settings::{PassName, Settings};
use crate::survey::{self, Junction, UnguardedStretch};

/// Title of the reason beside the numbers, which are judgement.
const SOURCE: &str = "J; directions that cross pull apart: E. Campbell, \
                      Pull Distortion and Pull Compensation";

/// Share of a crossing that a guard may leave open at the first try (J); at the last it must do.
const OPEN_WELL: f64 = 0.0;

/// How close zigzags are tried: as the garment has it, then closer where that holds too little.
const PITCHES: [f64; 2] = [1.0, 0.7];

pub fn guard(objects: &Objects, settings: &Settings) -> Outcome {
    let junctions = survey::junctions_where(objects, settings, survey::may_pull_apart);
    // For each object sewn first how close its zigzags are.
    let mut tries: BTreeMap<ObjectId, usize> = BTreeMap::new();
    let mut given_up = GivenUp::new();
    loop {
        let outcome = guarded(objects, settings, &junctions, &tries, &given_up);
        if outcome.changes.is_empty() {
            return outcome;
        }
        let open = |open_max: f64| -> Vec<UnguardedStretch> {
            let open = survey::unguarded_beyond(open_max, &outcome.objects, settings, &junctions);
            let new = |s: &UnguardedStretch| {
                !is_barred(s, &junctions, settings) && !is_given_up(s, &given_up, &junctions)
            };
            open.into_iter().filter(new).collect()
        };
        let well = open(OPEN_WELL);
        let enough = if tries.is_empty() { Vec::new() } else { open(survey::OPEN_MAX) };
        let mut settled = true;
        for under in outcome.changes.iter().filter_map(|change| change.objects.first()) {
            let under = ObjectId(*under);
            let tried = tries.get(&under).copied().unwrap_or(0);
            let open = if tried == 0 { &well } else { &enough };
            let own = |s: &&UnguardedStretch| junctions[s.junction].under == under;
            let mut failed = open.iter().filter(own).peekable();
            if failed.peek().is_none() {
                continue;
            }
            settled = false;
            if tried + 1 < PITCHES.len() {
                tries.insert(under, tried + 1);
            } else {
                // The others are held all the same.
                tries.remove(&under);
                given_up.extend(failed.flat_map(|stretch| samples(stretch, &junctions)));
            }
        }
        if settled {
            return outcome;
        }
    }
}

/// Samples, by junction, along which no zigzag holds enough.
type GivenUp = BTreeSet<(usize, usize)>;

fn samples<'a>(
    stretch: &'a UnguardedStretch,
    junctions: &[Junction],
) -> impl Iterator<Item = (usize, usize)> + use<'a> {
    let count = junctions[stretch.junction].samples.len();
    stretch.samples.clone().map(move |i| (stretch.junction, i % count))
}

fn is_given_up(stretch: &UnguardedStretch, given_up: &GivenUp, junctions: &[Junction]) -> bool {
    samples(stretch, junctions).any(|sample| given_up.contains(&sample))
}

fn guarded(
    objects: &Objects,
    settings: &Settings,
    junctions: &[Junction],
    tries: &BTreeMap<ObjectId, usize>,
    given_up: &GivenUp,
) -> Outcome {
    let mut outcome = Outcome::unchanged(objects);
    let mut groups: BTreeMap<usize, Vec<UnguardedStretch>> = BTreeMap::new();
    for stretch in survey::unguarded(objects, settings, junctions) {
        let under = junctions[stretch.junction].under;
        let is_free = |id: ObjectId| objects.get(id).is_some_and(|o| !o.held);
        let may = is_free(under)
            && is_free(junctions[stretch.junction].over)
            && settings.allows(PassName::Guard, under);
        match objects.position(under) {
            Some(position) if may && stretch.can_guard => {
                groups.entry(position).or_default().extend(free(stretch, junctions, settings));
            }
            _ => {}
        }
    }
    // From the back, so that the positions in front stay as they are.
    for (position, stretches) in groups.into_iter().rev() {
        let served = Served { objects, junctions, position, settings };
        let tried = tries.get(&served.under().id).copied().unwrap_or(0);
        let (open, stretches): (Vec<_>, Vec<_>) =
            stretches.into_iter().partition(|s| is_given_up(s, given_up, junctions));
        if !open.is_empty() {
            outcome.left.push(Left {
                pass: PassName::Guard,
                objects: served.ids(&open),
                reason: "the stitches that have room beneath would hold too little of the crossing"
                    .to_owned(),
            });
        }
        if !stretches.is_empty() {
            served.guard(&stretches, PITCHES[tried], &mut outcome);
        }
    }
    outcome.changes.reverse();
    outcome
}

/// May a guard be sewn at a sample of a stretch?
fn is_open(k: usize, stretch: &UnguardedStretch, junction: &Junction, settings: &Settings) -> bool {
    let samples = &junction.samples;
    let at = samples[(stretch.samples.start + k) % samples.len()].at;
    settings.allows_at(PassName::Guard, junction.under, at)
}

/// Was a guard taken back somewhere along a stretch?
fn is_barred(stretch: &UnguardedStretch, junctions: &[Junction], settings: &Settings) -> bool {
    let junction = &junctions[stretch.junction];
    (0..stretch.samples.len()).any(|k| !is_open(k, stretch, junction, settings))
}

/// The parts of a stretch along which no guard was taken back.
fn free(
    stretch: UnguardedStretch,
    junctions: &[Junction],
    settings: &Settings,
) -> Vec<UnguardedStretch> {
    if !is_barred(&stretch, junctions, settings) {
        return vec![stretch];
    }
    let junction = &junctions[stretch.junction];
    let open: Vec<usize> =
        (0..stretch.samples.len()).filter(|k| is_open(*k, &stretch, junction, settings)).collect();
    let step = stretch.length / stretch.samples.len() as f64;
    open.chunk_by(|a, b| *b == a + 1)
        .map(|run| {
            let from = stretch.samples.start + run[0];
            let samples = from..from + run.len();
            UnguardedStretch { samples, length: step * run.len() as f64, ..stretch.clone() }
        })
        .filter(|part| part.length >= settings.profile.numbers.guard_min_length_mm)
        .collect()
}

/// One object sewn first, with the crossings along it.
struct Served<'a> {
    objects: &'a Objects,
    junctions: &'a [Junction],
    position: usize,
    settings: &'a Settings,
}

impl Served<'_> {
    fn under(&self) -> &Object {
        &self.objects.items[self.position]
    }

    /// Sews one path under all crossings of the object, right before it.
    fn guard(&self, stretches: &[UnguardedStretch], pitch: f64, outcome: &mut Outcome) {
        let under = self.under();
        let (lead, rest) = split_lead(&under.parts);
        let Some(home) = lead.last().and_then(|part| part.needles.last()) else { return };
        let cover = self.cover();
        let zigzags: Vec<zigzag::Zigzag> = stretches
            .iter()
            .flat_map(|s| {
                zigzag::along(&self.junctions[s.junction], s, &cover, pitch, self.settings)
            })
            .collect();
        let toured = path::tour(home.at, zigzags, &cover, self.settings);
        let wanted: f64 = stretches.iter().map(|s| s.length).sum();
        if toured.length < 0.9 * wanted {
            outcome.left.push(Left {
                pass: PassName::Guard,
                objects: self.ids(stretches),
                reason: format!(
                    "only {:.1} of {wanted:.1} mm of the crossing have room for hidden stitches",
                    toured.length
                ),
            });
        }
        if toured.parts.is_empty() {
            return;
        }
        let added = toured.parts.iter().map(|part| part.needles.len()).sum::<usize>();
        let id = outcome.objects.fresh_id();
        let guard = Object {
            id,
            class: Class::Guard,
            stop: under.stop,
            parts: lead.into_iter().chain(toured.parts).collect(),
            shape: Shape::Line,
            footprint: MultiPolygon(Vec::new()).into(),
            confidence: 1.0,
            element: under.element,
            held: false,
            hides: false,
        };
        outcome.objects.items[self.position].parts = rest;
        outcome.objects.items.insert(self.position, guard);
        outcome.changes.push(self.change(stretches, wanted, toured.length, added));
    }

    /// Where the guard cannot be seen: under the object and its neighbours, off their outer edges.
    fn cover(&self) -> MultiPolygon<f64> {
        let under = self.under();
        let overs = self
            .junctions
            .iter()
            .filter(|junction| junction.under == under.id)
            .filter_map(|junction| self.objects.get(junction.over))
            .filter(|object| object.hides)
            .map(|object| &*object.footprint);
        let all: Vec<&MultiPolygon<f64>> =
            std::iter::once(&*under.footprint).filter(|_| under.hides).chain(overs).collect();
        let margin = self.settings.profile.numbers.overlap_far_margin_mm;
        engine::offset(&engine::union_all(&all), -margin)
    }

    fn ids(&self, stretches: &[UnguardedStretch]) -> Vec<u32> {
        let mut ids = vec![self.under().id.0];
        for stretch in stretches {
            let over = self.junctions[stretch.junction].over.0;
            if !ids.contains(&over) {
                ids.push(over);
            }
        }
        ids
    }

    fn change(
        &self,
        stretches: &[UnguardedStretch],
        wanted: f64,
        sewn: f64,
        added: usize,
    ) -> Change {
        let at = stretches.iter().flat_map(|stretch| {
            let samples = &self.junctions[stretch.junction].samples;
            stretch.samples.clone().map(|i| samples[i % samples.len()].at)
        });
        let seam = self.settings.seam_x().unwrap_or(0.0);
        Change {
            id: format!("guard-{}", self.under().id),
            pass: PassName::Guard,
            objects: self.ids(stretches),
            place: Place::of_points(at, seam, self.objects.lowest_mm()),
            before: format!(
                "{wanted:.1} mm where the stitches cross or pull apart, held by nothing"
            ),
            after: format!("zigzag in the same colour spans {sewn:.1} mm, hidden"),
            reason: "stitches that cross at an edge pull it open; thread under it holds both"
                .to_owned(),
            source: SOURCE.to_owned(),
            stitches_added: added as u32,
            stitches_removed: 0,
            trims_added: 0,
            grade: Grade::Safe,
        }
    }
}

/// What comes before the object's own stitching: its tie-in and lead-in travel, or else its first
/// needle point. The guard starts with it, so that the way to the object stays as it was.
fn split_lead(parts: &[Part]) -> (Vec<Part>, Vec<Part>) {
    let leads =
        parts.iter().take_while(|part| matches!(part.label, Label::Tie | Label::Travel)).count();
    let mut lead = parts[..leads].to_vec();
    let mut rest = parts[leads..].to_vec();
    if lead.is_empty()
        && let Some(first) = rest.first_mut()
        && first.needles.len() > 1
    {
        let needle: Needle = first.needles.remove(0);
        lead.push(Part { label: Label::Travel, link: first.link, needles: vec![needle] });
    }
    if !lead.is_empty()
        && let Some(first) = rest.first_mut()
    {
        first.link = crate::design::Link::Sewn;
    }
    (lead, rest)
}
