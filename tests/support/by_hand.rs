//! Tapes sewn by hand, and what is recognised in them.

use crownmend::objects::{Class, Label, Objects};
use crownmend::settings::Settings;
use crownmend::{design, garment, recognise, tape};

use super::decode::{Kind, encode};

pub type P = (f64, f64);

/// Sews stretches (mm), each after a jump long enough to be a trim.
pub fn read(stretches: &[Vec<P>]) -> Objects {
    let on_tape = |(x, y): P| [(x * 10.0).round() as i32, (y * 10.0).round() as i32];
    let mut events = Vec::new();
    for stretch in stretches {
        let start = on_tape(stretch[0]);
        // Four records and more: common practice, no published source.
        events.extend([[-300, 400], [-500, 0], [-300, -200], start].map(|to| (Kind::Jump, to)));
        events.push((Kind::Stitch, start));
        events.extend(stretch[1..].iter().map(|at| (Kind::Stitch, on_tape(*at))));
    }
    let bytes = encode(&events, &[]);
    let (tape, _) = tape::read(&bytes, tape::Salvage::Refuse).expect("a sound tape");
    let settings = Settings::new(garment::built_in("finished-cap").expect("a built-in garment"));
    recognise::recognise(&design::from_tape(&tape), &settings)
}

pub fn count(objects: &Objects, class: Class) -> usize {
    objects.items.iter().filter(|object| object.class == class).count()
}

/// Stitches with a label.
pub fn stitches(objects: &Objects, label: Label) -> usize {
    objects.stitches().filter(|(own, _)| *own == label).count()
}
