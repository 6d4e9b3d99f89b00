use super::super::tests::elements;
use super::*;
use crate::design::{Design, Link};
use crate::fixtures::{fill, objects as in_order, rect, ring, run, satin, settings};
use crate::objects::Object;
use crate::survey::junctions;

fn drawn(title: &str, items: Vec<Object>) -> String {
    let objects = in_order(items);
    let needles: Vec<_> = objects.items.iter().flat_map(Object::needles).collect();
    let design = Design {
        points: needles.iter().map(|(_, needle)| needle.at).collect(),
        links: vec![Link::Sewn; needles.len()],
        stops: vec![0; needles.len()],
        ..Design::default()
    };
    let junctions = junctions(&objects, &settings());
    survey_svg(&SurveyPicture {
        title,
        design: &design,
        objects: &objects,
        junctions: &junctions,
        seam_x: Some(0.0),
        thin: 0.9,
    })
}

/// A bar 20 mm long and 3 mm high.
fn bar(id: u32, foot: f64) -> Object {
    let (low, high) = ([(0.0, foot), (20.0, foot)], [(0.0, foot + 3.0), (20.0, foot + 3.0)]);
    satin(id, 0, &high, &low, 0.4)
}

/// The opening tag of an object's group up to its end.
fn group(svg: &str, id: u32) -> &str {
    let start = svg.find(&format!("<g id=\"o{id}\"")).unwrap_or_else(|| panic!("no o{id}"));
    let length = svg[start..].find("</g>").unwrap();
    &svg[start..start + length]
}

#[test]
fn every_object_has_one_group_whatever_it_is() {
    let ground = fill(1, 0, &rect(-30.0, 20.0, -10.0, 30.0), 98.0, 0.2, 4.0);
    let border = ring(2, 0, &rect(-32.0, 18.0, -8.0, 32.0), &rect(-30.0, 20.0, -10.0, 30.0), 0.4);
    let line = run(3, 0, &[(5.0, 10.0), (8.0, 12.0)]);
    let mut unsure = bar(4, 40.0);
    unsure.class = Class::Unsure;
    let mut mesh = run(5, 0, &[(1.0, 1.0), (9.0, 2.0)]);
    mesh.class = Class::Underlay;
    let svg =
        drawn("</title><script>\"&'\u{1b}", vec![ground, border, line, unsure, mesh, bar(6, 0.0)]);
    let names = elements(&svg);
    assert!(!names.contains(&"script".to_owned()));
    assert_eq!(svg.matches("class=\"object\"").count(), 6);
    let fills: Vec<&str> = (1..=6)
        .map(|id| group(&svg, id).split_once("fill=\"").unwrap().1.split('"').next().unwrap())
        .collect();
    for (index, tint) in fills.iter().enumerate() {
        assert!(!fills[..index].contains(tint), "{fills:?}");
    }
    for id in 1..=6 {
        assert!(svg.contains(&format!(">o{id}<")) || svg.contains(&format!(">o{id} ")), "o{id}");
    }
    // Areas have outlines, satins both rails, lines and what is not understood their stitches.
    let paths = |id| group(&svg, id).matches("<path").count();
    assert_eq!([1, 2, 3, 4, 5, 6].map(paths), [1, 3, 1, 1, 1, 3]);
    assert!(group(&svg, 5).contains("beneath") && group(&svg, 4).contains("unsure"));
    // A ring is an area with a hole.
    assert_eq!(group(&svg, 2).matches('Z').count(), 2);
}

#[test]
fn a_thin_overlap_is_red_and_says_how_much_it_is() {
    // The lower bar ends at 3.0 mm; the upper one begins at 2.6 or at 1.5 mm.
    let svg = drawn("bars", vec![bar(1, 0.0), bar(2, 2.6)]);
    elements(&svg);
    assert!(svg.contains("<path class=\"thin\"") && svg.contains("class=\"figure red\""), "{svg}");
    assert!(svg.contains(">0.4</text>") && svg.contains("o1 under o2: 0.40 mm (0."), "{svg}");
    let svg = drawn("bars", vec![bar(1, 0.0), bar(2, 1.5)]);
    assert!(
        !svg.contains("<path class=\"thin\"") && !svg.contains("class=\"figure red\""),
        "{svg}"
    );
    assert!(svg.contains(">1.5</text>"), "{svg}");
}

#[test]
fn a_gap_has_a_minus() {
    let svg = drawn("bars", vec![bar(1, 0.0), bar(2, 3.3)]);
    assert!(svg.contains(">−0.3</text>"), "{svg}");
}

#[test]
fn edges_that_meet_have_no_overlap_and_no_minus() {
    let svg = drawn("bars", vec![bar(1, 0.0), bar(2, 3.02)]);
    assert!(svg.contains(">0.0</text>") && !svg.contains("−0.0"), "{svg}");
}

#[test]
fn every_thin_stretch_says_how_much_it_is() {
    // A tooth in the middle reaches 1.5 mm further under the upper bar than what lies beside it.
    let edge = [(0.0, 2.4), (7.0, 2.4), (7.0, 3.9), (13.0, 3.9), (13.0, 2.4), (20.0, 2.4)];
    let foot = edge.map(|(x, _)| (x, 0.0));
    let svg = drawn("tooth", vec![satin(1, 0, &edge, &foot, 0.4), bar(2, 2.0)]);
    assert_eq!(svg.matches("class=\"figure red\"").count(), 2, "{svg}");
}

#[test]
fn an_object_that_lies_on_another_has_no_figure() {
    let ground = fill(1, 0, &rect(-30.0, -30.0, 50.0, 30.0), 8.0, 0.2, 4.0);
    let svg = drawn("bars", vec![ground, bar(2, 0.0)]);
    assert!(svg.contains("class=\"curve\"") && !svg.contains("class=\"figure"), "{svg}");
}

#[test]
fn rows_are_shown_along_their_angle() {
    let svg = drawn("fill", vec![fill(1, 0, &rect(0.0, 0.0, 60.0, 40.0), 60.0, 0.2, 4.0)]);
    assert!(svg.contains(">o1 60°</text>"), "{svg}");
    let line = svg.split_once("class=\"rows\" d=\"M").unwrap().1.split_once('"').unwrap().0;
    let numbers: Vec<f64> = line.split([' ', 'L']).map(|n| n.parse().unwrap()).collect();
    let [x0, y0, x1, y1] = numbers[..] else { panic!("{line}") };
    // Rows that rise to the right fall in an SVG, whose y runs downwards.
    assert!((-(y1 - y0) / (x1 - x0) - 60f64.to_radians().tan()).abs() < 0.02, "{line}");
}

#[test]
fn names_do_not_lie_on_each_other() {
    // Ten bars, each 0.5 mm above the one before: their middles crowd.
    let svg = drawn("bars", (1..=10).map(|id| bar(id, 0.5 * f64::from(id))).collect());
    let mut places: Vec<&str> = svg.split("class=\"name\" ").skip(1).collect();
    places.iter_mut().for_each(|place| *place = place.split('>').next().unwrap());
    places.sort_unstable();
    places.dedup();
    assert_eq!(places.len(), 10);
}

#[test]
fn nothing_gives_an_empty_sheet() {
    elements(&drawn("a", vec![]));
}
