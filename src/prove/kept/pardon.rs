//! Needle points that are gone, and rightly: spare ones, the way to a first row, underlay at either end.

use super::LOOK_AHEAD;
use super::places::Places;
use crate::design::Pt;
use crate::stitch::spare::{STAYS_MM, beside};

/// Takes needle points that were left out as kept, where the thread goes on by them as it did.
pub fn pardon_spare(run: &[Pt], aligned: &mut [Option<usize>], places: &Places) {
    let points = &places.after.judged.design.points;
    let mut from = None;
    for k in 0..run.len() {
        if aligned[k].is_some() {
            from = aligned[k];
            continue;
        }
        let to = (k + 1..run.len()).find_map(|next| aligned[next]);
        let Some((a, b)) = from.zip(to).filter(|(a, b)| *b == a + 1) else { continue };
        // What was sewn to and fro lies on the stitch before.
        let ways = [(a, b), (a.saturating_sub(1), a)];
        let stays = |(a, b): (usize, usize)| {
            beside(run[k].mm(), points[a].mm(), points[b].mm()) <= STAYS_MM + 1e-9
        };
        if ways.into_iter().any(stays) {
            // Stands with its neighbour; those after it are judged against the same stitch.
            aligned[k] = Some(a);
        }
    }
}

/// Takes the lost needle points that a run begins with as kept where rows sewn later lie over them: they
/// were the way to the first row, which is another one now.
pub fn pardon_way(run: &[Pt], aligned: &mut [Option<usize>]) {
    /// Nearer than rows to each other, or a thread covers it, mm (J); whether it shows is judged elsewhere.
    const OVER_MM: f64 = 0.22;
    let kept = aligned.iter().position(Option::is_some);
    let Some(first) = kept.filter(|first| (1..=LOOK_AHEAD).contains(first)) else { return };
    // A stitch that ends at a needle point says nothing of it, nor one that begins there.
    let sewn_over = |k: usize| {
        let mut later = run[k + 1..].windows(2);
        later.any(|w| beside(run[k].mm(), w[0].mm(), w[1].mm()) <= OVER_MM)
    };
    if (0..first).all(sewn_over) {
        keep_first(aligned, first, first);
    }
}

/// Takes the first so many needle points of a run as kept, as many places off as they lie from the first
/// that is.
fn keep_first(aligned: &mut [Option<usize>], count: usize, kept: usize) {
    let place = aligned[kept].unwrap_or_default();
    for (k, lost) in aligned.iter_mut().take(count).enumerate() {
        *lost = Some(place.saturating_sub(kept - k));
    }
}

/// Takes up to two lost needle points at either end of a run as kept, as many places off as they lie
/// from the next that is.
pub fn pardon_ends(aligned: &mut [Option<usize>]) {
    const MOST: usize = 2;
    /// Those next to them may have been moved.
    const NEXT: usize = 4;
    let is_kept = |place: &Option<usize>| place.is_some();
    if let Some(first) = aligned.iter().position(is_kept).filter(|first| *first <= NEXT) {
        keep_first(aligned, first.min(MOST), first);
    }
    let len = aligned.len();
    if let Some(last) = aligned.iter().rposition(is_kept).filter(|last| len - 1 - last <= NEXT) {
        let kept = aligned[last].unwrap_or_default();
        let from = (last + 1).max(len.saturating_sub(MOST));
        for (k, place) in aligned.iter_mut().enumerate().skip(from) {
            *place = Some(kept + (k - last));
        }
    }
}
