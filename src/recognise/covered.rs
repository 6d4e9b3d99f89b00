//! What looks like a top but is sewn over by the next one: its underlay.

use super::segment::{Kind, ReadStretch, Segment};
use super::tops::{Cover, Top, by_section};
use super::weave::Weave;

/// Share of the sweeps that the next top of the stop must lie over.
const COVERED: f64 = 0.9;
/// So few runs side by side look like rows.
const FEW: usize = 8;
/// Zigzag is so much wider apart than the column over it.
const WIDER: f64 = 1.8;

/// Makes lines of a few runs and open weaves of dense zigzag, where the next top of their stop lies
/// over nearly all of them. Says whether there are any.
pub fn become_underlay(stretches: &mut [ReadStretch], tops: &[Top], cover: &Cover) -> bool {
    let own = by_section(tops);
    let mut found = Vec::new();
    for (s, stretch) in stretches.iter().enumerate() {
        for (g, segment) in stretch.segments.iter().enumerate() {
            let Some(kind) = as_underlay(stretch, segment) else { continue };
            let Some(next) = own.get(&(s, g)).map(|own| own + 1) else { continue };
            if tops.get(next).is_some_and(|top| top.stop == stretch.stop)
                && (matches!(kind, Kind::Line) || is_wider(stretches, segment, stretch, tops, next))
                && lies_under(stretch, segment, cover, next)
            {
                found.push((s, g, kind));
            }
        }
    }
    let any = !found.is_empty();
    for (s, g, kind) in found {
        stretches[s].segments[g].kind = kind;
    }
    any
}

/// What a segment would be as underlay.
fn as_underlay(stretch: &ReadStretch, segment: &Segment) -> Option<Kind> {
    let weave = segment.weave.as_ref()?;
    match &segment.kind {
        Kind::Fill(_) if weave.sweeps.len() <= FEW => Some(Kind::Line),
        // Nothing is sewn in front of the first top of a stretch but its underlay.
        Kind::Satin(_) | Kind::SplitSatin(_) if stretch.segments.len() > 1 => {
            Some(Kind::Open(weave.clone()))
        }
        _ => None,
    }
}

fn lies_under(stretch: &ReadStretch, segment: &Segment, cover: &Cover, next: usize) -> bool {
    let Some(weave) = &segment.weave else { return false };
    let after = stretch.track.index[segment.points.1];
    let under = |at| cover.covers(next, at, after, 0.0);
    let count = weave.sweeps.iter().filter(|s| under(s.middle(&stretch.track))).count();
    count as f64 >= COVERED * weave.sweeps.len() as f64
}

/// Is the next top a column whose crossings lie much closer?
fn is_wider(
    stretches: &[ReadStretch],
    segment: &Segment,
    stretch: &ReadStretch,
    tops: &[Top],
    next: usize,
) -> bool {
    let (s, g) = tops[next].sections[0];
    let over = &stretches[s].segments[g];
    let advance = |weave: &Option<Weave>, stretch: &ReadStretch| {
        weave.as_ref().map(|weave| weave.advance(&stretch.track))
    };
    matches!(over.kind, Kind::Satin(_) | Kind::SplitSatin(_))
        && advance(&segment.weave, stretch)
            .zip(advance(&over.weave, &stretches[s]))
            .is_some_and(|(own, over)| own >= WIDER * over)
}
