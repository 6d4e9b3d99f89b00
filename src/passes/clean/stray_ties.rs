//! Ties in the middle of sewing, where nothing is cut, are taken out.

use super::{Words, leave_out};
use crate::objects::Objects;
use crate::passes::Outcome;
use crate::settings::{PassName, Settings};
use crate::stitch::spare;

const WORDS: Words = Words {
    pass: PassName::StrayTies,
    what: "of ties where nothing is cut",
    reason: "ties belong at cuts; anywhere else thread nests under the cloth",
    number: "tie_stitch_mm",
};

pub fn stray_ties(objects: &Objects, settings: &Settings) -> Outcome {
    leave_out(objects, settings, &WORDS, |_, object| spare::stray_ties(object))
}
