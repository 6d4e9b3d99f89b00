//! How far measures of recognised objects are off, and how sure the recogniser was.

use std::collections::BTreeMap;

use crownmend::objects::{Class, Object, Objects, Shape};
use crownmend::settings::Settings;
use crownmend::survey::{Junction, junctions};

use super::truth::{Design, TruthObject};

/// Confidences that the table tells apart.
const STEPS: [f64; 7] = [0.0, 0.75, 0.8, 0.85, 0.9, 0.95, 1.0];

#[derive(Default)]
pub struct Measures {
    angles: Vec<f64>,
    pitches: Vec<f64>,
    widths: Vec<f64>,
    same_side: Vec<f64>,
    /// Intersection over union of outlines.
    areas: Vec<f64>,
    junctions: Vec<f64>,
    /// Confidence of every satin and fill, and whether its class is right.
    classes: Vec<(f64, bool)>,
}

impl Measures {
    /// Takes in an object that was found, with the overlap of its outline.
    pub fn add(&mut self, truth: &TruthObject, top: &Object, area: f64) {
        self.areas.push(area);
        match &top.shape {
            Shape::Fill(fill) if truth.class == "fill" => {
                if let Some(angle) = truth.angle_deg {
                    let off = (fill.angle - angle).rem_euclid(180.0);
                    self.angles.push(off.min(180.0 - off));
                }
                if let Some(pitch) = truth.row_pitch_mm {
                    self.pitches.push((fill.row_pitch - pitch).abs());
                }
            }
            // The middle one of three: the others are quantiles over another set of crossings.
            Shape::Satin(satin) if truth.group.is_none() => {
                if let Some(width) = truth.width_mm {
                    self.widths.push((satin.width[1] - width[1]).abs());
                }
                if let Some(pitch) = truth.same_side_pitch_mm {
                    self.same_side.push((satin.same_side_pitch - pitch).abs());
                }
            }
            _ => {}
        }
    }

    /// Takes in the classes and the junctions of a design. A class is right if most of the needle
    /// points belong to objects of that class.
    pub fn add_design(&mut self, design: &Design, objects: &Objects, settings: &Settings) {
        let mut owner: BTreeMap<usize, &TruthObject> = BTreeMap::new();
        for object in &design.truth.objects {
            owner.extend((object.first..=object.last).map(|i| (i, object)));
        }
        let origins = |object: &Object| {
            let tops = object.needles().filter(|(label, _)| Object::is_area(*label));
            tops.filter_map(|(_, n)| n.origin.map(|i| i as usize)).collect::<Vec<_>>()
        };
        for object in objects.items.iter().filter(|o| o.class != Class::Unsure) {
            let own = origins(object);
            if own.is_empty() {
                continue;
            }
            let right = own.iter().filter(|i| {
                owner.get(i).is_some_and(|truth| super::score::same_class(truth, object.class))
            });
            self.classes.push((object.confidence, right.count() * 2 > own.len()));
        }
        self.junctions_of(design, objects, settings, origins);
    }

    fn junctions_of(
        &mut self,
        design: &Design,
        objects: &Objects,
        settings: &Settings,
        origins: impl Fn(&Object) -> Vec<usize>,
    ) {
        if design.truth.junctions.is_empty() {
            return;
        }
        // The recognised object that holds most of a true one.
        let found = |id: &str| {
            let truth = design.truth.objects.iter().find(|object| object.id == id)?;
            let span = truth.first..=truth.last;
            let shared = |o: &Object| origins(o).iter().filter(|i| span.contains(i)).count();
            let best = objects.items.iter().max_by_key(|object| shared(object))?;
            (shared(best) * 10 >= span.count() * 9).then_some(best.id)
        };
        let all = junctions(objects, settings);
        for truth in &design.truth.junctions {
            let (Some(under), Some(over)) = (found(&truth.under), found(&truth.over)) else {
                continue;
            };
            let own: Vec<&Junction> =
                all.iter().filter(|j| (j.under, j.over) == (under, over)).collect();
            if let Some(longest) = own.iter().max_by(|a, b| a.length.total_cmp(&b.length)) {
                self.junctions.push((mean_overlap(longest) - truth.overlap_mm).abs());
            }
        }
    }

    /// Bounds of the task: how far measures may be off, 95th percentiles.
    pub fn check(&self) {
        assert!(at(&self.angles, 0.95) <= 1.0, "fill angles, degrees");
        assert!(at(&self.pitches, 0.95) <= 0.02, "row pitches, mm");
        assert!(at(&self.widths, 0.95) <= 0.1, "satin widths, mm");
        assert!(at(&self.same_side, 0.95) <= 0.03, "same-side pitches, mm");
        assert!(at(&self.junctions, 0.95) <= 0.1, "overlap of junctions, mm");
        assert!(at(&self.areas, 0.5) >= 0.98 && at(&self.areas, 0.05) >= 0.95, "outlines");
    }

    pub fn print(&self) {
        let rows = [
            ("fill angle off, degrees", &self.angles),
            ("row pitch off, mm", &self.pitches),
            ("satin width off, mm", &self.widths),
            ("same-side pitch off, mm", &self.same_side),
            ("overlap of junctions off, mm", &self.junctions),
        ];
        for (name, values) in rows {
            println!("{name:30} {:6}  95 %: {:.3}", values.len(), at(values, 0.95));
        }
        let (median, low) = (at(&self.areas, 0.5), at(&self.areas, 0.05));
        println!("outlines shared: median {median:.4}, 5 % {low:.4}");
        for step in STEPS {
            let above: Vec<bool> =
                self.classes.iter().filter(|(c, _)| *c >= step).map(|(_, right)| *right).collect();
            let wrong = above.iter().filter(|right| !**right).count();
            let share = 100.0 * wrong as f64 / above.len().max(1) as f64;
            println!(
                "confidence from {step:4.2}: {:5} objects, {wrong:3} of a wrong class, {share:.2} %",
                above.len()
            );
        }
    }
}

/// Along the straight inner part of an open junction, as the truth measures it.
fn mean_overlap(junction: &Junction) -> f64 {
    let all = &junction.samples;
    let cut = if junction.closed { 0 } else { (0.15 * all.len() as f64) as usize };
    let inner = &all[cut..all.len() - cut];
    inner.iter().map(|sample| sample.overlap).sum::<f64>() / inner.len().max(1) as f64
}

/// Quantile of some values; not a number where there is none.
fn at(values: &[f64], share: f64) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let place = ((sorted.len() as f64 - 1.0) * share).max(0.0) as usize;
    sorted.get(place).copied().unwrap_or(f64::NAN)
}
