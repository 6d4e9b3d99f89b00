/// Text made safe for the body or an attribute of an SVG: the only way in for foreign text.
///
/// Markup is escaped; control characters, which XML 1.0 does not allow, and marks that turn the
/// reading direction become `\u{fffd}`.
pub fn escape(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            c if c.is_control() || is_unsafe(c) => safe.push(char::REPLACEMENT_CHARACTER),
            c => safe.push(c),
        }
    }
    safe
}

/// Marks that turn the reading direction, and code points that XML 1.0 excludes.
fn is_unsafe(c: char) -> bool {
    matches!(c,
        '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}'
        | '\u{fffe}' | '\u{ffff}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn foreign_text_becomes_inert() {
        let nasty = "</text><script>alert('x')</script>&\"\u{1b}[31m\0\u{202e}é";
        let safe = escape(nasty);
        assert!(!safe.contains(['<', '>', '"', '\'', '\u{1b}', '\0', '\u{202e}']));
        assert_eq!(
            safe,
            "&lt;/text&gt;&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;&amp;&quot;\
             \u{fffd}[31m\u{fffd}\u{fffd}é"
        );
    }
}
