//! Sewing order: what it costs, what it must respect, and the best one.

mod cost;
pub mod ends;
mod exact;
mod grid;
mod link;
mod moves;
mod pairs;
mod precedence;
pub mod problem;
mod rules;
mod search;
pub mod solve;
mod touch;

pub use cost::Cost;
pub use link::{Way, hidden_way};
pub use moves::{Move, Reason};
pub use precedence::may_be_cut;
pub use touch::lead_in;

use std::collections::BTreeMap;

use crate::design::Link;
use crate::objects::{Object, ObjectId, Objects};
use crate::settings::{Settings, StopRule};
use cost::Model;
use precedence::Precedence;
use rules::Givens;

/// Designs of more objects than this keep their order (J: pairs would take too long).
pub const MOST_OBJECTS: usize = 1500;

/// The best order for a design under its stop rule. [`Plan::is_identity`] tells whether it is the
/// present one.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// All objects in their new order.
    pub order: Vec<ObjectId>,
    /// Old stop number of every new stop. Under `StopRule::Element` one may stand here repeatedly.
    pub stop_permutation: Vec<u32>,
    /// What has to be moved to get there; empty if nothing is worth moving.
    pub moves: Vec<Move>,
    pub cost_before: Cost,
    pub cost_after: Cost,
    /// Seconds gained, and as a share of the cost before.
    pub gain: f64,
    pub gain_share: f64,
    /// No order that the rule allows costs less, s (travel between stops left out).
    pub bound: f64,
    /// Stops that finishing every element in all its colours would add.
    pub stops_added_if_element: u32,
}

impl Plan {
    pub fn is_identity(&self) -> bool {
        self.moves.is_empty()
    }
}

/// Steps after which an order counts as not settling.
const STEPS: usize = 6;

/// Finds the best order (design section 6, pass 5). Nothing moves unless the gain reaches
/// `order_gain_min_s`; no stop moves unless it also reaches the share `order_gain_min`. The order
/// found is its own best order; where none settles, nothing moves.
pub fn best_order(objects: &Objects, settings: &Settings) -> Plan {
    let first = step(objects, settings);
    let mut order = first.order.clone();
    let mut settled = first.is_identity();
    let mut steps = 1;
    while !settled && steps < STEPS {
        let (moved, own) = carried_out(objects, settings, &order);
        let next = step(&moved, &own);
        settled = next.is_identity();
        order = next.order;
        steps += 1;
    }
    if settled && steps <= 2 {
        return first;
    }
    // Moving is priced against the order at hand, so that each step may make room for another.
    let found = plan_for(objects, settings, &order);
    let kept: Vec<ObjectId> = objects.items.iter().map(|object| object.id).collect();
    let worth = found.gain >= settings.profile.numbers.order_gain_min_s;
    let mut plan = if settled && worth { found } else { plan_for(objects, settings, &kept) };
    plan.bound = first.bound.min(plan.cost_after.total());
    plan.stops_added_if_element = first.stops_added_if_element;
    plan
}

/// The objects in a new order, their stops numbered anew, and the settings that go with them. What
/// begins a stop now, or did, gets the link that this asks for; others keep theirs.
fn carried_out(objects: &Objects, settings: &Settings, order: &[ObjectId]) -> (Objects, Settings) {
    let places: BTreeMap<ObjectId, &Object> =
        objects.items.iter().map(|object| (object.id, object)).collect();
    let mut items: Vec<Object> = Vec::new();
    let mut old: Vec<u32> = Vec::new();
    let first = objects.items.first().map(|object| object.id);
    for object in order.iter().filter_map(|id| places.get(id)) {
        let mut object = (*object).clone();
        let goes_on = old.last() == Some(&object.stop);
        if let Some(part) = object.parts.first_mut() {
            part.link = match part.link {
                _ if old.is_empty() => Link::Jump,
                _ if !goes_on => Link::Stop,
                Link::Stop => Link::Trim,
                _ if Some(object.id) == first => Link::Trim,
                link => link,
            };
        }
        if !goes_on {
            old.push(object.stop);
        }
        object.stop = old.len() as u32 - 1;
        items.push(object);
    }
    let mut settings = settings.clone();
    settings.colours = settings.colours.map(|colours| {
        old.iter().map(|s| colours.get(*s as usize).cloned().unwrap_or_default()).collect()
    });
    (Objects { items, ways: objects.ways.clone() }, settings)
}

/// One step towards the best order: the best one as seen from the present one, which its own best
/// order need not be.
pub fn step(objects: &Objects, settings: &Settings) -> Plan {
    let items = &objects.items;
    let now: Vec<usize> = (0..items.len()).collect();
    let numbers = &settings.profile.numbers;
    let model = Model::new(objects, settings);
    if !can_be_planned(items) {
        return plan(items, &model, &now, Cost::default(), Cost::default(), 0.0);
    }
    let precedence = Precedence::new(objects, settings);
    let givens = Givens { items, model: &model, precedence: &precedence, numbers };
    let by_element = rules::element(&givens);
    let stops = |order: &[usize]| stops_of(items, order).len();
    let added = stops(&by_element.order).saturating_sub(stops(&now));
    let by_stop = settings.stops == StopRule::Keep;
    let before = model.cost(&now, by_stop);
    let found = match settings.stops {
        StopRule::Keep => rules::keep(&givens, numbers.order_gain_min * before.total()),
        StopRule::Element => by_element,
    };
    let after = model.cost(&found.order, by_stop);
    let mut plan = plan(items, &model, &found.order, before, after, found.open);
    plan.stops_added_if_element = u32::try_from(added).unwrap_or(u32::MAX);
    plan
}

/// The plan that leads to a given order, whatever it gains. Objects that the order does not name
/// are left out.
pub fn plan_for(objects: &Objects, settings: &Settings, order: &[ObjectId]) -> Plan {
    let items = &objects.items;
    let places: BTreeMap<ObjectId, usize> =
        items.iter().enumerate().map(|(at, object)| (object.id, at)).collect();
    let order: Vec<usize> = order.iter().filter_map(|id| places.get(id).copied()).collect();
    let now: Vec<usize> = (0..items.len()).collect();
    let model = Model::new(objects, settings);
    let by_stop = settings.stops == StopRule::Keep;
    let cost = |order: &[usize]| model.cost(order, by_stop);
    plan(items, &model, &order, cost(&now), cost(&order), 0.0)
}

/// Is this a design whose order can be changed at all? Stops must follow each other, every object
/// must have a needle point, and there must be areas: a line drawing moves no cloth.
fn can_be_planned(items: &[Object]) -> bool {
    items.len() <= MOST_OBJECTS
        && items.is_sorted_by_key(|object| object.stop)
        && items.iter().all(|object| object.first().is_some())
        && items.iter().any(|object| object.satin().is_some() || object.fill().is_some())
}

fn plan(
    items: &[Object],
    model: &Model,
    order: &[usize],
    before: Cost,
    after: Cost,
    open: f64,
) -> Plan {
    let gain = before.total() - after.total();
    Plan {
        order: order.iter().map(|at| items[*at].id).collect(),
        stop_permutation: stops_of(items, order),
        moves: moves::moves(items, model, order),
        cost_before: before,
        cost_after: after,
        gain,
        gain_share: if before.total() > 0.0 { gain / before.total() } else { 0.0 },
        bound: after.total() - open,
        stops_added_if_element: 0,
    }
}

/// Stop numbers in an order, neighbours of one stop together.
fn stops_of(items: &[Object], order: &[usize]) -> Vec<u32> {
    let mut stops: Vec<u32> = order.iter().map(|at| items[*at].stop).collect();
    stops.dedup();
    stops
}

#[cfg(test)]
mod link_tests;
#[cfg(test)]
mod plan_tests;
#[cfg(test)]
mod solve_tests;
