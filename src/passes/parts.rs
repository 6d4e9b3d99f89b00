//! Taking an object apart into lead, underlay, top and tail, and putting it together with new
//! underlay; and what every change says about place and source.

use geo::{Coord, MultiPolygon, Polygon};

use crate::design::{Link, Pt};
use crate::geometry::locate::Locator;
use crate::objects::{Label, Needle, Object, Objects, Part};
use crate::report::Place;
use crate::settings::Settings;
use crate::stitch::underlay::Path;

/// New needle points keep at least this distance from their neighbours, mm: nearer ones pile up
/// thread.
pub const SHORTEST: f64 = 0.3;
/// New underlay has no shorter stitches than this, mm, nor comes as near to the first needle point of
/// the top stitching.
pub const CROWDED: f64 = 0.5;

/// The parts of an object in sewing order, by what they do.
#[derive(Clone, Debug)]
pub struct Cut {
    /// Tie and travel before everything else.
    pub lead: Vec<Part>,
    /// What lies under the top stitching, and travel between.
    pub under: Vec<Part>,
    /// From the first to the last part of top stitching.
    pub top: Vec<Part>,
    /// Tie-off and travel after it.
    pub tail: Vec<Part>,
}

/// A piece of underlay to put together.
#[derive(Clone, Debug)]
pub enum Piece {
    New(Label, Vec<Coord<f64>>),
    /// A part of the old underlay, reached from new stitches.
    Kept(Part),
    /// A part of the old underlay in its old place.
    Same(Part),
}

/// New underlay while it is being laid: a path, with parts of the old one kept in it.
#[derive(Clone, Debug)]
pub struct Under {
    pub path: Path,
    before: Vec<Piece>,
}

impl Under {
    pub fn from(at: Coord<f64>) -> Self {
        Self { path: Path::from(at), before: Vec::new() }
    }

    /// Goes to a part of the old underlay by `link` and on along it.
    pub fn keep(&mut self, part: &Part, link: impl FnOnce(&mut Path, Coord<f64>)) {
        let (Some(first), Some(last)) = (part.needles.first(), part.needles.last()) else { return };
        link(&mut self.path, first.at.mm());
        let path = std::mem::replace(&mut self.path, Path::from(last.at.mm()));
        self.path.is_bare = path.is_bare;
        self.before
            .extend(path.pieces.into_iter().map(|(label, points)| Piece::New(label, points)));
        self.before.push(Piece::Kept(part.clone()));
    }

    pub fn pieces(self) -> Vec<Piece> {
        let mut pieces = self.before;
        let new = self.path.pieces.into_iter().map(|(label, points)| Piece::New(label, points));
        pieces.extend(new);
        pieces
    }
}

impl Cut {
    /// `None` for an object without top stitching.
    pub fn of(object: &Object) -> Option<Self> {
        let is_top = |part: &Part| Object::is_top(part.label) && !part.needles.is_empty();
        let parts = &object.parts;
        let first = parts.iter().position(is_top)?;
        let last = parts.iter().rposition(is_top)?;
        let leads = |part: &&Part| matches!(part.label, Label::Tie | Label::Travel);
        let lead = parts[..first].iter().take_while(leads).count();
        Some(Self {
            lead: parts[..lead].to_vec(),
            under: parts[lead..first].to_vec(),
            top: parts[first..=last].to_vec(),
            tail: parts[last + 1..].to_vec(),
        })
    }

    /// Where new underlay begins: at the end of the lead, else at the object's first needle.
    pub fn entry(&self) -> Option<Needle> {
        let lead = self.lead.iter().flat_map(|part| &part.needles).next_back();
        let own = || self.under.iter().chain(&self.top).flat_map(|part| &part.needles).next();
        lead.or_else(own).copied()
    }

    pub fn first_top(&self) -> Option<Needle> {
        self.top.iter().flat_map(|part| &part.needles).next().copied()
    }

    pub fn last_top(&self) -> Option<Needle> {
        self.top.iter().flat_map(|part| &part.needles).next_back().copied()
    }

    /// All parts with this underlay in place of the old. The object is still entered as before:
    /// its first needle and its link stay.
    pub fn with_under(&self, pieces: Vec<Piece>) -> Vec<Part> {
        let mut parts = self.lead.clone();
        let mut last = self.lead.iter().flat_map(|part| &part.needles).next_back().map(|n| n.at);
        let opening = self.under.iter().chain(&self.top).find(|part| !part.needles.is_empty());
        let mut entry = opening.filter(|_| last.is_none()).map(|part| (part.link, part.needles[0]));
        for piece in pieces {
            let (label, mut needles, mut link) = match piece {
                Piece::New(label, points) => {
                    let needles = points.into_iter().map(|at| Needle::new(Pt::from_mm(at)));
                    (label, needles.collect(), Link::Sewn)
                }
                Piece::Kept(part) => (part.label, part.needles, Link::Sewn),
                Piece::Same(part) => {
                    entry = None;
                    (part.label, part.needles, part.link)
                }
            };
            if let Some((own, needle)) = entry.take() {
                link = own;
                needles.insert(0, needle);
            }
            let mut kept: Vec<Needle> = Vec::with_capacity(needles.len());
            for needle in needles {
                let near = |last: Pt| last.distance(needle.at) < CROWDED;
                if needle.origin.is_none() && last.is_some_and(near) {
                    continue;
                }
                // A new needle point makes room for an old one.
                let is_near = |n: &Needle| n.origin.is_none() && near(n.at);
                if kept.last().is_some_and(is_near) {
                    kept.pop();
                } else if kept.is_empty()
                    && parts.len() > self.lead.len()
                    && let Some(part) = parts.last_mut()
                    && part.needles.last().is_some_and(is_near)
                {
                    part.needles.pop();
                }
                last = Some(needle.at);
                kept.push(needle);
            }
            if parts.last().is_some_and(|part: &Part| part.needles.is_empty()) {
                parts.pop();
            }
            if !kept.is_empty() {
                parts.push(Part { label, link, needles: kept });
            }
        }
        self.make_room_for_top(&mut parts);
        let mut top = self.top.clone();
        if parts.len() > self.lead.len()
            && let Some(first) = top.first_mut()
        {
            first.link = Link::Sewn;
        }
        parts.extend(top);
        parts.extend(self.tail.iter().cloned());
        parts
    }

    /// The first needle of the top stitching ends the underlay's last stitch.
    fn make_room_for_top(&self, parts: &mut Vec<Part>) {
        let Some(top) = self.first_top() else { return };
        let lead = self.lead.len();
        while parts.len() > lead {
            let at = parts.len() - 1;
            let crowds = |n: &Needle| n.origin.is_none() && n.at.distance(top.at) < CROWDED;
            while parts[at].needles.last().is_some_and(crowds) {
                parts[at].needles.pop();
            }
            if !parts[at].needles.is_empty() {
                break;
            }
            parts.pop();
        }
    }
}

/// An object in what is sewn without a cut or jump between, each with the pieces of the area that it
/// sews first; without area where it sews none.
pub fn islands(object: &Object) -> Vec<Object> {
    let located =
        |area: &Polygon<f64>| (area.clone(), Locator::new(&MultiPolygon(vec![area.clone()])));
    let mut left: Vec<(Polygon<f64>, Locator)> = object.footprint.0.iter().map(located).collect();
    let stretches = object.parts.chunk_by(|_, next| next.link == Link::Sewn);
    let island = |parts: &[Part]| {
        let middles = middles_of_rows(parts);
        let sewn = |(_, locator): &mut (Polygon<f64>, Locator)| {
            middles.iter().any(|at| locator.contains(*at))
        };
        let own = left.extract_if(.., sewn).map(|(area, _)| area).collect();
        Object { parts: parts.to_vec(), footprint: MultiPolygon(own).into(), ..object.clone() }
    };
    stretches.map(island).collect()
}

/// Places inside the area that the top stitches of some parts sew.
fn middles_of_rows(parts: &[Part]) -> Vec<Coord<f64>> {
    let tops = parts.iter().filter(|part| Object::is_top(part.label));
    let middle = |w: &[Needle]| (w[0].at.mm() + w[1].at.mm()) / 2.0;
    tops.flat_map(|part| part.needles.windows(2).map(middle)).collect()
}

/// Needles in parts, by whether they are new.
pub fn count(parts: &[Part]) -> usize {
    parts.iter().map(|part| part.needles.len()).sum()
}

/// Where an object lies.
pub fn place(object: &Object, objects: &Objects, settings: &Settings) -> Place {
    Place::of_area(&object.footprint, settings.seam_x().unwrap_or(0.0), objects.lowest_mm())
}

/// Mark and source of one of the garment's numbers.
pub fn source(settings: &Settings, number: &str) -> String {
    let entry = settings.profile.entries.get(number);
    entry.map_or_else(String::new, |entry| format!("{:?}: {}", entry.mark, entry.source))
}
