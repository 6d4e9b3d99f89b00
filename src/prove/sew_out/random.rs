//! Random numbers that depend on what they are for and on nothing else: the same draw of the same
//! object of the original gets the same number whichever tape is judged.
//!
//! Written from G. L. Steele, D. Lea and C. H. Flood, "Fast splittable pseudorandom number
//! generators" (OOPSLA 2014), for the mixing of the bits, and G. E. P. Box and M. E. Muller, "A
//! note on the generation of random normal deviates" (1958).

/// Fixed, so that equal tapes get equal figures.
const SEED: u64 = 0x0c0f_fee5_ca75_5eed;
/// The odd number nearest to 2^64 divided by the golden ratio.
const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;

/// What a number is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    Stop,
    Walk,
    Seam,
}

/// Two independent standard normal numbers for a draw, a purpose and the number of a stop or
/// object. Every odd draw mirrors the one before it, so that the mean of all is exactly 0: with
/// independent draws it would take many more for as steady a figure.
pub fn normals(draw: u32, purpose: Purpose, of: u32) -> [f64; 2] {
    let key = (u64::from(draw / 2) << 34) ^ (u64::from(of) << 2) ^ purpose as u64;
    let state = mix(SEED ^ mix(key.wrapping_add(GOLDEN)));
    // From (0, 1], so that the logarithm is finite.
    let radius = (-2.0 * (1.0 - unit(mix(state.wrapping_add(GOLDEN)))).ln()).sqrt();
    let angle = std::f64::consts::TAU * unit(mix(state.wrapping_add(GOLDEN.wrapping_mul(2))));
    let (sin, cos) = angle.sin_cos();
    let side = if draw.is_multiple_of(2) { radius } else { -radius };
    [side * cos, side * sin]
}

fn mix(value: u64) -> u64 {
    let value = (value ^ (value >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let value = (value ^ (value >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    value ^ (value >> 31)
}

/// A number in [0, 1) from the upper 53 bits.
fn unit(bits: u64) -> f64 {
    (bits >> 11) as f64 / (1_u64 << 53) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// First outputs of the published generator for the state 1234567 (the paper's algorithm; the
    /// values are those that its reference implementations print).
    #[test]
    fn mixing_is_the_published_one() {
        let mut state = 1_234_567_u64;
        let mut next = || {
            state = state.wrapping_add(GOLDEN);
            mix(state)
        };
        assert_eq!(next(), 6_457_827_717_110_365_317);
        assert_eq!(next(), 3_203_168_211_198_807_973);
    }

    /// Mean 0, variance 1, and 4.55 % beyond two standard deviations: the normal distribution.
    /// Bounds are about four standard errors of 10,000 pairs.
    #[test]
    fn numbers_are_standard_normal() {
        let all: Vec<f64> =
            (0..20_000).flat_map(|draw| normals(draw, Purpose::Walk, draw / 2 % 7)).collect();
        let n = all.len() as f64;
        let mean = all.iter().sum::<f64>() / n;
        let variance = all.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n;
        let far = all.iter().filter(|v| v.abs() > 2.0).count() as f64 / n;
        assert!(mean.abs() < 1e-9, "{mean}");
        assert!((variance - 1.0).abs() < 0.04, "{variance}");
        assert!((far - 0.0455).abs() < 0.006, "{far}");
    }

    #[test]
    fn each_purpose_object_and_draw_has_its_own_numbers() {
        let one = normals(3, Purpose::Stop, 5);
        assert_eq!(one, normals(3, Purpose::Stop, 5));
        assert_eq!(one, normals(2, Purpose::Stop, 5).map(|v| -v));
        for other in [
            normals(4, Purpose::Stop, 5),
            normals(3, Purpose::Walk, 5),
            normals(3, Purpose::Stop, 6),
        ] {
            assert_ne!(one, other);
        }
    }
}
