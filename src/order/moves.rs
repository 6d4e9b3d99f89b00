//! What a new order moves, and why.

use std::ops::Range;

use super::cost::{Cost, Model};
use super::rules::chunks;
use crate::objects::{Object, ObjectId};

/// The rule of the trade that a move follows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reason {
    /// Sew bottom to top.
    BottomUp,
    /// Sew from the centre outward.
    CentreOut,
    /// Finish each element before moving on.
    Element,
}

/// An object, or all objects of a stop, that changes its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    pub objects: Vec<ObjectId>,
    /// Old number of the stop, if it moves as a whole.
    pub stop: Option<u32>,
    /// Place before and after, counted from 0: among the stops, or among all objects.
    pub from: usize,
    pub to: usize,
    pub reason: Reason,
}

/// The fewest moves that lead from the present order to `order`: whole stops first, then single
/// objects.
pub fn moves(items: &[Object], model: &Model, order: &[usize]) -> Vec<Move> {
    let stops = chunks(items, |a, b| a.stop == b.stop);
    match stop_order(items, &stops, order) {
        Some(by_stop) => {
            let mut moves = stop_moves(items, model, order, &stops, &by_stop);
            // Inside a stop its own order counts, wherever the stop went.
            for stop in &stops {
                let inside: Vec<usize> =
                    order.iter().copied().filter(|at| stop.contains(at)).collect();
                moves.extend(object_moves(items, model, order, &inside));
            }
            moves
        }
        None => object_moves(items, model, order, order),
    }
}

/// The new order of whole stops; `None` if stops were torn apart.
fn stop_order(items: &[Object], stops: &[Range<usize>], order: &[usize]) -> Option<Vec<usize>> {
    let mut by_stop: Vec<usize> =
        order.iter().filter_map(|at| stops.iter().position(|stop| stop.contains(at))).collect();
    by_stop.dedup();
    (by_stop.len() == stops.len() && order.len() == items.len()).then_some(by_stop)
}

fn stop_moves(
    items: &[Object],
    model: &Model,
    order: &[usize],
    stops: &[Range<usize>],
    by_stop: &[usize],
) -> Vec<Move> {
    let moved =
        moved(by_stop, |stop| items[stops[stop].clone()].iter().map(Object::stitch_count).sum());
    let one = |(to, stop): (usize, usize)| Move {
        objects: stops[stop].clone().map(|at| items[at].id).collect(),
        stop: stops[stop].clone().next().map(|at| items[at].stop),
        from: stop,
        to,
        reason: reason(model, order, &stops[stop].clone().collect::<Vec<_>>()),
    };
    moved.into_iter().map(one).collect()
}

fn object_moves(items: &[Object], model: &Model, order: &[usize], inside: &[usize]) -> Vec<Move> {
    let one = |(_, at): (usize, usize)| Move {
        objects: vec![items[at].id],
        stop: None,
        from: at,
        to: order.iter().position(|other| *other == at).unwrap_or(at),
        reason: reason(model, order, &[at]),
    };
    moved(inside, |at| items[at].stitch_count()).into_iter().map(one).collect()
}

/// Numbers that are not part of the rising subsequence with the most stitches, with their new
/// place: the least that has to be picked up to make the new order from the old.
fn moved(order: &[usize], stitches: impl Fn(usize) -> usize) -> Vec<(usize, usize)> {
    let mut best: Vec<((usize, usize), Option<usize>)> = Vec::with_capacity(order.len());
    for (place, number) in order.iter().enumerate() {
        let before = (0..place).filter(|p| order[*p] < *number).max_by_key(|p| (best[*p].0, *p));
        let (sum, length) = before.map_or((0, 0), |p| best[p].0);
        best.push(((sum + stitches(*number), length + 1), before));
    }
    let mut stays = vec![false; order.len()];
    let mut place = (0..order.len()).max_by_key(|p| (best[*p].0, *p));
    while let Some(at) = place {
        stays[at] = true;
        place = best[at].1;
    }
    order.iter().copied().enumerate().filter(|(place, _)| !stays[*place]).collect()
}

/// The rule that a move follows: an object that comes to stand beside its element completes it,
/// else what gains most by these objects changing sides with all others.
fn reason(model: &Model, order: &[usize], moved: &[usize]) -> Reason {
    let mut rank = vec![0; order.len()];
    for (place, at) in order.iter().enumerate() {
        rank[*at] = place;
    }
    if let [only] = moved {
        let joins = |other: &usize| {
            model.element(*other) == model.element(*only) && other.abs_diff(*only) > 1
        };
        let beside = [rank[*only].checked_sub(1), rank[*only].checked_add(1)];
        if beside.into_iter().flatten().filter_map(|place| order.get(place)).any(joins) {
            return Reason::Element;
        }
    }
    let (mut below, mut outward) = (0.0, 0.0);
    for mine in moved {
        for other in (0..order.len()).filter(|other| !moved.contains(other)) {
            if (mine < &other) == (rank[*mine] < rank[other]) {
                continue;
            }
            let (first, second) = if *mine < other { (*mine, other) } else { (other, *mine) };
            let (old, new): (Cost, Cost) = (model.pair(first, second), model.pair(second, first));
            below += old.below - new.below;
            outward += old.outward - new.outward;
        }
    }
    if below >= outward { Reason::BottomUp } else { Reason::CentreOut }
}
