//! A second reader and writer of the tape, sharing nothing with the program's own.
//!
//! Bit table and field widths: "Embroidery format DST", "Tajima Ternary", "DST". Units: points of
//! 0.1 mm, x right, y up.

/// Weight, byte, bit of +weight, bit of -weight.
type Bit = (i32, usize, u32, u32);
const X: [Bit; 5] = [(81, 2, 2, 3), (27, 1, 2, 3), (9, 0, 2, 3), (3, 1, 0, 1), (1, 0, 0, 1)];
const Y: [Bit; 5] = [(81, 2, 5, 4), (27, 1, 5, 4), (9, 0, 5, 4), (3, 1, 7, 6), (1, 0, 7, 6)];
const HEADER: usize = 512;
pub const MOVE_LIMIT: i32 = 121;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Stitch,
    Jump,
    Change,
    End,
}

/// One record: what it does and where the needle is afterwards.
#[derive(Clone, Copy, Debug)]
pub struct Record {
    pub kind: Kind,
    pub by: [i32; 2],
    pub at: [i32; 2],
}

/// One needle penetration.
#[derive(Clone, Copy, Debug)]
pub struct Needle {
    pub at: [i32; 2],
    pub stop: usize,
    /// Joined to the penetration before by a stitch (else it follows a jump or a change).
    pub sewn: bool,
    /// Jump records between the penetration before and this one.
    pub jumps: usize,
}

#[derive(Clone, Debug)]
pub struct Tape {
    pub header: Vec<u8>,
    pub records: Vec<Record>,
    pub needles: Vec<Needle>,
    /// Bytes after the end record.
    pub rest: Vec<u8>,
}

impl Tape {
    pub fn changes(&self) -> usize {
        self.records.iter().filter(|r| r.kind == Kind::Change).count()
    }

    pub fn final_place(&self) -> [i32; 2] {
        self.records.last().map_or([0, 0], |r| r.at)
    }
}

fn axis(record: &[u8], bits: &[Bit]) -> i32 {
    bits.iter()
        .map(|&(weight, byte, plus, minus)| {
            let bit = |n: u32| i32::from(record[byte] >> n & 1);
            weight * (bit(plus) - bit(minus))
        })
        .sum()
}

/// Reads a whole, undamaged tape.
pub fn decode(bytes: &[u8]) -> Tape {
    let (header, body) = bytes.split_at(HEADER);
    let mut tape = Tape {
        header: header.to_vec(),
        records: Vec::new(),
        needles: Vec::new(),
        rest: Vec::new(),
    };
    let (mut at, mut stop, mut jumps, mut joined) = ([0, 0], 0, 0, false);
    for (k, record) in body.chunks(3).enumerate() {
        assert_eq!(record.len(), 3, "record {k} is cut off");
        if record == [0x00, 0x00, 0xF3] {
            tape.records.push(Record { kind: Kind::End, by: [0, 0], at });
            tape.rest = body[3 * k + 3..].to_vec();
            return tape;
        }
        let by = [axis(record, &X), axis(record, &Y)];
        at = [at[0] + by[0], at[1] + by[1]];
        let kind = match record[2] & 0xC3 {
            0x03 => Kind::Stitch,
            0x83 => Kind::Jump,
            0xC3 => Kind::Change,
            flags => panic!("record {k} has flags {flags:02X}"),
        };
        tape.records.push(Record { kind, by, at });
        match kind {
            Kind::Stitch => {
                tape.needles.push(Needle { at, stop, sewn: joined, jumps });
                (joined, jumps) = (true, 0);
            }
            Kind::Jump => (joined, jumps) = (false, jumps + 1),
            Kind::Change => (joined, stop) = (false, stop + 1),
            Kind::End => {}
        }
    }
    panic!("no end record");
}

fn record(kind: Kind, by: [i32; 2]) -> [u8; 3] {
    let mut out = match kind {
        Kind::Stitch => [0, 0, 0x03],
        Kind::Jump => [0, 0, 0x83],
        Kind::Change => [0, 0, 0xC3],
        Kind::End => [0, 0, 0xF3],
    };
    for (value, bits) in by.into_iter().zip([X, Y]) {
        assert!(value.abs() <= MOVE_LIMIT, "{value} points do not fit a record");
        let mut left = value;
        for (weight, byte, plus, minus) in bits {
            // Balanced ternary: all smaller weights together reach half of this one.
            let reach = (weight - 1) / 2;
            if left.abs() > reach {
                out[byte] |= 1 << if left > 0 { plus } else { minus };
                left -= weight * left.signum();
            }
        }
    }
    out
}

/// Writes events (kind, place) as a tape; moves over the limit become several records.
pub fn encode(events: &[(Kind, [i32; 2])], rest: &[u8]) -> Vec<u8> {
    let (mut body, mut at) = (Vec::new(), [0, 0]);
    let (mut low, mut high, mut changes) = ([0, 0], [0, 0], 0);
    for &(kind, to) in events {
        let by = [to[0] - at[0], to[1] - at[1]];
        let parts = ((by[0].abs().max(by[1].abs()) + MOVE_LIMIT - 1) / MOVE_LIMIT).max(1);
        assert!(parts == 1 || kind == Kind::Jump, "only jumps may be divided");
        for k in 1..=parts {
            let step = |axis: usize| by[axis] * k / parts - by[axis] * (k - 1) / parts;
            body.push(record(kind, [step(0), step(1)]));
        }
        at = to;
        changes += usize::from(kind == Kind::Change);
        for axis in 0..2 {
            low[axis] = low[axis].min(at[axis]);
            high[axis] = high[axis].max(at[axis]);
        }
    }
    body.push(record(Kind::End, [0, 0]));
    let mut head = format!(
        "LA:{:<16}\rST:{:7}\rCO:{:3}\r+X:{:5}\r-X:{:5}\r+Y:{:5}\r-Y:{:5}\rAX:+    0\rAY:+    0\r\
         MX:+    0\rMY:+    0\rPD:******\r\x1a",
        "VARIANT",
        body.len(),
        changes,
        high[0],
        -low[0],
        high[1],
        -low[1]
    )
    .into_bytes();
    head.resize(HEADER, b' ');
    head.extend(body.concat());
    head.extend(rest);
    head
}

/// The same design mirrored, scaled and moved, as a tape of its own.
#[derive(Clone, Copy, Debug)]
pub struct Change {
    pub mirror: bool,
    pub scale: f64,
    /// Points.
    pub shift: [i32; 2],
}

impl Change {
    pub const NONE: Self = Self { mirror: false, scale: 1.0, shift: [0, 0] };

    /// A place in mm.
    pub fn place(&self, p: [f64; 2]) -> [f64; 2] {
        let x = if self.mirror { -p[0] } else { p[0] };
        [
            x * self.scale + f64::from(self.shift[0]) / 10.0,
            p[1] * self.scale + f64::from(self.shift[1]) / 10.0,
        ]
    }

    fn point(&self, p: [i32; 2]) -> [i32; 2] {
        let moved = self.place([f64::from(p[0]) / 10.0, f64::from(p[1]) / 10.0]);
        moved.map(|v| (v * 10.0).round() as i32)
    }

    /// A tape with every needle point moved; a last move home still ends at the start.
    pub fn tape(&self, bytes: &[u8]) -> Vec<u8> {
        let old = decode(bytes);
        let home = old.records.iter().rposition(|r| r.kind == Kind::Stitch).unwrap_or(0);
        let back = old.final_place() == [0, 0];
        let events: Vec<_> = old
            .records
            .iter()
            .enumerate()
            .filter(|(_, r)| r.kind != Kind::End)
            .map(|(k, r)| {
                let at_home = back && k > home && r.at == [0, 0];
                (r.kind, if at_home { [0, 0] } else { self.point(r.at) })
            })
            .collect();
        encode(&anchored(events), &old.rest)
    }
}

/// Changes do not move the needle: they take the place of the record before.
fn anchored(mut events: Vec<(Kind, [i32; 2])>) -> Vec<(Kind, [i32; 2])> {
    let mut at = [0, 0];
    for (kind, place) in &mut events {
        if *kind == Kind::Change {
            *place = at;
        }
        at = *place;
    }
    events
}
