//! The recognised objects of a design: what each run of stitches is, and where it lies.
//!
//! `Objects` is the one working form: the recogniser makes it, every pass takes it and returns a
//! changed copy, and the assembler turns it back into needle points. It can be built by hand in
//! tests without any file.

use geo::Coord;
use serde::{Deserialize, Serialize};

use crate::design::{Link, Pt};
use crate::geometry::footprint::Footprint;
use crate::geometry::segments::SegmentGrid;

/// Number of an object; unique within one `Objects`, stable while passes work on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ObjectId(pub u32);

impl std::fmt::Display for ObjectId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "o{}", self.0)
    }
}

/// What one stitch is. The label belongs to the stitch that ends at a needle point.
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Label {
    Tie,
    Run,
    Bean,
    CentreRun,
    EdgeRun,
    Zigzag,
    FillUnderlay,
    Guard,
    Satin,
    SplitSatin,
    Fill,
    Travel,
    Unsure,
}

/// What an object is as a whole.
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Class {
    Run,
    Bean,
    Satin,
    SplitSatin,
    Fill,
    /// A fill whose rows bend or fan out: recognised, never turned.
    CurvedFill,
    /// Underlay that serves many objects, a node of its own before all it supports.
    Underlay,
    /// Guard stitching under a junction, a node of its own before both neighbours.
    Guard,
    Unsure,
}

/// One needle point of an object and where it came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Needle {
    pub at: Pt,
    /// Index of the penetration in the original `Design`; `None` for a new stitch. It stays when
    /// a pass moves the point: the assembler copies original records only where two neighbours in
    /// the output were neighbours in the original and their displacement is unchanged.
    pub origin: Option<u32>,
}

impl Needle {
    pub fn new(at: Pt) -> Self {
        Self { at, origin: None }
    }
}

/// Stitches of one label in a row; the first needle is reached through `link`.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    pub label: Label,
    /// How the first needle of this part is reached from the needle before it, when they were not
    /// neighbours in the original. For the first part of an object this is the link between
    /// objects.
    pub link: Link,
    pub needles: Vec<Needle>,
}

/// Which rail of a satin a needle point of the top stitching lies on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Side {
    Left,
    Right,
    /// Split point or short-stitch point between the rails.
    Inner,
}

/// A satin column: a back-and-forth of crossings between two rails.
#[derive(Clone, Debug, PartialEq)]
pub struct Satin {
    /// One entry per needle of the top part(s), in order.
    pub sides: Vec<Side>,
    /// Left and right rail in mm, in sewing direction, short-stitch points left out.
    /// "Left" is to the left when looking along the column's sewing direction.
    pub rails: [Vec<Coord<f64>>; 2],
    /// The column ends where it starts (a ring).
    pub closed: bool,
    /// Distance between needle points on the same rail, mm (median), as it is along the middle of the
    /// column: in bends they crowd on one rail and part on the other.
    pub same_side_pitch: f64,
    /// 5th percentile, median and 95th percentile of the width, mm.
    pub width: [f64; 3],
}

/// A tatami fill: parallel rows.
#[derive(Clone, Debug, PartialEq)]
pub struct Fill {
    /// Direction of the rows, degrees in [0, 180), 0 = horizontal.
    pub angle: f64,
    /// Distance between neighbouring rows, mm (median).
    pub row_pitch: f64,
    /// Median length of the stitches inside rows, mm.
    pub stitch: f64,
    /// Rows after which the needle points line up again (0 = irregular).
    pub stagger: u32,
    /// First and last needle index of each row, inclusive, counted within the top needles.
    pub rows: Vec<(u32, u32)>,
}

/// What the recogniser found out about an object's top stitching.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    Satin(Satin),
    Fill(Fill),
    /// Runs, beans, stand-alone underlay and guards: a line, no area.
    Line,
    /// Nothing is known; stitches pass through untouched.
    Unknown,
}

/// A recognised object: top stitching with the underlay, ties and travel that belong to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Object {
    pub id: ObjectId,
    pub class: Class,
    /// Colour block (0-based) in the *current* order.
    pub stop: u32,
    /// Parts in sewing order: lead-in travel and tie, underlay, top, tie-off.
    pub parts: Vec<Part>,
    pub shape: Shape,
    /// Area of the needle lines of the top stitching in mm (no thread width); empty for lines.
    pub footprint: Footprint,
    /// 0 to 1: how well the object rebuilt from its parameters matches its stitches.
    pub confidence: f64,
    /// Connected group of objects (by junctions); a letter, a crest.
    pub element: u32,
    /// Belongs to an appliqué or foam stop: never widened, crossed or given underlay.
    pub held: bool,
    /// Thread at 0.4 mm width covers ≥ 98 % of every 0.5 mm window of the footprint.
    pub hides: bool,
}

impl Object {
    /// May stitches of it be changed at all: is it understood, and not held as it is?
    pub fn is_open(&self) -> bool {
        self.class != Class::Unsure && !self.held
    }

    /// Is this label the visible stitching of the object?
    pub fn is_top(label: Label) -> bool {
        matches!(
            label,
            Label::Satin
                | Label::SplitSatin
                | Label::Fill
                | Label::Run
                | Label::Bean
                | Label::Unsure
        )
    }

    /// Is this label the stitching of a satin or a fill?
    pub fn is_area(label: Label) -> bool {
        matches!(label, Label::Satin | Label::SplitSatin | Label::Fill)
    }

    /// Is this label underlay (of any kind, guards included)?
    pub fn is_underlay(label: Label) -> bool {
        matches!(
            label,
            Label::CentreRun | Label::EdgeRun | Label::Zigzag | Label::FillUnderlay | Label::Guard
        )
    }

    /// Every needle of the object with its label, in sewing order.
    pub fn needles(&self) -> impl DoubleEndedIterator<Item = (Label, Needle)> + '_ {
        self.parts.iter().flat_map(|part| part.needles.iter().map(move |n| (part.label, *n)))
    }

    /// Needles of the top stitching, in sewing order. For satins and fills the top is one part.
    pub fn top(&self) -> impl DoubleEndedIterator<Item = Needle> + '_ {
        self.needles().filter(|(label, _)| Self::is_top(*label)).map(|(_, needle)| needle)
    }

    /// Sewn stitches: from, to (mm), and the label of the part that they lead to or lie in.
    pub fn stitches(&self) -> impl Iterator<Item = (Coord<f64>, Coord<f64>, Label)> + '_ {
        let mut before: Option<Coord<f64>> = None;
        let needles = self.parts.iter().flat_map(|part| {
            let needles = part.needles.iter().enumerate();
            needles.map(move |(i, n)| (n.at.mm(), i > 0 || part.link == Link::Sewn, part.label))
        });
        needles.filter_map(move |(at, sewn, label)| {
            let from = before.replace(at)?;
            sewn.then_some((from, at, label))
        })
    }

    /// The top stitches, to be found by place.
    pub fn top_stitches(&self) -> SegmentGrid {
        let top = self.stitches().filter(|(.., label)| Self::is_top(*label));
        SegmentGrid::new(top.map(|(from, to, _)| [from, to]).collect())
    }

    pub fn stitch_count(&self) -> usize {
        self.parts.iter().map(|part| part.needles.len()).sum()
    }

    pub fn first(&self) -> Option<Needle> {
        self.needles().next().map(|(_, n)| n)
    }

    pub fn last(&self) -> Option<Needle> {
        self.needles().next_back().map(|(_, n)| n)
    }

    pub fn satin(&self) -> Option<&Satin> {
        match &self.shape {
            Shape::Satin(satin) => Some(satin),
            _ => None,
        }
    }

    pub fn fill(&self) -> Option<&Fill> {
        match &self.shape {
            Shape::Fill(fill) => Some(fill),
            _ => None,
        }
    }
}

/// Ways on loose thread that hold more jumps than they need, by the penetration of the original that
/// they lead to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Ways {
    pub loose: Vec<u32>,
    /// Those that are to be written anew.
    pub rewritten: Vec<u32>,
}

/// All objects of a design, in sewing order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Objects {
    pub items: Vec<Object>,
    pub ways: Ways,
}

impl From<Vec<Object>> for Objects {
    fn from(items: Vec<Object>) -> Self {
        Self { items, ways: Ways::default() }
    }
}

impl Objects {
    pub fn get(&self, id: ObjectId) -> Option<&Object> {
        self.position(id).map(|place| &self.items[place])
    }

    /// Place in the sewing order.
    pub fn position(&self, id: ObjectId) -> Option<usize> {
        // As recognised, objects are numbered in sewing order: look there first.
        let own = |place: &usize| self.items.get(*place).is_some_and(|object| object.id == id);
        let place = Some(id.0 as usize).filter(own);
        place.or_else(|| self.items.iter().position(|object| object.id == id))
    }

    /// Lowest needle point of the design, mm; 0 where there is none.
    pub fn lowest_mm(&self) -> f64 {
        let points = self.items.iter().flat_map(Object::needles).map(|(_, needle)| needle.at.y);
        points.min().map_or(0.0, |y| f64::from(y) / 10.0)
    }

    /// Every needle with the label of the stitch that ends there, in sewing order. A top part also
    /// holds the needle point where its first crossing or row begins; the stitch that leads there
    /// from underlay is travel, any other belongs to the part before.
    pub fn stitches(&self) -> impl Iterator<Item = (Label, Needle)> + '_ {
        let mut before = None;
        self.items.iter().flat_map(|object| &object.parts).flat_map(move |part| {
            let shared = match before {
                Some(label) if part.link == Link::Sewn && Object::is_area(part.label) => {
                    if Object::is_underlay(label) {
                        Label::Travel
                    } else {
                        label
                    }
                }
                _ => part.label,
            };
            before = Some(part.label);
            // Stitches of no length at the first needle point go with the one that leads there.
            let first = part.needles.first().map(|needle| needle.at);
            let begins =
                part.needles.iter().take_while(move |needle| Some(needle.at) == first).count();
            let label = move |i| if i < begins { shared } else { part.label };
            part.needles.iter().enumerate().map(move |(i, needle)| (label(i), *needle))
        })
    }

    /// An id that no object has yet.
    pub fn fresh_id(&self) -> ObjectId {
        ObjectId(self.items.iter().map(|object| object.id.0 + 1).max().unwrap_or(0))
    }

    pub fn stitch_count(&self) -> usize {
        self.items.iter().map(Object::stitch_count).sum()
    }
}
