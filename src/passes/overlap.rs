use super::Outcome;
use crate::objects::Objects;
use crate::settings::Settings;

pub fn overlap(objects: &Objects, _settings: &Settings) -> Outcome {
    Outcome::unchanged(objects)
}
