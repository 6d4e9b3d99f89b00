//! Which stitches of a stretch go back and forth side by side: decided over the whole stretch at
//! once, by the cheapest way through it.
//!
//! A place where the thread bends may end a row, lie inside one, or belong to a plain line. Rows
//! that fit their neighbours cost little, lines cost for every sharp bend, and to begin a weave
//! costs as much as a few bends: so a tie or a corner stays a line and four crossings do not.

use super::track::{Sweep, Track};
use crate::geometry::vector::{distance, dot, left_of, norm, turn, unit};

/// A heading change that may end a row, degrees: the grid bends straight rows by less.
const BEND: f64 = 18.0;
/// A heading change that no row has inside it, degrees.
const INSIDE_MAX: f64 = 70.0;
/// A bend of this size inside a row would cost as much as a sharp one in a line; sharp ones do.
const INSIDE_DEG: f64 = 60.0;
/// Most bends inside one row.
const INSIDE_COUNT: usize = 10;
/// A heading change that a line pays for, degrees.
const SHARP: f64 = 50.0;
/// What a line pays for it, and for every stitch.
const SHARP_COST: f64 = 1.0;
const STITCH_COST: f64 = 0.02;
/// What a weave pays that begins at one.
const CORNER_COST: f64 = 0.5;
/// What beginning a weave costs.
const BEGIN_COST: f64 = 2.6;
/// A row that comes back this far off the direction of the one before costs as much as a sharp bend
/// of a line, degrees.
const OFF_DEG: f64 = 150.0;
/// How far it may be off at most, for rows and for crossings of one stitch.
const ROW_OFF_MAX: f64 = 85.0;
const OFF_MAX: f64 = 110.0;
/// Cosine of the turn from which `OFF_MAX` is passed.
const ONWARD: f64 = 0.35;
/// Crossings further apart on one edge than this cost more, mm.
const STRIDE_MM: f64 = 2.0;
const STRIDE_COST: f64 = 0.3;
/// A row that does not lie beside the one before at all.
const APART_COST: f64 = 1.5;
/// The advance changes by a factor of e; and most that this costs.
const CHANGE_COST: f64 = 0.3;
const CHANGE_MAX: f64 = 1.0;
/// A crossing of a column is split into no more stitches.
const CROSSING_STITCHES: usize = 3;
/// Most that a squared measure counts.
const SQUARE_MAX: f64 = 4.0;
/// A row is sewn no longer than its chord by this factor: what goes round is no row.
const ROUND_MAX: f64 = 1.4;
/// And this much more, mm, for what the grid adds to short ones.
const ROUND_MM: f64 = 0.2;
/// What every further row costs.
const ROW_COST: f64 = 0.1;
/// Advancing to the other side than before, by this much (mm) or more.
const FLIP_COST: f64 = 2.5;
const FLIP_MM: f64 = 0.3;
/// Standing still: going over the same line again.
const STILL_COST: f64 = 1.3;
/// A row this far off the direction of the last but one costs as much as a sharp bend, degrees.
const SWING_DEG: f64 = 55.0;
/// Being longer or shorter than the row before by a factor of e.
const LENGTH_COST: f64 = 0.15;
/// A step along the edge between two rows.
const JOIN_COST: f64 = 0.2;
/// Longest such step, mm, and most stitches in it.
const JOIN_MM: f64 = 5.5;
const JOIN_STITCHES: usize = 3;
/// It is sewn nearly straight, and shorter than both rows by this factor.
const JOIN_BENT: f64 = 1.2;
/// It turns off a row by this at least, degrees: split crossings bend less.
const JOIN_TURN: f64 = 15.0;
const JOIN_SHORTER: f64 = 1.3;
/// Largest advance of any back-and-forth stitching, mm.
const ADVANCE_MAX: f64 = 3.8;
/// Needle points this close are the same point up to the 0.1 mm grid.
const SAME_POINT: f64 = 0.12;
/// Rows that advance less, mm, lie on one line.
const SAME_LINE: f64 = 0.04;
/// Lengths and advances are told apart from here on, mm: one point of the grid.
const SHORTEST_MM: f64 = 0.1;
/// A sweep between two needle points has a length, mm.
const LEAST_MM: f64 = 0.05;

/// One row on the way through.
#[derive(Clone, Copy)]
struct Row {
    sweep: Sweep,
    /// Direction, degrees.
    heading: f64,
    /// Cost of the cheapest way that ends with this row.
    cost: f64,
    /// The row before it in its weave.
    before: Option<usize>,
    /// Side that the last step advanced to, and how far, mm; 0 for a first row.
    advance: f64,
}

/// How the cheapest way gets to a bend.
#[derive(Clone, Copy)]
enum Came {
    Start,
    Line,
    Row(usize),
}

/// The rows of every weave, in order.
pub fn chains(track: &Track) -> Vec<Vec<Sweep>> {
    if track.len() < 3 {
        return Vec::new();
    }
    let turns: Vec<f64> = (0..track.len()).map(|i| track.turn(i).abs()).collect();
    let bends: Vec<usize> =
        (0..track.len()).filter(|i| *i == 0 || i + 1 == track.len() || turns[*i] >= BEND).collect();
    let bend_turns = bends.iter().map(|i| turns[*i]).collect();
    let mut way =
        Way { track, bends: &bends, turns: bend_turns, rows: vec![], ending: vec![], best: vec![] };
    way.find();
    way.trace()
}

struct Way<'a> {
    track: &'a Track,
    bends: &'a [usize],
    /// Heading change at each bend, degrees, to either side.
    turns: Vec<f64>,
    rows: Vec<Row>,
    /// Rows that end at each bend.
    ending: Vec<Vec<usize>>,
    /// The cheapest way to each bend.
    best: Vec<(f64, Came)>,
}

impl Way<'_> {
    fn find(&mut self) {
        let count = self.bends.len();
        self.ending = vec![Vec::new(); count];
        self.best = vec![(f64::INFINITY, Came::Start); count];
        self.best[0].0 = 0.0;
        for from in 0..count {
            for row in &self.ending[from] {
                if self.rows[*row].cost < self.best[from].0 {
                    self.best[from] = (self.rows[*row].cost, Came::Row(*row));
                }
            }
            if from + 1 < count {
                self.line(from);
                self.rows_from(from);
            }
        }
    }

    fn line(&mut self, from: usize) {
        let stitches = (self.bends[from + 1] - self.bends[from]) as f64;
        let sharp = self.turns[from] >= SHARP;
        let cost =
            self.best[from].0 + STITCH_COST * stitches + if sharp { SHARP_COST } else { 0.0 };
        if cost < self.best[from + 1].0 {
            self.best[from + 1] = (cost, Came::Line);
        }
    }

    /// All rows that begin at a bend.
    fn rows_from(&mut self, from: usize) {
        let mut inside = 0.0;
        for to in from + 1..self.bends.len().min(from + 2 + INSIDE_COUNT) {
            let sweep = Sweep { first: self.bends[from], last: self.bends[to] };
            if is_compact(self.track, sweep) {
                self.row(sweep, from, to, inside);
            }
            let bend = self.turns[to];
            if bend >= INSIDE_MAX {
                break;
            }
            inside += if bend >= SHARP { SHARP_COST } else { (bend / INSIDE_DEG).powi(2) };
        }
    }

    /// One row, after each of the rows that it may follow.
    fn row(&mut self, sweep: Sweep, from: usize, to: usize, inside: f64) {
        // Else a line would leave its last sharp bend to the weave, and the first crossing with it.
        let sharp = matches!(self.best[from].1, Came::Line) && self.turns[from] >= SHARP;
        let corner = if sharp { CORNER_COST } else { 0.0 };
        let begin = self.best[from].0 + BEGIN_COST + corner + inside;
        // As the first row, and as a later one that advances to either side: what is dearer now may
        // fit the rows to come better.
        let chord = sweep.chord(self.track);
        let heading = chord.y.atan2(chord.x).to_degrees();
        let first = Row { sweep, heading, cost: begin, before: None, advance: 0.0 };
        let mut ways = [Some(first), None, None];
        for end in from.saturating_sub(JOIN_STITCHES)..=from {
            if self.bends[from] - self.bends[end] > JOIN_STITCHES {
                continue;
            }
            for &before in &self.ending[end] {
                let last = self.rows[before];
                let Some((fit, advance)) = self.fit(&last, sweep, heading) else { continue };
                let cost = last.cost + fit + ROW_COST + inside;
                let way = &mut ways[1 + usize::from(advance < 0.0)];
                if way.is_none_or(|way| cost < way.cost) {
                    *way = Some(Row { cost, before: Some(before), advance, ..first });
                }
            }
        }
        for row in ways.into_iter().flatten() {
            self.ending[to].push(self.rows.len());
            self.rows.push(row);
        }
    }

    /// What it costs that a row follows another, and its advance; `None` if it cannot.
    fn fit(&self, last: &Row, next: Sweep, heading: f64) -> Option<(f64, f64)> {
        let track = self.track;
        let (a, b) = (last.sweep.chord(track), next.chord(track));
        let (la, lb) = (norm(a), norm(b));
        // No row goes on the same way: most pairs are told by this alone.
        if dot(a, b) > ONWARD * la * lb || la.min(lb) < LEAST_MM {
            return None;
        }
        let joined = last.sweep.last == next.first;
        let join = if joined { 0.0 } else { self.join(last.sweep, next, la.min(lb))? };
        let rows = last.sweep.stitches() > 1 || next.stitches() > 1;
        let off = 180.0 - between(last.heading, heading);
        if off > if rows { ROW_OFF_MAX } else { OFF_MAX } {
            return None;
        }
        let step = next.middle(track) - last.sweep.middle(track);
        let advance = dot(left_of(unit(a - b)), step);
        if advance.abs() >= ADVANCE_MAX {
            return None;
        }
        let mut cost = join + (off / OFF_DEG).powi(2) + self.spacing(last, next, advance, rows);
        if let Some(second) = last.before {
            let swing = between(self.rows[second].heading, heading);
            cost += (swing / SWING_DEG).powi(2).min(SQUARE_MAX);
        }
        cost += LENGTH_COST * (lb / la).ln().powi(2).min(SQUARE_MAX);
        Some((cost, advance))
    }

    /// What it costs how a row lies beside the one before it.
    fn spacing(&self, last: &Row, next: Sweep, advance: f64, rows: bool) -> f64 {
        let track = self.track;
        let mut cost = 0.0;
        if advance * last.advance > 0.0 {
            // Short stitches and jagged edges make the middle of a crossing stagger a little.
            let least = advance.abs().min(last.advance.abs());
            cost += FLIP_COST * (least / FLIP_MM).min(1.0);
        }
        let second = last.before.map(|before| self.rows[before]);
        let stride = distance(track.at[last.sweep.first], track.at[next.last]);
        // Round a corner, crossings meet in one point of the inner edge but move on at the other.
        let still =
            |row: Row| distance(track.at[row.sweep.first], track.at[last.sweep.last]) <= SAME_POINT;
        let same = stride <= SAME_POINT && second.is_none_or(still);
        if same || rows && advance.abs() < SAME_LINE {
            cost += STILL_COST;
        }
        cost += if rows {
            APART_COST * apart(track, last.sweep, next)
        } else {
            STRIDE_COST * ((stride - STRIDE_MM).max(0.0) / STRIDE_MM).powi(2)
        };
        if last.advance != 0.0 {
            let size = |advance: f64| advance.abs().max(SHORTEST_MM);
            let change = |other: f64| (size(advance) / size(other)).ln().abs();
            // One pass may be square to the column and the other slanted.
            let crossings = last.sweep.stitches().max(next.stitches()) <= CROSSING_STITCHES;
            let same_pass =
                second.filter(|_| crossings).map(|row| row.advance).filter(|other| *other != 0.0);
            let change = same_pass.map_or(f64::INFINITY, change).min(change(last.advance));
            cost += (CHANGE_COST * change.powi(2)).min(CHANGE_MAX);
        }
        cost
    }

    /// A short step along the edge that leads on to the next row.
    fn join(&self, last: Sweep, next: Sweep, shorter: f64) -> Option<f64> {
        let track = self.track;
        let join = Sweep { first: last.last, last: next.first };
        let (step, sewn) = (join.chord(track), join.sewn(track));
        let length = norm(step);
        if sewn > JOIN_MM || sewn > JOIN_BENT * length || shorter < JOIN_SHORTER * length {
            return None;
        }
        // Both its corners turn the same way, and it does not go straight back.
        let (t1, t2) = (turn(last.chord(track), step), turn(step, next.chord(track)));
        let corners = t1.abs().min(t2.abs()) >= JOIN_TURN;
        (corners && t1 * t2 > 0.0 && t1.abs() < 180.0).then_some(JOIN_COST)
    }

    fn trace(&self) -> Vec<Vec<Sweep>> {
        let mut found: Vec<Vec<Sweep>> = Vec::new();
        let mut at = self.bends.len() - 1;
        loop {
            match self.best[at].1 {
                Came::Start => break,
                Came::Line => at -= 1,
                Came::Row(last) => {
                    let mut chain = Vec::new();
                    let mut row = Some(last);
                    while let Some(index) = row {
                        chain.push(self.rows[index].sweep);
                        row = self.rows[index].before;
                    }
                    chain.reverse();
                    let first = chain[0].first;
                    at = self.bends.partition_point(|bend| *bend < first);
                    found.push(chain);
                }
            }
        }
        found.reverse();
        found
    }
}

fn is_compact(track: &Track, sweep: Sweep) -> bool {
    sweep.sewn(track) <= ROUND_MAX * sweep.length(track) + ROUND_MM
}

/// Angle between two headings in (−180, 180], degrees in [0, 180].
fn between(a: f64, b: f64) -> f64 {
    let turn = (a - b).abs();
    turn.min(360.0 - turn)
}

/// Share (0 to 1) of the shorter of two rows that does not lie beside the other.
fn apart(track: &Track, a: Sweep, b: Sweep) -> f64 {
    let (shared, shorter) = beside(track, a, b);
    (1.0 - shared / shorter.max(SHORTEST_MM)).clamp(0.0, 1.0)
}

/// Length along their axis that two rows share (negative: how far they are apart), and that of the
/// shorter one, mm.
pub fn beside(track: &Track, a: Sweep, b: Sweep) -> (f64, f64) {
    let axis = unit(a.chord(track) - b.chord(track));
    let project = |i: usize| dot(axis, track.at[i]);
    let (a0, a1) = (project(a.first), project(a.last));
    let (b0, b1) = (project(b.first), project(b.last));
    let shared = a0.max(a1).min(b0.max(b1)) - a0.min(a1).max(b0.min(b1));
    (shared, (a1 - a0).abs().min((b1 - b0).abs()))
}

#[cfg(test)]
mod tests {
    use geo::Coord;

    use super::*;

    /// A track through points (mm) on the tape's grid.
    fn track(points: &[(f64, f64)]) -> Track {
        let on_grid = |v: f64| (v * 10.0).round() / 10.0;
        let at: Vec<Coord<f64>> =
            points.iter().map(|(x, y)| Coord { x: on_grid(*x), y: on_grid(*y) }).collect();
        Track { index: (0..at.len()).collect(), at }
    }

    fn weaves(points: &[(f64, f64)]) -> Vec<Vec<(usize, usize)>> {
        let ends = |chain: Vec<Sweep>| chain.iter().map(|s| (s.first, s.last)).collect();
        let found = chains(&track(points)).into_iter();
        found.filter(|chain| chain.len() >= 4).map(ends).collect()
    }

    /// Crossings of a column 3 mm wide, 0.4 mm pitch, from x = 0 on.
    fn crossings(count: usize) -> Vec<(f64, f64)> {
        (0..=count).map(|i| (0.2 * i as f64, if i.is_multiple_of(2) { 0.0 } else { 3.0 })).collect()
    }

    #[test]
    fn a_column_begins_with_its_first_crossing_and_ends_with_its_last() {
        // A tie and a run lead to it, a run leads on.
        let mut points = vec![(-5.0, 1.0), (-4.0, 1.0), (-5.0, 1.0), (-3.0, 1.0), (-1.5, 0.7)];
        let first = points.len();
        points.extend(crossings(12));
        let last = points.len() - 1;
        points.extend([(4.5, 0.3), (6.5, 0.6), (8.5, 1.0)]);
        let found = weaves(&points);
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].len(), 12);
        assert_eq!((found[0][0].0, found[0][11].1), (first, last));
    }

    #[test]
    fn steps_between_square_rows_are_no_part_of_them() {
        // Six rows of three stitches, 0.4 mm apart.
        let row = |k: usize| {
            let y = 0.4 * k as f64;
            let there = [(0.0, y), (3.0, y), (6.0, y), (9.0, y)];
            if k.is_multiple_of(2) { there } else { [there[3], there[2], there[1], there[0]] }
        };
        let points: Vec<_> = (0..6).flat_map(row).collect();
        let rows: Vec<_> = (0..6).map(|k| (4 * k, 4 * k + 3)).collect();
        assert_eq!(weaves(&points), [rows]);
    }

    #[test]
    fn rows_that_go_out_and_back_are_two_sections() {
        // Eight rows of three stitches from y = 3 down to 0, then eight from there up beside them.
        let row = |k: usize, y: f64, x: f64| {
            let there = [(x, y), (x + 3.0, y), (x + 6.0, y), (x + 9.0, y)];
            if k.is_multiple_of(2) { there } else { [there[3], there[2], there[1], there[0]] }
        };
        let down = (0..8).flat_map(|k| row(k, 3.0 - 0.4 * k as f64, 0.0));
        let up = (8..16).flat_map(|k| row(k, 0.3 + 0.4 * (k - 8) as f64, 1.0));
        let track = track(&down.chain(up).collect::<Vec<_>>());
        let found = crate::recognise::weave::weaves(&track, 0, track.len() - 1);
        let spans: Vec<_> = found.iter().map(|weave| weave.span()).collect();
        // The step between them may belong to either.
        assert_eq!((spans.len(), spans[0], spans[1].1), (2, (0, 31), 63));
    }

    #[test]
    fn rows_may_bend() {
        // Arcs about one centre, 80° each in four stitches: 20° and more at every needle point.
        let row = |k: usize| {
            let radius = 6.0 + 0.4 * k as f64;
            let at = move |i: usize| {
                let step = if k.is_multiple_of(2) { i } else { 4 - i };
                let angle = (50.0 + 20.0 * step as f64).to_radians();
                (radius * angle.cos(), radius * angle.sin())
            };
            (0..5).map(at)
        };
        let points: Vec<_> = (0..8).flat_map(row).collect();
        let found = weaves(&points);
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0], (0..8).map(|k| (5 * k, 5 * k + 4)).collect::<Vec<_>>());
    }

    #[test]
    fn runs_corners_ties_and_beans_are_no_rows() {
        let square = [(0.0, 0.0), (8.0, 0.0), (8.0, 8.0), (0.0, 8.0), (0.0, 0.0)];
        assert!(weaves(&square).is_empty());
        let bean: Vec<_> = (0..10)
            .flat_map(|i| [2.0 * f64::from(i), 2.0 * f64::from(i + 1), 2.0 * f64::from(i)])
            .map(|x| (x, 0.0))
            .collect();
        assert!(weaves(&bean).is_empty());
        let tie = [(0.0, 0.0), (1.0, 0.0), (0.0, 0.0), (1.0, 0.0), (4.0, 0.0), (7.0, 0.2)];
        assert!(weaves(&tie).is_empty());
        assert!(weaves(&[]).is_empty() && weaves(&[(0.0, 0.0), (1.0, 0.0)]).is_empty());
    }
}
