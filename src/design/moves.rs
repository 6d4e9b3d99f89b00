//! Records for moves: split, newly made, or refitted to another displacement.

use super::trim::is_marker;
use super::{AssembleError, Link, Pt, TrimForm, TrimRule};
use crate::tape::{Kind, Record};

/// A move in equal parts: whole points, the rounding spread evenly.
pub fn parts(by: Pt, count: u32) -> impl Iterator<Item = Pt> {
    let total = i64::from(count.max(1));
    // Half up, so that every part is within one point of the others; the quotient lies between
    // zero and the coordinate, so that it always fits.
    let share = move |value: i32, k: i64| {
        let rounded = (2 * i64::from(value) * k + total).div_euclid(2 * total);
        i32::try_from(rounded).unwrap_or(value)
    };
    let at = move |k: i64| Pt::new(share(by.x, k), share(by.y, k));
    (1..=total).map(move |k| at(k) - at(k - 1))
}

/// Fewest records that make a move; 0 for none.
pub fn needed(by: Pt) -> u32 {
    by.x.unsigned_abs().max(by.y.unsigned_abs()).div_ceil(Record::REACH.unsigned_abs())
}

/// Records of a link of this kind that ends with the needle in the cloth; sewn ones in stitches
/// of at most `link_max_mm`.
pub fn linked(
    link: Link,
    by: Pt,
    trim: TrimRule,
    link_max_mm: f64,
) -> Result<Vec<Record>, AssembleError> {
    let mut way = Vec::new();
    match link {
        Link::Sewn => {
            let length = by.distance(Pt::default());
            // Positions have a bound, and so has the count. A limit under one point is none.
            let split = if link_max_mm >= 0.1 { (length / link_max_mm).ceil() as u32 } else { 0 };
            let count = needed(by).max(split).max(1);
            stitches(&mut way, by, count)?;
        }
        Link::Jump => {
            let count = needed(by).max(1);
            if count < trim.jumps || count == 1 {
                jumps(&mut way, by, count)?;
                way.push(stitch(Pt::default())?);
            } else {
                // One jump fewer, before the machine takes them for a trim: the needle lands with
                // the last part. Longer ways cannot go untrimmed.
                let steps: Vec<Pt> = parts(by, count).collect();
                for step in &steps[..steps.len() - 1] {
                    way.push(jump(*step)?);
                }
                way.push(stitch(steps[steps.len() - 1])?);
            }
        }
        Link::Trim => {
            let fewest = match trim.form {
                TrimForm::None => trim.jumps,
                TrimForm::Jumps(count) => count.max(trim.jumps),
                TrimForm::Markers(there) => {
                    way.push(jump(there)?);
                    way.push(jump(Pt::default() - there)?);
                    1
                }
            };
            jumps(&mut way, by, needed(by).max(fewest))?;
            way.push(stitch(Pt::default())?);
        }
        // The caller writes the stop records.
        Link::Stop => {
            jumps(&mut way, by, needed(by))?;
            way.push(stitch(Pt::default())?);
        }
    }
    Ok(way)
}

/// Fits the records of a way to another displacement, in the same form: stops, marker pairs and
/// the landing stay, the other jumps share the rest in equal parts. New jumps join the last one,
/// or, where there was none, stand before the landing (`landing`) or before everything.
pub fn refitted(way: &[Record], by: Pt, landing: bool) -> Result<Vec<Record>, AssembleError> {
    let (body, land) = if landing { way.split_at(way.len() - 1) } else { (way, &way[..0]) };
    let plain = plain_jumps(body);
    let last_plain = plain.iter().rposition(|plain| *plain);
    let sum = |records: &mut dyn Iterator<Item = &Record>| {
        records.fold(Pt::default(), |sum, record| sum + record.delta())
    };
    let kept = body.iter().zip(&plain).filter(|(_, plain)| !**plain);
    let fixed = sum(&mut kept.map(|(record, _)| record));
    let landed = by - fixed;
    if let ([_], true, 0..=1) = (land, last_plain.is_none(), needed(landed)) {
        return Ok(body.iter().copied().chain([stitch(landed)?]).collect());
    }
    let rest = landed - sum(&mut land.iter());
    let jumps = plain.iter().filter(|plain| **plain).count();
    let count = needed(rest).max(u32::try_from(jumps).unwrap_or(u32::MAX));
    let steps = if count == 0 { Vec::new() } else { parts(rest, count).collect() };
    let mut steps = steps.into_iter();
    let mut out = Vec::with_capacity(way.len());
    if last_plain.is_none() && land.is_empty() {
        take(&mut out, &mut steps, usize::MAX)?;
    }
    for (index, record) in body.iter().enumerate() {
        if plain[index] {
            let last = last_plain == Some(index);
            take(&mut out, &mut steps, if last { usize::MAX } else { 1 })?;
        } else {
            out.push(*record);
        }
    }
    take(&mut out, &mut steps, usize::MAX)?;
    out.extend(land);
    Ok(out)
}

/// Which records are jumps, and no part of a marker pair.
fn plain_jumps(records: &[Record]) -> Vec<bool> {
    let mut plain: Vec<bool> = records.iter().map(|record| record.kind() == Kind::Jump).collect();
    let mut index = 1;
    while index < records.len() {
        if is_marker(records[index - 1], records[index]) {
            plain[index - 1..=index].fill(false);
            index += 1;
        }
        index += 1;
    }
    plain
}

fn take(
    out: &mut Vec<Record>,
    steps: &mut impl Iterator<Item = Pt>,
    count: usize,
) -> Result<(), AssembleError> {
    for step in steps.by_ref().take(count) {
        out.push(jump(step)?);
    }
    Ok(())
}

fn jumps(way: &mut Vec<Record>, by: Pt, count: u32) -> Result<(), AssembleError> {
    if count > 0 {
        take(way, &mut parts(by, count), usize::MAX)?;
    }
    Ok(())
}

fn stitches(way: &mut Vec<Record>, by: Pt, count: u32) -> Result<(), AssembleError> {
    for step in parts(by, count) {
        way.push(stitch(step)?);
    }
    Ok(())
}

fn jump(by: Pt) -> Result<Record, AssembleError> {
    Record::jump(by).ok_or(AssembleError::TooLong { by })
}

fn stitch(by: Pt) -> Result<Record, AssembleError> {
    Record::stitch(by).ok_or(AssembleError::TooLong { by })
}
