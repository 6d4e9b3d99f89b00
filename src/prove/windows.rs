//! Where two tapes may look different: only there is it worth drawing them.

use super::sewn::{Sewn, Stitch};
use crate::geometry::raster::Canvas;

/// Side of a window in cells: about the length of a short stitch.
const SIDE: usize = 16;

/// Square windows of a canvas that hold a stitch which one tape has and the other has not, or not
/// in the same order. Everywhere else both tapes lay the same stitches in the same order, so the
/// same one is on top.
pub struct Windows {
    columns: usize,
    rows: usize,
    /// Window by window, row by row.
    open: Vec<bool>,
    /// Side of a cell and half the width of a thread, mm.
    cell_mm: f64,
    half_mm: f64,
}

impl Windows {
    pub fn of(tapes: [&Sewn; 2], canvas: &Canvas, thread_mm: f64) -> Self {
        let columns = canvas.width().div_ceil(SIDE);
        let rows = canvas.height().div_ceil(SIDE);
        let open = vec![false; columns * rows];
        let (cell_mm, half_mm) = (canvas.cell_mm(), thread_mm / 2.0);
        let mut windows = Self { columns, rows, open, cell_mm, half_mm };
        let stitches = tapes.into_iter().flat_map(|sewn| &sewn.stitches);
        for stitch in stitches.filter(|stitch| !stitch.in_order) {
            let [columns, rows] = windows.around(stitch, canvas, 0);
            for row in rows {
                windows.open[row * windows.columns..][columns.clone()].fill(true);
            }
        }
        windows
    }

    /// Does a stitch, or what lies up to a number of cells beside it, reach into a window?
    pub fn shows(&self, stitch: &Stitch, canvas: &Canvas, rim_cells: usize) -> bool {
        let [columns, mut rows] = self.around(stitch, canvas, rim_cells);
        rows.any(|row| self.open[row * self.columns..][columns.clone()].contains(&true))
    }

    /// Columns and rows of the windows that a stitch may touch.
    fn around(
        &self,
        stitch: &Stitch,
        canvas: &Canvas,
        rim_cells: usize,
    ) -> [std::ops::Range<usize>; 2] {
        let reach = self.half_mm + rim_cells as f64 * self.cell_mm;
        canvas
            .around_stitch(stitch.from.mm(), stitch.to.mm(), reach)
            .map(|cells| cells.start / SIDE..cells.end.div_ceil(SIDE))
    }

    /// Runs of cells in the windows, as numbers of cells of the canvas, row by row.
    pub fn runs<'a>(
        &'a self,
        canvas: &'a Canvas,
    ) -> impl Iterator<Item = std::ops::Range<usize>> + 'a {
        let (width, height) = (canvas.width(), canvas.height());
        (0..self.rows).flat_map(move |row| {
            let open = &self.open[row * self.columns..][..self.columns];
            let cells = row * SIDE..((row + 1) * SIDE).min(height);
            cells.flat_map(move |cell_row| {
                (0..open.len()).filter(|column| open[*column]).map(move |column| {
                    let start = cell_row * width;
                    start + column * SIDE..start + ((column + 1) * SIDE).min(width)
                })
            })
        })
    }
}
