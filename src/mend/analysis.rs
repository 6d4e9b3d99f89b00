use crate::design::{Design, from_tape};
use crate::objects::Objects;
use crate::prove::Judged;
use crate::recognise::recognise;
use crate::settings::Settings;
use crate::survey::{self, Finding, Junction};
use crate::tape::Tape;

/// Everything that is read out of one tape.
#[derive(Clone)]
pub struct Analysis {
    pub tape: Tape,
    pub design: Design,
    pub objects: Objects,
    pub junctions: Vec<Junction>,
    pub findings: Vec<Finding>,
}

impl Analysis {
    pub fn of(tape: Tape, settings: &Settings) -> Self {
        let design = from_tape(&tape);
        let mut objects = recognise(&design, settings);
        let junctions = survey::junctions(&objects, settings);
        let elements = survey::elements(&objects, &junctions);
        for (object, element) in objects.items.iter_mut().zip(elements) {
            object.element = element;
        }
        let findings = survey::survey(&design, &objects, &junctions, settings);
        Self { tape, design, objects, junctions, findings }
    }

    pub fn judged(&self) -> Judged<'_> {
        Judged {
            tape: &self.tape,
            design: &self.design,
            objects: &self.objects,
            junctions: &self.junctions,
        }
    }

    /// Share of needle points (0 to 1) that were not understood.
    pub fn unsure_share(&self) -> f64 {
        let unsure: usize = self
            .objects
            .items
            .iter()
            .filter(|object| object.class == crate::objects::Class::Unsure)
            .map(crate::objects::Object::stitch_count)
            .sum();
        unsure as f64 / self.design.points.len().max(1) as f64
    }
}
