//! How different two colours look, to the colour-blind too.

use crate::report::thread::Rgb;

/// Share of red in what protanopes and deuteranopes see as yellow (the rest is green), and how
/// much of the difference of red and green goes into their blue: "Digital video colourmaps for
/// checking the legibility of displays by dichromats" (Color Research & Application, 1999).
const DICHROMATS: [(f64, f64); 2] = [(0.11238, 0.00401), (0.29275, -0.02234)];

/// A colour as people with full colour vision, protanopes and deuteranopes see it.
#[derive(Clone, Copy, Debug)]
pub struct Seen([[f64; 3]; 3]);

impl Seen {
    pub fn of(colour: Rgb) -> Self {
        let [red, green, blue] = colour.map(linear);
        let [protan, deutan] = DICHROMATS.map(|(share, shift)| {
            let yellow = share * red + (1.0 - share) * green;
            [yellow, yellow, blue + shift * (red - green)].map(shown)
        });
        Self([colour.map(f64::from), protan, deutan])
    }

    /// Distance of two colours (0 to 442) for whoever sees least of it.
    pub fn apart(&self, other: &Self) -> f64 {
        let pairs = self.0.iter().zip(&other.0);
        pairs.map(|(a, b)| distance(*a, *b)).fold(f64::INFINITY, f64::min)
    }
}

fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    a.iter().zip(&b).map(|(a, b)| (a - b) * (a - b)).sum::<f64>().sqrt()
}

/// From a channel to light, 0 to 1, and back (IEC 61966-2-1).
fn linear(channel: u8) -> f64 {
    let value = f64::from(channel) / 255.0;
    if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
}

fn shown(light: f64) -> f64 {
    let light = light.clamp(0.0, 1.0);
    let value =
        if light <= 0.003_130_8 { light * 12.92 } else { 1.055 * light.powf(1.0 / 2.4) - 0.055 };
    255.0 * value
}

#[cfg(test)]
mod tests {
    use super::*;

    fn apart(a: Rgb, b: Rgb) -> f64 {
        Seen::of(a).apart(&Seen::of(b))
    }

    #[test]
    fn greys_look_the_same_to_all() {
        for grey in [0, 7, 128, 255] {
            for colour in Seen::of([grey; 3]).0 {
                assert!(distance(colour, [f64::from(grey); 3]) < 0.1, "{grey} {colour:?}");
            }
        }
        // Of three equal channels each differs by 100.
        assert!((apart([100; 3], [200; 3]) - 100.0 * 3f64.sqrt()).abs() < 0.2);
    }

    /// Red and green of one lightness are the textbook pair that the red-green blind confuse;
    /// yellow and blue the one that they do not.
    #[test]
    fn red_and_green_look_alike_to_some_and_yellow_and_blue_to_none() {
        let (red, green) = ([200, 80, 60], [120, 120, 60]);
        assert!(distance(red.map(f64::from), green.map(f64::from)) > 80.0);
        assert!(apart(red, green) < 30.0, "{}", apart(red, green));
        assert!(apart([240, 228, 66], [0, 114, 178]) > 150.0);
    }
}
