//! Which needle points may move, which must stay where they are, and where new ones go.

use geo::{Coord, MultiPolygon};

use super::clip::Growth;
use super::edge::Chain;
use super::edits::{Edits, Mark, Stitch};
use super::target::Target;
use crate::geometry::vector::{distance, unit};
use crate::objects::{Needle, Object, Shape, Side};
use crate::settings::Settings;
use crate::stitch::route::Router;
use crate::stitch::run::{RunStyle, run};

/// Rows made longer by up to this move their last needle point, mm (J); beyond it new ones are
/// put between.
const PLAIN_GROWTH_MM: f64 = 2.5;

/// Shortest new stitch under the cover, mm (J).
const HIDDEN_MIN_MM: f64 = 0.6;

/// The step from one row to the next is no longer than this, mm (J).
const STEP_MAX_MM: f64 = 2.5;

/// Links to added crossings are sewn in stitches up to this long, mm: as any link.
const LINK_MM: f64 = 3.0;
/// And stay this far inside the object where there is room, mm (J).
const WAY_INSIDE_MM: f64 = 0.3;

/// What surrounds a needle point at an edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Sewn on from one row or crossing to the next: it may move.
    Joined,
    /// The needle came here from elsewhere, or starts here: it stays, the new end comes after it.
    Begins,
    /// The needle goes elsewhere from here, or ends here: it stays, the new end comes before it.
    Ends,
}

/// Roles of an object's top needles.
pub struct Places {
    roles: Vec<Role>,
    /// Does a fill's row begin, and does one end, at the needle point?
    row_begins: Vec<bool>,
    row_ends: Vec<bool>,
}

impl Places {
    pub fn new(object: &Object, top: &[Needle]) -> Self {
        let count = top.len();
        let mut roles = vec![Role::Joined; count];
        let (mut row_begins, mut row_ends) = (vec![false; count], vec![false; count]);
        if let Shape::Fill(fill) = &object.shape {
            for &(first, last) in &fill.rows {
                row_begins.get_mut(first as usize).into_iter().for_each(|b| *b = true);
                row_ends.get_mut(last as usize).into_iter().for_each(|e| *e = true);
            }
            // Between sections the needle travels: its way must not change.
            for pair in fill.rows.windows(2) {
                let (end, begin) = (pair[0].1 as usize, pair[1].0 as usize);
                if begin < count && end < begin && !joined(object, top, end, begin) {
                    roles[end] = Role::Ends;
                    roles[begin] = Role::Begins;
                }
            }
        }
        let first_is_top = object.parts.first().is_some_and(|p| Object::is_top(p.label));
        let last_is_top = object.parts.last().is_some_and(|p| Object::is_top(p.label));
        if let Some(first) = roles.first_mut().filter(|_| first_is_top) {
            *first = Role::Begins;
        }
        if let Some(last) = roles.last_mut().filter(|_| last_is_top) {
            *last = Role::Ends;
        }
        Self { roles, row_begins, row_ends }
    }

    /// Turns growth into edits.
    pub fn move_edges(
        &self,
        object: &Object,
        top: &[Needle],
        (chains, growth, short): (&[Chain], &Growth, &[Vec<bool>]),
        target: &Target,
        settings: &Settings,
        edits: &mut Edits,
    ) {
        for (c, chain) in chains.iter().enumerate() {
            for (i, needle) in chain.iter().enumerate().filter(|(i, _)| growth[c][*i] > 0.0) {
                let grown = Grown {
                    index: needle.index,
                    at: needle.at,
                    axis: needle.axis,
                    by: growth[c][i],
                };
                match &object.shape {
                    Shape::Fill(fill) => self.move_row_end(&grown, top, fill.stitch, edits),
                    Shape::Satin(satin) => {
                        self.move_rail(&grown, satin.sides[needle.index], edits);
                        edits.of[needle.index].short = short[c][i];
                    }
                    _ => {}
                }
            }
        }
        if matches!(object.shape, Shape::Satin(_)) {
            split_long(top, target, settings, edits);
        }
    }

    fn move_rail(&self, grown: &Grown, side: Side, edits: &mut Edits) {
        let edit = &mut edits.of[grown.index];
        match self.roles[grown.index] {
            Role::Joined => edit.moved = Some(grown.tip()),
            Role::Begins => {
                edit.replaced = true;
                edit.trail.push(Stitch::tip(grown.tip(), side));
            }
            Role::Ends => {
                edit.replaced = true;
                edit.lead.push(Stitch::tip(grown.tip(), side));
            }
        }
    }

    fn move_row_end(&self, grown: &Grown, top: &[Needle], stitch: f64, edits: &mut Edits) {
        let index = grown.index;
        let (ends, begins) = (self.row_ends[index], self.row_begins[index]);
        let to_neighbour = |k: Option<usize>| {
            k.and_then(|k| top.get(k)).map_or(0.0, |n| distance(n.at.mm(), grown.at))
        };
        let before = if ends { to_neighbour(index.checked_sub(1)) } else { 0.0 };
        let after = if begins { to_neighbour(Some(index + 1)) } else { 0.0 };
        let tip = Stitch::tip(grown.tip(), Side::Inner);
        let out = grown.points(before, stitch, 0.0);
        let mut back = grown.points(after, stitch, stitch / 2.0);
        back.reverse();
        let edit = &mut edits.of[index];
        match self.roles[index] {
            Role::Joined => {
                edit.lead.extend(if ends { out } else { Vec::new() });
                edit.moved = Some(grown.tip());
                edit.trail.extend(if begins { back } else { Vec::new() });
            }
            Role::Begins => {
                edit.trail.extend(grown.points(0.0, stitch, 0.0));
                edit.trail.push(tip);
                edit.trail.extend(back);
            }
            Role::Ends => {
                edit.lead.extend(out);
                edit.lead.push(tip);
            }
        }
    }

    /// Puts added rows where the needle passes: after the needle point, or before it goes away.
    pub fn insert_rows(&self, index: usize, rows: &[Stitch], start: Coord<f64>, edits: &mut Edits) {
        let role = self.roles[index];
        let edit = &mut edits.of[index];
        let tip = |stitches: &[Stitch]| stitches.iter().position(|s| s.mark == Mark::Tip);
        let side =
            rows.iter().filter(|s| s.mark == Mark::AddedRow).nth(1).map_or(Side::Inner, |s| s.side);
        match (role, tip(&edit.lead), tip(&edit.trail)) {
            (Role::Ends, Some(_), _) => edit.lead.extend_from_slice(rows),
            (Role::Ends, None, _) => {
                edit.lead.push(Stitch::tip(start, side));
                edit.lead.extend_from_slice(rows);
                edit.replaced = true;
            }
            (_, _, Some(tip)) => {
                // Out to the new end, along the added rows, and back to it.
                let again = Stitch::plain(edit.trail[tip].at);
                let tail = edit.trail.split_off(tip + 1);
                edit.trail.extend_from_slice(rows);
                edit.trail.push(again);
                edit.trail.extend(tail);
            }
            _ => {
                let back = std::mem::take(&mut edit.trail);
                edit.trail.extend_from_slice(rows);
                edit.trail.push(Stitch::plain(start));
                edit.trail.extend(back);
            }
        }
    }
}

impl Places {
    /// Sews added rows or crossings before the first one, from the outermost inwards, so that the
    /// object simply begins further out. A longer way there stays within the footprint, grown by
    /// what is added.
    pub fn begin_with(
        &self,
        (object, grown): (&Object, &MultiPolygon<f64>),
        inwards: Vec<Stitch>,
        start: Coord<f64>,
        edits: &mut Edits,
    ) {
        let Some(outermost) = inwards.first() else { return };
        let before = object.parts.iter().take_while(|part| !Object::is_top(part.label));
        let before = before.flat_map(|part| &part.needles).last().map(|n| n.at.mm());
        let edit = &mut edits.of[0];
        let way = |from: Coord<f64>| {
            let straight = vec![from, outermost.at];
            let route = || Router::new(grown).route(from, outermost.at, WAY_INSIDE_MM);
            let is_short = distance(from, outermost.at) <= LINK_MM;
            let way = if is_short { straight } else { route().unwrap_or(straight) };
            let needles = run(&way, RunStyle::of(LINK_MM));
            let between = 1..needles.len().saturating_sub(1).max(1);
            needles[between].iter().map(|at| Stitch::plain(*at)).collect::<Vec<_>>()
        };
        match before {
            Some(from) => {
                edit.lead.splice(0..0, way(from).into_iter().chain(inwards.iter().copied()));
            }
            // The object's first needle stays where it is: the column begins after it.
            None => {
                let side = object.satin().and_then(|satin| satin.sides.first()).copied();
                let again = Stitch::tip(start, side.unwrap_or(Side::Inner));
                let trail = std::mem::take(&mut edit.trail);
                edit.replaced = true;
                edit.trail.extend(way(start).into_iter().chain(inwards.iter().copied()));
                if trail.is_empty() {
                    edit.trail.push(again);
                }
                edit.trail.extend(trail);
            }
        }
    }
}

/// Is one row joined to the next by a short step along the edge?
fn joined(object: &Object, top: &[Needle], end: usize, begin: usize) -> bool {
    let mut part_starts =
        object.parts.iter().filter(|p| Object::is_top(p.label)).scan(0, |at, p| {
            let start = *at;
            *at += p.needles.len();
            Some(start)
        });
    begin == end + 1
        && top[end].at.distance(top[begin].at) <= STEP_MAX_MM
        && !part_starts.any(|start| start == begin)
}

/// A needle point and how far it moves out.
struct Grown {
    index: usize,
    at: Coord<f64>,
    axis: Coord<f64>,
    by: f64,
}

impl Grown {
    fn tip(&self) -> Coord<f64> {
        self.at + self.axis * self.by
    }

    /// Needle points on the way out, where one stitch would be too long: `before` is the length
    /// of the stitch that ended at the old needle point.
    fn points(&self, before: f64, stitch: f64, shift: f64) -> Vec<Stitch> {
        if self.by <= PLAIN_GROWTH_MM && before + self.by <= 1.5 * stitch.max(4.0) {
            return Vec::new();
        }
        let first = (stitch - before + shift).clamp(HIDDEN_MIN_MM, stitch.max(HIDDEN_MIN_MM));
        (0..)
            .map(|k| first + f64::from(k) * stitch.max(1.0))
            .take_while(|d| *d <= self.by - 1.0)
            .map(|d| Stitch::plain(self.at + self.axis * d))
            .collect()
    }
}

/// Where a crossing got longer than a satin stitch should be, a needle point in its hidden part.
fn split_long(top: &[Needle], target: &Target, settings: &Settings, edits: &mut Edits) {
    let longest = settings.profile.numbers.satin_width_split_mm;
    for k in 1..top.len() {
        let (a, b) = (top[k - 1].at.mm(), top[k].at.mm());
        let (new_a, new_b) = (edits.of[k - 1].moved.unwrap_or(a), edits.of[k].moved.unwrap_or(b));
        let length = distance(new_a, new_b);
        if length <= longest || distance(a, b) > longest || (new_a == a && new_b == b) {
            continue;
        }
        let at_end = distance(b, new_b) >= distance(a, new_a);
        // The two crossings at one needle point get theirs in different places, where there is room.
        let least = (length - longest + 0.05).max(HIDDEN_MIN_MM);
        let further: &[f64] = if at_end { &[0.0] } else { &[0.2, 0.1, 0.0] };
        let (tip, from) = if at_end { (new_b, new_a) } else { (new_a, new_b) };
        let axis = unit(from - tip);
        let is_hidden = |back: &f64| {
            target.hidden(tip + axis * *back) && target.hidden(tip + axis * (back + 0.1))
        };
        if let Some(back) = further.iter().map(|by| least + by).find(is_hidden) {
            let split = Stitch::plain(tip + axis * back);
            if at_end { edits.of[k].lead.push(split) } else { edits.of[k - 1].trail.push(split) }
        }
    }
}
