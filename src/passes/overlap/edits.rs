//! Changes to an object's top needles, collected by needle and carried out in one go.

use geo::{Coord, MultiPolygon};

use crate::design::Pt;
use crate::geometry::vector::{distance, middle};
use crate::objects::{Needle, Object, Satin, Shape, Side};
use crate::passes::parts::SHORTEST;

/// A new needle point.
#[derive(Clone, Copy, Debug)]
pub struct Stitch {
    pub at: Coord<f64>,
    /// Which rail of a satin it lies on.
    pub side: Side,
    pub mark: Mark,
}

/// What a needle point means for a fill's rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    Plain,
    /// The new end of the row that ended at the old needle point.
    Tip,
    /// End of an added row, which begins at the needle point before it or at the last such end.
    AddedRow,
    /// An added row begins here, after a way on which nothing is sewn.
    RowBegin,
}

impl Stitch {
    pub fn plain(at: Coord<f64>) -> Self {
        Self { at, side: Side::Inner, mark: Mark::Plain }
    }

    pub fn tip(at: Coord<f64>, side: Side) -> Self {
        Self { at, side, mark: Mark::Tip }
    }
}

/// What happens at one old needle point.
#[derive(Clone, Debug, Default)]
pub struct Edit {
    /// New needle points before it.
    pub lead: Vec<Stitch>,
    /// Where it moves to.
    pub moved: Option<Coord<f64>>,
    /// It stays, but another needle point takes its place on the rail.
    pub replaced: bool,
    /// It is left out of the rail: a short stitch.
    pub short: bool,
    /// New needle points after it.
    pub trail: Vec<Stitch>,
}

/// One edit per top needle.
pub struct Edits {
    pub of: Vec<Edit>,
}

/// A needle of the result and where it stands in the old order.
struct Emitted {
    needle: Needle,
    side: Side,
    mark: Mark,
    /// Index of the old needle that it belongs to, and whether it is that needle.
    old: usize,
    is_old: bool,
    /// Where it was, if it is an old one.
    was: Option<Pt>,
}

impl Emitted {
    fn is_changed(&self) -> bool {
        self.was != Some(self.needle.at)
    }
}

impl Edits {
    pub fn none(count: usize) -> Self {
        Self { of: vec![Edit::default(); count] }
    }

    /// Where the row or crossing that ended at this needle point ends now.
    pub fn tip(&self, index: usize, at: Coord<f64>) -> Coord<f64> {
        let Some(edit) = self.of.get(index) else { return at };
        let tip = edit.lead.iter().chain(&edit.trail).find(|s| s.mark == Mark::Tip);
        edit.moved.or(tip.map(|s| s.at)).unwrap_or(at)
    }

    /// The object after the edits, with its sides, rails, widths and rows brought up to date.
    pub fn apply(&self, object: &Object, footprint: MultiPolygon<f64>) -> Object {
        let mut changed = object.clone();
        let mut emitted: Vec<Emitted> = Vec::new();
        let mut old = 0;
        let mut parts = Vec::new();
        for part in changed.parts.iter_mut().filter(|part| Object::is_top(part.label)) {
            let from = emitted.len();
            for needle in std::mem::take(&mut part.needles) {
                self.emit(object, old, needle, &mut emitted);
                old += 1;
            }
            parts.push((part, from..emitted.len()));
        }
        unmove_crowded(&mut emitted);
        let stays = without_short(&emitted, object.satin().is_some());
        for (part, range) in parts {
            let kept = range.filter(|i| stays[*i] == *i);
            part.needles = kept.map(|i| emitted[i].needle).collect();
        }
        match &mut changed.shape {
            Shape::Satin(satin) => {
                let kept = emitted.into_iter().enumerate().filter(|(i, _)| stays[*i] == *i);
                update_satin(satin, &kept.map(|(_, e)| e).collect::<Vec<_>>());
            }
            Shape::Fill(fill) => fill.rows = renumbered(new_rows(&fill.rows, &emitted), &stays),
            _ => {}
        }
        changed.footprint = footprint.into();
        changed
    }

    fn emit(&self, object: &Object, old: usize, needle: Needle, into: &mut Vec<Emitted>) {
        let Some(edit) = self.of.get(old) else { return };
        let side = object.satin().and_then(|s| s.sides.get(old)).copied().unwrap_or(Side::Inner);
        let added = |stitch: &Stitch| Emitted {
            needle: Needle::new(Pt::from_mm(stitch.at)),
            side: stitch.side,
            mark: stitch.mark,
            old,
            is_old: false,
            was: None,
        };
        into.extend(edit.lead.iter().map(added));
        let at = edit.moved.map_or(needle.at, Pt::from_mm);
        let off_rail = edit.replaced || edit.short;
        into.push(Emitted {
            needle: Needle { at, origin: needle.origin },
            side: if off_rail { Side::Inner } else { side },
            mark: Mark::Plain,
            old,
            is_old: true,
            was: Some(needle.at),
        });
        into.extend(edit.trail.iter().map(added));
    }
}

/// Ends of two rows that would come too near to each other: one stays where it was, if that helps.
fn unmove_crowded(emitted: &mut [Emitted]) {
    for i in 1..emitted.len() {
        let (a, b) = (emitted[i - 1].needle.at, emitted[i].needle.at);
        let both_old = emitted[i - 1].is_old && emitted[i].is_old;
        if !both_old || a.distance(b) >= SHORTEST {
            continue;
        }
        let own = |k: usize| emitted[k].was.filter(|was| *was != emitted[k].needle.at);
        let before = i.checked_sub(2).map(|k| emitted[k].needle.at);
        if let Some(was) = own(i).filter(|was| was.distance(a) >= SHORTEST) {
            emitted[i].needle.at = was;
        } else if let Some(was) = own(i - 1)
            && was.distance(b) >= SHORTEST
            && before.is_none_or(|before| was.distance(before) >= SHORTEST)
        {
            emitted[i - 1].needle.at = was;
        }
    }
}

/// For each needle the one that stands for it: itself, or a neighbour that it came too near to by
/// being moved or added.
fn without_short(emitted: &[Emitted], keeps_doubled: bool) -> Vec<usize> {
    let mut stays: Vec<usize> = (0..emitted.len()).collect();
    let mut kept: Vec<usize> = Vec::new();
    for i in 0..emitted.len() {
        while let Some(last) = kept.last().copied() {
            let (a, b) = (&emitted[last], &emitted[i]);
            let near = |a: Pt, b: Pt| a.distance(b) < SHORTEST;
            // Where a ring closes, doubled needle points stay doubled.
            let was_near = keeps_doubled && a.was.zip(b.was).is_some_and(|(a, b)| near(a, b));
            if !near(a.needle.at, b.needle.at) || was_near {
                break;
            }
            if b.is_changed() {
                stays[i] = last;
                break;
            }
            if !a.is_changed() || kept.len() == 1 {
                break;
            }
            stays[last] = i;
            kept.pop();
        }
        if stays[i] == i {
            kept.push(i);
        }
    }
    for i in 0..stays.len() {
        let mut at = stays[i];
        while stays[at] != at {
            at = stays[at];
        }
        stays[i] = at;
    }
    stays
}

/// Rows in terms of the needles that stay.
fn renumbered(rows: Vec<(u32, u32)>, stays: &[usize]) -> Vec<(u32, u32)> {
    let mut place = vec![0_u32; stays.len()];
    let mut count = 0;
    for (i, stands) in stays.iter().enumerate() {
        if *stands == i {
            place[i] = count;
            count += 1;
        }
    }
    let at = |i: u32| stays.get(i as usize).map_or(0, |stands| place[*stands]);
    let rows = rows.into_iter().map(|(first, last)| (at(first), at(last)));
    rows.filter(|(first, last)| first < last).collect()
}

fn update_satin(satin: &mut Satin, emitted: &[Emitted]) {
    satin.sides = emitted.iter().map(|e| e.side).collect();
    satin.rails = [Side::Left, Side::Right]
        .map(|side| emitted.iter().filter(|e| e.side == side).map(|e| e.needle.at.mm()).collect());
    let on_rail: Vec<_> = emitted.iter().filter(|e| e.side != Side::Inner).collect();
    let mut widths: Vec<f64> = on_rail
        .windows(3)
        .filter(|w| w[0].side == w[2].side && w[0].side != w[1].side)
        .map(|w| distance(middle(w[0].needle.at.mm(), w[2].needle.at.mm()), w[1].needle.at.mm()))
        .collect();
    widths.sort_by(f64::total_cmp);
    if let Some(last) = widths.len().checked_sub(1) {
        satin.width = [0.05, 0.5, 0.95].map(|share| widths[(last as f64 * share).round() as usize]);
    }
}

/// Rows in terms of the new needle indices; added rows stand where they are sewn.
fn new_rows(rows: &[(u32, u32)], emitted: &[Emitted]) -> Vec<(u32, u32)> {
    let count = emitted.iter().map(|e| e.old + 1).max().unwrap_or(0);
    // New place of each old needle: its tip if there is one, else itself.
    let mut place = vec![0_u32; count];
    let mut tipped = vec![false; count];
    let mut added = Vec::new();
    let mut anchor = 0;
    for (i, item) in emitted.iter().enumerate() {
        let i = i as u32;
        match item.mark {
            Mark::AddedRow => {
                // The first of all needle points ends no row.
                if anchor < i {
                    added.push((anchor, i));
                }
                anchor = i;
                continue;
            }
            Mark::RowBegin => {}
            Mark::Tip => {
                place[item.old] = i;
                tipped[item.old] = true;
            }
            Mark::Plain if item.is_old && !tipped[item.old] => place[item.old] = i,
            Mark::Plain => continue,
        }
        anchor = i;
    }
    let at = |old: u32| place.get(old as usize).copied().unwrap_or(0);
    let mut new: Vec<_> = rows.iter().map(|(first, last)| (at(*first), at(*last))).collect();
    new.extend(added);
    new.sort_unstable();
    new
}
