//! Hand-built objects: every expected value is read off the drawing.

use pretty_assertions::assert_eq;

use super::*;
use crate::fixtures::{circle, fill, objects, rect, ring, run, satin, settings, with_underlay};
use crate::objects::{Class, Label, Object};
use crate::report::{ObjectLine, sample};
use crate::survey::{Meeting, elements, junctions};

fn surveyed(items: Vec<Object>) -> Survey {
    let (mut all, settings) = (objects(items), settings());
    let junctions = junctions(&all, &settings);
    let numbers = elements(&all, &junctions);
    all.items.iter_mut().zip(numbers).for_each(|(object, number)| object.element = number);
    let lines = all.items.iter().map(|object| ObjectLine::of(object, 0.0, 0.0));
    let log = Log { objects: lines.collect(), ..sample::sound() };
    Survey::of(&log, &all, &junctions, &settings)
}

/// A bar 20 mm long and 3 mm high, its stitches upright.
fn bar(id: u32, foot: f64) -> Object {
    let (low, high) = ([(0.0, foot), (20.0, foot)], [(0.0, foot + 3.0), (20.0, foot + 3.0)]);
    satin(id, 0, &high, &low, 0.4)
}

#[test]
fn two_bars_that_overlap_by_four_tenths() {
    // The lower bar ends at 3.0 mm, the upper one begins at 2.6 mm.
    let survey = surveyed(vec![bar(1, 0.0), bar(2, 2.6)]);
    let [junction] = survey.junctions.as_slice() else { panic!("{:?}", survey.junctions) };
    assert_eq!((junction.under, junction.over), (1, 2));
    assert_eq!((junction.closed, junction.closes_itself), (false, false));
    assert_eq!(junction.overlap_mm.mean, 0.4);
    assert!((junction.length_mm - 20.0).abs() <= 1.0, "{}", junction.length_mm);
    // 0.4 mm is less than the 0.9 mm below which an overlap is repaired.
    assert_eq!((junction.thin_share, junction.crossing_deg), (1.0, 0.0));
    let meeting = Meetings { under: Meeting::PullEnd, over: Meeting::PullEnd, share: 1.0 };
    assert_eq!(junction.meetings[0].under, meeting.under);
    assert_eq!(junction.meetings[0].over, meeting.over);
    assert!(junction.meetings[0].share > 0.9);
    assert_eq!(junction.curve_mm.len(), junction.overlaps_mm.len());
    // Off its ends the curve is the lower edge of the upper bar.
    let middle = junction.curve_mm.iter().zip(&junction.overlaps_mm);
    for (at, overlap) in middle.filter(|(at, _)| (1.0..19.0).contains(&at[0])) {
        assert_eq!((at[1], *overlap), (2.6, 0.4));
    }
    assert_eq!(survey.objects.iter().map(|o| o.element).collect::<Vec<_>>(), [0, 0]);
}

#[test]
fn a_gap_is_a_negative_overlap() {
    let survey = surveyed(vec![bar(1, 0.0), bar(2, 3.3)]);
    assert_eq!(survey.junctions[0].overlap_mm.mean, -0.3);
    // A gap of 0.5 mm is design, not a junction.
    let apart = surveyed(vec![bar(1, 0.0), bar(2, 3.5)]);
    assert_eq!(apart.junctions, []);
    assert_eq!(apart.objects.iter().map(|o| o.element).collect::<Vec<_>>(), [0, 1]);
}

#[test]
fn a_deep_overlap_is_not_thin() {
    let survey = surveyed(vec![bar(1, 0.0), bar(2, 1.8)]);
    let junction = &survey.junctions[0];
    assert_eq!((junction.overlap_mm.mean, junction.thin_share), (1.2, 0.0));
}

#[test]
fn parameters_are_those_the_object_was_drawn_with() {
    let wide = fill(2, 1, &rect(40.0, 0.0, 60.0, 10.0), 98.0, 0.2, 4.0);
    let line = run(3, 1, &[(0.0, 30.0), (2.0, 30.0), (4.0, 30.0), (4.0, 33.0)]);
    let survey = surveyed(vec![bar(1, 0.0), wide, line]);
    let [bar, wide, line] = survey.objects.as_slice() else { panic!() };
    assert_eq!(
        bar.parameters,
        Parameters {
            width_mm: Some([3.0; 3]),
            same_side_pitch_mm: Some(0.4),
            closed: Some(false),
            ..Parameters::default()
        }
    );
    assert_eq!((wide.line.class, wide.line.stop), (Class::Fill, 1));
    assert_eq!(wide.parameters.angle_deg, Some(98.0));
    assert_eq!((wide.parameters.row_pitch_mm, wide.parameters.stitch_mm), (Some(0.2), Some(4.0)));
    assert_eq!(wide.parameters.width_mm, None);
    let stitch = Parameters { stitch_mm: Some(2.0), ..Parameters::default() };
    assert_eq!((line.parameters, line.outline.len()), (stitch, 0));
}

#[test]
fn a_row_that_is_all_but_level_is_level() {
    let almost = fill(1, 0, &rect(0.0, 0.0, 20.0, 10.0), 179.97, 0.2, 4.0);
    assert_eq!(surveyed(vec![almost]).objects[0].parameters.angle_deg, Some(0.0));
}

#[test]
fn an_outline_has_its_outer_ring_first_and_its_holes_after_it() {
    let border = ring(1, 0, &circle((0.0, 0.0), 10.0, 72), &circle((0.0, 0.0), 7.0, 72), 0.4);
    let survey = surveyed(vec![bar(2, 20.0), border]);
    assert_eq!(
        survey.objects[0].outline,
        [[[[0.0, 23.0], [20.0, 23.0], [20.0, 20.0], [0.0, 20.0], [0.0, 23.0]]]]
    );
    let [polygon] = survey.objects[1].outline.as_slice() else { panic!() };
    assert_eq!(polygon.iter().map(Vec::len).collect::<Vec<_>>(), [73, 73]);
    for (ring, radius) in polygon.iter().zip([10.0, 7.0]) {
        assert_eq!(ring.first(), ring.last());
        assert!(ring.iter().all(|[x, y]| (x.hypot(*y) - radius).abs() < 0.01));
    }
    assert_eq!(survey.objects[1].parameters.closed, Some(true));
}

#[test]
fn underlay_is_counted_in_penetrations_of_the_tape() {
    let line = [(1.0, 1.5), (3.0, 1.5), (5.0, 1.5)];
    let supported = with_underlay(bar(1, 0.0), Label::CentreRun, &line);
    let plain = bar(2, 20.0);
    let count = plain.stitch_count() as u32;
    let survey = surveyed(vec![plain, supported]);
    let object = &survey.objects[1];
    let part = UnderlayPart { label: Label::CentreRun, first: count, last: count + 2 };
    assert_eq!(object.underlay, [part]);
    assert_eq!((object.line.first, object.line.last), (Some(count), Some(2 * count + 2)));
    assert_eq!(object.top, Some([count + 3, 2 * count + 2]));
    assert_eq!((object.parent.len(), survey.objects[0].underlay.len()), (0, 0));
}

#[test]
fn what_was_not_understood_has_no_outline_or_parameters() {
    let mut object = bar(1, 0.0);
    object.class = Class::Unsure;
    object.shape = crate::objects::Shape::Unknown;
    let survey = surveyed(vec![object]);
    assert_eq!(survey.objects[0].outline.len(), 0);
    assert_eq!(survey.objects[0].parameters, Parameters::default());
}
