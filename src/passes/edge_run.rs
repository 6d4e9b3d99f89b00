use super::Outcome;
use crate::objects::Objects;
use crate::settings::Settings;

pub fn edge_run(objects: &Objects, _settings: &Settings) -> Outcome {
    Outcome::unchanged(objects)
}
