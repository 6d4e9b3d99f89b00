//! Threads as people write them, and colours for those who wrote none.

/// Red, green, blue.
pub type Rgb = [u8; 3];

/// A thread's name and colour, each where it is known.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Thread {
    pub name: Option<String>,
    pub colour: Option<Rgb>,
}

impl Thread {
    /// Reads `harbour navy`, `#1d3557`, `harbour navy #1d3557` or `harbour navy=#1d3557`.
    pub fn parse(text: &str) -> Self {
        let hex = text.match_indices('#').find_map(|(at, _)| {
            let digits = text.get(at + 1..at + 7)?;
            Some((at, rgb(digits)?))
        });
        let rest = match hex {
            Some((at, _)) => format!("{} {}", &text[..at], &text[at + 7..]),
            None => text.to_owned(),
        };
        let edge = |c: char| c.is_whitespace() || "=:;,".contains(c);
        let name = rest.trim_matches(edge).split_whitespace().collect::<Vec<_>>().join(" ");
        Self { name: (!name.is_empty()).then_some(name), colour: hex.map(|(_, colour)| colour) }
    }

    /// One spelling for all ways to write the same thread, so that equal ones compare equal.
    pub fn spelled(&self) -> String {
        let parts = [self.name.clone(), self.colour.map(hex)];
        parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
    }
}

/// A colour of six hexadecimal digits.
fn rgb(digits: &str) -> Option<Rgb> {
    if !digits.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return None;
    }
    let [_, r, g, b] = u32::from_str_radix(digits, 16).ok()?.to_be_bytes();
    Some([r, g, b])
}

/// `#rrggbb`.
pub fn hex([r, g, b]: Rgb) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Quiet colours that can be told apart, for stops whose thread is not known.
const PALETTE: [Rgb; 8] = [
    [0x2f, 0x48, 0x58],
    [0x3f, 0x7d, 0x78],
    [0xc7, 0x9a, 0x3b],
    [0xa4, 0x52, 0x3f],
    [0x6b, 0x4a, 0x6d],
    [0x6d, 0x7f, 0x45],
    [0x7b, 0x87, 0x94],
    [0xb9, 0x86, 0x6b],
];

/// The colour in which a stop is drawn.
pub fn drawn(stop: usize, known: Option<Rgb>) -> Rgb {
    known.unwrap_or(PALETTE[stop % PALETTE.len()])
}

/// Cap cloth: stone, or charcoal where the threads are too light for it.
const GROUNDS: [Rgb; 2] = [[0xd9, 0xd2, 0xc3], [0x33, 0x37, 0x3d]];

/// The ground on which the thread nearest to it stands out most.
pub fn ground(threads: &[Rgb]) -> Rgb {
    let nearest = |ground: &Rgb| threads.iter().map(|t| luma(*t).abs_diff(luma(*ground))).min();
    let [light, dark] = GROUNDS;
    if nearest(&dark) > nearest(&light) { dark } else { light }
}

/// Perceived lightness, 0 to 255 (weights of Rec. ITU-R BT.601).
pub fn luma([r, g, b]: Rgb) -> u32 {
    (299 * u32::from(r) + 587 * u32::from(g) + 114 * u32::from(b)) / 1000
}

/// Mixes `share` (0 to 1) of another colour in.
pub fn mix(colour: Rgb, other: Rgb, share: f64) -> Rgb {
    let blend = |a: u8, b: u8| (f64::from(a) + (f64::from(b) - f64::from(a)) * share).round() as u8;
    [blend(colour[0], other[0]), blend(colour[1], other[1]), blend(colour[2], other[2])]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn threads_are_read_as_people_write_them() {
        let navy = Some([0x1d, 0x35, 0x57]);
        let cases = [
            ("harbour navy", Some("harbour navy"), None),
            ("#1d3557", None, navy),
            ("harbour navy #1D3557", Some("harbour navy"), navy),
            ("harbour navy=#1d3557", Some("harbour navy"), navy),
            ("#1d3557,harbour  navy", Some("harbour navy"), navy),
            ("#1d35", Some("#1d35"), None),
            ("#+d3557", Some("#+d3557"), None),
            ("no. 5 #é", Some("no. 5 #é"), None),
            ("", None, None),
        ];
        for (text, name, colour) in cases {
            assert_eq!(Thread::parse(text), Thread { name: name.map(str::to_owned), colour });
        }
    }

    #[test]
    fn one_thread_has_one_spelling() {
        for text in ["navy #1D3557", "navy=#1d3557", " #1d3557  navy "] {
            assert_eq!(Thread::parse(text).spelled(), "navy #1d3557");
        }
        assert_eq!(Thread::parse("=").spelled(), "");
    }

    #[test]
    fn white_thread_gets_a_dark_cap_and_navy_a_light_one() {
        assert_eq!(ground(&[[0xff; 3]]), GROUNDS[1]);
        assert_eq!(ground(&[[0x1d, 0x35, 0x57]]), GROUNDS[0]);
        assert_eq!(ground(&[]), GROUNDS[0]);
    }
}
