use std::ops::Range;

/// A header field: two characters, a colon, the value and a carriage return ("Embroidery format
/// DST", "Tajima Ternary").
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Field {
    Label,
    Records,
    Changes,
    PlusX,
    MinusX,
    PlusY,
    MinusY,
    LastX,
    LastY,
    BeforeX,
    BeforeY,
    Set,
}

const END_OF_FIELD: u8 = 0x0D;
const END_OF_FIELDS: u8 = 0x1A;

impl Field {
    pub fn tag(self) -> &'static str {
        match self {
            Self::Label => "LA",
            Self::Records => "ST",
            Self::Changes => "CO",
            Self::PlusX => "+X",
            Self::MinusX => "-X",
            Self::PlusY => "+Y",
            Self::MinusY => "-Y",
            Self::LastX => "AX",
            Self::LastY => "AY",
            Self::BeforeX => "MX",
            Self::BeforeY => "MY",
            Self::Set => "PD",
        }
    }

    /// Offset and value width. Published up to -Y ("Tajima Ternary"; label width "Embroidery
    /// format DST"); the rest follows from the published total of 125 bytes.
    fn place(self) -> (usize, usize) {
        match self {
            Self::Label => (0, 16),
            Self::Records => (20, 7),
            Self::Changes => (31, 3),
            Self::PlusX => (38, 5),
            Self::MinusX => (47, 5),
            Self::PlusY => (56, 5),
            Self::MinusY => (65, 5),
            Self::LastX => (74, 6),
            Self::LastY => (84, 6),
            Self::BeforeX => (94, 6),
            Self::BeforeY => (104, 6),
            Self::Set => (114, 6),
        }
    }

    fn tagged(self, bytes: &[u8], offset: usize) -> bool {
        let tag = self.tag().as_bytes();
        bytes.get(offset..offset + 3).is_some_and(|three| &three[..2] == tag && three[2] == b':')
    }

    /// Where the value stands: at its published place if its tag is there, else behind its tag
    /// at the start of any field.
    pub fn range(self, bytes: &[u8]) -> Option<Range<usize>> {
        let (offset, width) = self.place();
        if self.tagged(bytes, offset) {
            let start = offset + 3;
            if bytes.get(start + width) == Some(&END_OF_FIELD) {
                return Some(start..start + width);
            }
        }
        let offset = starts(bytes).find(|&start| self.tagged(bytes, start))?;
        let start = offset + 3;
        Some(start..start + length(&bytes[start..]))
    }

    pub fn value(self, bytes: &[u8]) -> Option<&[u8]> {
        self.range(bytes).map(|range| &bytes[range])
    }
}

/// Offsets at which a field can start.
pub fn starts(bytes: &[u8]) -> impl Iterator<Item = usize> + '_ {
    let ends = |byte: u8| matches!(byte, END_OF_FIELD | END_OF_FIELDS);
    let after = bytes.iter().enumerate().filter(move |(_, byte)| ends(**byte));
    std::iter::once(0).chain(after.map(|(at, _)| at + 1))
}

/// Bytes until the end of a field.
pub fn length(bytes: &[u8]) -> usize {
    let ends = |byte: &u8| matches!(*byte, END_OF_FIELD | END_OF_FIELDS);
    bytes.iter().position(ends).unwrap_or(bytes.len())
}

/// A value without its padding: NUL and what follows it, and spaces at both ends.
pub fn trim(value: &[u8]) -> &[u8] {
    value.split(|byte| *byte == 0).next().unwrap_or_default().trim_ascii()
}

/// A whole number, padded with zeros or spaces, its sign at the start or before the digits.
pub fn number(value: &[u8]) -> Option<i64> {
    let text = std::str::from_utf8(trim(value)).ok()?;
    let (sign, digits) = match text.as_bytes().first()? {
        b'-' => (-1, &text[1..]),
        b'+' => (1, &text[1..]),
        _ => (1, text),
    };
    let digits = digits.trim_start_matches(' ');
    if !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    digits.parse::<i64>().ok().map(|number| sign * number)
}

/// Puts a number in the place of a field's value, in the value's own manner; a field that is
/// missing, or too narrow even for the digits, stays as it is.
pub fn rewrite(bytes: &mut [u8], field: Field, new: i64) {
    let Some(range) = field.range(bytes) else { return };
    let old = &bytes[range.clone()];
    if number(old) == Some(new) {
        return;
    }
    if let Some(text) = spelled(old, field, new) {
        bytes[range].copy_from_slice(text.as_bytes());
    }
}

/// Extents are written as magnitudes by some and with their sign by others.
fn is_magnitude(field: Field) -> bool {
    matches!(field, Field::PlusX | Field::MinusX | Field::PlusY | Field::MinusY)
}

/// `new` in the width, sign and padding of `old`.
fn spelled(old: &[u8], field: Field, new: i64) -> Option<String> {
    let signed_start = matches!(old.first(), Some(b'+' | b'-'));
    let padded_after = !signed_start && old.first() != Some(&b' ') && old.last() == Some(&b' ');
    let negative = new < 0 || (is_magnitude(field) && old.contains(&b'-') && new > 0);
    let sign = match (negative, old.contains(&b'+') || signed_start) {
        (true, _) => "-",
        (false, true) => "+",
        (false, false) => "",
    };
    let digits = new.unsigned_abs().to_string();
    let room = old.len().checked_sub(sign.len() + digits.len())?;
    let body = &old[usize::from(signed_start)..];
    let zeros = body.first() == Some(&b'0') && body.len() > 1 && !padded_after;
    Some(if zeros {
        format!("{sign}{}{digits}", "0".repeat(room))
    } else if padded_after {
        format!("{sign}{digits}{}", " ".repeat(room))
    } else if signed_start {
        format!("{sign}{}{digits}", " ".repeat(room))
    } else {
        format!("{}{sign}{digits}", " ".repeat(room))
    })
}
