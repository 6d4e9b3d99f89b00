//! Findings on hand-built objects. Limits come from the garment, expected values from the drawing.

use super::{Finding, Kind, Severity, junctions, survey};
use crate::design::{Design, Link, Pt};
use crate::fixtures::{fill, objects, rect, ring, run, satin, settings};
use crate::objects::{Label, Object, Objects};
use crate::settings::{PassName, Seam, Settings};

/// The needle points of objects as a tape would give them.
fn design_of(objects: &Objects) -> Design {
    let mut design = Design::default();
    for object in &objects.items {
        for part in &object.parts {
            for (i, needle) in part.needles.iter().enumerate() {
                design.points.push(needle.at);
                design.links.push(if i == 0 { part.link } else { Link::Sewn });
                design.stops.push(object.stop);
            }
        }
    }
    design
}

fn look(items: Vec<Object>, settings: &Settings) -> Vec<Finding> {
    let all = objects(items);
    survey(&design_of(&all), &all, &junctions(&all, settings), settings)
}

fn of(findings: &[Finding], kind: Kind) -> Vec<&Finding> {
    findings.iter().filter(|f| f.kind == kind).collect()
}

fn bar(id: u32, x: (f64, f64), y: (f64, f64), pitch: f64) -> Object {
    satin(id, id, &[(x.0, y.1), (x.1, y.1)], &[(x.0, y.0), (x.1, y.0)], pitch)
}

#[test]
fn upright_fills_are_found_on_caps_only() {
    for (angle, found) in [(90.0, 1), (61.0, 1), (119.0, 1), (59.0, 0), (121.0, 0), (8.0, 0)] {
        let ground = || fill(1, 0, &rect(-10.0, 5.0, 10.0, 15.0), angle, 0.2, 4.0);
        let findings = look(vec![ground()], &settings());
        assert_eq!(of(&findings, Kind::UprightFill).len(), found, "{angle}");
        let mut flat = settings();
        flat.seam = Seam::None;
        assert!(of(&look(vec![ground()], &flat), Kind::UprightFill).is_empty());
    }
    let findings =
        look(vec![fill(7, 0, &rect(-10.0, 5.0, 10.0, 15.0), 80.0, 0.2, 4.0)], &settings());
    let finding = of(&findings, Kind::UprightFill)[0].clone();
    assert_eq!((finding.objects, finding.pass), (vec![7], Some(PassName::TurnFill)));
    assert_eq!((finding.measured, finding.limit), (10.0, 30.0));
    // 10 mm high from y = 5: its middle is 5 mm above the lowest stitch, on the seam.
    assert!((finding.place.y_mm - 5.0).abs() < 0.2 && finding.place.x_mm.abs() < 0.1);
}

#[test]
fn thin_overlap_is_found_where_it_can_be_mended() {
    let findings = look(
        vec![bar(1, (0.0, 20.0), (0.0, 3.0), 0.4), bar(2, (0.0, 20.0), (2.8, 6.0), 0.4)],
        &settings(),
    );
    let thin = of(&findings, Kind::ThinOverlap);
    assert_eq!(thin.len(), 1);
    assert_eq!((&thin[0].objects, thin[0].pass), (&vec![1, 2], Some(PassName::Overlap)));
    assert_eq!(thin[0].severity, Severity::Fault);
    assert!((thin[0].measured - 0.2).abs() < 0.02 && thin[0].limit == 0.9);
}

#[test]
fn thin_overlap_under_open_satin_is_a_fault_without_a_pass() {
    let findings = look(
        vec![bar(1, (0.0, 20.0), (0.0, 3.0), 0.4), bar(2, (0.0, 20.0), (2.8, 6.0), 1.0)],
        &settings(),
    );
    let thin = of(&findings, Kind::ThinOverlap);
    assert_eq!((thin.len(), thin[0].severity, thin[0].pass), (1, Severity::Fault, None));
}

#[test]
fn push_sides_and_narrow_covers_are_advice() {
    let push = look(
        vec![
            fill(1, 0, &rect(0.0, 0.0, 20.0, 10.0), 0.0, 0.2, 4.0),
            fill(2, 1, &rect(0.0, 9.8, 20.0, 20.0), 0.0, 0.2, 4.0),
        ],
        &settings(),
    );
    // 1.1 mm wide: 0.8 of room, of which 0.7 is taken.
    let narrow = look(
        vec![bar(1, (0.0, 20.0), (0.0, 3.0), 0.4), bar(2, (0.0, 20.0), (2.3, 3.4), 0.4)],
        &settings(),
    );
    for findings in [push, narrow] {
        let thin = of(&findings, Kind::ThinOverlap);
        assert_eq!((thin.len(), thin[0].severity, thin[0].pass), (1, Severity::Advice, None));
    }
}

#[test]
fn gaps_and_enough_overlap_are_no_finding() {
    for y in [4.0, 2.0] {
        let items =
            vec![bar(1, (0.0, 20.0), (0.0, 3.0), 0.4), bar(2, (0.0, 20.0), (y, y + 3.0), 0.4)];
        assert!(of(&look(items, &settings()), Kind::ThinOverlap).is_empty());
    }
}

#[test]
fn thin_upright_satin_on_the_seam() {
    let mast = |x: f64, width: f64| {
        satin(1, 0, &[(x, 0.0), (x, 20.0)], &[(x + width, 0.0), (x + width, 20.0)], 0.4)
    };
    for (x, width, found) in
        [(-0.7, 1.4, 1), (2.5, 1.4, 1), (3.5, 1.4, 0), (-1.2, 2.4, 0), (-4.0, 0.9, 0)]
    {
        let findings = look(vec![mast(x, width)], &settings());
        let thin = of(&findings, Kind::ThinDetailOnSeam);
        assert_eq!(thin.len(), found, "{x} {width}");
        assert!(thin.iter().all(|f| f.severity == Severity::Fault && f.pass.is_none()));
    }
    // Lying across the seam it is no upright detail.
    let findings = look(vec![bar(1, (-10.0, 10.0), (0.0, 1.4), 0.4)], &settings());
    assert!(of(&findings, Kind::ThinDetailOnSeam).is_empty());
}

#[test]
fn size_against_the_field() {
    // Limits of the finished cap: 57.2 high, warned from 54; 152 wide, warned from 101.6.
    for (w, h, expected) in [
        (80.0, 50.0, vec![]),
        (80.0, 55.0, vec![Severity::Advice]),
        (80.0, 58.0, vec![Severity::Fault]),
        (110.0, 50.0, vec![Severity::Advice]),
        (160.0, 60.0, vec![Severity::Fault, Severity::Fault]),
    ] {
        let line = run(1, 0, &[(-w / 2.0, 0.0), (w / 2.0, 0.0), (w / 2.0, h), (-w / 2.0, h)]);
        let findings = look(vec![line], &settings());
        let found: Vec<_> = of(&findings, Kind::OverFrame).iter().map(|f| f.severity).collect();
        assert_eq!(found, expected, "{w} × {h}");
    }
}

#[test]
fn columns_too_thin_and_too_wide() {
    for (width, expected) in [
        (0.7, Some((Kind::ColumnTooThin, Severity::Fault))),
        (1.2, None),
        (6.0, None),
        (8.0, Some((Kind::ColumnTooWide, Severity::Advice))),
        (10.0, Some((Kind::ColumnTooWide, Severity::Fault))),
    ] {
        let findings = look(vec![bar(1, (10.0, 30.0), (0.0, width), 0.4)], &settings());
        let found = findings
            .iter()
            .find(|f| matches!(f.kind, Kind::ColumnTooThin | Kind::ColumnTooWide))
            .map(|f| (f.kind, f.severity));
        assert_eq!(found, expected, "{width}");
    }
}

#[test]
fn landings_of_jumps_are_no_long_stitches() {
    let objects = objects(vec![run(1, 0, &[(0.0, 0.0), (2.0, 0.0), (4.0, 0.0)])]);
    let mut design = design_of(&objects);
    let count = |design: &Design| {
        let findings = survey(design, &objects, &[], &settings());
        of(&findings, Kind::StitchTooLong).len()
    };
    // 121 points along both axes: 17.1 mm in one record.
    design.points[2] = Pt::new(20 + 121, 121);
    assert_eq!(count(&design), 1);
    design.links[2] = Link::Jump;
    assert_eq!(count(&design), 0);
}

#[test]
fn a_few_short_stitches_are_advice_and_many_a_fault() {
    let line: Vec<_> = (0..20).map(|k| (f64::from(k) * 2.0, 0.0)).collect();
    let mut one = line.clone();
    one.push((38.3, 0.0));
    let all: Vec<_> = (0..20).map(|k| (f64::from(k) * 0.3, 0.0)).collect();
    for (line, expected) in
        [(line, vec![]), (one, vec![Severity::Advice]), (all, vec![Severity::Fault])]
    {
        let findings = look(vec![run(1, 0, &line)], &settings());
        let found: Vec<_> =
            of(&findings, Kind::StitchTooShort).iter().map(|f| f.severity).collect();
        assert_eq!(found, expected);
    }
    // A tie is short on purpose.
    let mut tie = run(1, 0, &[(0.0, 0.0), (0.4, 0.0), (0.0, 0.0), (0.4, 0.0)]);
    tie.parts[0].label = Label::Tie;
    assert!(of(&look(vec![tie], &settings()), Kind::StitchTooShort).is_empty());
}

#[test]
fn crowding_trims_jumps_and_the_start_point_are_advice() {
    let pile: Vec<_> = (0..12).map(|k| (f64::from(k % 2) * 0.1, 0.0)).collect();
    let findings = look(vec![run(1, 0, &pile)], &settings());
    assert_eq!(of(&findings, Kind::Crowded)[0].severity, Severity::Advice);
    // A trim every third stitch.
    let dashes =
        (0..30).map(|k| run(k, 0, &[(f64::from(k), 0.0), (f64::from(k) + 0.8, 0.0)])).collect();
    assert_eq!(of(&look(dashes, &settings()), Kind::ManyTrims)[0].severity, Severity::Advice);
    // From 10 to 30 mm right of the start point.
    let findings = look(vec![bar(1, (10.0, 30.0), (0.0, 3.0), 0.4)], &settings());
    assert!((of(&findings, Kind::OffCentre)[0].measured - 20.0).abs() < 0.2);
    let mut flat = settings();
    flat.seam = Seam::None;
    assert!(
        of(&look(vec![bar(1, (10.0, 30.0), (0.0, 3.0), 0.4)], &flat), Kind::OffCentre).is_empty()
    );
}

#[test]
fn an_unguarded_crossing_names_both_and_the_pass() {
    let findings = look(
        vec![
            fill(1, 0, &rect(-10.0, 0.0, 10.0, 20.0), 8.0, 0.2, 4.0),
            ring(2, 1, &rect(-12.5, -2.5, 12.5, 22.5), &rect(-9.0, 1.0, 9.0, 19.0), 0.4),
        ],
        &settings(),
    );
    let open = of(&findings, Kind::UnguardedCrossing);
    assert_eq!((open.len(), open[0].pass), (1, Some(PassName::Guard)));
    assert_eq!(open[0].objects, [1, 2]);
}

#[test]
fn nothing_has_no_findings() {
    assert!(look(vec![], &settings()).is_empty());
}
