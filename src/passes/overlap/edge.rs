//! The needle points that make up an object's edges, each with the way its thread comes from.

use geo::Coord;

use crate::geometry::vector::{direction, distance, dot, middle, unit};
use crate::objects::{Class, Fill, Needle, Object, Satin, Shape, Side};

/// A needle point on an edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeNeedle {
    /// Index among the object's top needles.
    pub index: usize,
    pub at: Coord<f64>,
    /// Unit vector out of the object, along the crossing or row that ends here.
    pub axis: Coord<f64>,
}

/// Needle points along one edge, in order: neighbours bound a strip of the object.
pub type Chain = Vec<EdgeNeedle>;

/// Rows further apart than this many pitches are not neighbours (J).
const ROW_STEP: f64 = 2.6;

/// Nor are rows whose ends are shifted by more than this, mm (J).
const SHIFT_MM: f64 = 4.0;

/// Axes are averaged over so many needle points to either side.
const SMOOTH_STEPS: usize = 3;

/// Axes are averaged over needle points this near, mm, and this much alike: corners stay.
const SMOOTH_MM: f64 = 1.5;
const SMOOTH_COS: f64 = 0.97;

/// The edges of a satin (its rails) or a fill (its row ends), cut where neighbours part.
pub fn chains(object: &Object, top: &[Needle]) -> Vec<Chain> {
    match &object.shape {
        Shape::Satin(satin) => satin_chains(satin, top),
        Shape::Fill(fill) => fill_chains(fill, object.class, top),
        _ => Vec::new(),
    }
}

fn satin_chains(satin: &Satin, top: &[Needle]) -> Vec<Chain> {
    let opposite = |i: usize, indices: &mut dyn Iterator<Item = usize>| {
        let wanted = other(satin.sides[i]);
        // A few inner points and doubled ones may lie in between.
        indices.take(6).find(|k| satin.sides.get(*k) == Some(&wanted)).map(|k| top[k].at.mm())
    };
    let count = top.len().min(satin.sides.len());
    [Side::Left, Side::Right]
        .map(|side| {
            (0..count)
                .filter(|i| satin.sides[*i] == side)
                .filter_map(|i| {
                    let at = top[i].at.mm();
                    let before = opposite(i, &mut (0..i).rev());
                    let after = opposite(i, &mut (i + 1..count));
                    let from = match (before, after) {
                        (Some(a), Some(b)) => middle(a, b),
                        (a, b) => a.or(b)?,
                    };
                    let axis = unit(at - from);
                    (axis != Coord::zero()).then_some(EdgeNeedle { index: i, at, axis })
                })
                .collect()
        })
        .map(|chain: Chain| smoothed(&chain, satin.closed))
        .into()
}

/// Axes averaged over neighbours: needle points are rounded to the grid, and longer crossings
/// would show it at their ends.
fn smoothed(chain: &[EdgeNeedle], closed: bool) -> Chain {
    let count = chain.len();
    let axis = |i: usize| {
        let own = chain[i];
        // Round a ring the doubled needle points where it closes get the same axis.
        let near = (i + count - SMOOTH_STEPS.min(count)..=i + count + SMOOTH_STEPS)
            .filter(|k| closed || (count..2 * count).contains(k))
            .map(|k| chain[k % count]);
        let alike = near
            .filter(|n| distance(n.at, own.at) <= SMOOTH_MM && dot(n.axis, own.axis) >= SMOOTH_COS);
        unit(alike.fold(Coord::zero(), |sum, n| sum + n.axis))
    };
    (0..count).map(|i| EdgeNeedle { axis: axis(i), ..chain[i] }).collect()
}

fn other(side: Side) -> Side {
    match side {
        Side::Left => Side::Right,
        Side::Right => Side::Left,
        Side::Inner => Side::Inner,
    }
}

fn fill_chains(fill: &Fill, class: Class, top: &[Needle]) -> Vec<Chain> {
    let along = direction(fill.angle);
    // Ends of the rows in order, at the far end of the row direction and at the near one.
    let mut chains: [Vec<Chain>; 2] = [Vec::new(), Vec::new()];
    for &(first, last) in &fill.rows {
        let (first, last) = (first as usize, last as usize);
        let (Some(a), Some(b)) = (top.get(first), top.get(last)) else { continue };
        let (a, b) = (a.at.mm(), b.at.mm());
        let forward = dot(b - a, along) >= 0.0;
        for (index, end, start) in [(first, a, b), (last, b, a)] {
            let axis = if class == Class::CurvedFill {
                let inner = if index == first { first + 1 } else { last.saturating_sub(1) };
                top.get(inner).map_or(unit(end - start), |n| unit(end - n.at.mm()))
            } else if (index == last) == forward {
                along
            } else {
                along * -1.0
            };
            let side = usize::from((index == last) != forward);
            push(&mut chains[side], EdgeNeedle { index, at: end, axis }, fill, class);
        }
    }
    chains.into_iter().flatten().filter(|chain| !chain.is_empty()).collect()
}

/// Adds a row end to the chain that it continues, or begins a new one.
fn push(chains: &mut Vec<Chain>, needle: EdgeNeedle, fill: &Fill, class: Class) {
    if let Some(chain) = chains.last_mut()
        && let Some(last) = chain.last()
    {
        if last.index == needle.index {
            return;
        }
        let step = needle.at - last.at;
        let sideways = dot(step, needle.axis);
        let across = step - needle.axis * sideways;
        let apart = dot(across, across).sqrt();
        let bent = class == Class::CurvedFill && distance(needle.at, last.at) <= 2.0;
        let neighbour = apart <= ROW_STEP * fill.row_pitch.max(0.1) && sideways.abs() <= SHIFT_MM;
        if neighbour || bent {
            chain.push(needle);
            return;
        }
    }
    chains.push(vec![needle]);
}
