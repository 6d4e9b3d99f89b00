//! What holds for every tape.

use crownmend::design::{Design, Link, Pt, TrimForm, assemble, assemble_linked, from_tape};
use crownmend::objects::{Needle, Object, Objects};
use crownmend::tape::{Kind, Salvage, Tape, inert, read, write};
use proptest::collection::vec;
use proptest::prelude::*;

use crate::assemble::{object, originals, whole};
use crate::bytes::{END, STOP, file, jump, small, stitch};

/// Any record but the end record; stops and toggles now and then with a movement of their own.
fn any_record() -> impl Strategy<Value = [u8; 3]> {
    let step = || -121..=121;
    let small = || -20..=20;
    let flagged = |flags: u8| {
        move |(x, y)| {
            let mut bytes = stitch(x, y);
            bytes[2] |= flags;
            bytes
        }
    };
    prop_oneof![
        8 => (step(), step()).prop_map(|(x, y)| stitch(x, y)),
        4 => (step(), step()).prop_map(|(x, y)| jump(x, y)),
        2 => (small(), small()).prop_map(|(x, y)| jump(x, y)),
        2 => Just(jump(7, -2)),
        2 => Just(jump(-7, 2)),
        2 => Just(STOP),
        1 => (small(), small()).prop_map(flagged(0xC0)),
    ]
}

/// Records of a sound tape; `sequins`: with toggles among them.
fn any_tape(sequins: bool) -> impl Strategy<Value = Tape> {
    let toggle = any_record().prop_map(move |mut record| {
        if sequins {
            record[2] = record[2] & 0x3F | 0x40;
        }
        record
    });
    let body = vec(prop_oneof![20 => any_record(), 1 => toggle], 0..120);
    (body, vec(any::<u8>(), 0..3)).prop_map(|(mut records, after)| {
        records.push(stitch(1, 0));
        records.push(jump(-1, 0));
        records.push(END);
        let mut bytes = file(&records);
        bytes.extend(after);
        read(&bytes, Salvage::Refuse).unwrap().0
    })
}

/// A cut of a design into objects that are shuffled, moved and linked anew.
#[derive(Clone, Debug)]
struct Edit {
    cuts: Vec<prop::sample::Index>,
    order: Vec<u32>,
    links: Vec<Link>,
    shifts: Vec<(i32, i32)>,
    inserted: Vec<Option<(i32, i32)>>,
}

fn any_edit() -> impl Strategy<Value = Edit> {
    let link = prop_oneof![Just(Link::Sewn), Just(Link::Jump), Just(Link::Trim), Just(Link::Stop)];
    let shift = prop_oneof![3 => Just((0, 0)), 1 => (-12..=12, -12..=12)];
    (
        vec(any::<prop::sample::Index>(), 0..8),
        vec(any::<u32>(), 9),
        vec(link, 9),
        vec(shift, 200),
        vec(prop::option::of((-90..90, -90..90)), 9),
    )
        .prop_map(|(cuts, order, links, shifts, inserted)| Edit {
            cuts,
            order,
            links,
            shifts,
            inserted,
        })
}

impl Edit {
    /// Objects in a new order that keeps the stops: cuts at every stop and some places between.
    fn objects(&self, design: &Design) -> Objects {
        let len = design.points.len();
        let mut cuts: Vec<usize> = self.cuts.iter().map(|cut| cut.index(len)).collect();
        cuts.extend((1..len).filter(|i| design.stops[*i] != design.stops[i - 1]));
        cuts.extend([0, len]);
        cuts.sort_unstable();
        cuts.dedup();
        let mut items: Vec<(u32, u32, Object)> = Vec::new();
        for (k, cut) in cuts.windows(2).enumerate() {
            let link = self.links[k % self.links.len()];
            let mut needles = originals(design, cut[0]..cut[1]);
            for (needle, (x, y)) in needles.iter_mut().zip(self.shifts.iter().skip(cut[0])) {
                needle.at = needle.at + Pt::new(*x, *y);
            }
            if let Some((x, y)) = self.inserted[k % self.inserted.len()] {
                let at = needles[0].at + Pt::new(x, y);
                needles.insert(0, Needle::new(at));
            }
            let stop = design.stops[cut[0]];
            items.push((stop, self.order[k % self.order.len()], object(stop, link, needles)));
        }
        // Stops change places as wholes; objects within them.
        items.sort_by_key(|(stop, order, _)| (self.order[*stop as usize % 9] % 3, *stop, *order));
        let (mut new, mut old) = (0, items[0].0);
        for (stop, _, object) in &mut items {
            new += u32::from(*stop != old);
            old = *stop;
            object.stop = new;
        }
        Objects::from(items.into_iter().map(|(.., object)| object).collect::<Vec<_>>())
    }
}

/// Every needle of `wanted`, in order, among the points found, with new ones only on split links.
fn sewn_in_order(wanted: &[Pt], found: &[Pt]) -> bool {
    let mut found = found.iter();
    wanted.iter().all(|at| found.any(|point| point == at))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..Default::default() })]

    #[test]
    fn reading_never_panics(bytes in vec(any::<u8>(), 0..2_000)) {
        let _ = read(&bytes, Salvage::Refuse);
        let _ = read(&bytes, Salvage::UpToDamage);
        let _ = inert(&bytes);
    }

    #[test]
    fn what_is_read_is_written_byte_for_byte(
        head in vec(any::<u8>(), 512),
        // Mostly in sync, so that reading gets somewhere; some end records.
        body in vec(prop_oneof![
            9 => any_record(),
            1 => Just(END),
            1 => any::<[u8; 3]>(),
        ], 0..60),
        tail in vec(any::<u8>(), 0..5),
    ) {
        let bytes = [head, body.concat(), tail].concat();
        if let Ok((tape, _)) = read(&bytes, Salvage::Refuse) {
            prop_assert_eq!(write(&tape), bytes);
        } else if let Ok((tape, _)) = read(&bytes, Salvage::UpToDamage) {
            // A salvage leaves a sound tape.
            prop_assert_eq!(read(&write(&tape), Salvage::Refuse).map(|(tape, _)| tape), Ok(tape));
        }
    }

    #[test]
    fn damaged_copies_of_a_sound_file_are_read_or_refused(
        flips in vec((any::<prop::sample::Index>(), any::<u8>()), 0..6),
        cut in any::<prop::sample::Index>(),
    ) {
        let mut bytes = file(&small());
        for (at, byte) in flips {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        bytes.truncate(cut.index(bytes.len() + 1));
        for salvage in [Salvage::Refuse, Salvage::UpToDamage] {
            if let Ok((tape, _)) = read(&bytes, salvage) {
                let design = from_tape(&tape);
                prop_assert_eq!(assemble(&tape, &design, &whole(&design)), Ok(tape));
            }
        }
    }

    #[test]
    fn an_untouched_tape_comes_out_as_it_went_in(tape in any_tape(true)) {
        let design = from_tape(&tape);
        prop_assert_eq!(assemble(&tape, &design, &whole(&design)), Ok(tape));
    }

    #[test]
    fn edited_objects_make_a_sound_tape_with_their_needles(
        tape in any_tape(false),
        edit in any_edit(),
    ) {
        let design = from_tape(&tape);
        let objects = edit.objects(&design);
        let made = assemble_linked(&tape, &design, &objects, 3.0).unwrap();
        let again = read(&write(&made.tape), Salvage::Refuse).map(|(tape, _)| tape);
        prop_assert_eq!(again.as_ref(), Ok(&made.tape));
        let found = from_tape(&made.tape);
        let needles = objects.items.iter().flat_map(Object::needles);
        let wanted: Vec<Pt> = needles.map(|(_, needle)| needle.at).collect();
        prop_assert!(sewn_in_order(&wanted, &found.points));
        prop_assert_eq!(found.final_position, design.final_position);
        // Whole stops change places: their number and that of the stop records stay.
        prop_assert_eq!(made.tape.count(Kind::Stop), tape.count(Kind::Stop));
        prop_assert_eq!(found.stop_count(), design.stop_count());
        let mut order: Vec<u32> = made.stop_order.iter().map(|old| old.unwrap()).collect();
        order.sort_unstable();
        prop_assert_eq!(order, (0..design.stop_count()).collect::<Vec<_>>());
    }

    #[test]
    fn moved_needles_keep_their_links(
        records in vec((-100..=100, -100..=100, 0..6), 1..100),
        shifts in vec((-10..=10, -10..=10), 100),
    ) {
        let record = |(x, y, kind): (i32, i32, i32)| match kind {
            0 | 1 => jump(x, y),
            2 if x > 50 => STOP,
            _ => stitch(x, y),
        };
        let mut records: Vec<[u8; 3]> = records.into_iter().map(record).collect();
        records.extend([stitch(1, 0), END]);
        let (tape, _) = read(&file(&records), Salvage::Refuse).unwrap();
        let design = from_tape(&tape);
        let mut objects = whole(&design);
        for (needle, (x, y)) in objects.items[0].parts[0].needles.iter_mut().zip(shifts) {
            needle.at = needle.at + Pt::new(x, y);
        }
        let found = from_tape(&assemble(&tape, &design, &objects).unwrap());
        let wanted: Vec<Pt> = objects.items[0].needles().map(|(_, needle)| needle.at).collect();
        prop_assert_eq!(found.points, wanted);
        prop_assert_eq!(&found.links[1..], &design.links[1..]);
        prop_assert_eq!(found.stops, design.stops);
        prop_assert_eq!(found.final_position, design.final_position);
    }

    #[test]
    fn a_new_link_reads_back_as_what_it_was_meant_to_be(
        (x, y) in (-242..=242, -242..=242),
        link in prop_oneof![Just(Link::Sewn), Just(Link::Jump), Just(Link::Trim)],
        trim in prop_oneof![
            Just(vec![stitch(3, 3)]),
            (3_usize..9).prop_map(|count| [vec![jump(1, 1); count], vec![stitch(0, 0)]].concat()),
            Just(vec![jump(13, -1), jump(-13, 1), jump(50, 50), stitch(0, 0)]),
        ],
    ) {
        let records = [vec![stitch(1, 0)], trim, vec![END]].concat();
        let (tape, _) = read(&file(&records), Salvage::Refuse).unwrap();
        let design = from_tape(&tape);
        let mut objects = whole(&design);
        let at = design.points[design.points.len() - 1] + Pt::new(x, y);
        objects.items.push(object(0, link, vec![Needle::new(at)]));
        let found = from_tape(&assemble(&tape, &design, &objects).unwrap());
        prop_assert_eq!(found.points.last(), Some(&at));
        prop_assert_eq!(found.links.last(), Some(&link));
        // A habit of the file is not changed by what is written.
        if design.trim.form != TrimForm::None {
            prop_assert_eq!(found.trim, design.trim);
        }
    }

    #[test]
    fn escaped_text_holds_nothing_that_acts(bytes in vec(any::<u8>(), 0..200)) {
        let text = inert(&bytes);
        prop_assert!(text.chars().all(|c| !c.is_control()));
        // Escapes leave nothing to escape but their own backslashes.
        prop_assert_eq!(inert(text.as_bytes()), text.replace('\\', "\\\\"));
    }
}
