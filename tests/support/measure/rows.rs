//! Rows of a turned fill: level enough for a cap.

use super::super::lines::{Lines, Stitch};
use super::super::plane::axis_angle;
use super::{Failure, Judged, Trial};

/// Rows run "5-15 degrees off horizontal" ("Embroidery at a stretch", Images, Feb 2022).
const LEVEL: f64 = 15.0;
const SHARE: f64 = 0.98;
/// Edges may hold other stitching; only what lies further in is judged, mm.
const INSET: f64 = 1.0;
/// mm between places that are counted along a stitch.
const STEP: f64 = 0.1;

/// Top stitches in the box of a fill, in its thread.
fn shown(trial: &Trial, piece: usize) -> Lines {
    let area = &trial.piece(piece).area;
    trial.shown(trial.piece(piece).stop, 0..usize::MAX, area.low(), area.high)
}

/// Row stitches of a fill: over 1 mm long, well inside its outline, in its thread, with no later
/// stitching of that thread over them, and no stitch of another object.
pub fn rows(trial: &Trial, piece: usize) -> Vec<Stitch> {
    let area = &trial.piece(piece).area;
    let shown = shown(trial, piece);
    let inside = |s: &&Stitch| {
        s.length() > 1.0 && area.holds_segment(s.a, s.b, INSET) && !trial.others(s, piece)
    };
    shown.items.iter().filter(inside).copied().collect()
}

/// Area pulled in by the inset, mm2, by counting 0.25 mm cells.
fn inner_area(trial: &Trial, piece: usize) -> f64 {
    const CELL: f64 = 0.25;
    let area = &trial.piece(piece).area;
    let (low, high) = (area.low(), area.high);
    let count = |axis: usize| ((high[axis] - low[axis]) / CELL) as usize;
    let mut cells = 0;
    for row in 0..count(1) {
        for column in 0..count(0) {
            let p = [low[0] + (column as f64 + 0.5) * CELL, low[1] + (row as f64 + 0.5) * CELL];
            cells += usize::from(area.holds(p, INSET));
        }
    }
    cells as f64 * CELL * CELL
}

pub fn judge(trial: &Trial, piece: usize) -> Judged {
    let rows = rows(trial, piece);
    let total: f64 = rows.iter().map(Stitch::length).sum();
    let steep = |s: &&Stitch| axis_angle(s.axis(), [1.0, 0.0]) > LEVEL;
    let level = total - rows.iter().filter(steep).map(|s| s.length()).sum::<f64>();
    let middle = trial.piece(piece).area.low();
    // Rows that are not there cannot be steep: the fill must still be sewn.
    let pitch = trial.piece(piece).row_pitch.unwrap_or(0.2);
    let area = &trial.piece(piece).area;
    let lines = shown(trial, piece);
    let inside = lines.items.iter().flat_map(|s| s.walk(STEP).skip(1));
    let sewn = inside.filter(|p| area.holds(*p, INSET)).count() as f64 * STEP * pitch;
    let sewn = sewn / inner_area(trial, piece).max(1e-9);
    if sewn < 0.8 {
        let text = format!("rows for {:.0} % of the area at {pitch:.2} mm", sewn * 100.0);
        return Failure::at(middle, text, ">= 80 %");
    }
    let share = level / total;
    let text = format!("{:.1} % of {total:.0} mm within {LEVEL} deg of level", share * 100.0);
    let worst = rows.iter().filter(steep).max_by(|a, b| a.length().total_cmp(&b.length()));
    match worst {
        Some(s) if share < SHARE => Failure::at(s.mid(), text, ">= 98 %"),
        _ => Judged::Met(text),
    }
}
