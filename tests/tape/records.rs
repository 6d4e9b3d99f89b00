//! Moves and kinds of single records.

use crownmend::design::Pt;
use crownmend::tape::{Kind, Record};
use pretty_assertions::assert_eq;

use crate::bytes::{jump, stitch};

/// Bytes of a move as published or derived from the published bit table: "DST", achatina.de.
const VECTORS: [(i32, i32, [u8; 3], [u8; 3]); 16] = [
    (-12, 64, [0xA8, 0x12, 0x23], [0xA8, 0x12, 0xA3]),
    (0, 0, [0x00, 0x00, 0x03], [0x00, 0x00, 0x83]),
    (1, 0, [0x01, 0x00, 0x03], [0x01, 0x00, 0x83]),
    (-1, 0, [0x02, 0x00, 0x03], [0x02, 0x00, 0x83]),
    (0, 1, [0x80, 0x00, 0x03], [0x80, 0x00, 0x83]),
    (0, -1, [0x40, 0x00, 0x03], [0x40, 0x00, 0x83]),
    (2, 0, [0x02, 0x01, 0x03], [0x02, 0x01, 0x83]),
    (5, 0, [0x06, 0x02, 0x03], [0x06, 0x02, 0x83]),
    (13, -5, [0x95, 0x81, 0x03], [0x95, 0x81, 0x83]),
    (40, -40, [0x55, 0x55, 0x03], [0x55, 0x55, 0x83]),
    (121, 0, [0x05, 0x05, 0x07], [0x05, 0x05, 0x87]),
    (-121, 0, [0x0A, 0x0A, 0x0B], [0x0A, 0x0A, 0x8B]),
    (0, 121, [0xA0, 0xA0, 0x23], [0xA0, 0xA0, 0xA3]),
    (0, -121, [0x50, 0x50, 0x13], [0x50, 0x50, 0x93]),
    (121, 121, [0xA5, 0xA5, 0x27], [0xA5, 0xA5, 0xA7]),
    (-121, -121, [0x5A, 0x5A, 0x1B], [0x5A, 0x5A, 0x9B]),
];

#[test]
fn published_moves_are_read_and_written() {
    for (dx, dy, as_stitch, as_jump) in VECTORS {
        let by = Pt::new(dx, dy);
        assert_eq!(Record::stitch(by).unwrap().bytes, as_stitch, "stitch {by:?}");
        assert_eq!(Record::jump(by).unwrap().bytes, as_jump, "jump {by:?}");
        assert_eq!(Record { bytes: as_stitch }.delta(), by);
        assert_eq!(Record { bytes: as_jump }.kind(), Kind::Jump);
    }
}

#[test]
fn every_move_within_the_reach_round_trips() {
    for x in -121..=121 {
        for y in -121..=121 {
            let record = Record::stitch(Pt::new(x, y)).unwrap();
            assert_eq!(record.bytes, stitch(x, y), "{x}, {y}");
            assert_eq!((record.delta(), record.kind()), (Pt::new(x, y), Kind::Stitch));
            let record = Record::jump(Pt::new(x, y)).unwrap();
            assert_eq!(record.bytes, jump(x, y), "{x}, {y}");
            assert_eq!((record.delta(), record.kind()), (Pt::new(x, y), Kind::Jump));
        }
    }
}
