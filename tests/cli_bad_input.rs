//! What the command line says about files that are no tapes, and about odd ones that are.

mod cli_support;

use std::fs;
use std::path::Path;

use cli_support::*;

/// Bytes of a file, or what else stands in its place.
enum Bad {
    Bytes(Vec<u8>),
    Folder,
    Missing,
    /// A link that leads to itself: nobody can read it, whatever their rights.
    Unreadable,
}

/// Every kind of bad input, with the byte offset that the message must name.
fn table() -> Vec<(&'static str, Bad, usize)> {
    let sound = zigzag();
    let bytes = |records: &[[u8; 3]]| Bad::Bytes(tape(records));
    let cut = |drop: usize| {
        let mut bytes = tape(&sound);
        bytes.truncate(bytes.len() - drop);
        Bad::Bytes(bytes)
    };
    // xorshift: any fixed sequence will do, as long as it is no tape.
    let mut state = 0x2545_f491u32;
    let noise = std::iter::repeat_with(|| {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        state as u8
    });
    let mut unset = sound.clone();
    unset[20][2] &= !0x01;
    // +121 points in x: 05 05 07, a published vector. 248 of them are 3.0008 m.
    let mut far = vec![[0x05, 0x05, 0x07]; 248];
    far.push(END);
    let noise: Vec<u8> = noise.take(4000).collect();
    let odd = (512..noise.len() - 2).step_by(3).find(|i| noise[i + 2] & 3 != 3).unwrap();
    vec![
        ("empty", Bad::Bytes(vec![]), 0),
        ("short header", Bad::Bytes(tape(&[])[..200].to_vec()), 200),
        ("header only", bytes(&[]), 512),
        ("partial last record", cut(4), 512 + 177),
        ("no end record", cut(3), 512 + 180),
        ("random bytes", Bad::Bytes(noise), odd),
        ("impossible low bits", bytes(&unset), 512 + 60),
        ("beyond 3 m", bytes(&far), 512 + 3 * 247),
        ("no needle point", bytes(&[step(4, 0, 0x80), END]), 515),
        ("early end", bytes(&[&sound[..30], &[END], &sound[30..]].concat()), 512 + 90),
        ("a folder", Bad::Folder, 0),
        ("unreadable", Bad::Unreadable, 0),
        ("missing", Bad::Missing, 0),
    ]
}

fn make(folder: &Path, bad: &Bad) -> String {
    let path = folder.join("bad.dst");
    match bad {
        Bad::Bytes(bytes) => fs::write(&path, bytes).unwrap(),
        Bad::Folder => fs::create_dir(&path).unwrap(),
        Bad::Missing => {}
        Bad::Unreadable => {
            #[cfg(unix)]
            std::os::unix::fs::symlink("bad.dst", &path).unwrap();
        }
    }
    path.to_str().unwrap().to_owned()
}

#[test]
fn bad_files_are_refused_in_one_line_and_the_others_are_done() {
    for (what, bad, offset) in table() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        let bad = make(folder.path(), &bad);
        let good = put(folder.path(), "good.dst", &tape(&zigzag()));
        let output = call(["mend", &bad, &good, "--out", out.to_str().unwrap()]);
        let said = stderr(&output);
        assert_eq!(code(&output), 4, "{what}: {said}");
        assert_eq!(said.lines().count(), 1, "{what}: {said}");
        assert!(said.starts_with(&format!("crownmend: {bad}: byte {offset}: ")), "{what}: {said}");
        let remedy = said.split("; ").last().unwrap();
        let verbs = ["copy", "export", "check", "name", "ask", "let"];
        assert!(verbs.iter().any(|verb| remedy.starts_with(verb)), "{what}: {said}");
        assert_eq!(names(&out), ["good.changes.json", "good.dst"], "{what}");
        assert!(stdout(&output).contains("good.dst"), "{what}");
    }
}

#[test]
fn surveys_refuse_the_same_files() {
    for (what, bad, offset) in table() {
        let folder = tempfile::tempdir().unwrap();
        let bad = make(folder.path(), &bad);
        let output = call(["survey", &bad]);
        assert_eq!(code(&output), 4, "{what}");
        assert!(stderr(&output).contains(&format!("byte {offset}: ")), "{what}");
        assert!(stdout(&output).is_empty(), "{what}");
    }
}

#[cfg(unix)]
#[test]
fn a_file_without_the_right_to_read_it_is_refused() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let path = put(folder.path(), "locked.dst", &tape(&zigzag()));
    fs::set_permissions(&path, fs::Permissions::from_mode(0o000)).unwrap();
    if fs::read(&path).is_ok() {
        println!("skipped: this user may read everything");
        return;
    }
    let output = call(["survey", &path]);
    assert_eq!(code(&output), 4);
    assert!(stderr(&output).contains("ask for the right to read it"));
}

#[test]
fn a_folder_that_cannot_be_made_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let good = put(folder.path(), "good.dst", &tape(&zigzag()));
    let file = put(folder.path(), "file", b"");
    for out in [file.clone(), format!("{file}/deeper")] {
        let output = call(["mend", &good, "--out", &out]);
        let said = stderr(&output);
        assert_eq!((code(&output), said.lines().count()), (4, 1), "{said}");
        assert!(said.contains(&out) && said.contains("choose another --out"), "{said}");
    }
    assert_eq!(names(folder.path()), ["file", "good.dst"]);
}

#[test]
fn salvage_takes_what_is_there_and_says_what_it_dropped() {
    let folder = tempfile::tempdir().unwrap();
    let mut bytes = tape(&zigzag());
    bytes.truncate(bytes.len() - 4);
    let cut = put(folder.path(), "cut.dst", &bytes);
    let out = folder.path().join("out");
    let output = call(["mend", &cut, "--salvage", "--out", out.to_str().unwrap()]);
    assert_eq!(code(&output), 2, "a part is gone, someone should look: {}", stderr(&output));
    assert!(stdout(&output).contains("dropped"), "{}", stdout(&output));
    assert!(stdout(&output).contains("DO NOT SEW AS IT IS"), "{}", stdout(&output));
    let again = call(["survey", out.join("cut.dst").to_str().unwrap()]);
    assert_eq!(code(&again), 0, "{}", stderr(&again));
}

/// Odd, but sound as far as the needle is concerned.
fn inert() -> Vec<(&'static str, Vec<u8>)> {
    let sound = zigzag();
    let records = sound.concat();
    let with_header = |header: Vec<u8>| [header, records.clone()].concat();
    let dangling = [&sound[..60], &[STOP, END]].concat();
    let doubled: Vec<[u8; 3]> =
        sound.iter().flat_map(|record| [*record, step(0, 0, 0)]).take(120).chain([END]).collect();
    let jumps = [&sound[..60], &vec![step(0, 0, 0x80); 1_000_000], &[END]].concat();
    let label = b"\x1b[2J</svg>&\xff\xc3";
    vec![
        ("absurd counts", with_header(header(b"x", 9_999_999, 999))),
        ("no header text", with_header(vec![0; 512])),
        ("label with codes", with_header(header(label, 61, 0))),
        ("bytes after the end", [tape(&sound), b"trailing".to_vec()].concat()),
        ("dangling stop", tape(&dangling)),
        ("zero-length stitches", tape(&doubled)),
        ("a million jumps", tape(&jumps)),
    ]
}

#[test]
fn odd_files_are_done_and_their_text_stays_inert() {
    for (what, bytes) in inert() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        let odd = put(folder.path(), "odd.dst", &bytes);
        let args = ["mend", &odd, "--pictures", "--out", out.to_str().unwrap()];
        let output = call(args);
        assert!([0, 2].contains(&code(&output)), "{what}: {}", stderr(&output));
        assert!(stderr(&output).is_empty(), "{what}: {}", stderr(&output));
        let log = fs::read_to_string(out.join("odd.changes.json")).unwrap();
        let svg = fs::read_to_string(out.join("odd.before.svg")).unwrap();
        for text in [stdout(&output), log, svg] {
            let unsafe_text = |c: char| c.is_control() && c != '\n';
            assert!(!text.contains(unsafe_text), "{what}: {text}");
        }
        assert!(out.join("odd.dst").exists(), "{what}");
    }
}

#[cfg(unix)]
#[test]
fn file_names_are_shown_inert_and_escaped_in_pictures() {
    use std::os::unix::ffi::OsStrExt;
    let folder = tempfile::tempdir().unwrap();
    let name = std::ffi::OsStr::from_bytes(b"a<b>&\"\x1b[31m\xff.dst");
    let path = folder.path().join(name);
    fs::write(&path, tape(&zigzag())).unwrap();
    let out = folder.path().join("out");
    let output =
        crownmend().args(["mend", "--pictures", "--out"]).arg(&out).arg(&path).output().unwrap();
    assert!([0, 2].contains(&code(&output)), "{}", stderr(&output));
    assert!(!stdout(&output).contains('\x1b'));
    assert!(stdout(&output).contains("\\x1B[31m\\xFF.dst"));
    let mut files = fs::read_dir(&out).unwrap().map(|entry| entry.unwrap().path());
    let svg = files.find(|path| path.extension().is_some_and(|e| e == "svg")).unwrap();
    let svg = fs::read_to_string(svg).unwrap();
    assert!(svg.contains("a&lt;b&gt;&amp;&quot;\\x1B[31m\\xFF.dst"), "{svg}");
}
