//! A tape has no record for a trim: the machine cuts at a mark that files make in two forms.

use std::collections::BTreeMap;

use super::Pt;
use super::moves::needed;
use crate::tape::{Kind, Record};

/// Consecutive jumps that make a trim unless the shop sets its machines otherwise: common
/// practice, no published source.
pub const TRIM_JUMPS: u32 = 3;

/// Reach per axis of a marker jump in points: a pair like +13, -1 and back is a mark, a longer
/// jump there and back would be a move (J, from files measured).
const MARKER_REACH: i32 = 20;

/// Most jumps that a new trim copies from a file's habit (J).
const MOST_JUMPS: u32 = 10;

/// The form in which a file asks for trims.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TrimForm {
    /// Trims were not seen, or only where the way takes as many jumps anyway; new ones are
    /// written as [`TrimRule::jumps`] jumps.
    #[default]
    None,
    /// That many jumps in a row (the least seen on ways that need fewer), or more where the way
    /// is long.
    Jumps(u32),
    /// A pair of opposite jumps before the move; this is the first of the pair.
    Markers(Pt),
}

/// What counts as a trim in a file, and how to write one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TrimRule {
    /// Jumps in a row that make the machine cut.
    pub jumps: u32,
    pub form: TrimForm,
}

impl Default for TrimRule {
    fn default() -> Self {
        Self { jumps: TRIM_JUMPS, form: TrimForm::default() }
    }
}

impl TrimRule {
    /// Do the jumps of these records, which lead to one needle point, make the machine cut?
    pub fn is_trim(self, records: &[Record]) -> bool {
        jump_count(records) >= self.jumps || marker(records).is_some()
    }
}

/// The form of a file, from the records of each of its trims: markers if most trims have one, else
/// the least number of jumps where these are more than the way needs.
pub(super) fn form<'a>(trims: impl Iterator<Item = &'a [Record]>) -> TrimForm {
    let (mut markers, mut fewest, mut count) = (BTreeMap::new(), None, 0);
    for way in trims {
        count += 1;
        let jumps = jump_count(way);
        if let Some(marker) = marker(way) {
            *markers.entry(marker).or_insert(0_usize) += 1;
        } else if jumps > needed(jumped(way)) {
            fewest = Some(fewest.map_or(jumps, |fewest: u32| fewest.min(jumps)));
        }
    }
    let marked: usize = markers.values().sum();
    // The most frequent one; among equals the first in the order of coordinates.
    let common = markers.into_iter().rev().max_by_key(|(_, count)| *count);
    match (common, fewest) {
        (Some((marker, _)), _) if 2 * marked > count => TrimForm::Markers(marker),
        (_, Some(fewest)) => TrimForm::Jumps(fewest.min(MOST_JUMPS)),
        _ => TrimForm::None,
    }
}

/// Movement of the jumps among records.
fn jumped(records: &[Record]) -> Pt {
    let jumps = records.iter().filter(|record| record.kind() == Kind::Jump);
    jumps.fold(Pt::default(), |sum, jump| sum + jump.delta())
}

/// Number of jumps among records.
fn jump_count(records: &[Record]) -> u32 {
    let jumps = records.iter().filter(|record| record.kind() == Kind::Jump).count();
    u32::try_from(jumps).unwrap_or(u32::MAX)
}

/// First jump of the first marker pair among records.
fn marker(records: &[Record]) -> Option<Pt> {
    records.windows(2).find(|pair| is_marker(pair[0], pair[1])).map(|pair| pair[0].delta())
}

/// Is there a marker pair among records?
pub(super) fn is_marked(records: &[Record]) -> bool {
    marker(records).is_some()
}

/// Are these two neighbouring records a pair of tiny opposite jumps?
pub(super) fn is_marker(a: Record, b: Record) -> bool {
    let (there, back) = (a.delta(), b.delta());
    a.kind() == Kind::Jump
        && b.kind() == Kind::Jump
        && there != Pt::default()
        && there + back == Pt::default()
        && there.x.abs().max(there.y.abs()) <= MARKER_REACH
}
