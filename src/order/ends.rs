//! The ends of an object: ties at cuts, travel that leads to neighbours.

use geo::Coord;

use super::touch::lead_in;
use crate::design::{Link, Pt};
use crate::geometry::polyline::{distance, lerp};
use crate::objects::{Label, Needle, Object, Part};

/// Needle points looked at to find a place for a tie: the tie stays in the first crossings.
const TIE_SEARCH: usize = 12;
/// Share of a tie stitch under which there is no room for one.
const TIE_LEAST: f64 = 0.5;

/// Takes away the travel that leads here from the object before. Returns the needle points gone.
pub fn drop_lead_in(object: &mut Object) -> usize {
    let parts = lead_in(object).unwrap_or(0);
    count(object.parts.drain(..parts))
}

/// Takes away the travel that leads on from the object. Returns the needle points gone.
pub fn drop_lead_out(object: &mut Object) -> usize {
    drop_trailing(object, Label::Travel)
}

/// Takes away a tie-in. Returns the needle points gone.
pub fn drop_tie_in(object: &mut Object) -> usize {
    let parts = run_of(object.parts.iter(), Label::Tie);
    count(object.parts.drain(..parts))
}

/// Takes away a tie-off. Returns the needle points gone.
pub fn drop_tie_off(object: &mut Object) -> usize {
    drop_trailing(object, Label::Tie)
}

fn drop_trailing(object: &mut Object, label: Label) -> usize {
    let parts = run_of(object.parts.iter().rev(), label);
    let kept = object.parts.len() - parts;
    count(object.parts.drain(kept..))
}

/// How many parts of a label come first; 0 if there is nothing else, for something must stay.
fn run_of<'a>(parts: impl ExactSizeIterator<Item = &'a Part>, label: Label) -> usize {
    let all = parts.len();
    let run = parts.take_while(|part| part.label == label).count();
    if run == all { 0 } else { run }
}

fn count(parts: impl Iterator<Item = Part>) -> usize {
    parts.map(|part| part.needles.len()).sum()
}

/// Puts a tie before the first needle point, along the object's own first stitches: three
/// stitches there and back. Nothing if there is a tie or no room. Returns the needle points added.
pub fn tie_in(object: &mut Object, stitch_mm: f64) -> usize {
    if object.parts.first().is_none_or(|part| part.label == Label::Tie) {
        return 0;
    }
    let along: Vec<Coord<f64>> =
        object.needles().take(TIE_SEARCH).map(|(_, needle)| needle.at.mm()).collect();
    let Some(needles) = tie(&along, stitch_mm) else { return 0 };
    let count = needles.len();
    let link = object.parts[0].link;
    object.parts[0].link = Link::Sewn;
    object.parts.insert(0, Part { label: Label::Tie, link, needles });
    count
}

/// Puts a tie after the last needle point, along the object's own last stitches: three stitches
/// back and forth. Nothing if there is a tie or no room. Returns the needle points added.
pub fn tie_off(object: &mut Object, stitch_mm: f64) -> usize {
    if object.parts.last().is_none_or(|part| part.label == Label::Tie) {
        return 0;
    }
    let along: Vec<Coord<f64>> =
        object.needles().rev().take(TIE_SEARCH).map(|(_, needle)| needle.at.mm()).collect();
    let Some(needles) = tie(&along, stitch_mm) else { return 0 };
    let count = needles.len();
    object.parts.push(Part { label: Label::Tie, link: Link::Sewn, needles });
    count
}

/// The three needle points of a tie at the first of some needle points: out towards the first one
/// that is a tie stitch away (or as far as they go), back, and out again.
fn tie(along: &[Coord<f64>], stitch_mm: f64) -> Option<Vec<Needle>> {
    let at = *along.first()?;
    let far = |point: &&Coord<f64>| distance(at, **point) >= stitch_mm;
    let farthest = || along.iter().max_by(|a, b| distance(at, **a).total_cmp(&distance(at, **b)));
    let towards = *along.iter().find(far).or_else(farthest)?;
    let reach = distance(at, towards).min(stitch_mm);
    if reach < stitch_mm * TIE_LEAST {
        return None;
    }
    let out = Pt::from_mm(lerp(at, towards, reach / distance(at, towards)));
    Some([out, Pt::from_mm(at), out].map(Needle::new).to_vec())
}
