//! Weaves: sweeps that go back and forth side by side. Satins, fills and their open underlays are
//! all weaves; what tells them apart is the advance, the stitches per sweep and the axis.

use geo::Coord;

use super::rows;
use super::track::{Sweep, Track};
use crate::geometry::vector::{
    between_lines, cross, direction, distance, dot, left_of, line_angle, norm, turn, unit,
};

/// Advance between neighbouring sweeps, mm, that separates top stitching (same-side pitch up to
/// about 0.85 mm) from open stitching.
pub const DENSE_ADVANCE: f64 = 0.43;
/// The same for rows: a fill's are up to 0.6 mm apart, those of underlay 1.5 mm and more, mm.
pub const DENSE_ROWS: f64 = 0.75;
/// Sweeps that advance less go over one line (bean stitches), mm.
const MIN_ADVANCE: f64 = 0.07;
/// Fewest sweeps that make a weave; ties and corners have fewer.
pub const MIN_SWEEPS: usize = 4;
/// Fewest wide rows that are left of so many.
const MIN_WIDE_ROWS: usize = 3;
/// Share of sweeps of several stitches from which a weave is read as rows.
const ROWS_SHARE: f64 = 0.4;

/// Share of steps between sweeps from which they are rows, joined square.
const JOINED_SHARE: f64 = 0.6;

/// A density that changes by less than this factor within a few rows is a gradient.
const JUMP: f64 = 1.5;
const JUMP_LINKS: usize = 3;

/// Agreement of the stitches of rows that keep one direction.
const STRAIGHT_ROWS: f64 = 0.97;
/// And of rows that bend, where it is less.
const BENT_ROWS: f64 = 0.97;
/// A row whose middle lies further beside its chord bends, mm.
const BENT_MM: f64 = 0.3;
/// Crossings of a column have fewer stitches.
const LONG_ROW: usize = 4;
/// A stitch at a row's end this far off its direction, degrees, and this long, mm, leads on to the
/// next: shorter ones the grid may turn as much.
const LEAD_DEG: f64 = 11.0;
const LEAD_MM: f64 = 0.9;
/// And it turns off the row by this: rows of a bent column turn all together.
const LEAD_TURN: f64 = 7.0;
/// A break is so much sharper than the turning beside it.
const FAN: f64 = 1.5;
/// Agreement of the sweeps' directions (0 to 1) from which a weave has one axis at all.
const ONE_AXIS: f64 = 0.9;

/// Sweeps of one weave, in order; joins between them are left out.
#[derive(Clone, Debug)]
pub struct Weave {
    pub sweeps: Vec<Sweep>,
}

impl Weave {
    /// First and last point in the track, inclusive.
    pub fn span(&self) -> (usize, usize) {
        (self.sweeps[0].first, self.sweeps[self.sweeps.len() - 1].last)
    }

    /// Median advance between neighbouring sweeps square to them, mm.
    pub fn advance(&self, track: &Track) -> f64 {
        median(&mut advances(track, &self.sweeps))
    }

    /// Least and most advance over a few neighbouring sweeps, mm: they differ in a gradient.
    pub fn spacing(&self, track: &Track) -> (f64, f64) {
        const WINDOW: usize = 5;
        let values = advances(track, &self.sweeps);
        let windows = values.windows(WINDOW.min(values.len()).max(1));
        let means = windows.map(|window| window.iter().sum::<f64>() / window.len() as f64);
        means.fold((f64::INFINITY, 0.0), |(low, high), mean| (low.min(mean), high.max(mean)))
    }

    /// Median length of the sweeps, mm.
    pub fn length(&self, track: &Track) -> f64 {
        let mut lengths: Vec<f64> = self.sweeps.iter().map(|s| s.length(track)).collect();
        median(&mut lengths)
    }

    /// Share of sweeps made of two stitches or more.
    pub fn rows_share(&self) -> f64 {
        rows_share(&self.sweeps)
    }

    /// Rows of a fill, or crossings with split points, rather than plain crossings?
    pub fn has_rows(&self) -> bool {
        has_rows(&self.sweeps)
    }

    /// Do most sweeps begin a step along the edge from where the one before ended, as rows of a
    /// fill do and crossings of a column do not?
    pub fn is_joined(&self) -> bool {
        steps_share(&self.sweeps) >= JOINED_SHARE
    }

    /// Length-weighted mean direction of the sweeps (degrees) and how much they agree (0 to 1).
    pub fn axis(&self, track: &Track) -> (f64, f64) {
        axis(track, &self.sweeps)
    }
}

fn axis(track: &Track, sweeps: &[Sweep]) -> (f64, f64) {
    let (mut x, mut y, mut total) = (0.0, 0.0, 0.0);
    for sweep in sweeps {
        let chord = sweep.chord(track);
        let length = norm(chord).max(f64::EPSILON);
        // Twice the angle: one direction and its opposite are the same line.
        x += (chord.x * chord.x - chord.y * chord.y) / length;
        y += 2.0 * chord.x * chord.y / length;
        total += length;
    }
    let mean = (y.atan2(x) / 2.0).to_degrees().rem_euclid(180.0);
    (mean, if total > 0.0 { x.hypot(y) / total } else { 0.0 })
}

/// Share of sweeps that begin a step from where the one before ended.
fn steps_share(sweeps: &[Sweep]) -> f64 {
    let steps = sweeps.windows(2).filter(|w| w[0].last != w[1].first).count();
    steps as f64 / sweeps.len().saturating_sub(1).max(1) as f64
}

fn rows_share(sweeps: &[Sweep]) -> f64 {
    let rows = sweeps.iter().filter(|s| s.stitches() > 1).count();
    rows as f64 / sweeps.len().max(1) as f64
}

fn has_rows(sweeps: &[Sweep]) -> bool {
    rows_share(sweeps) >= ROWS_SHARE
}

/// Median of a list (which gets sorted); 0 for an empty one.
pub fn median(values: &mut [f64]) -> f64 {
    quantile(values, 0.5)
}

/// Quantile of a list (which gets sorted); 0 for an empty one.
pub fn quantile(values: &mut [f64], share: f64) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    values.sort_by(f64::total_cmp);
    values[((values.len() - 1) as f64 * share).round() as usize]
}

/// Advance from each sweep to the next, mm.
fn advances(track: &Track, sweeps: &[Sweep]) -> Vec<f64> {
    sweeps.windows(2).map(|w| advance(track, w[0], w[1])).collect()
}

/// Advance of sweep `b` beside sweep `a`, square to them, mm.
fn advance(track: &Track, a: Sweep, b: Sweep) -> f64 {
    if is_bent(track, a) && is_bent(track, b) {
        // The middle between the ends of a bent row lies beside it. Stitches cut the bend short, so
        // that a needle point lies too near to the other row, and that row's too far from its own.
        let offs = [beside_middle(track, a, b), beside_middle(track, b, a)];
        let known: Vec<f64> = offs.into_iter().flatten().collect();
        if !known.is_empty() {
            return known.iter().sum::<f64>() / known.len() as f64;
        }
    }
    let axis = unit(a.chord(track) - b.chord(track));
    dot(left_of(axis), b.middle(track) - a.middle(track)).abs()
}

/// Does the middle needle point of a long row lie beside the line between its ends?
fn is_bent(track: &Track, row: Sweep) -> bool {
    let off = track.at[(row.first + row.last) / 2] - track.at[row.first];
    row.stitches() >= LONG_ROW && cross(unit(row.chord(track)), off).abs() > BENT_MM
}

/// Distance of the middle needle point of row `b` from row `a`, mm; `None` if it lies beyond its ends.
fn beside_middle(track: &Track, a: Sweep, b: Sweep) -> Option<f64> {
    let at = track.at[(b.first + b.last) / 2];
    let (place, off) = a.nearest(track, at)?;
    (place > a.first as f64 && place < a.last as f64).then_some(off)
}

/// Finds all weaves between two points of a track, in order.
pub fn weaves(track: &Track, from: usize, to: usize) -> Vec<Weave> {
    let on_track = |chain: Vec<Sweep>| chain.into_iter().map(|sweep| sweep.shifted(from)).collect();
    let mut pieces: Vec<Vec<Sweep>> = rows::chains(&track.between(from, to))
        .into_iter()
        .map(on_track)
        .map(|chain| straightened(track, chain))
        .filter(|chain| chain.len() >= MIN_SWEEPS)
        .flat_map(|chain| split(track, &chain))
        .collect();
    hand_over_first(track, &mut pieces);
    pieces
        .into_iter()
        .flat_map(|sweeps| match tidy_ends(track, &sweeps) {
            Some(weave) => vec![weave],
            None => there_and_back(track, &sweeps)
                .into_iter()
                .flatten()
                .filter_map(|part| tidy_ends(track, part))
                .filter(Weave::has_rows)
                .collect(),
        })
        .filter(|weave| !are_spurs(track, &weave.sweeps, weave.advance(track)))
        .collect()
}

/// Gives each column its first crossing where zigzag beneath it took that for its own last one: from
/// the zigzag's end on the thread turns into the column, and either could have it.
fn hand_over_first(track: &Track, pieces: &mut [Vec<Sweep>]) {
    /// It is as long as those of the column but for this share, and lies no further from them than so
    /// many times what they do.
    const ALIKE: f64 = 0.06;
    const NEAR: f64 = 1.5;
    /// Zigzag lies at least so many times further apart.
    const OPEN: f64 = 2.0;
    for at in 1..pieces.len() {
        let (before, after) = pieces.split_at_mut(at);
        let (zigzag, column) = (&mut before[at - 1], &mut after[0]);
        let (Some(&end), true) = (zigzag.last(), column.len() >= MIN_SWEEPS) else { continue };
        let stride = |a: Sweep, b: Sweep| distance(track.at[a.first], track.at[b.last]);
        let (own, usual) = (stride(end, column[0]), stride(column[0], column[1]));
        let lengths = [end, column[0], column[1]].map(|sweep| sweep.length(track));
        let alike = lengths.iter().all(|length| (length / lengths[1] - 1.0).abs() <= ALIKE);
        if zigzag.len() > MIN_SWEEPS
            && end.last == column[0].first
            && alike
            && own <= NEAR * usual
            && median(&mut advances(track, zigzag)) >= OPEN * advance(track, end, column[0])
        {
            zigzag.pop();
            column.insert(0, end);
        }
    }
}

/// Are these a line that goes aside and back over itself, again and again? That is a motif.
fn are_spurs(track: &Track, sweeps: &[Sweep], advance: f64) -> bool {
    /// They lie this far apart at least, mm: crossings of a fan may come back to one point as well.
    const APART: f64 = 0.4;
    /// Share of the turns that go back over the stitch before: every second one, but for a few.
    const SHARE: f64 = 0.4;
    let back = |w: &&[Sweep]| {
        let tip = w[0].last;
        let is_spur = tip == w[1].first && w.iter().any(|sweep| sweep.stitches() == 1);
        is_spur && track.retraces(tip)
    };
    let backs = sweeps.windows(2).filter(back).count();
    advance >= APART && backs as f64 >= SHARE * sweeps.len() as f64
}

/// Rows that keep one direction end where it ends: what follows leads along the edge.
fn straightened(track: &Track, mut chain: Vec<Sweep>) -> Vec<Sweep> {
    if !has_rows(&chain) {
        return chain;
    }
    let stitches = stitches(&chain);
    let (mean, agreement) = axis(track, &stitches);
    if agreement < STRAIGHT_ROWS {
        return chain;
    }
    // Without the steps along a slanted edge, which pull the mean to their side.
    let lead = LEAD_DEG.to_radians().tan();
    let is_along = |chord: Coord<f64>, axis: Coord<f64>| {
        cross(axis, chord).abs() <= lead * dot(axis, chord).abs()
    };
    let axis_of_all = direction(mean);
    let along = |s: &&Sweep| is_along(s.chord(track), axis_of_all);
    let (angle, _) = axis(track, &stitches.iter().filter(along).copied().collect::<Vec<_>>());
    let axis_of_rows = direction(angle);
    let leads_on = |from: usize, to: usize| {
        let step = track.at[to] - track.at[from];
        norm(step) >= LEAD_MM && !is_along(step, axis_of_rows)
    };
    for row in &mut chain {
        let corner = |i: usize| track.turn(i).abs() >= LEAD_TURN;
        while row.stitches() > 1 && corner(row.last - 1) && leads_on(row.last - 1, row.last) {
            row.last -= 1;
        }
        while row.stitches() > 1 && corner(row.first + 1) && leads_on(row.first, row.first + 1) {
            row.first += 1;
        }
    }
    chain
}

/// Every stitch of some sweeps as a sweep of its own.
fn stitches(sweeps: &[Sweep]) -> Vec<Sweep> {
    let of = |row: &Sweep| (row.first..row.last).map(|i| Sweep { first: i, last: i + 1 });
    sweeps.iter().flat_map(of).collect()
}

/// Splits a chain where the density, the axis or both rails break.
fn split(track: &Track, chain: &[Sweep]) -> Vec<Vec<Sweep>> {
    let advances = advances(track, chain);
    let dense = density_states(&advances);
    let turns_back = progress_flips(track, chain);
    let rows = row_states(chain);
    let mut usual: Vec<f64> =
        chain.windows(2).map(|w| distance(track.at[w[0].first], track.at[w[1].last])).collect();
    let usual = median(&mut usual);
    let mut pieces: Vec<Vec<Sweep>> = vec![vec![chain[0]]];
    for link in 0..advances.len() {
        let sweep = chain[link + 1];
        let changes = link > 0 && dense[link] != dense[link - 1] && jumps(&advances, link);
        if changes || turns_back[link] {
            // The sweep at the turn belongs to the side that it is more like.
            let turning = (link > 0 && like_next(track, chain, link))
                .then(|| pieces.last_mut().and_then(Vec::pop))
                .flatten();
            pieces.push(turning.into_iter().collect());
        } else if breaks(track, chain, link, rows[link], usual) {
            pieces.push(Vec::new());
        }
        if let Some(piece) = pieces.last_mut() {
            piece.push(sweep);
        }
    }
    pieces
}

/// Does the advance change here, not over many rows?
fn jumps(advances: &[f64], link: usize) -> bool {
    let mean = |links: &[f64]| links.iter().sum::<f64>() / links.len().max(1) as f64;
    let before = mean(&advances[link.saturating_sub(JUMP_LINKS)..link]);
    let after = mean(&advances[link..advances.len().min(link + JUMP_LINKS)]);
    before.max(after) >= JUMP * before.min(after)
}

/// Is sweep `i` in length and stitches more like the one after it than like the one before?
fn like_next(track: &Track, chain: &[Sweep], i: usize) -> bool {
    let unlike = |other: Sweep| {
        let stitches = chain[i].stitches().abs_diff(other.stitches()) as f64;
        stitches + (chain[i].length(track) - other.length(track)).abs()
    };
    unlike(chain[i + 1]) < unlike(chain[i - 1])
}

/// Dense (true) or open (false) for every link. A chain holds two densities only where its advances
/// fall into two groups far apart (zigzag underlay that runs on into its satin); the cheapest
/// labelling is taken, where a change costs more than a few odd links.
fn density_states(advances: &[f64]) -> Vec<bool> {
    const CHANGE: f64 = 3.0;
    let Some(threshold) = density_threshold(advances) else {
        return vec![true; advances.len()];
    };
    let cost = |value: f64, dense: bool| {
        let beyond = (value.max(0.01) / threshold).ln();
        (if dense { beyond } else { -beyond }).clamp(0.0, 1.0)
    };
    let mut total = [0.0; 2];
    let mut from: Vec<[usize; 2]> = Vec::with_capacity(advances.len());
    for &value in advances {
        let mut next = [0.0; 2];
        let mut back = [0; 2];
        for state in 0..2 {
            let (stay, go) = (total[state], total[1 - state] + CHANGE);
            back[state] = if stay <= go { state } else { 1 - state };
            next[state] = stay.min(go) + cost(value, state == 0);
        }
        total = next;
        from.push(back);
    }
    let mut state = usize::from(total[1] < total[0]);
    let mut states = vec![true; advances.len()];
    for i in (0..advances.len()).rev() {
        states[i] = state == 0;
        state = from[i][state];
    }
    states
}

/// The border between the two groups of advances, if there are two: two means in the logarithm,
/// by repetition from the extremes.
fn density_threshold(advances: &[f64]) -> Option<f64> {
    const APART: f64 = 1.9;
    const OPEN: f64 = 0.45;
    let logs: Vec<f64> = advances.iter().map(|a| a.max(0.05).ln()).collect();
    let mut sorted = logs.clone();
    let mut low = quantile(&mut sorted, 0.1);
    let mut high = quantile(&mut sorted, 0.95);
    for _ in 0..8 {
        let border = (low + high) / 2.0;
        let mean = |above: bool| {
            let group: Vec<f64> =
                logs.iter().copied().filter(|log| (*log > border) == above).collect();
            group.iter().sum::<f64>() / group.len().max(1) as f64
        };
        (low, high) = (mean(false), mean(true));
    }
    let apart = (high - low).exp() >= APART && high.exp() > OPEN;
    apart.then(|| ((low + high) / 2.0).exp())
}

/// Links after which the weave goes back over the ground it came from (a column sewn twice, zigzag
/// up and down): the side it advances to changes and stays changed.
fn progress_flips(track: &Track, chain: &[Sweep]) -> Vec<bool> {
    let sides = signed_advances(track, chain);
    let same_sign = |range: &[f64], sign: f64| range.iter().all(|side| side * sign > 0.0);
    (0..sides.len())
        .map(|link| {
            let sign = -sides[link].signum();
            let (before, after) = (&sides[link.saturating_sub(3)..link], &sides[link..]);
            before.len() >= 2
                && after.len() >= 2
                && same_sign(before, sign)
                && same_sign(&after[..after.len().min(3)], -sign)
        })
        .collect()
}

/// The two parts of a weave that goes back over its ground, or beside it: rows that were added
/// beyond the last, from outside inwards, and those sewn after them. Parts of few sweeps are by chance.
fn there_and_back<'a>(track: &Track, sweeps: &'a [Sweep]) -> Option<[&'a [Sweep]; 2]> {
    const FEWEST: usize = 6;
    if sweeps.len() < 2 * FEWEST {
        return None;
    }
    let sides = signed_advances(track, sweeps);
    let total: f64 = sides.iter().sum();
    let reached = sides.iter().scan(0.0, |sum, side| {
        *sum += side;
        Some(*sum)
    });
    let detour = |at: f64| at.abs() + (total - at).abs();
    let far = reached.enumerate().max_by(|a, b| detour(a.1).total_cmp(&detour(b.1)))?.0;
    let (there, back) = sweeps.split_at(far + 1);
    (there.len().min(back.len()) >= FEWEST).then_some([there, back])
}

/// Advance of every sweep to the side that the weave moves to, mm. Headings alternate, so the
/// cross product changes its sign with every sweep of a steady weave.
fn signed_advances(track: &Track, chain: &[Sweep]) -> Vec<f64> {
    let mut flip = -1.0;
    chain
        .windows(2)
        .map(|w| {
            flip = -flip;
            let step = w[1].middle(track) - w[0].middle(track);
            flip * cross(unit(w[0].chord(track) - w[1].chord(track)), step)
        })
        .collect()
}

/// Row-like (several stitches per sweep) neighbourhood for every link.
fn row_states(chain: &[Sweep]) -> Vec<bool> {
    const REACH: usize = 6;
    (0..chain.len().saturating_sub(1))
        .map(|link| {
            let window = &chain[link.saturating_sub(REACH)..(link + 2 + REACH).min(chain.len())];
            let rows = window.iter().filter(|s| s.stitches() > 1).count();
            rows * 5 >= window.len() * 2
        })
        .collect()
}

/// Does the weave break between sweep `link` and the next?
fn breaks(track: &Track, chain: &[Sweep], link: usize, rows: bool, usual: f64) -> bool {
    let (a, b) = (chain[link], chain[link + 1]);
    if rows {
        return !side_by_side(track, a, b) || axis_break(track, chain, link, 40.0);
    }
    let stride = distance(track.at[a.first], track.at[b.last]);
    let step = distance(track.at[a.last], track.at[b.first]);
    let limit = (4.0 * usual).max(1.6);
    stride > limit && (axis_break(track, chain, link, 35.0) || step > 1.2 || stride > 2.0 * limit)
}

/// Do two rows overlap along their axis by a good part of the shorter one?
fn side_by_side(track: &Track, a: Sweep, b: Sweep) -> bool {
    let (shared, shorter) = rows::beside(track, a, b);
    shared >= 0.3 * shorter
}

/// Does the axis jump by more than `limit` degrees between sweep `link` and the next, and not go on
/// turning at the same rate to either side, as it does in a fan?
fn axis_break(track: &Track, chain: &[Sweep], link: usize, limit: f64) -> bool {
    let mean = |sweeps: &[Sweep]| {
        let mut sum = Coord { x: 0.0, y: 0.0 };
        for (i, sweep) in sweeps.iter().enumerate() {
            let chord = sweep.chord(track);
            sum = sum + if i % 2 == 0 { chord } else { chord * -1.0 };
        }
        line_angle(sum)
    };
    let before = &chain[link.saturating_sub(3)..=link];
    let after = &chain[link + 1..(link + 5).min(chain.len())];
    if before.len() < 2 || after.len() < 2 {
        return false;
    }
    let jump = between_lines(mean(before), mean(after));
    let within = |sweeps: &[Sweep]| {
        let (first, last) = sweeps.split_at(sweeps.len() / 2);
        between_lines(mean(first), mean(last))
    };
    // The middles of two groups beside each other are twice as far apart as those of their halves.
    jump > limit && jump > FAN * 2.0 * within(before).max(within(after))
}

/// Cuts travel that runs straight into the first crossing (or on from the last) off the end sweeps
/// and drops sweeps that only look like crossings. `None` where no weave is left.
fn tidy_ends(track: &Track, sweeps: &[Sweep]) -> Option<Weave> {
    if sweeps.len() < MIN_SWEEPS {
        return None;
    }
    let mut sweeps = sweeps.to_vec();
    take_off_steps(track, &mut sweeps);
    drop_foreign_ends(track, &mut sweeps);
    drop_longer_ends(track, &mut sweeps);
    drop_backward_ends(track, &mut sweeps);
    drop_short_ends(track, &mut sweeps);
    drop_stray_ends(track, &mut sweeps);
    let weave = Weave { sweeps };
    let advance = weave.advance(track);
    // Wide rows do not begin by chance.
    let fewest = if advance > DENSE_ROWS && weave.has_rows() { MIN_WIDE_ROWS } else { MIN_SWEEPS };
    (weave.sweeps.len() >= fewest
        && advance >= MIN_ADVANCE
        && advances_steadily(track, &weave.sweeps))
    .then_some(weave)
}

/// Where the outline is at a flat angle to the rows, the step from one to the next bends too little to
/// end a sweep: it is taken off where most rows have one.
fn take_off_steps(track: &Track, sweeps: &mut [Sweep]) {
    /// Longest such step, mm, how far it turns off its row, degrees, and how many rows have one, or any.
    const STEP: f64 = 1.2;
    const TURN: f64 = 15.0;
    const SHARE: f64 = 0.75;
    let turns = |row: Coord<f64>, step: Coord<f64>| {
        norm(step) <= STEP && norm(step) < norm(row) && turn(row, step).abs() >= TURN
    };
    let at = |i: usize| track.at[i];
    let without = |sweep: &Sweep| {
        let Sweep { mut first, mut last } = *sweep;
        if last - first > 1 && turns(at(last - 1) - at(first), at(last) - at(last - 1)) {
            last -= 1;
        }
        if last - first > 1 && turns(at(last) - at(first + 1), at(first + 1) - at(first)) {
            first += 1;
        }
        Sweep { first, last }
    };
    let rows: Vec<Sweep> = sweeps.iter().map(without).collect();
    if steps_share(&rows) >= SHARE {
        sweeps.copy_from_slice(&rows);
    }
}

/// Drops sweeps at both ends that are no crossings of the weave: ties, underlay that leads in,
/// travel that leads on.
fn drop_foreign_ends(track: &Track, sweeps: &mut Vec<Sweep>) {
    let mut strides: Vec<f64> =
        sweeps.windows(2).map(|w| distance(track.at[w[0].first], track.at[w[1].last])).collect();
    let stride = median(&mut strides);
    let mut lengths: Vec<f64> = sweeps.iter().map(|s| s.length(track)).collect();
    let rows = has_rows(sweeps);
    let (angle, agreement) = axis(track, sweeps);
    let long = sweeps.iter().filter(|s| s.stitches() >= LONG_ROW).count() * 2 > sweeps.len();
    if rows && long && axis(track, &stitches(sweeps)).1 < BENT_ROWS {
        // Where rows bend, a short one at the end shows but a part of the bend.
        return;
    }
    let row_axis = (rows && agreement > ONE_AXIS).then_some(angle);
    let usual = End { stride, length: median(&mut lengths), row_axis };
    for _ in 0..2 {
        // seen from the end, so that one piece of code serves both ends
        sweeps.reverse();
        while sweeps.len() >= MIN_SWEEPS && usual.trims_last(track, sweeps) {}
    }
}

/// Drops crossings and rows at both ends that have more stitches than the others: what leads to the
/// first one from the other edge is travel.
fn drop_longer_ends(track: &Track, sweeps: &mut Vec<Sweep>) {
    for at_end in [false, true] {
        if sweeps.len() < MIN_SWEEPS {
            return;
        }
        let end = from_end(sweeps, at_end, 0);
        let is_travel = match has_rows(sweeps) {
            true => runs_across(track, sweeps, at_end),
            false => end.stitches() > 1 && from_end(sweeps, at_end, 1).stitches() == 1,
        };
        if is_travel {
            drop_end(sweeps, at_end);
        }
    }
}

/// A sweep, counted from either end.
fn from_end(sweeps: &[Sweep], at_end: bool, k: usize) -> Sweep {
    sweeps[if at_end { sweeps.len() - 1 - k } else { k }]
}

fn drop_end(sweeps: &mut Vec<Sweep>, at_end: bool) {
    sweeps.remove(if at_end { sweeps.len() - 1 } else { 0 });
}

/// Does a run of even stitches lie across the end of rows, that are sewn in fewer and longer ones?
fn runs_across(track: &Track, sweeps: &[Sweep], at_end: bool) -> bool {
    /// Rows looked at beside it, and how much longer than they it may be: where they become longer,
    /// more stitches are their own.
    const BESIDE: usize = 4;
    const NO_LONGER: f64 = 1.05;
    /// Its stitches are this much shorter at least, on the whole.
    const SHORTER: f64 = 0.75;
    /// They are alike within this share, and the grid, mm.
    const ALIKE: f64 = 0.1;
    const GRID: f64 = 0.15;
    let end = from_end(sweeps, at_end, 0);
    let beside = (1..sweeps.len().min(BESIDE + 1)).map(|k| from_end(sweeps, at_end, k));
    let beside: Vec<Sweep> = beside.collect();
    let most = beside.iter().map(Sweep::stitches).max().unwrap_or(0);
    let longest = beside.iter().map(|row| row.length(track)).fold(0.0, f64::max);
    if end.stitches() <= most || end.length(track) > NO_LONGER * longest {
        return false;
    }
    let mean = |rows: &[Sweep]| {
        let stitches: usize = rows.iter().map(Sweep::stitches).sum();
        rows.iter().map(|row| row.length(track)).sum::<f64>() / stitches.max(1) as f64
    };
    let own = (end.first + 1..=end.last).map(|i| track.stitch(i));
    let (least, greatest) =
        own.fold((f64::INFINITY, 0.0), |(a, b): (f64, f64), stitch| (a.min(stitch), b.max(stitch)));
    mean(&[end]) <= SHORTER * mean(&beside) && greatest <= (1.0 + ALIKE) * least + GRID
}

/// Drops the first and the last crossing of a column that keeps its width where they do not reach
/// from rail to rail: from underlay to the column's first needle point, or from its last one on, is
/// travel.
fn drop_short_ends(track: &Track, sweeps: &mut Vec<Sweep>) {
    /// Crossings looked at beside the end; they are alike within this share.
    const BESIDE: usize = 4;
    const ALIKE: f64 = 0.12;
    /// The end lies further inside than this, mm.
    const INSIDE: f64 = 0.3;
    if has_rows(sweeps) {
        return;
    }
    for at_end in [false, true] {
        if sweeps.len() < BESIDE + MIN_SWEEPS {
            return;
        }
        let length = |k: usize| from_end(sweeps, at_end, k).length(track);
        let beside: Vec<f64> = (1..=BESIDE).map(length).collect();
        let (least, most) = beside
            .iter()
            .fold((f64::INFINITY, 0.0), |(a, b): (f64, f64), v| (a.min(*v), b.max(*v)));
        let short = least - length(0);
        if most <= (1.0 + ALIKE) * least && short >= INSIDE {
            drop_end(sweeps, at_end);
        }
    }
}

/// Drops the first and the last crossing of a column in its narrow tip that a longer stitch leads
/// to, or on from, if it falls out of step there: the needle points of an edge go on evenly, and
/// underlay beneath the column ends where it will.
fn drop_stray_ends(track: &Track, sweeps: &mut Vec<Sweep>) {
    /// The stitch beyond is at least so long, mm: ties begin at the column's own needle point.
    const LEADING: f64 = 1.2;
    /// Longest crossing of a tip, mm.
    const TIP: f64 = 0.6;
    /// The point lies so far, mm, from where the edge would have gone on: more than rounding moves
    /// it; this share of the step before; and so many times further than those beside it.
    const ASIDE: f64 = 0.28;
    const OF_STEP: f64 = 0.5;
    const STANDS_OUT: f64 = 2.0;
    if has_rows(sweeps) || sweeps.iter().any(|sweep| sweep.stitches() > 1) {
        return;
    }
    for at_end in [false, true] {
        if sweeps.len() < MIN_SWEEPS + 4 {
            return;
        }
        let Sweep { first, last } = from_end(sweeps, at_end, 0);
        let needle = |k: usize| track.at[if at_end { last - k } else { first + k }];
        let leading = if at_end { last + 1 } else { first };
        let beyond = (1..track.len()).contains(&leading).then(|| track.stitch(leading));
        let aside = |k: usize| norm(needle(k) + needle(k + 4) - needle(k + 2) * 2.0);
        let off = aside(0);
        if beyond.is_some_and(|length| length >= LEADING)
            && distance(needle(0), needle(1)) <= TIP
            && off >= ASIDE
            && off >= OF_STEP * distance(needle(2), needle(4))
            && off >= STANDS_OUT * aside(1).max(aside(2))
        {
            drop_end(sweeps, at_end);
        }
    }
}

/// Drops the first and the last few rows that advance against all others: travel that leads to
/// the first row, or away from the last.
fn drop_backward_ends(track: &Track, sweeps: &mut Vec<Sweep>) {
    const MOST: usize = 4;
    if !has_rows(sweeps) {
        return;
    }
    let sides = signed_advances(track, sweeps);
    let sign = sides.iter().sum::<f64>().signum();
    let backward = |side: &f64| side * sign < -MIN_ADVANCE;
    let last_of = |ends: &mut dyn Iterator<Item = &f64>| {
        ends.take(MOST).enumerate().filter(|(_, side)| backward(side)).map(|(i, _)| i + 1).last()
    };
    let head = last_of(&mut sides.iter()).unwrap_or(0);
    let tail = last_of(&mut sides.iter().rev()).unwrap_or(0);
    if head + tail + MIN_SWEEPS <= sweeps.len() {
        sweeps.truncate(sweeps.len() - tail);
        sweeps.drain(..head);
    }
}

/// What the sweeps of a weave are usually like, to judge those at its ends.
struct End {
    /// Same-side advance, mm.
    stride: f64,
    /// Length of a sweep, mm.
    length: f64,
    /// Direction of the rows, degrees, where there are rows.
    row_axis: Option<f64>,
}

impl End {
    /// Cuts the last sweep (which is the first one, if the list runs backwards) or drops it, if it
    /// is no crossing of the weave. Says whether it was dropped.
    fn trims_last(&self, track: &Track, sweeps: &mut Vec<Sweep>) -> bool {
        let n = sweeps.len();
        let backwards = sweeps[0].first > sweeps[n - 1].first;
        // The free end of the last sweep and, beside it, the far end of the sweep before.
        let beside = if backwards { sweeps[n - 2].last } else { sweeps[n - 2].first };
        let cut = nearest_cut(track, sweeps[n - 1], track.at[beside], backwards);
        let last = &mut sweeps[n - 1];
        if backwards {
            last.first = cut;
        } else {
            last.last = cut;
        }
        let inward = sweeps[n.saturating_sub(4)].middle(track) - sweeps[n - 2].middle(track);
        let ends = (track.at[cut], track.at[beside]);
        if self.is_foreign(track, sweeps[n - 1], ends, inward) || self.is_odd(track, sweeps) {
            sweeps.pop();
            return true;
        }
        false
    }

    /// Is the last sweep a stub, or, alone or with the one before it, much longer than those before?
    fn is_odd(&self, track: &Track, sweeps: &[Sweep]) -> bool {
        let n = sweeps.len();
        let length = |back: usize| sweeps[n - back].length(track);
        let longer = |a: f64, b: f64| a > 1.3 * b + 0.5;
        // A stub after crossings that are all alike is a tie, not a crossing.
        let alike = |a: f64, b: f64| (a - b).abs() <= 0.15 * b;
        if n > 4
            && sweeps[n - 4..].iter().all(|sweep| sweep.stitches() <= 2)
            && length(2) > 3.0
            && alike(length(3), length(2))
            && alike(length(4), length(2))
            && length(1) < 0.35 * length(2)
        {
            return true;
        }
        self.row_axis.is_none()
            && (longer(length(1), length(2))
                || longer(length(1), length(3)) && longer(length(2), length(3)))
    }

    /// `ends` are the free end of the outermost sweep and the point beside it on the next sweep;
    /// `inward` leads from the end into the weave.
    fn is_foreign(
        &self,
        track: &Track,
        sweep: Sweep,
        ends: (Coord<f64>, Coord<f64>),
        inward: Coord<f64>,
    ) -> bool {
        let inward = unit(inward);
        let step = ends.1 - ends.0;
        let along = dot(step, inward);
        let lateral = cross(step, inward).abs();
        if let Some(axis) = self.row_axis {
            // row ends follow any outline; only the direction of a row tells
            let own = line_angle(sweep.chord(track));
            return between_lines(own, axis) > 30.0 && sweep.length(track) > 1.0;
        }
        let forward = 2.5 * self.stride + 0.3;
        along < -0.15 - 0.3 * self.stride
            || along > forward
            || lateral > (0.3 * self.length).max(0.35)
    }
}

/// Where along an end sweep the weave's own crossing begins (or ends): at the point nearest to the
/// other end of the neighbouring sweep, when the sweep's own end is far from it.
fn nearest_cut(track: &Track, sweep: Sweep, beside: Coord<f64>, at_start: bool) -> usize {
    let own = if at_start { sweep.first } else { sweep.last };
    if sweep.stitches() == 1 || distance(track.at[own], beside) < 1.5 {
        return own;
    }
    let candidates =
        if at_start { sweep.first..sweep.last } else { sweep.first + 1..sweep.last + 1 };
    let best = candidates
        .min_by(|&a, &b| distance(track.at[a], beside).total_cmp(&distance(track.at[b], beside)))
        .unwrap_or(own);
    if distance(track.at[best], beside) < 1.0 { best } else { own }
}

/// A weave moves on to one side; hand-placed stitches that happen to go back and forth do not.
fn advances_steadily(track: &Track, sweeps: &[Sweep]) -> bool {
    let sides = signed_advances(track, sweeps);
    let along: f64 = sides.iter().filter(|side| **side > 0.0).sum();
    let against: f64 = -sides.iter().filter(|side| **side < 0.0).sum::<f64>();
    along.min(against) <= 0.2 * along.max(against) && along.max(against) > 0.3
}
