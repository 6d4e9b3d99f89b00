//! Tapes with what their truth says of every needle point, made ready to be changed.

use std::sync::OnceLock;

use crownmend::design::{Design, Pt, from_tape};
use crownmend::objects::{Class, Object, Objects};
use crownmend::recognise::recognise;
use crownmend::settings::Settings;
use crownmend::tape::{Kind, Record, Salvage, Tape, read};
use crownmend::{garment, tape};

use crate::{family, support};

/// An object as truth gives it: class, first and last needle point of its top, its group.
pub struct True {
    pub class: String,
    pub first: usize,
    pub last: usize,
    pub group: Option<String>,
}

impl True {
    /// First and last needle point of several.
    pub fn span(group: &[&Self]) -> (usize, usize) {
        let first = group.iter().map(|object| object.first).min();
        let last = group.iter().map(|object| object.last).max();
        (first.unwrap_or(0), last.unwrap_or(0))
    }
}

pub struct Sample {
    pub name: String,
    pub tape: Tape,
    pub design: Design,
    pub labels: Vec<String>,
    pub objects: Vec<True>,
    pub settings: Settings,
    /// The tape as it stands, recognised.
    pub read: Objects,
}

impl Sample {
    fn new(name: String, bytes: &[u8], garment: &str) -> Self {
        let (tape, _) = read(bytes, Salvage::Refuse).expect("a whole tape");
        let settings = Settings::new(garment::built_in(garment).expect("built in"));
        let design = from_tape(&tape);
        let read = recognise(&design, &settings);
        let (labels, objects) = (Vec::new(), Vec::new());
        Self { name, tape, design, labels, objects, settings, read }
    }

    /// Is this object one of the truth, or a whole group of it? Ends may be off by two needle
    /// points, as when objects are compared.
    pub fn confirms(&self, object: &Object) -> bool {
        let needles = || object.top().filter_map(|needle| needle.origin.map(|i| i as usize));
        let (Some(first), Some(last)) = (needles().min(), needles().max()) else { return false };
        let fits = |(a, b): (usize, usize)| a.abs_diff(first).max(b.abs_diff(last)) <= 2;
        let alike: Vec<&True> =
            self.objects.iter().filter(|o| same_class(&o.class, object.class)).collect();
        alike.iter().any(|own| {
            let of_group = |o: &&True| own.group.is_some() && o.group == own.group;
            let group: Vec<&True> = alike.iter().copied().filter(of_group).collect();
            fits((own.first, own.last)) || !group.is_empty() && fits(True::span(&group))
        })
    }

    pub fn steps(&self) -> Vec<Step> {
        let mut at = Pt::default();
        let mut needles = 0;
        let step = |record: &Record| {
            at = at + record.delta();
            let origin = (record.kind() == Kind::Stitch).then_some(needles);
            needles += u32::from(origin.is_some());
            Step { kind: record.kind(), at, origin }
        };
        self.tape.records.iter().map(step).collect()
    }
}

/// Crossings with and without split points need not be told apart.
fn same_class(truth: &str, got: Class) -> bool {
    match truth {
        "satin" | "split-satin" => matches!(got, Class::Satin | Class::SplitSatin),
        "fill" => got == Class::Fill,
        "curved-fill" => got == Class::CurvedFill,
        "run" => got == Class::Run,
        "bean" => got == Class::Bean,
        _ => false,
    }
}

/// Every tape of the corpus and of its family of random designs.
pub fn samples() -> &'static [Sample] {
    static SAMPLES: OnceLock<Vec<Sample>> = OnceLock::new();
    SAMPLES.get_or_init(read_all)
}

fn read_all() -> Vec<Sample> {
    let corpus = support::corpus().into_iter().map(|case| {
        let mut sample = Sample::new(case.name, &case.bytes, &case.truth.garment);
        sample.labels = case.truth.flat_labels().into_iter().map(str::to_owned).collect();
        let own = case.truth.objects.into_iter();
        sample.objects = own
            .map(|o| True { class: o.class, first: o.first, last: o.last, group: None })
            .collect();
        sample
    });
    let random = family::family().into_iter().map(|design| {
        let mut sample =
            Sample::new(format!("family {}", design.name), &design.bytes, "finished-cap");
        sample.labels = design.labels().into_iter().map(str::to_owned).collect();
        let own = design.truth.objects.into_iter();
        sample.objects = own
            .map(|o| True { class: o.class, first: o.first, last: o.last, group: o.group })
            .collect();
        sample
    });
    corpus.chain(random).collect()
}

/// One record: what it is, where the needle is afterwards, and which penetration of the original
/// tape it is.
#[derive(Clone, Copy, Debug)]
pub struct Step {
    pub kind: Kind,
    pub at: Pt,
    pub origin: Option<u32>,
}

impl Step {
    pub fn jump(at: Pt) -> Self {
        Self { kind: Kind::Jump, at, origin: None }
    }

    pub fn stitch(at: Pt, origin: u32) -> Self {
        Self { kind: Kind::Stitch, at, origin: Some(origin) }
    }
}

/// A stitch of the sample of this name is longer than a record can say.
#[derive(Debug)]
pub struct TooLong(pub String);

/// Writes steps as a tape and reads it back. Jumps are split where they must be; stitches never,
/// for a new needle point would be another design.
pub fn sewn(sample: &Sample, steps: &[Step]) -> Result<Design, TooLong> {
    let mut records = Vec::with_capacity(steps.len());
    let too_long = || TooLong(sample.name.clone());
    let mut from = Pt::default();
    for step in steps {
        let by = step.at - from;
        from = step.at;
        match step.kind {
            Kind::Stitch => records.push(Record::stitch(by).ok_or_else(too_long)?),
            Kind::Jump => records.extend(jumps(by)),
            Kind::Stop => {
                assert_eq!(by, Pt::default(), "{}: a stop that moves", sample.name);
                records.push(Record::STOP);
            }
            Kind::SequinToggle => panic!("{}: no sequins in these tapes", sample.name),
        }
    }
    let changed = Tape { records, ..sample.tape.clone() };
    let (back, _) = read(&tape::write(&changed), Salvage::Refuse).expect("a sound tape");
    let design = from_tape(&back);
    let needles: Vec<Pt> = steps.iter().filter(|s| s.origin.is_some()).map(|s| s.at).collect();
    assert_eq!(design.points, needles, "{}: needle points as they were written", sample.name);
    Ok(design)
}

/// A move in the fewest equal jumps (one at least).
fn jumps(by: Pt) -> impl Iterator<Item = Record> {
    let longest = by.x.abs().max(by.y.abs());
    let count = ((longest + Record::REACH - 1) / Record::REACH).max(1);
    let at = move |k: i32| Pt::new(by.x * k / count, by.y * k / count);
    (1..=count).map(move |k| Record::jump(at(k) - at(k - 1)).expect("within reach"))
}
