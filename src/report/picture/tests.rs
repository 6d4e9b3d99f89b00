use super::*;
use crate::design::{Link, Pt};
use crate::report::sample;
use crate::report::thread::luma;
use crate::settings::PassName;
use crate::survey::Kind;

const NAVY: Rgb = [0x1d, 0x35, 0x57];

/// 20 mm of zigzag, 4 mm high, 30 mm up; two stops.
fn design() -> Design {
    let at = |i: i32| Pt::new(2 * i - 100, 300 + 40 * (i % 2));
    Design {
        points: (0..101).map(at).collect(),
        links: vec![Link::Sewn; 101],
        stops: (0..101).map(|i| u32::from(i > 50)).collect(),
        ..Design::default()
    }
}

fn draw(title: &str, seam_x: Option<f64>, findings: &[Finding]) -> String {
    let threads = [Some(NAVY), None];
    svg(&Picture { title, design: &design(), threads: &threads, seam_x, findings })
}

/// Names of elements in order, with every opened one closed again in the right place.
pub fn elements(svg: &str) -> Vec<String> {
    let (mut open, mut all) = (Vec::new(), Vec::new());
    for part in svg.split('<').skip(1) {
        let (tag, text) = part.split_once('>').unwrap();
        assert!(!text.contains('>'), "{text}");
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop().as_deref(), Some(name));
            continue;
        }
        let name = tag.split([' ', '/']).next().unwrap().to_owned();
        assert_eq!(tag.matches('"').count() % 2, 0, "{tag}");
        if !tag.ends_with('/') {
            open.push(name.clone());
        }
        all.push(name);
    }
    assert!(open.is_empty(), "{open:?}");
    all
}

#[test]
fn a_picture_is_well_formed_whatever_its_title_says() {
    let findings = vec![sample::finding(Kind::ThinOverlap, 1, Some(PassName::Overlap)); 7];
    let svg = draw("</title><script>\"&'\u{1b}", Some(0.0), &findings);
    let names = elements(&svg);
    assert_eq!(names.iter().filter(|name| *name == "circle").count(), 7);
    assert!(!names.contains(&"script".to_owned()));
}

#[test]
fn it_has_its_true_size() {
    let svg = draw("boat.dst before", None, &[]);
    let number = |key: &str| -> f64 {
        let rest = svg.split_once(&format!("{key}=\"")).unwrap().1;
        rest.split_once("mm\"").unwrap().0.parse().unwrap()
    };
    let view = svg.split_once("viewBox=\"").unwrap().1.split_once('"').unwrap().0;
    let view: Vec<f64> = view.split(' ').map(|value| value.parse().unwrap()).collect();
    assert!((number("width") - view[2] / 10.0).abs() < 0.06);
    assert!((number("height") - view[3] / 10.0).abs() < 0.06);
    // All needle points lie on the sheet, y downwards.
    assert!(view[0] < -100.0 && view[0] + view[2] > 100.0, "{view:?}");
    assert!(view[1] < -340.0 && view[1] + view[3] > -300.0, "{view:?}");
    assert!(svg.contains("20.0 × 4.0 mm") && svg.contains("10 mm"));
}

#[test]
fn the_seam_is_drawn_where_there_is_one() {
    assert!(draw("a", Some(1.5), &[]).contains("class=\"line seam\" d=\"M15.0 "));
    assert!(!draw("a", None, &[]).contains("class=\"line seam\""));
}

#[test]
fn threads_keep_their_colour_and_direction_changes_only_its_lightness() {
    let shade = |level| strokes::shades(NAVY, level).0;
    let lumas: Vec<u32> = (0..strokes::LEVELS).map(|level| luma(shade(level))).collect();
    assert!(lumas.is_sorted() && lumas[0] < lumas[strokes::LEVELS - 1], "{lumas:?}");
    assert!(lumas[strokes::LEVELS - 1] - lumas[0] < 64, "slight: {lumas:?}");
    // Both stops are drawn, in sewing order.
    let svg = draw("a", None, &[]);
    let (first, second) =
        (svg.find("<g class=\"a0-").unwrap(), svg.find("<g class=\"a1-").unwrap());
    assert!(first < second);
}

#[test]
fn findings_are_numbered_and_listed_by_kind() {
    let one = |kind| sample::finding(kind, 1, None);
    let findings = [one(Kind::ThinOverlap), one(Kind::EdgeRunMissing), one(Kind::ThinOverlap)];
    let svg = draw("a", None, &findings);
    assert!(svg.contains(">thin overlap: 1, 3<") && svg.contains(">edge run missing: 2<"), "{svg}");
}

#[test]
fn an_empty_design_gives_an_empty_sheet() {
    let empty = Design::default();
    let picture = Picture { title: "a", design: &empty, threads: &[], seam_x: None, findings: &[] };
    elements(&svg(&picture));
}
