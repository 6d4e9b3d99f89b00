use geo::{Coord, LineString};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::geometry::footprint::Footprint;
use crate::objects::{Class, Label, Object, ObjectId, Part, Shape};
use crate::report::{ObjectLine, round, round_angle};

/// Polygons of rings of corners `[x, y]`: the outer ring first, then its holes; each ring ends with
/// its first corner.
pub type Outline = Vec<Vec<Vec<[f64; 2]>>>;

/// One recognised object with all that was read out of its stitches.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SurveyedObject {
    #[serde(flatten)]
    pub line: ObjectLine,
    /// Objects with the same number hang together, such as a letter with its outline.
    pub element: u32,
    /// The thread covers the whole outline: what is sewn beneath does not show.
    pub hides: bool,
    /// First and last needle point of the visible stitching, both included. None where there is
    /// none.
    pub top: Option<[u32; 2]>,
    pub parameters: Parameters,
    /// Underlay that belongs to this object, in sewing order.
    pub underlay: Vec<UnderlayPart>,
    /// Objects that lie over it, for underlay and guards with a number of their own; none for others,
    /// whose underlay is part of them.
    pub parent: Vec<u32>,
    /// Area of the top stitching, from needle point to needle point, mm in tape coordinates (as
    /// `bounds_mm`): polygons of rings of corners `[x, y]`, the outer ring first, then its holes;
    /// each ring ends with its first corner. Empty for lines and for what was not understood.
    pub outline: Outline,
}

impl SurveyedObject {
    pub fn of(object: &Object, line: &ObjectLine, parents: &[ObjectId]) -> Self {
        let underlay = object.parts.iter().filter(|part| Object::is_underlay(part.label));
        let sure = object.class != Class::Unsure;
        Self {
            line: line.clone(),
            element: object.element,
            hides: object.hides,
            top: span(object.top().filter_map(|needle| needle.origin)),
            parameters: Parameters::of(object),
            underlay: underlay.filter_map(UnderlayPart::of).collect(),
            parent: parents.iter().map(|id| id.0).collect(),
            outline: if sure { outline(&object.footprint) } else { Vec::new() },
        }
    }
}

/// Stitches of one kind of underlay in a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct UnderlayPart {
    pub label: Label,
    /// First and last needle point of the tape, counted from 0, both included.
    pub first: u32,
    pub last: u32,
}

impl UnderlayPart {
    fn of(part: &Part) -> Option<Self> {
        let [first, last] = span(part.needles.iter().filter_map(|needle| needle.origin))?;
        Some(Self { label: part.label, first, last })
    }
}

/// Least and greatest number.
fn span(origins: impl Iterator<Item = u32>) -> Option<[u32; 2]> {
    origins.fold(None, |span: Option<[u32; 2]>, at| {
        let [first, last] = span.unwrap_or([at, at]);
        Some([first.min(at), last.max(at)])
    })
}

/// What an object could be sewn from again; each value stands where the class has it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Parameters {
    /// Fills: direction of the rows, degrees in [0, 180), 0 = level. Of a curved fill the middle
    /// one.
    pub angle_deg: Option<f64>,
    /// Fills: distance between neighbouring rows, mm.
    pub row_pitch_mm: Option<f64>,
    /// Fills: number of rows.
    pub rows: Option<u32>,
    /// Median stitch length, mm: inside the rows of a fill; of a split satin and of lines, all
    /// stitches. Not of a plain satin, whose stitches are as long as it is wide.
    pub stitch_mm: Option<f64>,
    /// Satins: 5th percentile, median and 95th percentile of the width, mm.
    pub width_mm: Option<[f64; 3]>,
    /// Satins: distance between two needle points on the same edge, mm, as it is along the middle of
    /// the column.
    pub same_side_pitch_mm: Option<f64>,
    /// Satins: the column ends where it starts (a ring).
    pub closed: Option<bool>,
}

impl Parameters {
    fn of(object: &Object) -> Self {
        match &object.shape {
            Shape::Fill(fill) => Self {
                angle_deg: Some(round_angle(fill.angle, 1)),
                row_pitch_mm: Some(round(fill.row_pitch, 3)),
                rows: Some(fill.rows.len() as u32),
                stitch_mm: Some(round(fill.stitch, 2)),
                ..Self::default()
            },
            Shape::Satin(satin) => Self {
                stitch_mm: (object.class == Class::SplitSatin).then(|| median_stitch(object)),
                width_mm: Some(satin.width.map(|mm| round(mm, 2))),
                same_side_pitch_mm: Some(round(satin.same_side_pitch, 3)),
                closed: Some(satin.closed),
                ..Self::default()
            },
            Shape::Line => Self { stitch_mm: Some(median_stitch(object)), ..Self::default() },
            Shape::Unknown => Self::default(),
        }
    }
}

/// Median length of the stitches of an object but its ties and travel, mm; 0 without any.
fn median_stitch(object: &Object) -> f64 {
    let wanted = |part: &&Part| Object::is_top(part.label) || Object::is_underlay(part.label);
    let parts = object.parts.iter().filter(wanted);
    let pairs = parts.flat_map(|part| part.needles.windows(2));
    let mut lengths: Vec<f64> = pairs.map(|pair| pair[0].at.distance(pair[1].at)).collect();
    lengths.sort_by(f64::total_cmp);
    lengths.get(lengths.len() / 2).map_or(0.0, |mm| round(*mm, 2))
}

/// Rings on a grid of 0.01 mm, without corners that fall on the one before.
fn outline(area: &Footprint) -> Outline {
    let ring = |line: &LineString<f64>| -> Vec<[f64; 2]> {
        let mut corners: Vec<[f64; 2]> = line.coords().map(|at| corner(*at)).collect();
        corners.dedup();
        corners
    };
    // Two corners and the first one again enclose nothing.
    let is_area = |ring: &Vec<[f64; 2]>| ring.len() > 3;
    let polygons = area.iter().map(|polygon| {
        let holes = polygon.interiors().iter().map(ring).filter(is_area);
        std::iter::once(ring(polygon.exterior())).chain(holes).collect::<Vec<_>>()
    });
    polygons.filter(|rings| rings.first().is_some_and(is_area)).collect()
}

/// A point as reports give it, mm.
pub fn corner(at: Coord<f64>) -> [f64; 2] {
    [round(at.x, 2), round(at.y, 2)]
}
