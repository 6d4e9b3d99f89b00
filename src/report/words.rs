//! Names of things as people read them.

use crate::objects::{Class, Label};
use crate::report::State;
use crate::survey::Kind;

/// A kind of finding, in words.
pub fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::UprightFill => "upright fill",
        Kind::ThinOverlap => "thin overlap",
        Kind::EdgeRunMissing => "edge run missing",
        Kind::UnguardedCrossing => "unguarded crossing",
        Kind::OutOfOrder => "out of order",
        Kind::ThinDetailOnSeam => "thin detail on the seam",
        Kind::SeamCrossing => "seam crossing",
        Kind::OverFrame => "over the frame",
        Kind::ColumnTooThin => "column too thin",
        Kind::ColumnTooWide => "column too wide",
        Kind::StitchTooShort => "stitch too short",
        Kind::StitchTooLong => "stitch too long",
        Kind::Crowded => "crowded needle points",
        Kind::StrayTie => "tie where nothing is cut",
        Kind::ManyTrims => "many trims",
        Kind::LongJump => "long jump",
        Kind::LooseJumps => "more jumps than needed",
        Kind::HeldStop => "held stop",
        Kind::OffCentre => "off centre",
    }
}

/// A class of object, in words.
pub fn class(class: Class) -> &'static str {
    match class {
        Class::Run => "run",
        Class::Bean => "bean",
        Class::Satin => "satin",
        Class::SplitSatin => "split satin",
        Class::Fill => "fill",
        Class::CurvedFill => "curved fill",
        Class::Underlay => "underlay",
        Class::Guard => "guard",
        Class::Unsure => "unsure",
    }
}

/// What a stretch of stitches is, in words.
pub fn label(label: Label) -> &'static str {
    match label {
        Label::Tie => "tie",
        Label::Run => "run",
        Label::Bean => "bean",
        Label::CentreRun => "centre run",
        Label::EdgeRun => "edge run",
        Label::Zigzag => "zigzag",
        Label::FillUnderlay => "underlay of a fill",
        Label::Guard => "guard",
        Label::Satin => "satin",
        Label::SplitSatin => "split satin",
        Label::Fill => "rows of a fill",
        Label::Travel => "travel",
        Label::Unsure => "unsure",
    }
}

/// How a run ended, in words.
pub fn state(state: State) -> &'static str {
    match state {
        State::Sound => "sound",
        State::Mended => "mended",
        State::NeedsEyes => "needs eyes",
    }
}

/// 13902 → `13,902`.
pub fn thousands(value: u32) -> String {
    let digits = value.to_string();
    let mut text = String::with_capacity(digits.len() + digits.len() / 3);
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// Seconds as `17 min 05 s` or `43 s`.
pub fn duration(seconds: f64) -> String {
    let whole = seconds.round().max(0.0) as u64;
    match (whole / 60, whole % 60) {
        (0, s) => format!("{s} s"),
        (min, s) => format!("{min} min {s:02} s"),
    }
}

/// `1 stop`, `2 stops`.
pub fn count(number: usize, noun: &str) -> String {
    format!("{number} {noun}{}", if number == 1 { "" } else { "s" })
}

/// Sorted numbers with neighbours joined: `1–9, 12`.
pub fn ranges(numbers: &[usize]) -> String {
    let mut spans: Vec<(usize, usize)> = Vec::new();
    for &number in numbers {
        match spans.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => spans.push((number, number)),
        }
    }
    let span =
        |&(a, b): &(usize, usize)| if a == b { format!("{a}") } else { format!("{a}–{b}") };
    spans.iter().map(span).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_read_well() {
        assert_eq!([0, 999, 1000, 1_234_567].map(thousands), ["0", "999", "1,000", "1,234,567"]);
        assert_eq!([0.0, 59.6, 1025.0].map(duration), ["0 s", "1 min 00 s", "17 min 05 s"]);
        assert_eq!(ranges(&[1, 2, 3, 7, 9, 10]), "1–3, 7, 9–10");
        assert_eq!((count(1, "trim"), count(0, "trim")), ("1 trim".into(), "0 trims".into()));
    }
}
