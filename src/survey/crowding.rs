//! Needle points crowded into one place: thread breaks, the cloth is cut.

use geo::Coord;

use super::scene::{Measured, Scene};
use super::{Finding, Kind, Severity};
use crate::geometry::neighbours::neighbours;
use crate::report::words::count;
use crate::settings::PassName;
use crate::stitch::spare;

pub fn find(scene: &Scene) -> Option<Finding> {
    let numbers = scene.numbers();
    let radius = numbers.crowd_radius_mm.max(0.05);
    let most = numbers.crowd_count;
    let points: Vec<Coord<f64>> = scene.design.points.iter().map(|p| p.mm()).collect();
    let counts = neighbours(&points, radius);
    let crowded: Vec<usize> = (0..points.len()).filter(|i| f64::from(counts[*i]) > most).collect();
    let highest = crowded.iter().map(|i| counts[*i]).max()?;
    // Points in one place count each other: that many places at least.
    let places: f64 = crowded.iter().map(|i| 1.0 / f64::from(counts[*i])).sum::<f64>().ceil();
    let is_fault = f64::from(highest) > numbers.crowd_refuse;
    let severity = if is_fault { Severity::Fault } else { Severity::Advice };
    let spare = || spare::crowded(scene.objects, numbers).iter().any(|spots| !spots.is_empty());
    Some(scene.finding(
        (Kind::Crowded, severity),
        &[],
        scene.place_of(crowded.iter().map(|i| points[*i])),
        &Measured { value: f64::from(highest), limit: "crowd_count", unit: "points" },
        (is_fault && spare()).then_some(PassName::ThinCrowded),
        format!(
            "{} with more than {most:.0} needle points within {:.1} mm, up to {highest}",
            count(places as usize, "place"),
            2.0 * radius
        ),
    ))
}
