use crate::design::Pt;

/// What a record tells the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    Stitch,
    Jump,
    /// Colour change.
    Stop,
    /// Colour bit without the jump bit: sequin mode on or off.
    SequinToggle,
}

/// One three-byte record, kept as it stood so that any encoding survives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Record {
    pub bytes: [u8; 3],
}

/// Weight, byte, bit that adds it, bit that takes it away ("DST", achatina.de: bit table).
type Weight = (i32, usize, u8, u8);

const X: [Weight; 5] = [(81, 2, 2, 3), (27, 1, 2, 3), (9, 0, 2, 3), (3, 1, 0, 1), (1, 0, 0, 1)];
const Y: [Weight; 5] = [(81, 2, 5, 4), (27, 1, 5, 4), (9, 0, 5, 4), (3, 1, 7, 6), (1, 0, 7, 6)];

const SYNC: u8 = 0b0000_0011;
const JUMP: u8 = 0b1000_0000;
const COLOUR: u8 = 0b0100_0000;

/// What each value of each byte adds to a movement; big tapes are walked through many times.
static MOVES: [[Pt; 256]; 3] = moves();

const fn moves() -> [[Pt; 256]; 3] {
    let mut moves = [[Pt::new(0, 0); 256]; 3];
    let mut place = 0;
    while place < X.len() {
        let mut value = 0;
        while value < 256 {
            let (weight, byte, plus, minus) = X[place];
            moves[byte][value].x +=
                weight * ((value >> plus & 1) as i32 - (value >> minus & 1) as i32);
            let (weight, byte, plus, minus) = Y[place];
            moves[byte][value].y +=
                weight * ((value >> plus & 1) as i32 - (value >> minus & 1) as i32);
            value += 1;
        }
        place += 1;
    }
    moves
}

impl Record {
    /// Longest move per axis in points: 1 + 3 + 9 + 27 + 81.
    pub const REACH: i32 = 121;

    /// Bytes of the end record: both flags, and y+81 and y-81, which cancel ("Tajima Ternary").
    pub const END: [u8; 3] = [0x00, 0x00, 0xF3];

    /// Colour change without movement, as every real one is.
    pub const STOP: Self = Self { bytes: [0x00, 0x00, SYNC | JUMP | COLOUR] };

    /// A stitch that moves by `by` points; `None` if an axis exceeds [`Self::REACH`].
    pub fn stitch(by: Pt) -> Option<Self> {
        Self::encode(by, SYNC)
    }

    /// A jump that moves by `by` points; `None` if an axis exceeds [`Self::REACH`].
    pub fn jump(by: Pt) -> Option<Self> {
        Self::encode(by, SYNC | JUMP)
    }

    fn encode(by: Pt, flags: u8) -> Option<Self> {
        if by.x.unsigned_abs().max(by.y.unsigned_abs()) > Self::REACH.unsigned_abs() {
            return None;
        }
        let mut bytes = [0, 0, flags];
        for (value, weights) in [(by.x, X), (by.y, Y)] {
            let mut rest = value;
            for (weight, byte, plus, minus) in weights {
                // All smaller weights together reach half of (weight - 1).
                if 2 * rest.abs() < weight {
                    continue;
                }
                bytes[byte] |= 1 << if rest > 0 { plus } else { minus };
                rest -= weight * rest.signum();
            }
        }
        Some(Self { bytes })
    }

    pub fn kind(self) -> Kind {
        match (self.bytes[2] & JUMP != 0, self.bytes[2] & COLOUR != 0) {
            (false, false) => Kind::Stitch,
            (true, false) => Kind::Jump,
            (true, true) => Kind::Stop,
            (false, true) => Kind::SequinToggle,
        }
    }

    /// Movement in points, -121 to 121 per axis.
    pub fn delta(self) -> Pt {
        let [a, b, c] = self.bytes.map(usize::from);
        MOVES[0][a] + MOVES[1][b] + MOVES[2][c]
    }

    /// Do the two low bits of byte 3, which every record sets, say that this is a record?
    pub fn in_sync(self) -> bool {
        self.bytes[2] & SYNC == SYNC
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moves_beyond_the_reach_are_refused() {
        for by in [Pt::new(122, 0), Pt::new(0, -122), Pt::new(i32::MIN, i32::MAX)] {
            assert_eq!(Record::stitch(by), None);
            assert_eq!(Record::jump(by), None);
        }
    }

    #[test]
    fn the_stop_is_told_from_other_kinds_by_both_flags() {
        // "DST", achatina.de: 00 00 C3 is a colour change.
        assert_eq!(Record::STOP.bytes, [0x00, 0x00, 0xC3]);
        assert_eq!(Record::STOP.kind(), Kind::Stop);
        assert_eq!(Record { bytes: [0, 0, 0x43] }.kind(), Kind::SequinToggle);
    }
}
