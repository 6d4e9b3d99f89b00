use super::from_tape::link;
use super::moves::{linked, refitted};
use super::{Design, Link, Pt};
use crate::objects::{Needle, Object, Objects};
use crate::tape::{self, Kind, Record, Tape};

/// Why objects cannot be turned back into a tape.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AssembleError {
    #[error("there is no needle point to write")]
    NoNeedle,
    #[error("a needle point says that it was penetration {origin}, which the tape does not have")]
    UnknownOrigin { origin: u32 },
    #[error("a needle point lies {:.1}, {:.1} mm from the start, beyond 3 m", .at.mm().x, .at.mm().y)]
    OutOfReach { at: Pt },
    #[error("a record cannot move by {}, {} points", .by.x, .by.y)]
    TooLong { by: Pt },
    #[error("penetration {origin} sews sequins, which must stay as they are, but its way changed")]
    Sequin { origin: u32 },
    #[error("the tape's sequins must stay as they are, but some are missing")]
    SequinsMissing,
}

/// A new tape, and where its colour blocks come from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Assembled {
    pub tape: Tape,
    /// For each stop of the new tape the stop of the original that it was; `None` if it holds new
    /// stitches only.
    pub stop_order: Vec<Option<u32>>,
}

/// Turns objects back into a tape, links between them as long as one record reaches.
///
/// # Errors
/// If the objects do not fit the tape: see [`AssembleError`].
pub fn assemble(tape: &Tape, design: &Design, objects: &Objects) -> Result<Tape, AssembleError> {
    assemble_linked(tape, design, objects, f64::INFINITY).map(|assembled| assembled.tape)
}

/// Turns objects back into a tape; new sewn links to a part are split in stitches of at most
/// `link_max_mm` (and of the 121 points per axis that a record reaches).
///
/// Neighbours of the original with the same displacement keep their records, those with another
/// one keep the form of their records; everything else is written anew. A stop is written where
/// the object's `stop` differs from the one before; elsewhere [`Link::Stop`] makes a trim.
///
/// # Errors
/// If the objects do not fit the tape: see [`AssembleError`].
pub fn assemble_linked(
    tape: &Tape,
    design: &Design,
    objects: &Objects,
    link_max_mm: f64,
) -> Result<Assembled, AssembleError> {
    let mut writer = Writer::new(tape, design, link_max_mm);
    writer.rewritten = objects.ways.rewritten.clone();
    writer.rewritten.sort_unstable();
    let mut stop = None;
    for object in objects.items.iter().filter(|object| object.stitch_count() > 0) {
        let changes = stop.is_some_and(|stop| stop != object.stop);
        writer.object(object, changes)?;
        stop = Some(object.stop);
    }
    writer.close()?;
    let mut new = Tape { records: writer.out, ..tape.clone() };
    if new.records != tape.records {
        new.header = tape::renewed(tape, &new, &writer.stop_order);
    }
    Ok(Assembled { tape: new, stop_order: writer.stop_order })
}

struct Writer<'a> {
    tape: &'a Tape,
    design: &'a Design,
    link_max_mm: f64,
    out: Vec<Record>,
    at: Pt,
    /// The penetration that followed the last needle in the original.
    next: Option<u32>,
    stop_order: Vec<Option<u32>>,
    /// Stop records beyond one before each original stop (all of them before the first): they
    /// move with it, so that their number comes out right.
    spare_stops: Vec<usize>,
    sequins: usize,
    /// Penetrations whose way on loose thread is written anew; sorted.
    rewritten: Vec<u32>,
}

impl<'a> Writer<'a> {
    fn new(tape: &'a Tape, design: &'a Design, link_max_mm: f64) -> Self {
        let mut spare_stops = vec![0; design.stop_count() as usize];
        for (range, stop) in design.records.iter().zip(&design.stops) {
            let way = &tape.records[range.clone()];
            let stops = way.iter().filter(|record| record.kind() == Kind::Stop).count();
            spare_stops[*stop as usize] += stops.saturating_sub(usize::from(*stop > 0));
        }
        Self {
            tape,
            design,
            link_max_mm,
            out: Vec::with_capacity(tape.records.len()),
            at: Pt::default(),
            next: Some(0),
            stop_order: Vec::new(),
            spare_stops,
            sequins: 0,
            rewritten: Vec::new(),
        }
    }

    fn object(&mut self, object: &Object, changes: bool) -> Result<(), AssembleError> {
        let home = object.needles().find_map(|(_, needle)| self.stop_of(needle));
        let (mut stop, mut changes) = (home, changes);
        for part in &object.parts {
            let mut link = Some(part.link);
            for needle in &part.needles {
                let own = self.stop_of(*needle).or(stop);
                self.needle(*needle, link, changes || own != stop, own)?;
                (stop, changes, link) = (own, false, None);
            }
        }
        Ok(())
    }

    /// Original stop of a needle.
    fn stop_of(&self, needle: Needle) -> Option<u32> {
        self.design.stops.get(needle.origin? as usize).copied()
    }

    /// Writes one needle point. `link`: how a part begins, `None` inside it; `changes`: another
    /// colour block begins; `own`: the original one.
    fn needle(
        &mut self,
        needle: Needle,
        link: Option<Link>,
        changes: bool,
        own: Option<u32>,
    ) -> Result<(), AssembleError> {
        let Needle { at, origin } = needle;
        if let Some(origin) = origin.filter(|origin| *origin as usize >= self.design.points.len()) {
            return Err(AssembleError::UnknownOrigin { origin });
        }
        if at.x.abs().max(at.y.abs()) > tape::FAR {
            return Err(AssembleError::OutOfReach { at });
        }
        let by = at - self.at;
        let begun = match origin.filter(|_| origin == self.next) {
            Some(origin) => self.follow(origin, by, changes)?,
            None => false,
        };
        if !begun {
            if let Some(origin) = origin.filter(|origin| self.design.sequin[*origin as usize]) {
                return Err(AssembleError::Sequin { origin });
            }
            self.afresh(link, by, changes, own)?;
        }
        if let Some(last @ None) = self.stop_order.last_mut() {
            *last = own;
        }
        self.at = at;
        self.next = origin.and_then(|origin| origin.checked_add(1));
        Ok(())
    }

    /// Goes on to the penetration that came next in the original too, in the records or at least
    /// the form of then; `false` if that cannot be.
    fn follow(&mut self, origin: u32, by: Pt, changes: bool) -> Result<bool, AssembleError> {
        let index = origin as usize;
        let (design, was) = (self.design, self.design.links[index]);
        if changes && was != Link::Stop {
            return Ok(false);
        }
        let before = index.checked_sub(1).map_or(Pt::default(), |before| design.points[before]);
        let way = &self.tape.records[design.records[index].clone()];
        if by == design.points[index] - before {
            self.sequins += usize::from(design.sequin[index]);
            match self.rewritten.binary_search(&origin) {
                Ok(_) => self.out.extend(linked(was, by, design.trim, f64::INFINITY)?),
                Err(_) => self.out.extend_from_slice(way),
            }
        } else if design.sequin[index] {
            return Err(AssembleError::Sequin { origin });
        } else if was == Link::Sewn {
            self.out.extend(linked(was, by, design.trim, f64::INFINITY)?);
        } else {
            let mut way = refitted(way, by, true)?;
            if index > 0 && link(&way, false, design.trim) != was {
                // More jumps than before would make a cut.
                way = linked(was, by, design.trim, f64::INFINITY)?;
            }
            self.out.extend(way);
        }
        if was == Link::Stop || index == 0 {
            let stop = design.stops[index];
            self.spare_stops[stop as usize] = 0;
            self.stop_order.push(Some(stop));
        }
        Ok(true)
    }

    /// Goes on to a needle that did not come next in the original.
    fn afresh(
        &mut self,
        link: Option<Link>,
        by: Pt,
        changes: bool,
        own: Option<u32>,
    ) -> Result<(), AssembleError> {
        let first = self.stop_order.is_empty();
        let (link, longest) = match link {
            _ if first || changes => (Link::Stop, f64::INFINITY),
            Some(Link::Stop) => (Link::Trim, f64::INFINITY),
            Some(link) => (link, self.link_max_mm),
            None => (Link::Sewn, f64::INFINITY),
        };
        if link == Link::Stop {
            let spare = own.map_or(0, |own| std::mem::take(&mut self.spare_stops[own as usize]));
            let stops = spare + usize::from(!first);
            self.out.extend(std::iter::repeat_n(Record::STOP, stops));
            self.stop_order.push(own);
        }
        self.out.extend(linked(link, by, self.design.trim, longest)?);
        Ok(())
    }

    /// Writes what follows the last needle: dangling stops, and the way to the final position.
    fn close(&mut self) -> Result<(), AssembleError> {
        let design = self.design;
        let Some(last) = design.points.last().filter(|_| !self.stop_order.is_empty()) else {
            return Err(AssembleError::NoNeedle);
        };
        let way = &self.tape.records[design.closing.clone()];
        let same = self.next == u32::try_from(design.points.len()).ok() && self.at == *last;
        let toggles = way.iter().any(|record| record.kind() == Kind::SequinToggle);
        let sewn = design.sequin.iter().filter(|sequin| **sequin).count();
        if self.sequins != sewn || (toggles && !same) {
            return Err(AssembleError::SequinsMissing);
        }
        if same {
            self.out.extend_from_slice(way);
        } else {
            self.out.extend(refitted(way, design.final_position - self.at, false)?);
        }
        Ok(())
    }
}
