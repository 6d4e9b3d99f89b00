//! What was recognised, counted by style.

use std::collections::BTreeMap;

use crownmend::objects::{Class, Label, Object, Objects, Shape};
use crownmend::settings::Settings;
use crownmend::{design, garment, recognise, tape};
use geo::{Area, BooleanOps, MultiPolygon, Polygon};

use super::measures::Measures;
use super::outline::overlap;
use super::truth::{Design, TruthObject};

/// A column that lies inside a top to this share belongs to what the top was taken for.
const MOSTLY: f64 = 0.8;
/// Two objects are the same from this overlap (intersection over union).
const SAME: f64 = 0.9;

#[derive(Default)]
struct Row {
    stitches: usize,
    right: usize,
    objects: usize,
    found: usize,
}

#[derive(Default)]
pub struct Score {
    rows: BTreeMap<String, Row>,
    stitches: usize,
    right: usize,
    objects: usize,
    found: usize,
    claimed: usize,
    claimed_right: usize,
    unsure: usize,
    confused: BTreeMap<(String, String), usize>,
    pub measures: Measures,
    pub scribbles_taken_for_tops: usize,
    /// Designs with what went wrong in them, to look at.
    wrong: Vec<String>,
    /// Tops that are none, or not these.
    claims: Vec<String>,
    false_claims: BTreeMap<String, usize>,
}

fn recognised(design: &Design, settings: &Settings) -> Objects {
    let (tape, _) = tape::read(&design.bytes, tape::Salvage::Refuse).expect("a whole tape");
    recognise::recognise(&design::from_tape(&tape), settings)
}

fn name(label: Label) -> String {
    serde_json::to_value(label).expect("plain").as_str().expect("text").to_owned()
}

/// Do a true and a recognised label say the same? Crossings of one column with and without split
/// points need not be told apart, nor runs of a scribble from unsure stitches.
fn same_label(truth: &str, got: &str) -> bool {
    fold(truth) == fold(got)
        || truth == "unsure" && matches!(got, "run" | "bean" | "tie" | "travel")
}

fn fold(label: &str) -> &str {
    if label == "split-satin" { "satin" } else { label }
}

pub fn same_class(truth: &TruthObject, got: Class) -> bool {
    match truth.class.as_str() {
        "satin" | "split-satin" => {
            // A straight wide column split at regular points is both (the task says so).
            let wide = truth.width_mm.is_some_and(|w| w[0] >= 8.0);
            matches!(got, Class::Satin | Class::SplitSatin)
                || got == Class::Fill && truth.class == "split-satin" && wide
        }
        "fill" => got == Class::Fill,
        "curved-fill" => got == Class::CurvedFill,
        _ => false,
    }
}

/// Was what has no area of its own found from the same to the same stitch, by a share as for areas?
fn has_span(objects: &Objects, truth: &TruthObject, class: Class) -> bool {
    objects.items.iter().filter(|object| object.class == class).any(|object| {
        // The truth counts ties to no object.
        let own = object.parts.iter().filter(|part| part.label != Label::Tie);
        let mut stitches = own.flat_map(|part| &part.needles).filter_map(|needle| needle.origin);
        let Some(first) = stitches.next().map(|i| i as usize) else { return false };
        let last = stitches.next_back().map_or(first, |i| i as usize);
        let shared = (last.min(truth.last) + 1).saturating_sub(first.max(truth.first));
        let all = last.max(truth.last) + 1 - first.min(truth.first);
        shared as f64 >= SAME * all as f64
    })
}

/// For each island of a fill the top that it was taken for, if it has several: nothing is sewn over
/// the cloth between them, so whoever tells them apart is not wrong.
fn islands(truth: &TruthObject, area: &MultiPolygon<f64>, tops: &[&Object]) -> Vec<Option<usize>> {
    if area.0.len() < 2 {
        return Vec::new();
    }
    let fits = |island: &Polygon<f64>, top: &Object| {
        same_class(truth, top.class)
            && overlap(&MultiPolygon(vec![island.clone()]), &top.footprint) >= SAME
    };
    area.0.iter().map(|island| (0..tops.len()).find(|k| fits(island, tops[*k]))).collect()
}

impl Score {
    pub fn add(&mut self, design: &Design) {
        let settings = Settings::new(garment::built_in("finished-cap").expect("built in"));
        let objects = recognised(design, &settings);
        let mut got: Vec<String> = vec!["unsure".to_owned(); design.labels().len()];
        for (label, needle) in objects.stitches() {
            if let Some(place) = needle.origin.and_then(|i| got.get_mut(i as usize)) {
                *place = name(label);
            }
        }
        self.stitches_of(design, &got);
        self.objects_of(design, &objects);
        self.measures.add_design(design, &objects, &settings);
    }

    fn stitches_of(&mut self, design: &Design, got: &[String]) {
        let truth = design.labels();
        let mut wrong = 0;
        for (t, g) in truth.iter().zip(got) {
            self.stitches += 1;
            self.unsure += usize::from(g == "unsure" && *t != "unsure");
            if same_label(t, g) {
                self.right += 1;
            } else {
                wrong += 1;
                *self.confused.entry(((*t).to_owned(), g.clone())).or_default() += 1;
            }
        }
        if wrong * 50 > truth.len() {
            self.wrong.push(format!("{} {wrong}/{}", design.name, truth.len()));
        }
        for object in &design.truth.objects {
            let span = object.first..=object.last;
            let right = span.clone().filter(|i| same_label(truth[*i], &got[*i])).count();
            let row = self.rows.entry(object.row()).or_default();
            row.stitches += span.count();
            row.right += right;
        }
        let scribbled = truth.iter().zip(got).filter(|(t, _)| **t == "unsure");
        let tops =
            scribbled.filter(|(_, g)| matches!(g.as_str(), "satin" | "split-satin" | "fill"));
        self.scribbles_taken_for_tops += tops.count();
    }

    fn objects_of(&mut self, design: &Design, objects: &Objects) {
        let tops: Vec<&Object> = objects
            .items
            .iter()
            .filter(|o| matches!(o.shape, Shape::Satin(_) | Shape::Fill(_)))
            .filter(|o| o.class != Class::Unsure)
            .collect();
        let mut matched = vec![false; tops.len()];
        let truths: Vec<(&TruthObject, MultiPolygon<f64>)> =
            design.truth.objects.iter().filter_map(|o| Some((o, o.area()?))).collect();
        let fits = |truth: &TruthObject, area: &MultiPolygon<f64>, top: &Object| {
            same_class(truth, top.class)
                .then(|| overlap(area, &top.footprint))
                .filter(|o| *o >= SAME)
        };
        for (truth, area) in &truths {
            let islands = islands(truth, area, &tops);
            islands.iter().flatten().for_each(|k| matched[*k] = true);
            if islands.len() > 1 && islands.iter().all(Option::is_some) {
                self.count(truth, true);
                continue;
            }
            let alone = (0..tops.len()).find_map(|k| Some((k, fits(truth, area, tops[k])?)));
            let grouped = || {
                let group = truth.group.as_ref()?;
                (0..tops.len()).find_map(|k| {
                    let inside = |area: &MultiPolygon<f64>| {
                        let shared = area.intersection(&*tops[k].footprint).unsigned_area();
                        shared >= MOSTLY * area.unsigned_area()
                    };
                    let own = truths.iter().filter(|(t, _)| t.group.as_ref() == Some(group));
                    let joined = own
                        .filter(|(_, area)| inside(area))
                        .fold(MultiPolygon(vec![]), |sum, (_, area)| sum.union(area));
                    Some((k, fits(truth, &joined, tops[k]).filter(|_| inside(area))?))
                })
            };
            if truth.class == "underlay" {
                self.count(truth, has_span(objects, truth, Class::Underlay));
                continue;
            }
            let found = alone.or_else(grouped);
            self.count(truth, found.is_some());
            if let Some((k, iou)) = found {
                matched[k] = true;
                self.measures.add(truth, tops[k], iou);
            } else {
                self.wrong.push(format!("{} {} {}", design.name, truth.style, truth.first));
            }
        }
        for (top, _) in tops.iter().zip(&matched).filter(|(_, matched)| !**matched) {
            let first = top.first().and_then(|needle| needle.origin).unwrap_or(0);
            self.claims.push(format!("{} {:?} {first}", design.name, top.class));
            *self.false_claims.entry(format!("{:?}", top.class)).or_default() += 1;
        }
        self.claimed += tops.len();
        self.claimed_right += matched.iter().filter(|m| **m).count();
    }

    fn count(&mut self, truth: &TruthObject, found: bool) {
        let row = self.rows.entry(truth.row()).or_default();
        row.objects += 1;
        row.found += usize::from(found);
        self.objects += 1;
        self.found += usize::from(found);
    }

    pub fn stitches(&self) -> f64 {
        self.right as f64 / self.stitches.max(1) as f64
    }

    pub fn recall(&self) -> f64 {
        self.found as f64 / self.objects.max(1) as f64
    }

    pub fn precision(&self) -> f64 {
        self.claimed_right as f64 / self.claimed.max(1) as f64
    }

    pub fn print(&self) {
        println!("{:24} {:>9} {:>8} {:>8} {:>8}", "style", "stitches", "right", "objects", "found");
        for (style, row) in &self.rows {
            let share = 100.0 * row.right as f64 / row.stitches.max(1) as f64;
            let found = 100.0 * row.found as f64 / row.objects.max(1) as f64;
            println!("{style:24} {:9} {share:7.2}% {:8} {found:7.1}%", row.stitches, row.objects);
        }
        let mut confused: Vec<_> = self.confused.iter().collect();
        confused.sort_by_key(|(_, n)| std::cmp::Reverse(**n));
        println!("confused (true, taken for): {:?}", &confused[..confused.len().min(24)]);
        self.measures.print();
        println!("wrong: {:?}", self.wrong);
        println!("claimed falsely: {:?} {:?}", self.false_claims, self.claims);
        println!(
            "stitches {:.2} %  recall {:.3}  precision {:.3}  unsure {:.2} %",
            100.0 * self.stitches(),
            self.recall(),
            self.precision(),
            100.0 * self.unsure as f64 / self.stitches.max(1) as f64
        );
    }
}
