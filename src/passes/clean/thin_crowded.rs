//! Needle points stacked in one place are thinned: doubled ones, and underlay, where the thread stays.

use super::{Words, leave_out};
use crate::objects::Objects;
use crate::passes::Outcome;
use crate::settings::{PassName, Settings};
use crate::stitch::spare;

const WORDS: Words = Words {
    pass: PassName::ThinCrowded,
    what: "in crowded places",
    reason: "thread breaks where needle points pile up, and the cloth is cut",
    number: "crowd_count",
};

pub fn thin_crowded(objects: &Objects, settings: &Settings) -> Outcome {
    let spots = spare::crowded(objects, &settings.profile.numbers);
    leave_out(objects, settings, &WORDS, |index, _| spots[index].clone())
}
