//! Shared by the command-line tests: calls, hand-made tapes, folders.

// Each test file uses its own part of this.
#![allow(dead_code)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use assert_cmd::Command;

/// One call of the program, away from the terminal settings of whoever runs the tests.
pub fn crownmend() -> Command {
    let mut command = Command::cargo_bin("crownmend").unwrap();
    command.env_remove("NO_COLOR").env_remove("TERM");
    command
}

/// A call with some arguments.
pub fn call<A: AsRef<std::ffi::OsStr>>(args: impl IntoIterator<Item = A>) -> Output {
    crownmend().args(args).output().unwrap()
}

pub fn code(output: &Output) -> i32 {
    output.status.code().unwrap()
}

pub fn stdout(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

pub fn stderr(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// A file of the corpus.
pub fn corpus(name: &str) -> PathBuf {
    let file = format!("corpus/{name}/{name}.dst");
    Path::new(env!("CARGO_MANIFEST_DIR")).join(file)
}

/// Names of the files in a folder, sorted; none where there is no folder.
pub fn names(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// A file in a folder, with its path as text.
pub fn put(folder: &Path, name: &str, bytes: &[u8]) -> String {
    let path = folder.join(name);
    fs::write(&path, bytes).unwrap();
    path.to_str().unwrap().to_owned()
}

/// A record that moves by −4 to 4 points, by the bit table in "DST" (published whole; low bits of
/// the third byte always set). `flags`: 0 stitch, 0x80 jump.
pub fn step(dx: i32, dy: i32, flags: u8) -> [u8; 3] {
    // Balanced ternary of one digit each: ±1 in byte 1, ±3 in byte 2.
    let digits = |d: i32| match d {
        -4..=-2 => (d + 3, -1),
        -1..=1 => (d, 0),
        2..=4 => (d - 3, 1),
        _ => panic!("{d} points do not fit"),
    };
    let bit = |digit: i32, plus: u8, minus: u8| match digit {
        1 => plus,
        -1 => minus,
        _ => 0,
    };
    let ((x1, x3), (y1, y3)) = (digits(dx), digits(dy));
    [
        bit(x1, 0x01, 0x02) | bit(y1, 0x80, 0x40),
        bit(x3, 0x01, 0x02) | bit(y3, 0x80, 0x40),
        0x03 | flags,
    ]
}

pub const STOP: [u8; 3] = [0x00, 0x00, 0xC3];
pub const END: [u8; 3] = [0x00, 0x00, 0xF3];

/// A header of 512 bytes, laid out as in "Embroidery format DST" and "Tajima Ternary".
pub fn header(label: &[u8], records: i64, changes: i64) -> Vec<u8> {
    let mut header = b"LA:".to_vec();
    header.extend(label.iter().chain(&[b' '; 16]).take(16));
    header.extend(format!("\rST:{records:>7}\rCO:{changes:>3}\r").bytes());
    for field in ["+X", "-X", "+Y", "-Y"] {
        header.extend(format!("{field}:{:>5}\r", 0).bytes());
    }
    for field in ["AX", "AY", "MX", "MY"] {
        header.extend(format!("{field}:+{:>5}\r", 0).bytes());
    }
    header.extend(b"PD:******\r\x1a");
    header.resize(512, b' ');
    header
}

/// A tape of records, with a header that counts them.
pub fn tape(records: &[[u8; 3]]) -> Vec<u8> {
    let changes = records.iter().filter(|record| **record == STOP).count();
    let mut bytes = header(b"ossel quay", records.len() as i64, changes as i64);
    bytes.extend(records.concat());
    bytes
}

/// A short zigzag, ended properly: a sound tape as far as reading goes.
pub fn zigzag() -> Vec<[u8; 3]> {
    let mut records: Vec<[u8; 3]> =
        (0..60).map(|i| step(2, if i % 2 == 0 { 4 } else { -4 }, 0)).collect();
    records.push(END);
    records
}
