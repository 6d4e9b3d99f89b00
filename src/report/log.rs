//! The change log: everything one run found, did and proved, as versioned JSON.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::thread::{self, Thread};
use super::{Change, ObjectLine, Proof, Sewing, TapeFacts};
use crate::passes::Left;
use crate::settings::{Brim, PassName, Seam, Settings, StopRule};
use crate::survey::{Finding, Severity};
use crate::tape::inert;

/// Raised whenever a reader of older logs would misread a newer one.
pub const SCHEMA_VERSION: u32 = 1;

/// The same thing of the tape that came in and of the tape that goes out.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct BeforeAfter<T> {
    pub before: T,
    pub after: T,
}

/// The program that wrote a log.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Tool {
    pub name: String,
    pub version: String,
}

impl Tool {
    pub fn this() -> Self {
        Self {
            name: env!("CARGO_PKG_NAME").to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
        }
    }
}

/// One tape, told apart from all others by its hash.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct FileFacts {
    /// File name without its folder; the library does not know it, the command line fills it in.
    pub name: Option<String>,
    /// SHA-256 of all bytes, lower-case hexadecimal.
    pub sha256: String,
    pub bytes: u64,
}

impl FileFacts {
    pub fn of(bytes: &[u8]) -> Self {
        Self { name: None, sha256: super::sha256_hex(bytes), bytes: bytes.len() as u64 }
    }
}

/// How a run ended for one tape.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// No faults; the bytes are those that came in.
    Sound,
    /// Every fault was repaired.
    Mended,
    /// Faults are left that no pass could repair, or too much of the tape was not understood.
    /// What could be repaired has been.
    NeedsEyes,
}

/// The choices that were in force.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct InForce {
    pub garment: String,
    /// x of the centre seam, mm from the start point; none where there is no seam.
    pub seam_x_mm: Option<f64>,
    /// The seam was given by the caller, not taken from the start point.
    pub seam_given: bool,
    pub brim: Brim,
    pub stops: StopRule,
    pub passes: Vec<PassName>,
    /// Thread of each stop as the caller gave it.
    pub colours: Option<Vec<String>>,
    pub salvage: bool,
    /// Every number of the garment profile; units and sources: `crownmend garments --explain`.
    pub numbers: BTreeMap<String, f64>,
}

impl InForce {
    pub fn of(settings: &Settings) -> Self {
        let entries = settings.profile.entries.iter();
        Self {
            garment: settings.profile.name.clone(),
            seam_x_mm: settings.seam_x(),
            seam_given: settings.seam != Seam::Start,
            brim: settings.brim,
            stops: settings.stops,
            passes: settings.passes.iter().copied().collect(),
            colours: settings.colours.clone(),
            salvage: settings.salvage,
            numbers: entries.map(|(name, entry)| (name.clone(), entry.value)).collect(),
        }
    }
}

/// One stop of the tape that goes out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct StopLine {
    /// Place in the new order, counted from 0.
    pub stop: u32,
    /// Stop of the tape that came in whose thread this is, counted from 0.
    pub was: u32,
    /// Thread as named by the caller or by the tape's header; inert text.
    pub thread: Option<String>,
    /// `#rrggbb` where it is known.
    pub colour: Option<String>,
    pub stitches: u32,
}

impl StopLine {
    /// `thread` as people write it: a name, `#rrggbb`, or both.
    pub fn new(stop: u32, was: u32, stitches: u32, thread: Option<&str>) -> Self {
        let Thread { name, colour } = thread.map(Thread::parse).unwrap_or_default();
        let name = name.map(|name| inert(name.as_bytes()));
        Self { stop, was, thread: name, colour: colour.map(thread::hex), stitches }
    }
}

/// A change that the proof took back.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Undone {
    /// The change's `id`.
    pub change: String,
    /// What would have been worse than before.
    pub reason: String,
}

/// Everything one run found, did and proved.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Log {
    pub schema_version: u32,
    pub tool: Tool,
    pub settings: InForce,
    pub input: FileFacts,
    /// Equal hashes mean that nothing was changed.
    pub output: FileFacts,
    pub result: State,
    pub tape: BeforeAfter<TapeFacts>,
    /// Objects recognised in the tape that came in, in sewing order.
    pub objects: Vec<ObjectLine>,
    /// Share of stitches (0 to 1) that were not understood and pass through untouched.
    pub unsure_share: f64,
    pub findings: BeforeAfter<Vec<Finding>>,
    /// Changes that stand, in the order in which they were made.
    pub changes: Vec<Change>,
    /// What a pass would have repaired but could not, and why.
    pub left: Vec<Left>,
    /// What stays just short of the full measure, too little for a pass to act on.
    #[serde(default)]
    pub short: Vec<Left>,
    /// Changes that the proof took back.
    pub undone: Vec<Undone>,
    /// None where nothing was changed, so that there was nothing to judge.
    pub proof: Option<Proof>,
    /// Stops of the tape that goes out, in their order.
    pub stop_order: Vec<StopLine>,
    /// Stops that finishing each element in all its colours would add, where `stops` is `keep`.
    pub stops_added_if_element: Option<u32>,
    pub sewing: BeforeAfter<Sewing>,
    /// What a person should mind before sewing.
    pub cautions: Vec<String>,
    /// Oddities of the tape that came in (a wrong header, what a salvage dropped).
    pub warnings: Vec<String>,
}

impl Log {
    /// Did the tape keep every byte?
    pub fn unchanged(&self) -> bool {
        self.input.sha256 == self.output.sha256
    }

    /// Faults (advice left out) in the tape that came in.
    pub fn faults_before(&self) -> usize {
        faults(&self.findings.before)
    }

    /// Faults (advice left out) in the tape that goes out.
    pub fn faults_after(&self) -> usize {
        faults(&self.findings.after)
    }

    /// Are the stops sewn in another order than before, or in other numbers?
    pub fn stops_reordered(&self) -> bool {
        self.stop_order.iter().any(|line| line.stop != line.was)
            || self.tape.before.stops != self.tape.after.stops
    }

    /// The log as it stands in a file: indented JSON and a final line feed.
    ///
    /// # Errors
    /// Fails only if a value cannot be written as JSON, which none of these types allows.
    pub fn to_json(&self) -> serde_json::Result<String> {
        let mut text = serde_json::to_string_pretty(self)?;
        text.push('\n');
        Ok(text)
    }
}

fn faults(findings: &[Finding]) -> usize {
    findings.iter().filter(|finding| finding.severity == Severity::Fault).count()
}

/// A tape that could not be read or worked on: takes the place of its log in `--json` output.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Refusal {
    pub schema_version: u32,
    pub tool: Tool,
    /// The file as it was named.
    pub name: String,
    pub result: Refused,
    /// Place and remedy, in words.
    pub reason: String,
}

/// The one result of a refusal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Refused {
    Refused,
}

/// What `NAME.changes.json` holds (always a log), and each line that `--json` prints.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Report {
    Log(Box<Log>),
    Refusal(Refusal),
}

/// The JSON Schema of [`Report`], as published in `src/report/changes.schema.json`.
///
/// # Errors
/// Fails only if the schema cannot be written as JSON, which does not happen.
pub fn json_schema() -> serde_json::Result<String> {
    let mut text = serde_json::to_string_pretty(&schemars::schema_for!(Report))?;
    text.push('\n');
    Ok(text)
}
