//! Underlay of a satin: edge runs, centre run, zigzag.

use geo::Coord;

use crate::garment::Numbers;
use crate::objects::{Label, Object, Part};
use crate::passes::parts::{Cut, Piece, Under};
use crate::stitch::column::Column;
use crate::stitch::column_under::ColumnUnder;
use crate::stitch::coverage::takes_edges;
use crate::stitch::underlay::Path;

/// The satin with edge runs (narrow ones: a centre run) in place of centre runs; zigzag and guards
/// are kept, and wide columns without zigzag get one. The path ends where the top begins. Short edges are
/// held from the first stitch on, or from the second.
pub fn with_edges(object: &Object, n: &Numbers, at_once: bool) -> Option<Object> {
    let cut = Cut::of(object)?;
    let column = Column::of(object)?;
    let lay = ColumnUnder::new(&column, n);
    let lay = if at_once { lay.holding_at_once() } else { lay };
    let (entry, first) = (cut.entry()?.at.mm(), cut.first_top()?.at.mm());
    let satin = object.satin()?;
    let mut under = Under::from(entry);
    let near_end = goes_to_nearer_end(&mut under.path, &lay, entry, column.closed);
    let narrow = !takes_edges(satin, n);
    if !narrow {
        under_edges(&mut under.path, &column, &lay, first, near_end);
    }
    let (start, end) = (lay.start(), lay.end());
    let kept: Vec<&Part> = cut.under.iter().filter(|part| stays(part)).collect();
    let zigzag = kept.iter().any(|part| part.label != Label::Guard);
    if !zigzag && satin.width[1] > n.zigzag_over_width_mm {
        if column.closed {
            lay.zigzag(&mut under.path, start, end);
        } else {
            lay.centre_to(&mut under.path, end);
            lay.zigzag(&mut under.path, end, start);
        }
    } else if narrow && !near_end {
        lay.centre(&mut under.path, start, end);
    }
    for part in kept {
        under.keep(part, |path, to| lay.arrive(path, to));
    }
    lay.arrive(&mut under.path, first);
    Some(Object { parts: cut.with_under(under.pieces()), ..object.clone() })
}

/// Runs along the middle to the nearer end of an open column (to the start of a ring); says
/// whether that is the far end, where the top does not begin.
fn goes_to_nearer_end(path: &mut Path, lay: &ColumnUnder, entry: Coord<f64>, closed: bool) -> bool {
    let at = lay.station(entry);
    let near_end = !closed && lay.between(at, lay.end()) < lay.between(lay.start(), at);
    let target = if near_end { lay.end() } else { lay.start() };
    lay.centre_to(path, target);
    near_end
}

/// Both edges, so that the path comes back on the side where the top begins.
fn under_edges(
    path: &mut Path,
    column: &Column,
    lay: &ColumnUnder,
    first: Coord<f64>,
    near_end: bool,
) {
    let off = |rail: usize| {
        let at = column.rails[rail][lay.start()];
        (at.x - first.x).hypot(at.y - first.y)
    };
    let top_rail = usize::from(off(1) < off(0));
    let first_rail = if near_end { top_rail } else { 1 - top_rail };
    lay.edges(path, !near_end, first_rail);
}

/// The satin with zigzag where it crosses the seam, after what it has.
pub fn with_band(object: &Object, seam_x: f64, n: &Numbers) -> Option<Object> {
    let cut = Cut::of(object)?;
    let column = Column::of(object)?;
    let lay = ColumnUnder::new(&column, n);
    let bands = lay.crossings(seam_x, n.seam_band_mm);
    let under = cut.under.iter().flat_map(|part| &part.needles).next_back().copied();
    let mut path = Path::from(under.or(cut.entry())?.at.mm());
    if column.closed {
        for band in &bands {
            lay.centre_to(&mut path, *band.start());
            lay.zigzag(&mut path, *band.start(), *band.end());
        }
    } else {
        for band in bands.iter().rev() {
            lay.centre_to(&mut path, *band.end());
            lay.zigzag(&mut path, *band.end(), *band.start());
        }
    }
    lay.arrive(&mut path, cut.first_top()?.at.mm());
    let mut pieces: Vec<Piece> = cut.under.iter().cloned().map(Piece::Same).collect();
    pieces.extend(path.pieces.into_iter().map(|(label, points)| Piece::New(label, points)));
    Some(Object { parts: cut.with_under(pieces), ..object.clone() })
}

/// Old underlay that stays: everything across, whatever it is called, and guards. A few stitches that
/// pass for zigzag are a way.
fn stays(part: &Part) -> bool {
    const FEWEST: usize = 4;
    match part.label {
        Label::Zigzag | Label::FillUnderlay => part.needles.len() >= FEWEST,
        label => label == Label::Guard,
    }
}
