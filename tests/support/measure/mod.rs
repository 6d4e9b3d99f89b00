//! Independent measures of a mended tape: what the truth says was wrong, looked for in the stitches
//! that came out. Nothing here uses the program's own geometry.

pub mod edge_run;
pub mod guard;
pub mod hidden;
pub mod limits;
pub mod named;
pub mod order;
pub mod overlap;
pub mod report;
pub mod rows;
pub mod seam;
pub mod turned;
pub mod visible;

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use super::lines::{Lines, Stitch};
use super::plane::{P, axis_angle, dot, mean_axis, turn};
use super::world::{Owner, Owners, Piece, Sewing, World, ends};

/// What a measure says of one fault or rule.
pub enum Judged {
    Met(String),
    Failed(Failure),
    /// The fault does not stand here (a variant made the column narrow, say): not counted.
    Moot(String),
}

pub struct Failure {
    /// mm, where to look.
    pub place: P,
    pub measured: String,
    pub bound: String,
    /// Share of the curve along which it holds all the same.
    pub share: f64,
}

impl Failure {
    pub fn at(place: P, measured: String, bound: &str) -> Judged {
        Self::along(0.0, place, measured, bound)
    }

    /// Holds along this share of a curve only.
    pub fn along(share: f64, place: P, measured: String, bound: &str) -> Judged {
        Judged::Failed(Self { place, measured, bound: bound.to_owned(), share })
    }
}

/// Places along a curve at which a measure holds, of those that it judged.
#[derive(Clone, Copy, Debug, Default)]
pub struct Held {
    pub good: usize,
    pub all: usize,
}

impl Held {
    pub fn share(self) -> f64 {
        if self.all == 0 { 1.0 } else { self.good as f64 / self.all as f64 }
    }

    pub fn add(&mut self, other: Self) {
        self.good += other.good;
        self.all += other.all;
    }
}

/// A verdict on one fault of the truth, or on a rule that holds for every tape.
pub struct Verdict {
    pub kind: String,
    /// The objects in words, and their numbers in the world: none for a rule.
    pub objects: String,
    pub pieces: Vec<usize>,
    pub judged: Judged,
    pub held: Held,
}

impl Verdict {
    /// A rule for the whole tape.
    pub fn rule(kind: &str, judged: Judged) -> Self {
        let (kind, objects) = (kind.to_owned(), String::new());
        Self { kind, objects, pieces: Vec::new(), judged, held: Held::default() }
    }
}

/// One mended tape beside the truth of its original.
pub struct Trial<'a> {
    pub world: &'a World,
    pub out: Sewing,
    /// Whose the stitches of the original are.
    owners: Owners,
    /// First and last penetration of each object's top stitching in the mended tape.
    spans: Vec<Option<(usize, usize)>>,
}

/// Neighbouring lines of covering stitching are closer than this, mm: satin 0.4 to 0.5 on one side,
/// rows 0.2 to 0.25 ("Density", "Pull Distortion and Pull Compensation").
pub const DENSE: f64 = 0.6;

impl<'a> Trial<'a> {
    pub fn new(world: &'a World, bytes: &[u8]) -> Self {
        let out = Sewing::mended(bytes, &world.original);
        let shown: Vec<Vec<Stitch>> = out.per_stop.iter().map(uncovered).collect();
        let owners = world.owners();
        let span = |k: usize| {
            let piece = &world.pieces[k];
            let own = |s: &&Stitch| owners.of(s).is_none_or(|o| o.piece == k);
            let kept = |all: &[Stitch]| {
                let (low, high) = where_it_was(world, piece, all)?;
                let there = |s: &&Stitch| (low..=high).contains(&s.rank);
                span(piece, all.iter().filter(own).filter(there))
            };
            let all = shown.get(piece.stop)?;
            // A border may be hidden for the most part, but its needle points tell it.
            let found = kept(all).or_else(|| kept(out.stop(piece.stop)));
            found.or_else(|| span(piece, all.iter().filter(own)))
        };
        let spans = (0..world.pieces.len()).map(span).collect();
        Self { world, out, owners, spans }
    }

    pub fn piece(&self, index: usize) -> &Piece {
        &self.world.pieces[index]
    }

    /// Penetration at which the top stitching of an object begins.
    pub fn start(&self, piece: usize) -> Option<usize> {
        self.spans[piece].map(|(first, _)| first)
    }

    /// Penetrations of an object's top stitching, with what was added before and after it without a
    /// jump: of a satin crossings, of a fill whatever stays beside it and was no other object's.
    pub fn span(&self, piece: usize) -> Option<Range<usize>> {
        let (first, last) = self.spans[piece]?;
        let all = self.out.stop(self.piece(piece).stop);
        let area = &self.piece(piece).area;
        let own = |s: &Stitch| {
            self.owners.of(s).is_none_or(|o| o.piece == piece)
                && [s.a, s.b].iter().all(|p| area.reaches(*p, ADDED))
        };
        let at = |rank: usize| all.partition_point(|s| s.rank < rank);
        let (from, to) = (at(first), at(last));
        let alike: &dyn Fn(&Stitch, &Stitch) -> bool = match self.piece(piece).class.as_str() {
            "fill" => &move |_, s| own(s),
            "split-satin" => &|last, s| axis_angle(last.axis(), s.axis()) < 20.0,
            _ => &crossing_goes_on,
        };
        let mut before = more(alike, all[..=from].iter().rev());
        let mut after = more(alike, all[to..].iter());
        if self.piece(piece).class == "fill" {
            let axis = self.row_axis(piece);
            before = up_to_rows(axis, all[from - before..=from].iter().rev());
            after = up_to_rows(axis, all[to..=to + after].iter());
        }
        let (from, to) = (from - before, to + after);
        Some(all[from].rank..all[to].rank + 1)
    }

    /// The top stitches of a stop in a box, of some penetrations only.
    pub fn shown(&self, stop: usize, ranks: Range<usize>, low: P, high: P) -> Lines {
        Lines::new(uncovered(&self.within(stop, ranks, low, high)))
    }

    /// The same, with what lies open of such rows as are covered for the most part: rows beside the end
    /// of an older section may.
    pub fn rows_shown(&self, piece: usize, ranks: Range<usize>, low: P, high: P) -> Lines {
        let within = self.within(self.piece(piece).stop, ranks, low, high);
        let axis = self.row_axis(piece);
        let mut shown = uncovered(&within);
        let whole: BTreeSet<usize> = shown.iter().map(|s| s.rank).collect();
        let half = within.items.iter().filter(|s| !whole.contains(&s.rank));
        let rows = half.filter(|s| axis_angle(s.axis(), axis) < ALONG);
        shown.extend(rows.flat_map(|s| open_parts(s, &within)));
        Lines::new(shown)
    }

    fn within(&self, stop: usize, ranks: Range<usize>, low: P, high: P) -> Lines {
        let inside = |p: P| (0..2).all(|axis| (low[axis]..=high[axis]).contains(&p[axis]));
        let all = self.out.stop(stop).iter();
        let near = all.filter(|s| ranks.contains(&s.rank) && (inside(s.a) || inside(s.b)));
        Lines::new(near.copied().collect())
    }

    /// What lies in an object's thread before its own top stitching, and was no other object's.
    pub fn beneath(&self, piece: usize) -> Vec<Stitch> {
        self.start(piece).map_or_else(Vec::new, |start| self.before(piece, start))
    }

    /// Stitches of an object's stop before penetration `start` that belonged to no other object and
    /// were not its top.
    pub fn before(&self, piece: usize, start: usize) -> Vec<Stitch> {
        let all = self.out.stop(self.piece(piece).stop).iter();
        let beneath = |s: &&Stitch| {
            let owner = self.owners.of(s).filter(|o| self.is_in_turn(s, o));
            s.rank < start && owner.is_none_or(|o| o.piece == piece && !o.top)
        };
        all.filter(beneath).copied().collect()
    }

    /// Is a stitch sewn where its owner is? A new one may join two old needle points elsewhere.
    fn is_in_turn(&self, s: &Stitch, owner: &Owner) -> bool {
        self.spans[owner.piece].is_none_or(|(first, last)| match owner.top {
            true => (first..=last).contains(&s.rank),
            false => s.rank <= last,
        })
    }

    /// Does an object sewn later in the original lie over this place, or within 0.4 mm of it?
    pub fn hidden(&self, piece: usize, p: P) -> bool {
        let mut later = self.later(piece).filter(|(_, o)| !o.area.rings.is_empty());
        later.any(|(_, o)| o.area.reaches(p, 0.4))
    }

    /// What the original sews after an object, with its place in the truth.
    pub fn later(&self, piece: usize) -> impl Iterator<Item = (usize, &Piece)> {
        let last = self.piece(piece).last;
        self.world.pieces.iter().enumerate().filter(move |(_, o)| o.first > last)
    }

    /// Was this a stitch of another object in the original?
    pub fn others(&self, s: &Stitch, piece: usize) -> bool {
        self.owners.of(s).is_some_and(|o| o.piece != piece)
    }

    /// Direction of a fill's rows as they are now.
    pub fn row_axis(&self, piece: usize) -> P {
        let angle = self.piece(piece).angle.unwrap_or(0.0).to_radians();
        let now = mean_axis(rows::rows(self, piece).iter().map(Stitch::axis));
        now.unwrap_or([angle.cos(), angle.sin()])
    }
}

/// Crossings turn back on each other, shorter ones too where an oblique end is filled, and a long one
/// may have needle points on its way. A tie that passes for crossings lies inside the column.
fn crossing_goes_on(last: &Stitch, s: &Stitch) -> bool {
    /// Shortest part of a crossing, mm.
    const LEAST: f64 = 0.5;
    /// Longer than any stitch of a tie, mm.
    const NO_TIE: f64 = 1.5;
    let (turned, long) = (turn(last.axis(), s.axis()), s.length().max(last.length()) > NO_TIE);
    turned > 120.0 && s.length() > LEAST || long && turned < 10.0
}

/// How many stitches after the first go on like it, without a jump; doubled points count as like.
fn more<'s>(
    alike: &dyn Fn(&Stitch, &Stitch) -> bool,
    mut stitches: impl Iterator<Item = &'s Stitch>,
) -> usize {
    let Some(mut last) = stitches.next() else { return 0 };
    let mut rank = last.rank;
    stitches
        .take_while(|s| {
            let joined = s.rank.abs_diff(rank) == 1;
            rank = s.rank;
            let doubled = s.length() < 0.05;
            let goes_on = joined && (doubled || alike(last, s));
            if !doubled {
                last = s;
            }
            goes_on
        })
        .count()
}

/// How many stitches after the first lie no further than the last row among them, which lies back along
/// one just before it: what follows is underlay of the next object, or a way to it.
fn up_to_rows<'s>(axis: P, stitches: impl Iterator<Item = &'s Stitch>) -> usize {
    /// Stitches from a row to the next: the turn between them has one or two.
    const TURN: usize = 3;
    let stitches: Vec<&Stitch> = stitches.collect();
    let row = |s: &Stitch| s.length() > 0.4 && axis_angle(s.axis(), axis) < ALONG;
    let turned_back = |k: &usize| {
        let s = stitches[*k];
        let before = &stitches[k.saturating_sub(TURN)..*k];
        row(s) && before.iter().any(|b| row(b) && dot(b.axis(), s.axis()) < 0.0)
    };
    (1..stitches.len()).rfind(turned_back).unwrap_or(0)
}

/// Stitches with no later stitching of the same thread over them: dense lines to both sides.
fn uncovered(lines: &Lines) -> Vec<Stitch> {
    let covered = |s: &Stitch| {
        let (mut under, mut all) = (0, 0);
        for q in s.walk(WALK) {
            all += 1;
            under += usize::from(is_under(q, s, lines));
        }
        under as f64 >= 0.6 * f64::from(all)
    };
    lines.items.iter().filter(|s| !covered(s)).copied().collect()
}

/// mm between the places of a stitch that are looked at.
const WALK: f64 = 0.3;
/// Rows of a fill lie no further off their direction, degrees: ends and grid turn short ones.
const ALONG: f64 = 15.0;

fn is_under(q: P, s: &Stitch, lines: &Lines) -> bool {
    lines.between(q, DENSE, false, |later| later.rank > s.rank)
}

/// The parts of a stitch that no later stitching lies over.
fn open_parts(s: &Stitch, lines: &Lines) -> Vec<Stitch> {
    /// Tips of rows stand out by less than a usual step.
    const FINE: f64 = 0.1;
    let places: Vec<(P, bool)> = s.walk(FINE).map(|q| (q, is_under(q, s, lines))).collect();
    let parts = places.chunk_by(|p, q| p.1 == q.1).filter(|part| part.len() > 1 && !part[0].1);
    parts.map(|part| Stitch { a: part[0].0, b: part[part.len() - 1].0, ..*s }).collect()
}

/// Stitches that were added to an object lie no further from its old area, mm: a fill may be extended under
/// one border and, where that ends in its way, under the next.
const ADDED: f64 = 3.5;
/// Stitches in a row that are no top stitches of an object end a cluster of them.
const STRAY: usize = 15;
/// So many in a row are never a stray part of a neighbour, but may be a small section of a fill.
const SECTION: usize = 40;

/// First and last of the stitches that begin or end in a needle point of the object's top, if most of
/// them still do: a column that was widened keeps one of its edges.
fn where_it_was(world: &World, piece: &Piece, all: &[Stitch]) -> Option<(usize, usize)> {
    /// So many in a row are no chance.
    const ROW: usize = 4;
    let own = world.original.span(piece.first + 1, piece.last);
    let points: BTreeSet<[i32; 2]> = own.flat_map(|s| ends(s.a, s.b)).collect();
    let known = |s: &&Stitch| ends(s.a, s.b).iter().any(|p| points.contains(p));
    let ranks: Vec<usize> = all.iter().filter(known).map(|s| s.rank).collect();
    let joined = |w: &&[usize]| w[ROW - 1] - w[0] < ROW;
    let clusters = large_clusters(&ranks);
    let first = clusters.iter().find_map(|c| c.windows(ROW).find(joined))?[0];
    let last = clusters.iter().rev().find_map(|c| c.windows(ROW).rfind(joined))?[ROW - 1];
    (2 * ranks.len() > piece.last - piece.first).then_some((first, last))
}

/// Clusters of ranks that are no chance, nor a stray part of a neighbour.
fn large_clusters(ranks: &[usize]) -> Vec<&[usize]> {
    let mut clusters: Vec<&[usize]> = ranks.chunk_by(|a, b| b - a <= STRAY).collect();
    let most = clusters.iter().map(|c| c.len()).max().unwrap_or(0);
    clusters.retain(|c| c.len() * 3 >= most || c.len() >= SECTION);
    clusters
}

/// First and last of the top stitches that lie on the object; small clusters of them, which belong
/// to a neighbour that is only half covered, are passed over.
fn span<'s>(piece: &Piece, shown: impl Iterator<Item = &'s Stitch>) -> Option<(usize, usize)> {
    let on = |s: &&Stitch| {
        s.length() >= 0.4
            && piece.area.contains(s.mid())
            && piece.area.reaches(s.a, 1.35)
            && piece.area.reaches(s.b, 1.35)
    };
    let ranks: Vec<usize> = shown.filter(on).map(|s| s.rank).collect();
    let clusters = large_clusters(&ranks);
    let most = clusters.iter().map(|c| c.len()).max()?;
    let (first, last) = (clusters.first()?, clusters.last()?);
    // A lone way to the object may lie half under it: the column itself has no gaps.
    let (many, room) = ((most / 3).clamp(2, 6), if piece.class == "fill" { 12 } else { 7 });
    let dense = |w: &&[usize]| w[many - 1] - w[0] <= room;
    let begin = first.windows(many).find(dense).map_or(first[0], |w| w[0]);
    let end = last.windows(many).rfind(dense).map_or(last[last.len() - 1], |w| w[many - 1]);
    Some((begin, end))
}

/// Every measure on one tape: a verdict for each fault that can be repaired, then the rules.
pub fn all(trial: &Trial) -> Vec<Verdict> {
    let mut out = Vec::new();
    let mut seen: BTreeMap<(&str, &[String]), usize> = BTreeMap::new();
    let mut turned: Vec<usize> = Vec::new();
    for fault in trial.world.faults.iter().filter(|f| f.repairable) {
        // Several junctions of one pair are told apart by their order.
        let turn = seen.entry((&fault.kind, &fault.objects)).or_default();
        let ids: Vec<usize> = fault.objects.iter().map(|id| trial.world.piece(id)).collect();
        let whole = |judged: Judged| (judged, Held::default());
        let (judged, held) = match fault.kind.as_str() {
            "upright fill" => whole(rows::judge(trial, ids[0])),
            "thin overlap" => overlap::judge(trial, fault, ids[0], ids[1]),
            "edge run missing" => edge_run::judge(trial, ids[0]),
            "unguarded crossing" => guard::judge(trial, ids[0], ids[1], *turn),
            "out of order" => whole(order::judge(trial, &ids)),
            "seam crossing" => whole(seam::judge(trial, ids[0])),
            other => panic!("no measure for a repairable '{other}'"),
        };
        *turn += 1;
        if fault.kind == "upright fill" && matches!(judged, Judged::Met(_)) {
            turned.push(ids[0]);
        }
        let objects = match fault.objects.as_slice() {
            [first, .., last] if ids.len() > 2 => format!("{first} to {last}"),
            few => few.join(" under "),
        };
        out.push(Verdict { kind: fault.kind.clone(), objects, pieces: ids, judged, held });
    }
    out.extend(limits::judge(trial));
    out.extend(visible::judge(trial));
    out.extend(turned.into_iter().flat_map(|piece| turned::judge(trial, piece)));
    out.push(Verdict::rule("hidden stitches", hidden::judge(trial)));
    out
}
