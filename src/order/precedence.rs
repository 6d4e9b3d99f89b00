//! What every sewing order must respect.

use super::pairs::Pairs;
use super::touch::{lead_in, near_pairs};
use crate::objects::{Class, Object, Objects};
use crate::settings::{PassName, Settings};

/// The fixed parts of an order, by place in the present one.
///
/// | rule | kept as |
/// |---|---|
/// | objects that overlap, touch or nearly touch keep their order: layers never flip | `keeps_order` |
/// | guards and stand-alone underlay come before all they support | `keeps_order` |
/// | nothing passes an unsure stretch within 1 mm | `keeps_order` |
/// | nothing passes a held object, or one that a person or the gate has fixed | `region` |
/// | an object that may get no tie stays with the neighbour it hangs on by a thread | `hangs_on` |
#[derive(Clone, Debug)]
pub struct Precedence {
    near: Pairs,
    /// Objects of different regions keep their order.
    region: Vec<u32>,
    /// The object stays directly after the one before it.
    hangs_on: Vec<bool>,
}

impl Precedence {
    pub fn new(objects: &Objects, settings: &Settings) -> Self {
        let numbers = &settings.profile.numbers;
        let items = &objects.items;
        let reach = |a: &Object, b: &Object| {
            let unsure = a.class == Class::Unsure || b.class == Class::Unsure;
            let barrier = if unsure { numbers.order_unsure_barrier_mm } else { 0.0 };
            barrier.max(2.0 * numbers.order_grow_mm)
        };
        let mut region = Vec::with_capacity(items.len());
        let mut current = 0;
        for object in items {
            if is_fixed(object, settings) {
                region.push(current + 1);
                current += 2;
            } else {
                region.push(current);
            }
        }
        let hangs_on = (0..items.len()).map(|at| hangs_on(items, at, settings)).collect();
        Self { near: near_pairs(items, reach), region, hangs_on }
    }

    /// Must the objects at these places keep their order?
    pub fn keeps_order(&self, a: usize, b: usize) -> bool {
        self.divided(a, b) || self.near.has(a, b)
    }

    /// Can nothing pass from one of these places to the other?
    pub fn divided(&self, a: usize, b: usize) -> bool {
        self.region[a] != self.region[b]
    }

    /// Must the object at this place stay directly after the one before it?
    pub fn hangs_on(&self, at: usize) -> bool {
        self.hangs_on[at]
    }
}

/// Nothing crosses this object.
fn is_fixed(object: &Object, settings: &Settings) -> bool {
    object.held || !settings.allows(PassName::Sequence, object.id)
}

/// May the pass put ties and links at the ends of this object?
pub fn may_be_cut(object: &Object, settings: &Settings) -> bool {
    object.class != Class::Unsure && !is_fixed(object, settings)
}

fn hangs_on(items: &[Object], at: usize, settings: &Settings) -> bool {
    let Some(before) = at.checked_sub(1).map(|before| &items[before]) else { return false };
    lead_in(&items[at]).is_some()
        && items[at].stop == before.stop
        && !(may_be_cut(before, settings) && may_be_cut(&items[at], settings))
}
