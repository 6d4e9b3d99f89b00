//! What a survey found in one tape, as versioned JSON: every object, junction and finding.

mod junction;
mod object;
#[cfg(test)]
mod tests;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use junction::{JunctionLine, Meetings, Overlap};
pub use object::{Outline, Parameters, SurveyedObject, UnderlayPart};

use super::{FileFacts, InForce, Log, Refusal, SCHEMA_VERSION, Sewing, TapeFacts, Tool, round};
use crate::objects::Objects;
use crate::settings::Settings;
use crate::survey::{self, Finding, Junction};

/// Everything that was read out of one tape; nothing was changed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Survey {
    pub schema_version: u32,
    pub tool: Tool,
    pub settings: InForce,
    pub input: FileFacts,
    pub tape: TapeFacts,
    pub sewing: Sewing,
    pub stops: Vec<SurveyedStop>,
    /// In sewing order; their needle points follow each other without gaps.
    pub objects: Vec<SurveyedObject>,
    /// Share of stitches (0 to 1) that were not understood.
    pub unsure_share: f64,
    /// Where the edges of two objects run alongside each other.
    pub junctions: Vec<JunctionLine>,
    pub findings: Vec<Finding>,
    /// What a person should mind before sewing.
    pub cautions: Vec<String>,
    /// Oddities of the tape (a wrong header, what a salvage dropped).
    pub warnings: Vec<String>,
}

impl Survey {
    /// `log` is that of a run in which nothing was changed.
    pub fn of(log: &Log, objects: &Objects, junctions: &[Junction], settings: &Settings) -> Self {
        let parents = survey::parents(objects);
        let pairs = objects.items.iter().zip(&log.objects).zip(&parents);
        let thin = settings.profile.numbers.overlap_act_below_mm;
        Self {
            schema_version: SCHEMA_VERSION,
            tool: log.tool.clone(),
            settings: log.settings.clone(),
            input: log.input.clone(),
            tape: log.tape.before,
            sewing: log.sewing.before,
            stops: log.stop_order.iter().map(SurveyedStop::of).collect(),
            objects: pairs
                .map(|((object, line), parents)| SurveyedObject::of(object, line, parents))
                .collect(),
            unsure_share: round(log.unsure_share, 4),
            junctions: junctions.iter().map(|junction| JunctionLine::of(junction, thin)).collect(),
            findings: log.findings.before.clone(),
            cautions: log.cautions.clone(),
            warnings: log.warnings.clone(),
        }
    }
}

/// One stop of the tape.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SurveyedStop {
    /// Counted from 0.
    pub stop: u32,
    /// Thread as named by the caller or by the tape's header; inert text.
    pub thread: Option<String>,
    /// `#rrggbb` where it is known.
    pub colour: Option<String>,
    pub stitches: u32,
}

impl SurveyedStop {
    fn of(line: &super::StopLine) -> Self {
        Self {
            stop: line.stop,
            thread: line.thread.clone(),
            colour: line.colour.clone(),
            stitches: line.stitches,
        }
    }
}

/// Each line that `crownmend survey --json` prints.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum SurveyReport {
    Survey(Box<Survey>),
    Refusal(Refusal),
}

/// The JSON Schema of [`SurveyReport`], as published in `src/report/survey.schema.json`.
///
/// # Errors
/// Fails only if the schema cannot be written as JSON, which does not happen.
pub fn json_schema() -> serde_json::Result<String> {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(SurveyReport))?;
    text.push('\n');
    Ok(text)
}
