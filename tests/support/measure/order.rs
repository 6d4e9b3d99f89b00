//! Order: a tag line that lies lowest on the cap is sewn first.

use super::{Failure, Judged, Trial};

/// "Bottom to top and centre outward" (Printwear, Oct 2016): all of the line before all else.
pub fn judge(trial: &Trial, line: &[usize]) -> Judged {
    let starts = |inside: bool| {
        let all = (0..trial.world.pieces.len()).filter(move |k| line.contains(k) == inside);
        all.map(|k| (trial.start(k).unwrap_or(usize::MAX), k))
    };
    let (last, tag) = starts(true).max().unwrap_or((0, 0));
    let (first, other) = starts(false).min().unwrap_or((usize::MAX, 0));
    let name = |k: usize| &trial.piece(k).id;
    let text = format!("{} starts at {last}, {} at {first}", name(tag), name(other));
    if last < first {
        Judged::Met(text)
    } else {
        Failure::at(trial.piece(tag).area.low(), text, "the whole line before anything else")
    }
}
