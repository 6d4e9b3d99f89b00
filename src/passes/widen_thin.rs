//! Widens columns that are too thin to sew, or to stand on the seam, as far as the look bears it.

use geo::{Coord, MultiPolygon};

use super::parts::{place, source};
use super::{Left, Outcome};
use crate::design::Pt;
use crate::geometry::strips;
use crate::geometry::vector::{distance, middle, unit};
use crate::objects::{Class, Object, Objects, Satin, Shape, Side};
use crate::report::{Change, Grade};
use crate::settings::{PassName, Settings};
use crate::survey::{ROUNDED_OUT_MM, Thin, too_thin};

/// Moves both edges of thin columns outward.
pub fn widen_thin(objects: &Objects, settings: &Settings) -> Outcome {
    let mut outcome = Outcome::unchanged(objects);
    for (index, object) in objects.items.iter().enumerate() {
        let open = object.class == Class::Satin && !object.held;
        let Some(thin) = too_thin(object, settings).filter(|_| open) else { continue };
        if !settings.allows(PassName::WidenThin, object.id) {
            continue;
        }
        let numbers = &settings.profile.numbers;
        let lack = thin.wanted - thin.width;
        let most = numbers.widen_max_mm - ROUNDED_OUT_MM;
        let new = thin.is_borne(numbers).then(|| widened(object, thin.wanted, most)).flatten();
        match new {
            Some(new) => {
                outcome.changes.push(change(object, &thin, objects, settings));
                outcome.objects.items[index] = new;
            }
            None => outcome.left.push(Left {
                pass: PassName::WidenThin,
                objects: vec![object.id.0],
                reason: format!(
                    "it would have to become {lack:.1} mm wider, which would be seen; a thicker column \
                     or a run would sew better"
                ),
            }),
        }
    }
    outcome
}

/// The column with every crossing that is shorter than wanted (mm) made so much longer, at most.
fn widened(object: &Object, wanted: f64, most: f64) -> Option<Object> {
    let satin = object.satin()?;
    let mut new = object.clone();
    let at: Vec<Coord<f64>> = object.top().map(|needle| needle.at.mm()).collect();
    let moved: Vec<Pt> =
        (0..at.len()).map(|i| Pt::from_mm(outward(&at, satin, i, wanted, most))).collect();
    let mut next = moved.iter();
    for part in new.parts.iter_mut().filter(|part| Object::is_top(part.label)) {
        for (needle, at) in part.needles.iter_mut().zip(next.by_ref()) {
            needle.at = *at;
        }
    }
    let satin = with_rails(satin, &moved);
    new.footprint = footprint(&satin, &moved).into();
    new.shape = Shape::Satin(satin);
    Some(new)
}

/// Where a needle point of a column comes to lie.
fn outward(at: &[Coord<f64>], satin: &Satin, i: usize, wanted: f64, most: f64) -> Coord<f64> {
    let side = satin.sides.get(i).copied().unwrap_or(Side::Inner);
    let is_other = |k: &usize| {
        let other = satin.sides.get(*k).copied().unwrap_or(Side::Inner);
        other != Side::Inner && other != side
    };
    if side == Side::Inner {
        return at[i];
    }
    let before = (0..i).rev().find(is_other).map(|k| at[k]);
    let after = (i + 1..at.len()).find(is_other).map(|k| at[k]);
    let across = match (before, after) {
        (Some(a), Some(b)) => middle(a, b),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => return at[i],
    };
    let by = (wanted - distance(at[i], across)).clamp(0.0, most);
    // Nearly half a point more, so that rounding does not take it back.
    let by = if by > 0.0 { (by + 0.8 * ROUNDED_OUT_MM) / 2.0 } else { 0.0 };
    at[i] + unit(at[i] - across) * by
}

/// Rails and widths of a column whose needle points moved.
fn with_rails(satin: &Satin, at: &[Pt]) -> Satin {
    let rail = |wanted: Side| -> Vec<Coord<f64>> {
        let own = at.iter().zip(&satin.sides).filter(|(_, side)| **side == wanted);
        own.map(|(at, _)| at.mm()).collect()
    };
    let rails = [rail(Side::Left), rail(Side::Right)];
    let mut widths: Vec<f64> =
        rails[0].iter().zip(&rails[1]).map(|(a, b)| distance(*a, *b)).collect();
    widths.sort_by(f64::total_cmp);
    let last = widths.len().saturating_sub(1) as f64;
    let width = [0.05, 0.5, 0.95].map(|share| {
        widths.get((last * share).round() as usize).copied().unwrap_or(satin.width[1])
    });
    Satin { rails, width, ..satin.clone() }
}

/// Area between the crossings.
fn footprint(satin: &Satin, at: &[Pt]) -> MultiPolygon<f64> {
    let on_rail: Vec<(Coord<f64>, Side)> = at
        .iter()
        .zip(&satin.sides)
        .filter(|(_, side)| **side != Side::Inner)
        .map(|(at, side)| (at.mm(), *side))
        .collect();
    let crossings: Vec<_> = on_rail
        .windows(2)
        .map(|w| if w[0].1 == Side::Left { (w[0].0, w[1].0) } else { (w[1].0, w[0].0) })
        .collect();
    strips::between(&crossings)
}

fn change(object: &Object, thin: &Thin, objects: &Objects, settings: &Settings) -> Change {
    Change {
        id: format!("{}-{}", PassName::WidenThin.name(), object.id),
        pass: PassName::WidenThin,
        objects: vec![object.id.0],
        place: place(object, objects, settings),
        before: format!("{:.1} mm wide", thin.width),
        after: format!("{:.1} mm, half of it at each edge", thin.wanted),
        reason: if thin.on_seam {
            "on the ridge of the seam thin columns are pushed aside"
        } else {
            "needle points so near to each other cut the cloth"
        }
        .to_owned(),
        source: source(settings, thin.limit),
        stitches_added: 0,
        stitches_removed: 0,
        trims_added: 0,
        grade: Grade::Safe,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixtures::{satin, settings};

    /// An upright column of this width (mm) in the middle of the design, or beside it.
    fn column(x: f64, width: f64) -> Object {
        let (left, right) = (x - width / 2.0, x + width / 2.0);
        satin(1, 0, &[(left, 20.0), (left, 40.0)], &[(right, 20.0), (right, 40.0)], 0.4)
    }

    fn run(object: Object) -> (Option<f64>, usize) {
        let outcome = widen_thin(&Objects::from(vec![object]), &settings());
        let again = widen_thin(&outcome.objects, &settings());
        assert_eq!(again.objects, outcome.objects);
        let width = outcome.objects.items[0].satin().map(|satin| satin.width[1]);
        (width.filter(|_| !outcome.changes.is_empty()), outcome.left.len())
    }

    #[test]
    fn a_column_a_little_under_the_minimum_gets_it() {
        // Satins from 1.0 mm on: Printwear Feb 2016 p. 61.
        let (width, left) = run(column(30.0, 0.8));
        assert!((0.9..=1.1).contains(&width.expect("a change")), "{width:?}");
        assert_eq!(left, 0);
    }

    #[test]
    fn one_that_lacks_more_than_the_look_bears_is_left_with_the_reason() {
        assert_eq!(run(column(30.0, 0.7)), (None, 1));
        assert_eq!(run(column(0.0, 1.4)), (None, 1));
    }

    #[test]
    fn an_upright_column_on_the_seam_gets_two_millimetres() {
        let (width, left) = run(column(0.0, 1.8));
        assert!((1.95..=2.1).contains(&width.expect("a change")), "{width:?}");
        assert_eq!(left, 0);
        assert_eq!(run(column(30.0, 1.8)), (None, 0));
    }

    #[test]
    fn the_area_grows_with_the_edges() {
        let outcome = widen_thin(&Objects::from(vec![column(0.0, 1.8)]), &settings());
        let area = geo::Area::unsigned_area(&*outcome.objects.items[0].footprint);
        assert!((area - 2.0 * 20.0).abs() < 0.5, "{area}");
    }
}
