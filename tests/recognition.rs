//! The recogniser against the corpus truth, which a generator wrote that shares no code with it.

mod support;

use std::collections::BTreeMap;

use crownmend::objects::{Objects, Shape};
use crownmend::settings::Settings;
use crownmend::{design, garment, recognise, tape};
use support::outline::{area, overlap};
use support::{Case, corpus};

fn recognised(case: &Case) -> Objects {
    let (tape, _) = tape::read(&case.bytes, tape::Salvage::Refuse).expect("corpus tapes are whole");
    let settings = Settings::new(garment::built_in(&case.truth.garment).expect("built in"));
    recognise::recognise(&design::from_tape(&tape), &settings)
}

fn name(label: crownmend::objects::Label) -> String {
    serde_json::to_value(label).expect("labels are plain").as_str().expect("text").to_owned()
}

/// Labels that say the same of a stitch for the purpose of a repair: truth calls a split satin
/// what may be read as a fill.
fn same(truth: &str, got: &str) -> bool {
    truth == got
}

#[test]
fn stitches_get_their_true_class() {
    let mut bad = Vec::new();
    for case in corpus() {
        let objects = recognised(&case);
        let got: Vec<String> = objects.stitches().map(|(label, _)| name(label)).collect();
        let truth = case.truth.flat_labels();
        assert_eq!(got.len(), truth.len(), "{}: every penetration has a label", case.name);
        let right = truth.iter().zip(&got).filter(|(t, g)| same(t, g)).count();
        let share = right as f64 / truth.len() as f64;
        let mut confused: BTreeMap<(String, String), usize> = BTreeMap::new();
        for (t, g) in truth.iter().zip(&got).filter(|(t, g)| !same(t, g)) {
            *confused.entry((t.to_string(), g.clone())).or_default() += 1;
        }
        println!(
            "{:12} {:6} stitches {:6.2} %  {confused:?}",
            case.name,
            truth.len(),
            share * 100.0
        );
        if share < 0.95 {
            bad.push(case.name);
        }
    }
    assert!(bad.is_empty(), "under 95 %: {bad:?}");
}

#[test]
fn tops_have_their_true_footprint_and_angle() {
    let mut bad = Vec::new();
    for case in corpus() {
        let objects = recognised(&case);
        let mut worst: f64 = 1.0;
        for truth in case
            .truth
            .objects
            .iter()
            .filter(|o| matches!(o.class.as_str(), "satin" | "fill" | "split-satin"))
        {
            // the object that owns the middle needle of the true one
            let middle = ((truth.first + truth.last) / 2) as u32;
            let found = objects.items.iter().find(|o| {
                let span = o.first().zip(o.last()).and_then(|(a, b)| a.origin.zip(b.origin));
                span.is_some_and(|(a, b)| a <= middle && middle <= b)
            });
            let Some(found) = found else {
                bad.push(format!("{} {}: no object", case.name, truth.id));
                continue;
            };
            let outline = area(&truth.outline);
            let iou = overlap(&outline, &found.footprint);
            worst = worst.min(iou);
            if iou < 0.95 {
                bad.push(format!(
                    "{} {}: overlap {iou:.3} with {} {:?}",
                    case.name, truth.id, found.id, found.class
                ));
            }
            if let (Some(angle), Shape::Fill(fill)) = (truth.angle_deg, &found.shape) {
                let off = (fill.angle - angle).rem_euclid(180.0);
                let off = off.min(180.0 - off);
                if off > 2.0 {
                    bad.push(format!(
                        "{} {}: angle {} is off by {off:.2}",
                        case.name, truth.id, fill.angle
                    ));
                }
            }
        }
        println!("{:12} worst footprint overlap {worst:.3}", case.name);
    }
    assert!(bad.is_empty(), "{bad:#?}");
}
