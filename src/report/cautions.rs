use super::TapeFacts;
use crate::garment::Numbers;

/// What to mind with a tape, the most dangerous first; `damaged` if a part of it may be missing.
pub fn cautions(facts: &TapeFacts, numbers: &Numbers, damaged: bool) -> Vec<String> {
    let damage = "DO NOT SEW AS IT IS: the tape was damaged and a part of it may be missing; what was \
                  dropped is told about the file. Ask for a whole one.";
    let (width, height) = (facts.width_mm, facts.height_mm);
    let (field_w, field_h) = (numbers.frame_width_mm, numbers.frame_height_mm);
    let frame = if width > field_w || height > field_h {
        format!(
            "DO NOT SEW AS IT IS: {width:.1} × {height:.1} mm is larger than the field of {field_w:.1} × \
             {field_h:.1} mm. A design larger than the frame drives the needle into metal."
        )
    } else {
        format!(
            "Trace the outline in your own frame first: {width:.1} × {height:.1} mm. A design larger than the \
             frame drives the needle into metal."
        )
    };
    let standing = [
        frame,
        "Sew a test on a garment of the same kind before the order.".to_owned(),
        "The machine maker's manual and your local rules come before anything said here."
            .to_owned(),
    ];
    damaged.then(|| damage.to_owned()).into_iter().chain(standing).collect()
}
