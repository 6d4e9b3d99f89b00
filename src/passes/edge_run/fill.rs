//! Underlay of a fill: edge run along outline and holes, rows across the top rows.

use geo::{LineString, MultiPolygon, Polygon};

use super::stray_rows::StrayRows;
use crate::garment::Numbers;
use crate::geometry::engine;
use crate::objects::{Label, Object, Part};
use crate::passes::parts::{Cut, Piece, Under, islands};
use crate::stitch::route::Router;
use crate::stitch::underlay;

/// The fill with an edge run; rows across are kept, or laid where there are none. Islands that are
/// sewn after a trim get theirs after it. `None` where there is no hidden way between two parts.
pub fn with_edges(object: &Object, n: &Numbers) -> Option<Object> {
    if object.footprint.0.len() < 2 {
        return in_one(object, n);
    }
    let islands = islands(object);
    let parts = islands.into_iter().map(|island| match island.footprint.0.is_empty() {
        true => Some(island.parts),
        false => Some(in_one(&island, n)?.parts),
    });
    let parts: Option<Vec<Vec<Part>>> = parts.collect();
    Some(Object { parts: parts?.concat(), ..object.clone() })
}

fn in_one(object: &Object, n: &Numbers) -> Option<Object> {
    let cut = Cut::of(object)?;
    let (entry, first) = (cut.entry()?, cut.first_top()?.at.mm());
    let router = Router::new(&object.footprint);
    let mut under = Under::from(entry.at.mm());
    underlay::edge_loops(&mut under.path, &object.footprint, &router, n);
    let rows = StrayRows::of(object);
    let kept = cut.under.iter().filter(|part| stays(part) || rows.lie_in(part));
    let kept: Vec<&Part> = kept.collect();
    if !kept.iter().any(|part| stays(part) && part.label != Label::Guard) {
        let angle = object.fill()?.angle + 90.0;
        underlay::cross_rows(&mut under.path, &object.footprint, &router, angle, first, n);
    }
    for part in kept {
        under.keep(part, |path, to| underlay::link(path, &router, to, n));
    }
    underlay::link(&mut under.path, &router, first, n);
    let is_hidden = !under.path.is_bare;
    is_hidden.then(|| Object { parts: cut.with_under(under.pieces()), ..object.clone() })
}

/// The fill with rows across its own within reach of the seam, after what it has.
pub fn with_band(object: &Object, seam_x: f64, n: &Numbers) -> Option<Object> {
    let cut = Cut::of(object)?;
    let first = cut.first_top()?.at.mm();
    let under = cut.under.iter().flat_map(|part| &part.needles).next_back().copied();
    let (at, reach) = (under.or(cut.entry())?, n.seam_band_mm + n.fill_underlay_inset_mm);
    let far = 10_000.0;
    let (left, right) = (seam_x - reach, seam_x + reach);
    let band = LineString::from(vec![(left, -far), (right, -far), (right, far), (left, far)]);
    let band = MultiPolygon(vec![Polygon::new(band, vec![])]);
    let area = engine::intersection(&object.footprint, &band);
    let router = Router::new(&object.footprint);
    let mut path = underlay::Path::from(at.at.mm());
    underlay::cross_rows(&mut path, &area, &router, object.fill()?.angle + 90.0, first, n);
    underlay::link(&mut path, &router, first, n);
    if path.is_bare {
        return None;
    }
    let mut pieces: Vec<Piece> = cut.under.iter().cloned().map(Piece::Same).collect();
    pieces.extend(path.pieces.into_iter().map(|(label, points)| Piece::New(label, points)));
    Some(Object { parts: cut.with_under(pieces), ..object.clone() })
}

/// Old underlay that stays: everything across, whatever it is called, and guards.
fn stays(part: &Part) -> bool {
    matches!(part.label, Label::FillUnderlay | Label::Zigzag | Label::Guard)
}
