//! What can be seen: a picture in sewing order, of the original and of the mended tape.

use std::collections::BTreeMap;

use super::super::lines::{Lines, Stitch};
use super::super::plane::{Area, P, axis_angle, dist, nearest};
use super::super::world::{Ends, Piece, Sewing, ends};
use super::{Failure, Judged, Trial, Verdict};

const CELL: f64 = 0.1;
/// Half the width that a stitch line covers: "4 points = full cover with 40 wt" ("Density").
pub const RADIUS: f64 = 0.2;
/// New cover this near the old is the same cover, cells.
const GROWN: i32 = 3;
/// Cells that rounding may change, in patches too small to see.
const PATCH: usize = 4;
const TOLERANCE: usize = 5;
/// Share of the covered cells that may show another colour: what a step of the tape's grid moves.
const CHANGED: f64 = 0.005;
/// Longest visible link, mm.
const LINK: f64 = 3.0;
const BARE: u8 = u8::MAX;

/// Stop on top per cell.
pub struct Picture {
    low: P,
    across: i32,
    up: i32,
    cells: Vec<u8>,
}

impl Picture {
    pub fn new(stitches: &[Stitch], low: P, high: P) -> Self {
        let size = |axis: usize| ((high[axis] - low[axis]) / CELL).ceil() as i32 + 1;
        let (across, up) = (size(0), size(1));
        let mut out = Self { low, across, up, cells: vec![BARE; (across * up) as usize] };
        for s in stitches {
            out.draw(s);
        }
        out
    }

    fn draw(&mut self, s: &Stitch) {
        let stop = s.stop.min(usize::from(BARE) - 1) as u8;
        let index = |axis: usize, v: f64| ((v - self.low[axis]) / CELL) as i32;
        let span = |axis: usize, n: i32| {
            let first = index(axis, s.a[axis].min(s.b[axis]) - RADIUS).max(0);
            first..=index(axis, s.a[axis].max(s.b[axis]) + RADIUS + CELL).min(n - 1)
        };
        for y in span(1, self.up) {
            for x in span(0, self.across) {
                let p = self.centre(x, y);
                if dist(p, nearest(p, s.a, s.b)) <= RADIUS {
                    self.cells[(y * self.across + x) as usize] = stop;
                }
            }
        }
    }

    fn centre(&self, x: i32, y: i32) -> P {
        [self.low[0] + (f64::from(x) + 0.5) * CELL, self.low[1] + (f64::from(y) + 0.5) * CELL]
    }

    fn at(&self, x: i32, y: i32) -> u8 {
        let inside = (0..self.across).contains(&x) && (0..self.up).contains(&y);
        if inside { self.cells[(y * self.across + x) as usize] } else { BARE }
    }

    fn any_near(&self, x: i32, y: i32, by: i32, want: impl Fn(u8) -> bool) -> bool {
        (-by..=by).any(|dy| {
            (-by..=by).any(|dx| dx * dx + dy * dy <= by * by + 1 && want(self.at(x + dx, y + dy)))
        })
    }

    /// Cells that fulfil `bad`, in patches of joined cells, small patches left out.
    fn patches(&self, bad: impl Fn(i32, i32) -> bool) -> Vec<P> {
        let mut marked = vec![false; self.cells.len()];
        for y in 0..self.up {
            for x in 0..self.across {
                marked[(y * self.across + x) as usize] = bad(x, y);
            }
        }
        let mut out = Vec::new();
        for start in 0..marked.len() {
            if !marked[start] {
                continue;
            }
            marked[start] = false;
            let mut patch = vec![start as i32];
            let mut next = 0;
            while next < patch.len() {
                let (x, y) = (patch[next] % self.across, patch[next] / self.across);
                next += 1;
                for (nx, ny) in [(x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)] {
                    let cell = ny * self.across + nx;
                    let inside = (0..self.across).contains(&nx) && (0..self.up).contains(&ny);
                    if inside && std::mem::take(&mut marked[cell as usize]) {
                        patch.push(cell);
                    }
                }
            }
            if patch.len() >= PATCH {
                out.extend(patch.iter().map(|c| self.centre(c % self.across, c / self.across)));
            }
        }
        out
    }
}

pub fn judge(trial: &Trial) -> Vec<Verdict> {
    let (mut low, mut high) = ([0.0; 2], [0.0; 2]);
    let all = trial.world.original.stitches.iter().chain(&trial.out.stitches);
    for p in all.flat_map(|s| [s.a, s.b]) {
        for axis in 0..2 {
            low[axis] = f64::min(low[axis], p[axis] - 1.0);
            high[axis] = f64::max(high[axis], p[axis] + 1.0);
        }
    }
    let old = Picture::new(&trial.world.original.stitches, low, high);
    let new = Picture::new(&trial.out.stitches, low, high);
    let declared = Declared::new(trial);
    let newly = new.patches(|x, y| {
        new.at(x, y) != BARE && old.at(x, y) == BARE && !old.any_near(x, y, GROWN, |c| c != BARE)
    });
    let changed = |x: i32, y: i32| {
        let (was, is) = (old.at(x, y), new.at(x, y));
        was != is && was != BARE && !declared.covers(new.centre(x, y), was, is)
    };
    // Rounding moves an edge by up to one cell.
    let colour = new.patches(|x, y| changed(x, y) && !old.any_near(x, y, 1, |c| c == new.at(x, y)));
    vec![
        Verdict::rule("newly covered", cells(&newly, &new)),
        Verdict::rule("top colour", cells(&colour, &new)),
        Verdict::rule("colour share", share(&old, changed)),
        Verdict::rule("visible links", links(trial)),
    ]
}

/// Share of the covered cells that have another colour, every one of them.
fn share(old: &Picture, changed: impl Fn(i32, i32) -> bool) -> Judged {
    let all = (0..old.up).flat_map(|y| (0..old.across).map(move |x| (x, y)));
    let cells: Vec<(i32, i32)> = all.filter(|(x, y)| changed(*x, *y)).collect();
    let covered = old.cells.iter().filter(|stop| **stop != BARE).count();
    let share = cells.len() as f64 / covered.max(1) as f64;
    let text = format!("{:.3} % of {covered} cells", share * 100.0);
    match cells.get(cells.len() / 2) {
        Some((x, y)) if share >= CHANGED => Failure::at(old.centre(*x, *y), text, "< 0.5 %"),
        _ => Judged::Met(text),
    }
}

fn cells(bad: &[P], picture: &Picture) -> Judged {
    let text = format!("{} cells ({:.2} mm2)", bad.len(), bad.len() as f64 * CELL * CELL);
    if bad.len() <= TOLERANCE {
        return Judged::Met(text);
    }
    let p = bad[bad.len() / 2];
    let index = |axis: usize| ((p[axis] - picture.low[axis]) / CELL) as i32;
    let text = format!("{text}, here stop {}", picture.at(index(0), index(1)));
    Failure::at(p, text, &format!("<= {TOLERANCE} cells of {CELL} mm in patches of {PATCH}"))
}

/// What is declared to look different: a fill that is turned within its own thread, and at its edges,
/// where rows end in other places; a thin column on the seam that is made wider at its edges.
struct Declared<'a> {
    fills: Vec<(u8, &'a Area)>,
    columns: Vec<(u8, &'a Area)>,
}

impl<'a> Declared<'a> {
    fn new(trial: &'a Trial) -> Self {
        let of = |kind: &str| {
            let faults = trial.world.faults.iter().filter(|f| f.kind == kind);
            let pieces = faults.map(|f| trial.piece(trial.world.piece(&f.objects[0])));
            pieces.map(|p| (p.stop as u8, &p.area)).collect()
        };
        Self { fills: of("upright fill"), columns: of("thin detail on the seam") }
    }

    fn covers(&self, p: P, was: u8, is: u8) -> bool {
        /// What a row of the fill itself covers beyond its outline, mm; and half of 0.3 mm more width
        /// with half a thread ("off by default where it would change the look by more than 0.3 mm": the
        /// design), or as much pull compensation.
        const OWN: f64 = 0.45;
        const EDGE: f64 = 0.35;
        let at_edge = |area: &Area| area.reaches(p, EDGE) && !area.holds(p, EDGE);
        let turned = |(stop, area): &(u8, &Area)| {
            let own = |c: u8| c == *stop || c == BARE;
            own(was) && own(is) && area.reaches(p, OWN) || (own(was) || own(is)) && at_edge(area)
        };
        let wider = |(stop, area): &(u8, &Area)| is == *stop && at_edge(area);
        self.fills.iter().any(turned) || self.columns.iter().any(wider)
    }
}

/// New stitches, and jumps left uncut, that leave every object of their thread and stay visible.
fn links(trial: &Trial) -> Judged {
    let (old, out) = (&trial.world.original, &trial.out);
    let mut known: BTreeMap<Ends, usize> = BTreeMap::new();
    let trim = old.shortest_jump_run();
    for s in old.stitches.iter().chain(&old.bare_jumps(trim)) {
        *known.entry(ends(s.a, s.b)).or_default() += 1;
    }
    let bare = out.bare_jumps(trim);
    let mut worst: Option<(f64, P)> = None;
    let sewn = out.stitches.iter().map(|s| (s, true));
    for (s, is_sewn) in sewn.chain(bare.iter().map(|s| (s, false))) {
        if s.length() <= LINK || known.contains_key(&ends(s.a, s.b)) || within_one(trial, s) {
            continue;
        }
        let seen = visible_length(out, s);
        if seen > LINK
            && !(is_sewn && is_row(trial, s))
            && worst.is_none_or(|(most, _)| seen > most)
        {
            worst = Some((seen, s.mid()));
        }
    }
    match worst {
        Some((seen, place)) => {
            Failure::at(place, format!("{seen:.1} mm of a link visible"), "<= 3.0 mm")
        }
        None => Judged::Met("none over 3 mm".to_owned()),
    }
}

/// An object's own stitches reach this far beyond its old area at most, mm: the overlap that is
/// aimed for and the notches between two rows.
const OWN: f64 = 1.7;

/// Does the stitch stay within one object of its stop, grown by an overlap?
fn within_one(trial: &Trial, s: &Stitch) -> bool {
    let own = trial.world.pieces.iter().filter(|p| p.stop == s.stop);
    let mut tops = own.filter(|p| !p.area.rings.is_empty());
    tops.any(|p| s.walk(0.5).all(|q| p.area.reaches(q, OWN)))
}

/// Is it the end of a row that was made longer? It begins or ends in a needle point of a fill, runs along
/// its rows, and is no longer than a stitch of them and what is added to it.
fn is_row(trial: &Trial, s: &Stitch) -> bool {
    const ALONG: f64 = 6.0;
    const LONGEST: f64 = 8.5;
    let old = &trial.world.original;
    let is_of = |p: &Piece| {
        let mut own = old.span(p.first + 1, p.last);
        own.any(|t| [t.a, t.b].iter().any(|q| *q == s.a || *q == s.b))
    };
    let pieces = trial.world.pieces.iter().enumerate();
    let mut fills = pieces.filter(|(_, p)| p.stop == s.stop && p.class == "fill");
    s.length() <= LONGEST
        && fills.any(|(k, p)| {
            p.area.contains(s.mid()) && axis_angle(s.axis(), trial.row_axis(k)) <= ALONG && is_of(p)
        })
}

/// Length of a stitch that no later thread covers, mm.
fn visible_length(out: &Sewing, s: &Stitch) -> f64 {
    s.walk(CELL).filter(|p| !covered(out, s, *p)).count() as f64 * CELL
}

/// Does thread sewn after a stitch lie over this place of it?
pub fn covered(out: &Sewing, s: &Stitch, p: P) -> bool {
    out.per_stop.iter().any(|lines| on_thread(lines, p, |t| t.rank > s.rank))
}

/// Does the thread of such a stitch lie over this place?
pub fn on_thread(lines: &Lines, p: P, want: impl Fn(&Stitch) -> bool) -> bool {
    let near = lines.near(p, RADIUS);
    near.iter().any(|t| want(t) && dist(p, nearest(p, t.a, t.b)) <= RADIUS)
}
