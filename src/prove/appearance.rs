//! What can be seen, before and after: the colour on top of every cell.
//!
//! Thread is drawn as strokes in sewing order, each in the colour of its *original* stop. A cell
//! that shows another colour counts where that colour was more than one cell away before: rounding
//! to the grid moves an edge by as much. What turned fills declare is left out: their own texture
//! within their outline, and its edge by what their row ends may grow.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use geo::{BoundingRect, Coord, MultiPoint, Point, Rect};

use super::blame::{Blame, Suspect};
use super::quick::QuickMap;
use super::regions::{self, Region};
use super::sewn::{Sewn, Stitch};
use super::windows::Windows;
use super::{Settings, Violation};
use crate::design::Pt;
use crate::geometry::engine;
use crate::geometry::raster::Canvas;
use crate::geometry::vector::left_of;
use crate::objects::{Label, Object};
use crate::report::words;
use crate::settings::PassName;
use crate::survey::{Junction, SAMPLE_MM};

/// Side of a cell, mm: one point of the tape.
const CELL_MM: f64 = 0.1;
/// Smaller joined regions of another colour are no violation, mm² (J: rounding alone makes specks
/// of up to five cells).
const REGION_MM2: f64 = 0.05;
/// Smaller openings in the texture of one colour are none, mm² (J: a hole of a thread's width is
/// not seen; rounding leaves holes between rows).
const TEXTURE_MM2: f64 = 0.16;
/// The same thread between row ends of a turned fill, mm² (J: a millimetre of it).
const OWN_MM2: f64 = 0.4;
/// All that shows of new hidden stitches along one line, mm² (J: 2.5 mm of thread).
const LINE_MM2: f64 = 1.0;
/// All cloth that shows along the slit of a row that is gone, mm² (J: rows of 0.25 mm pitch leave 0.06
/// mm² to the millimetre).
const SLIT_MM2: f64 = 0.3;
/// Cells from one slit in which a line shows to the next, at most (J: 1 mm; neighbouring columns lie
/// further apart).
const LINE_CELLS: usize = 10;
/// Travel and underlay that lay in view may be gone with their object's old stitches, mm² (J: 3 mm of
/// thread, as much as a link may show).
const STRAY_MM2: f64 = 1.2;
/// Cells that the edge of a turned fill may move over another colour (J: row ends leave notches).
const NOTCH_CELLS: usize = 3;
/// Cells from the middle of a hole to the threads around it (J: half a thread, and rounding).
const HOLE_CELLS: usize = 3;
/// Room around all that differs, mm, so that every cell in a window has neighbours.
const RIM_MM: f64 = 3.0;
/// Widest slit, in cells, between threads that cover (as closed in the sew-out: a pair of threads).
const SLIT_CELLS: usize = 4;
/// Marks new stitches that must not show.
const SECRET: u16 = 1 << 15;
/// Marks thread of old uncut jumps that are gone: it is no part of the look.
const LOOSE: u16 = 1 << 15;
/// Marks old travel and underlay that is gone.
const STRAY: u16 = 1 << 14;
/// What of a cell is no colour.
const MARKS: u16 = SECRET | STRAY;
/// Marks what of a turned fill must stay covered.
const CORE: u16 = 1 << 15;
/// Colours that can be told apart; further ones share the last.
const COLOURS_MAX: u32 = (1 << 14) - 2;

/// What the comparison found.
#[derive(Default)]
pub struct Look {
    pub violations: Vec<Violation>,
    /// Area that shows another colour or bare cloth, beyond what changes declare, mm².
    pub recoloured_mm2: f64,
    /// Area of cloth that is newly covered, likewise.
    pub newly_covered_mm2: f64,
}

/// What is wrong with a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Fault {
    Recoloured,
    Covered,
    Uncovered,
    /// A hole no wider than a thread, between stitches, is filled.
    Filled,
    /// Cloth shows in the middle of a turned fill.
    Opened,
    /// Travel or underlay that strayed into view is gone.
    Stray,
    /// New stitches that must lie hidden do not.
    Secret,
    /// The same within a turned fill of the same thread.
    OwnSecret,
}

impl Fault {
    /// Joined regions up to this size are no violation, mm².
    fn tolerated_mm2(self) -> f64 {
        match self {
            Self::Recoloured | Self::Covered => REGION_MM2,
            Self::Uncovered | Self::Filled | Self::Opened | Self::Secret => TEXTURE_MM2,
            Self::OwnSecret => OWN_MM2,
            Self::Stray => STRAY_MM2,
        }
    }

    /// Does cloth show that was covered?
    fn opens(self) -> bool {
        matches!(self, Self::Uncovered | Self::Opened)
    }

    fn is_secret(self) -> bool {
        matches!(self, Self::Secret | Self::OwnSecret)
    }

    /// Does a slit one cell wide count? Between stitches of one texture it is not seen; what
    /// sticks out over an edge is.
    fn counts_as_slit(self) -> bool {
        self == Self::Covered
    }
}

pub fn compare(before: &Sewn, after: &Sewn, blame: &Blame, settings: &Settings) -> Look {
    let Some(empty) = canvas(before, after) else { return Look::default() };
    let colours = Colours { settings };
    let width = settings.profile.numbers.thread_width_mm;
    let windows = Windows::of([before, after], &empty, width);
    // What a cell showed before is also looked for beside it.
    let was = colours.picture(before, &empty, &windows, HOLE_CELLS, |stitch| match stitch.sewn {
        true if !stitch.known && lies_below(before, stitch) => STRAY,
        true => 0,
        false => LOOSE,
    });
    let moved = OnceCell::new();
    let is_moved = |stitch: &Stitch| {
        moved.get_or_init(|| moved_a_little(before, after)).contains(&stitch.index)
    };
    let is = colours.picture(after, &empty, &windows, 0, |stitch| {
        let hidden = is_secret(after, stitch) && !is_moved(stitch);
        if hidden { SECRET } else { 0 }
    });
    let turned = Turned::new(before, &empty, blame, &colours);
    let own = OnceCell::new();
    let wider = widened(before, &empty, blame, &colours);
    let gaps = OnceCell::new();
    let closed = || gaps.get_or_init(|| closed_gaps(before, &empty, blame, &colours)).as_ref();
    let supported = || own.get_or_init(|| supported(before, &empty, blame, &colours)).as_ref();
    let mut faults: BTreeMap<usize, Fault> = BTreeMap::new();
    for run in windows.runs(&empty) {
        let (before, after) = (&was.cells()[run.clone()], &is.cells()[run.clone()]);
        // New hidden stitches are marked in the second picture alone, so equal cells are sound.
        if before == after {
            continue;
        }
        for index in
            run.clone().filter(|index| before[index - run.start] != after[index - run.start])
        {
            let in_slit = || supported().is_some_and(|own| shows_in_slit(index, own, &is));
            let at_edge = || wider.as_ref().is_some_and(|wider| shows_wider(index, wider, &is));
            let in_gap = || closed().is_some_and(|closed| shows_wider(index, closed, &is));
            let declared = |fault: &Fault| {
                in_slit()
                    || at_edge()
                    || matches!(fault, Fault::Covered | Fault::Filled) && in_gap()
            };
            if let Some(fault) =
                fault_of(index, &was, &is, turned.as_ref()).filter(|fault| !declared(fault))
            {
                faults.insert(index, fault);
            }
        }
    }
    let area = |wanted: &[Fault]| {
        let count = faults.values().filter(|fault| wanted.contains(fault)).count();
        was.area(count)
    };
    let mut look = Look {
        recoloured_mm2: area(&[Fault::Recoloured, Fault::Uncovered]),
        newly_covered_mm2: area(&[Fault::Covered]),
        violations: Vec::new(),
    };
    // A hair of tolerance: a number of cells times their area is rounded.
    let tolerated = |fault: Fault| match (fault, &turned) {
        (Fault::Opened, Some(turned)) => turned.tip_mm2,
        _ => fault.tolerated_mm2(),
    };
    // A line that shows in slit after slit is seen, however small each piece is.
    let secret = faults.iter().filter(|(_, fault)| fault.is_secret()).map(|(cell, _)| *cell);
    let lines = regions::lines(secret, is.width(), LINE_CELLS);
    let long = |cells: &&BTreeSet<usize>| is.area(cells.len()) > LINE_MM2;
    let in_line: BTreeSet<usize> = lines.iter().filter(long).flatten().copied().collect();
    // So is a row that is gone: its slit is narrow and broken, but long.
    let open = faults.iter().filter(|(_, fault)| fault.opens()).map(|(cell, _)| *cell);
    let slits = regions::lines(open, is.width(), SLIT_CELLS);
    let long = |cells: &&BTreeSet<usize>| is.area(cells.len()) > SLIT_MM2;
    let in_slit: BTreeSet<usize> = slits.iter().filter(long).flatten().copied().collect();
    let seen = |r: &Region<Fault>| {
        let is_line = r.cells.first().is_some_and(|cell| in_line.contains(cell));
        let least = if is_line { REGION_MM2 } else { tolerated(r.kind) };
        let area = is.area(r.cells.len());
        let counts = r.kind.counts_as_slit() || r.is_thick(is.width());
        let is_slit = r.cells.first().is_some_and(|cell| in_slit.contains(cell));
        area > least + 1e-9 && counts || is_slit && area > REGION_MM2
    };
    let regions: Vec<Region<Fault>> =
        regions::joined(&faults, is.width()).into_iter().filter(seen).collect();
    if !regions.is_empty() {
        let owners = Owners::of([before, after], &is, &windows, &regions, width);
        look.violations = regions.iter().map(|region| owners.blame(region, &is, blame)).collect();
    }
    look
}

/// A canvas that all stitches fit on in which two tapes differ; `None` if they do not.
fn canvas(before: &Sewn, after: &Sewn) -> Option<Canvas> {
    let stitches = before.stitches.iter().chain(&after.stitches);
    let ends = stitches.filter(|s| !s.in_order).flat_map(|s| [s.from, s.to]);
    let ends: MultiPoint<f64> = ends.map(|at| Point(at.mm())).collect();
    let bounds = ends.bounding_rect()?;
    let rim = Coord { x: RIM_MM, y: RIM_MM };
    Some(Canvas::new(Rect::new(bounds.min() - rim, bounds.max() + rim), CELL_MM))
}

struct Colours<'a> {
    settings: &'a Settings,
}

impl Colours<'_> {
    /// Value of a stop's thread: the same for all stops of one colour, never 0.
    fn of(&self, stop: u32) -> u16 {
        let first = match &self.settings.colours {
            None => stop,
            Some(_) => (0..stop).find(|s| self.settings.same_colour(*s, stop)).unwrap_or(stop),
        };
        (first.min(COLOURS_MAX) + 1) as u16
    }

    /// What of a tape shows in the windows and up to `rim` cells beside them, each stitch with its
    /// mark.
    fn picture(
        &self,
        sewn: &Sewn,
        empty: &Canvas,
        windows: &Windows,
        rim: usize,
        mark: impl Fn(&Stitch) -> u16,
    ) -> Canvas {
        let width = self.settings.profile.numbers.thread_width_mm;
        let mut canvas = empty.alike();
        let mut colour = (u32::MAX, 0);
        for stitch in &sewn.stitches {
            if colour.0 != stitch.stop {
                colour = (stitch.stop, self.of(stitch.stop));
            }
            // Thread of old uncut jumps is cut by hand; new ones must lie hidden.
            if !stitch.sewn && stitch.known || !windows.shows(stitch, empty, rim) {
                continue;
            }
            let value = colour.1 | mark(stitch);
            canvas.lay_stitch(stitch.from.mm(), stitch.to.mm(), width, value);
        }
        canvas
    }
}

/// Must a stitch lie under later ones? New underlay, guards and links must; ties lie within their
/// object.
fn is_secret(sewn: &Sewn, stitch: &Stitch) -> bool {
    !stitch.known && (!stitch.sewn || lies_below(sewn, stitch) && !sewn.is_along_rows(stitch))
}

/// Is a stitch travel or underlay?
fn lies_below(sewn: &Sewn, stitch: &Stitch) -> bool {
    let label = sewn.label(stitch);
    label == Label::Travel || Object::is_underlay(label)
}

/// New travel and underlay that is no more than some of the original that is gone, moved a little with
/// its object's needle points: by the penetration it ends at. Each stitch of the original excuses one.
fn moved_a_little(before: &Sewn, after: &Sewn) -> BTreeSet<u32> {
    /// No further than this, mm (J): what rounding and a wider column come to.
    const MOVED: f64 = 0.2;
    /// Side of a place, tape points: no less, so that it has moved to the next one at most.
    const PLACE: i32 = 4;
    let new = |sewn, stitch: &&Stitch| !stitch.known && stitch.sewn && lies_below(sewn, stitch);
    let middle = |a: i32, b: i32| (a + b).div_euclid(2 * PLACE);
    let place = |s: &Stitch| Pt::new(middle(s.from.x, s.to.x), middle(s.from.y, s.to.y));
    let mut gone: BTreeMap<(u32, Pt), Vec<&Stitch>> = BTreeMap::new();
    for stitch in before.stitches.iter().filter(|stitch| new(before, stitch)) {
        gone.entry((stitch.stop, place(stitch))).or_default().push(stitch);
    }
    let near = |a: Pt, b: Pt| a.distance(b) <= MOVED;
    let was = |then: &Stitch, now: &Stitch| {
        near(then.from, now.from) && near(then.to, now.to)
            || near(then.from, now.to) && near(then.to, now.from)
    };
    let mut take = |now: &Stitch| {
        let around = (-1..=1).flat_map(|x| (-1..=1).map(move |y| Pt::new(x, y)));
        around.map(|by| (now.stop, place(now) + by)).any(|key| {
            let Some(there) = gone.get_mut(&key) else { return false };
            let found = there.iter().position(|then| was(then, now));
            found.map(|then| there.swap_remove(then)).is_some()
        })
    };
    let moved = after.stitches.iter().filter(|s| new(after, s) && take(s));
    moved.map(|stitch| stitch.index).collect()
}

fn fault_of(index: usize, was: &Canvas, is: &Canvas, turned: Option<&Turned>) -> Option<Fault> {
    let (before, after) = (was.cells()[index], is.cells()[index]);
    let (after, secret) = (after & !SECRET, after & SECRET != 0);
    if before & LOOSE != 0 {
        return secret.then_some(Fault::Secret);
    }
    let (before, stray) = (before & !STRAY, before & STRAY != 0);
    let moved = before == after || within(was, index, 1, |cell| cell & !MARKS == after);
    let texture = turned.and_then(|turned| turned.texture(index, was, is));
    if moved || texture == Some(Texture::Declared) {
        // In a slit between the rows of a turned fill its underlay is texture.
        let is_new = before != 0 || texture.is_some();
        let shows =
            secret && is_new && !(texture.is_some() && in_slit(is, index, |cell| cell == after));
        let fault = if texture.is_some() { Fault::OwnSecret } else { Fault::Secret };
        return shows.then_some(fault);
    }
    Some(match (before, after) {
        _ if texture == Some(Texture::Opened) => Fault::Opened,
        _ if stray => Fault::Stray,
        (0, _) if lies_between(was, index, HOLE_CELLS, |cell| cell != 0) => Fault::Filled,
        (0, _) => Fault::Covered,
        (_, 0) => Fault::Uncovered,
        _ => Fault::Recoloured,
    })
}

/// Areas of the objects that were given underlay.
fn supported(before: &Sewn, empty: &Canvas, blame: &Blame, colours: &Colours) -> Option<Canvas> {
    let has_new = |object: &&Object| blame.did(PassName::EdgeRun, object.id);
    let objects: Vec<&Object> = before.judged.objects.items.iter().filter(has_new).collect();
    let mut own = (!objects.is_empty()).then(|| empty.alike())?;
    for object in objects {
        own.draw_area(&object.footprint, colours.of(object.stop));
    }
    Some(own)
}

/// Where columns that were widened may come to show.
fn widened(before: &Sewn, empty: &Canvas, blame: &Blame, colours: &Colours) -> Option<Canvas> {
    let is_wider = |object: &&Object| blame.did(PassName::WidenThin, object.id);
    let objects: Vec<&Object> = before.judged.objects.items.iter().filter(is_wider).collect();
    let numbers = &colours.settings.profile.numbers;
    let by = (numbers.widen_max_mm + numbers.thread_width_mm) / 2.0 + CELL_MM;
    let mut areas = (!objects.is_empty()).then(|| empty.alike())?;
    for object in objects {
        areas.draw_area(&engine::offset(&object.footprint, by), colours.of(object.stop));
    }
    Some(areas)
}

/// The gaps before their covers that objects were extended over: the cloth in them is what was wrong.
fn closed_gaps(before: &Sewn, empty: &Canvas, blame: &Blame, colours: &Colours) -> Option<Canvas> {
    let judged = &before.judged;
    let is_closed = |j: &&Junction| blame.did(PassName::Overlap, j.under);
    let junctions: Vec<&Junction> = judged.junctions.iter().filter(is_closed).collect();
    let mut gaps = (!junctions.is_empty()).then(|| empty.alike())?;
    for junction in junctions {
        let Some(under) = judged.objects.get(junction.under) else { continue };
        for sample in junction.samples.iter().filter(|sample| sample.overlap < 0.0) {
            let middle = sample.at + sample.inward * (sample.overlap / 2.0);
            // As wide as the gap, and so long that it meets the next one.
            let width = CELL_MM - sample.overlap;
            let along = left_of(sample.inward) * SAMPLE_MM;
            gaps.lay_stitch(middle - along, middle + along, width, colours.of(under.stop));
        }
    }
    Some(gaps)
}

/// Does a widened column show at its edge, or an extended object in the gap that it closes?
fn shows_wider(index: usize, wider: &Canvas, is: &Canvas) -> bool {
    wider.cells()[index] != 0 && is.cells()[index] == wider.cells()[index]
}

/// Does new underlay of an object show between its own top stitches, as near to each other as threads
/// that cover?
fn shows_in_slit(index: usize, own: &Canvas, is: &Canvas) -> bool {
    let (colour, cell) = (own.cells()[index], is.cells()[index]);
    colour != 0 && cell == colour | SECRET && in_slit(is, index, |cell| cell == colour)
}

/// Does a cell lie between such cells, so many of them away to either side at most?
fn lies_between(canvas: &Canvas, index: usize, most: usize, is: impl Fn(u16) -> bool) -> bool {
    gaps(canvas, index, most, is).next().is_some()
}

/// Does a cell lie in a slit between such cells that is no wider than threads leave which cover?
fn in_slit(canvas: &Canvas, index: usize, is: impl Fn(u16) -> bool) -> bool {
    gaps(canvas, index, SLIT_CELLS, is).any(|cells| cells <= SLIT_CELLS)
}

/// Cells between such cells to either side of one, so many of them away at most: across, up and
/// both ways aslant.
fn gaps(
    canvas: &Canvas,
    index: usize,
    most: usize,
    is: impl Fn(u16) -> bool,
) -> impl Iterator<Item = usize> {
    let cells = canvas.cells();
    let found = move |step: isize| {
        (1..=most).find(|k| {
            let at = index.checked_add_signed(*k as isize * step);
            at.and_then(|at| cells.get(at)).is_some_and(|cell| is(*cell))
        })
    };
    let row = canvas.width() as isize;
    let ways = [1, row - 1, row, row + 1];
    ways.into_iter().filter_map(move |step| Some(found(step)? + found(-step)? - 1))
}

/// Is there such a cell in the square of so many cells around?
fn within(canvas: &Canvas, index: usize, most: usize, is: impl Fn(u16) -> bool) -> bool {
    let (cells, width) = (canvas.cells(), canvas.width());
    (0..=2 * most).any(|row| {
        let middle = (index + row * width).checked_sub(most * width);
        middle.is_some_and(|middle| {
            let row = middle.saturating_sub(most)..(middle + most + 1).min(cells.len());
            cells.get(row).is_some_and(|row| row.iter().any(|cell| is(*cell)))
        })
    })
}

/// Fills whose texture may change.
struct Turned {
    declared: Canvas,
    /// Cells from the middle of a gap between rows to the threads beside it, by colour.
    gaps: BTreeMap<u16, usize>,
    /// Tips so small that rows as far apart do not reach them, mm².
    tip_mm2: f64,
}

impl Turned {
    fn new(before: &Sewn, empty: &Canvas, blame: &Blame, colours: &Colours) -> Option<Self> {
        let is_turned = |object: &&Object| blame.did(PassName::TurnFill, object.id);
        let objects: Vec<&Object> = before.judged.objects.items.iter().filter(is_turned).collect();
        if objects.is_empty() {
            return None;
        }
        let numbers = &colours.settings.profile.numbers;
        let edge = numbers.fill_pull_end_max_mm + numbers.thread_width_mm / 2.0;
        let mut declared = empty.alike();
        let mut gaps: BTreeMap<u16, usize> = BTreeMap::new();
        let mut tip_mm2 = TEXTURE_MM2;
        for object in objects {
            let colour = colours.of(object.stop);
            // Cover is closed over one pair of threads; open rows joined in a V leave more.
            let pitch = object.fill().map_or(0.0, |fill| fill.row_pitch);
            let open = 2.0 * pitch - numbers.thread_width_mm;
            let gap = numbers.sew_cover_closing_mm.max(open) / 2.0 + 2.0 * CELL_MM;
            tip_mm2 = tip_mm2.max(open.max(0.0).powi(2));
            let cells = gaps.entry(colour).or_default();
            *cells = (*cells).max((gap / CELL_MM).ceil() as usize);
            declared.draw_area(&engine::offset(&object.footprint, edge), colour);
            declared.draw_area(&engine::offset(&object.footprint, -edge), colour | CORE);
        }
        Some(Self { declared, gaps, tip_mm2 })
    }

    /// What a turned fill may do to a cell: show its own thread where it or cloth was, and at its edge
    /// cloth, or what it lies on. `None` if it is not the fill's own texture that changes.
    fn texture(&self, index: usize, was: &Canvas, is: &Canvas) -> Option<Texture> {
        let cell = self.declared.cells()[index];
        let (own, in_core) = (cell & !CORE, cell & CORE != 0);
        let [before, after] = [was, is].map(|canvas| canvas.cells()[index] & !MARKS);
        let is_own = |value: u16| value == own || value == 0;
        if cell == 0 || before != own && after != own && before.max(after) != 0 {
            return None;
        }
        let gap = self.gaps.get(&own).copied().unwrap_or(0);
        let in_slit = |canvas| lies_between(canvas, index, gap, |cell| cell & !MARKS == own);
        if !is_own(before) || !is_own(after) {
            // What it lies on shows in other slits than before, and its edge moves by a notch.
            let slit = in_slit(if after == own { was } else { is });
            let moved =
                slit || !in_core && within(was, index, NOTCH_CELLS, |c| c & !MARKS == after);
            return (moved && after != 0).then_some(Texture::Declared);
        }
        let opened = after == 0 && in_core && !in_slit(is);
        Some(if opened { Texture::Opened } else { Texture::Declared })
    }
}

/// How the texture of a turned fill changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Texture {
    Declared,
    /// Cloth shows away from the edge.
    Opened,
}

/// The stitches on top of the cells in question, in both tapes.
struct Owners<'a> {
    before: &'a Sewn<'a>,
    after: &'a Sewn<'a>,
    /// Per cell the stitch on top before and after.
    tops: QuickMap<usize, [Option<usize>; 2]>,
}

impl<'a> Owners<'a> {
    fn of(
        tapes: [&'a Sewn<'a>; 2],
        canvas: &Canvas,
        windows: &Windows,
        regions: &[Region<Fault>],
        width: f64,
    ) -> Self {
        let cells = regions.iter().flat_map(|region| region.cells.iter().copied());
        let mut tops: QuickMap<usize, [Option<usize>; 2]> =
            cells.map(|cell| (cell, [None; 2])).collect();
        let mut asked = canvas.alike();
        for cell in tops.keys() {
            let middle = canvas.middle_of(*cell);
            asked.lay_stitch(middle, middle, canvas.cell_mm() / 2.0, 1);
        }
        for (side, sewn) in tapes.into_iter().enumerate() {
            for (number, stitch) in sewn.stitches.iter().enumerate() {
                if !stitch.sewn && stitch.known || !windows.shows(stitch, canvas, 0) {
                    continue;
                }
                for cell in asked.cells_of_stitch(stitch.from.mm(), stitch.to.mm(), width) {
                    if asked.cells()[cell] != 0
                        && let Some(top) = tops.get_mut(&cell)
                    {
                        top[side] = Some(number);
                    }
                }
            }
        }
        let [before, after] = tapes;
        Self { before, after, tops }
    }

    fn blame(&self, region: &Region<Fault>, canvas: &Canvas, blame: &Blame) -> Violation {
        let mut votes: BTreeMap<Suspect, usize> = BTreeMap::new();
        for suspect in region.cells.iter().filter_map(|cell| self.guilty(*cell)) {
            *votes.entry(suspect).or_default() += 1;
        }
        let most = votes.values().max().copied().unwrap_or(0);
        let nobody = Suspect { owner: None, stop: 0, label: Label::Unsure };
        let first = votes.into_iter().find(|(_, count)| *count == most);
        let suspect = first.map_or(nobody, |(suspect, _)| suspect);
        let what = match region.kind {
            Fault::Recoloured => "shows another colour",
            Fault::Covered | Fault::Filled => "of bare cloth is covered",
            Fault::Uncovered | Fault::Opened | Fault::Stray => "is uncovered",
            Fault::Secret | Fault::OwnSecret => "of hidden stitching shows",
        };
        let at = canvas.middle_of(region.cells[region.cells.len() / 2]);
        let area = canvas.area(region.cells.len());
        blame.at(at, suspect, format!("{area:.2} mm² {what} ({})", words::label(suspect.label)))
    }

    /// Object and label whose stitch changed a cell: the one on top now if its stitch is new, else
    /// the one that was on top if its stitch is gone, else the one that came to lie on top.
    fn guilty(&self, cell: usize) -> Option<Suspect> {
        let [was, is] = self.tops.get(&cell).copied()?;
        let was = was.map(|number| (self.before, &self.before.stitches[number]));
        let is = is.map(|number| (self.after, &self.after.stitches[number]));
        let new = is.filter(|(_, stitch)| !stitch.known);
        let gone = was.filter(|(_, stitch)| !stitch.known);
        new.or(gone).or(is).or(was).map(|(sewn, stitch)| sewn.suspect(stitch.index))
    }
}
