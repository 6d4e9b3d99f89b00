//! Stitches under the limit are merged with their neighbours where the thread stays.

use super::{Words, leave_out};
use crate::objects::Objects;
use crate::passes::Outcome;
use crate::settings::{PassName, Settings};
use crate::stitch::spare;

const WORDS: Words = Words {
    pass: PassName::MergeShort,
    what: "at stitches that are too short",
    reason: "the needle rubs the last stitch and weakens the thread",
    number: "stitch_short_fault_mm",
};

pub fn merge_short(objects: &Objects, settings: &Settings) -> Outcome {
    let numbers = &settings.profile.numbers;
    leave_out(objects, settings, &WORDS, |_, object| spare::short(object, numbers))
}
