use std::fmt::Write;

/// Text from a stranger (a label, a thread name, a file name) made fit for a terminal or a log.
///
/// Control characters, bytes that are no UTF-8, and characters that turn the writing direction,
/// take no room or end a line are written as escapes; so is the backslash, to keep the outcome
/// unambiguous. Markup is left as it is: a page escapes that where it writes it.
pub fn inert(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len());
    for chunk in bytes.utf8_chunks() {
        for c in chunk.valid().chars() {
            // Writing to a String cannot fail.
            let _ = match c {
                '\\' => write!(text, "\\\\"),
                c if c.is_ascii_control() => write!(text, "\\x{:02X}", u32::from(c)),
                c if c.is_control() || is_sly(c) => write!(text, "\\u{{{:X}}}", u32::from(c)),
                c => write!(text, "{c}"),
            };
        }
        for byte in chunk.invalid() {
            let _ = write!(text, "\\x{byte:02X}");
        }
    }
    text
}

/// Format characters, separators and other characters that show as something they are not
/// (Unicode Standard: general categories Cf, Zl, Zp; blank letters; variation selectors).
fn is_sly(c: char) -> bool {
    matches!(u32::from(c),
        0x00AD | 0x034F | 0x0600..=0x0605 | 0x061C | 0x06DD | 0x070F | 0x08E2 | 0x115F..=0x1160
        | 0x17B4..=0x17B5 | 0x180B..=0x180F | 0x200B..=0x200F | 0x2028..=0x202E | 0x2060..=0x206F
        | 0x2800 | 0x3164 | 0xD800..=0xF8FF | 0xFE00..=0xFE0F | 0xFEFF | 0xFFA0 | 0xFFF0..=0xFFFF
        | 0x1_10BD | 0x1_10CD | 0x1_BCA0..=0x1_BCA3 | 0x1_D173..=0x1_D17A | 0xE_0000..)
}

#[cfg(test)]
mod tests {
    use super::inert;

    #[test]
    fn plain_names_stay_as_they_are() {
        assert_eq!(inert("OSSEL QUAY Zoë <1>".as_bytes()), "OSSEL QUAY Zoë <1>");
    }

    #[test]
    fn terminal_codes_line_ends_and_broken_bytes_become_escapes() {
        assert_eq!(inert(b"\x1b[31mRED\x07\r\n\0"), "\\x1B[31mRED\\x07\\x0D\\x0A\\x00");
        assert_eq!(inert(b"A\xff\xc3(\\"), "A\\xFF\\xC3(\\\\");
        assert_eq!(inert("\u{9b}31m".as_bytes()), "\\u{9B}31m");
    }

    #[test]
    fn characters_that_turn_the_writing_direction_become_escapes() {
        // Unicode Standard Annex 9, table of explicit formatting characters.
        for c in "\u{61c}\u{200e}\u{200f}\u{202a}\u{202b}\u{202c}\u{202d}\u{202e}\u{2066}\u{2067}\u{2068}\u{2069}".chars() {
            assert_eq!(inert(c.to_string().as_bytes()), format!("\\u{{{:X}}}", u32::from(c)));
        }
    }
}
