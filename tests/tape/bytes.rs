//! Tapes written by hand for tests, with a second, independent encoder: it looks for the only sum
//! of signed weights that makes a move ("DST", achatina.de: bit table).

pub const STOP: [u8; 3] = [0x00, 0x00, 0xC3];
pub const END: [u8; 3] = [0x00, 0x00, 0xF3];

/// Bits of +1, -1, +3, -3, +9, -9, +27, -27, +81, -81 in the record read as one 24-bit number.
const X_BITS: [u32; 10] = [16, 17, 8, 9, 18, 19, 10, 11, 2, 3];
const Y_BITS: [u32; 10] = [23, 22, 15, 14, 21, 20, 13, 12, 5, 4];

/// Balanced ternary digits of a number, lowest first, by adding 121 = 11111 in base 3.
fn digits(value: i32) -> [i32; 5] {
    let mut rest = value + 121;
    std::array::from_fn(|_| {
        let digit = rest % 3 - 1;
        rest /= 3;
        digit
    })
}

fn record(dx: i32, dy: i32, flags: u32) -> [u8; 3] {
    assert!(dx.abs() <= 121 && dy.abs() <= 121);
    let mut word = flags;
    for (value, bits) in [(dx, X_BITS), (dy, Y_BITS)] {
        for (place, digit) in digits(value).into_iter().enumerate() {
            match digit {
                1 => word |= 1 << bits[2 * place],
                -1 => word |= 1 << bits[2 * place + 1],
                _ => {}
            }
        }
    }
    let [_, a, b, c] = word.to_be_bytes();
    [a, b, c]
}

pub fn stitch(dx: i32, dy: i32) -> [u8; 3] {
    record(dx, dy, 0x03)
}

pub fn jump(dx: i32, dy: i32) -> [u8; 3] {
    record(dx, dy, 0x83)
}

/// 512 header bytes with these fields, padded with spaces.
pub fn header(fields: &str) -> Vec<u8> {
    let mut bytes = fields.replace('\n', "\r").into_bytes();
    bytes.push(0x1A);
    bytes.resize(512, b' ');
    bytes
}

/// Header fields of a sound file in the published widths ("Tajima Ternary").
pub fn fields(records: usize, changes: usize, reach: [i32; 4]) -> String {
    let [right, left, up, down] = reach;
    format!(
        "LA:{:<16}\nST:{records:7}\nCO:{changes:3}\n+X:{right:5}\n-X:{left:5}\n+Y:{up:5}\n\
         -Y:{down:5}\nAX:+{:5}\nAY:+{:5}\nMX:+{:5}\nMY:+{:5}\nPD:******\n",
        "OSSEL QUAY", 0, 0, 0, 0
    )
}

/// A file of these records, as they are: a header that says nothing, and no end record of its own.
pub fn file(records: &[[u8; 3]]) -> Vec<u8> {
    let mut bytes = header("LA:OSSEL QUAY      \n");
    bytes.extend(records.iter().flatten());
    bytes
}

/// A small sound tape: two stitches, a trim of three jumps, a stop, the way home.
pub fn small() -> Vec<[u8; 3]> {
    vec![
        stitch(0, 0),
        stitch(30, 0),
        jump(10, 10),
        jump(10, 10),
        jump(10, 10),
        stitch(0, 0),
        stitch(0, 25),
        STOP,
        stitch(20, 0),
        jump(-80, -55),
        END,
    ]
}

/// Every stitch file of the corpus: its name and bytes, in the order of names.
pub fn corpus() -> Vec<(String, Vec<u8>)> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("corpus");
    let mut files = Vec::new();
    let folders = std::fs::read_dir(&root).unwrap().map(|folder| folder.unwrap().path());
    // The family of random designs has its truth in another form.
    for folder in folders.filter(|folder| folder.join("truth.json").exists()) {
        for file in std::fs::read_dir(folder).into_iter().flatten() {
            let path = file.unwrap().path();
            if path.extension().is_some_and(|extension| extension == "dst") {
                files.push((path.display().to_string(), std::fs::read(&path).unwrap()));
            }
        }
    }
    files.sort();
    assert!(!files.is_empty(), "no stitch files under {}", root.display());
    files
}
