//! What may be written, and what may be replaced.

mod cli_support;

use std::fs;
use std::path::Path;

use cli_support::*;
use tempfile::TempDir;

/// A folder with one tape, and a folder for results that is not there yet.
fn place() -> (TempDir, String, String) {
    let folder = tempfile::tempdir().unwrap();
    let input = put(folder.path(), "boat.dst", &tape(&zigzag()));
    let out = folder.path().join("out").to_str().unwrap().to_owned();
    (folder, input, out)
}

fn fine(output: &std::process::Output) {
    assert!([0, 2].contains(&code(output)), "{}", stderr(output));
}

#[test]
fn the_output_folder_is_made_and_nothing_else_is_left_in_it() {
    let (_folder, input, out) = place();
    let deep = format!("{out}/spring/caps");
    fine(&call(["mend", &input, "--out", &deep]));
    assert_eq!(names(Path::new(&deep)), ["boat.changes.json", "boat.dst"]);
}

#[test]
fn our_own_results_are_replaced() {
    let (_folder, input, out) = place();
    for _ in 0..2 {
        fine(&call(["mend", &input, "--out", &out]));
        fine(&call(["mend", &input, "--out", &out, "--pictures"]));
    }
}

#[test]
fn a_tape_that_is_not_ours_stays() {
    let (_folder, input, out) = place();
    fs::create_dir(&out).unwrap();
    let foreign = put(Path::new(&out), "boat.dst", b"not ours");
    let output = call(["mend", &input, "--out", &out]);
    let said = stderr(&output);
    assert_eq!((code(&output), said.lines().count()), (4, 1), "{said}");
    assert!(said.contains(&foreign) && said.contains("--force"), "{said}");
    assert_eq!(fs::read(&foreign).unwrap(), b"not ours");
    assert_eq!(names(Path::new(&out)), ["boat.dst"]);
    fine(&call(["mend", &input, "--out", &out, "--force"]));
    assert_ne!(fs::read(&foreign).unwrap(), b"not ours");
}

#[test]
fn a_result_that_was_edited_since_is_no_longer_ours() {
    let (_folder, input, out) = place();
    fine(&call(["mend", &input, "--out", &out]));
    let result = Path::new(&out).join("boat.dst");
    let mut edited = fs::read(&result).unwrap();
    edited.push(0);
    fs::write(&result, &edited).unwrap();
    assert_eq!(code(&call(["mend", &input, "--out", &out])), 4);
    assert_eq!(fs::read(&result).unwrap(), edited);
}

#[test]
fn a_log_or_picture_that_is_not_ours_stays() {
    for name in ["boat.changes.json", "boat.before.svg", "boat.after.svg"] {
        let (_folder, input, out) = place();
        fs::create_dir(&out).unwrap();
        put(Path::new(&out), name, b"{}");
        let output = call(["mend", &input, "--out", &out, "--pictures"]);
        assert_eq!(code(&output), 4, "{name}");
        assert!(stderr(&output).contains(name), "{}", stderr(&output));
        assert_eq!(names(Path::new(&out)), [name]);
    }
}

#[test]
fn a_folder_in_the_way_stays_even_with_force() {
    for name in ["boat.dst", "boat.changes.json"] {
        let (_folder, input, out) = place();
        fs::create_dir_all(Path::new(&out).join(name)).unwrap();
        let output = call(["mend", &input, "--out", &out, "--force"]);
        assert_eq!(code(&output), 4, "{name}");
        assert_eq!(names(Path::new(&out)), [name]);
    }
}

#[test]
fn equal_targets_are_a_usage_error_before_any_work() {
    let (folder, input, out) = place();
    fs::create_dir(folder.path().join("other")).unwrap();
    let twin = put(&folder.path().join("other"), "boat.dst", &tape(&zigzag()));
    let same_log = put(&folder.path().join("other"), "boat.DST", &tape(&zigzag()));
    for other in [&twin, &same_log, &input] {
        let output = call(["mend", &input, other, "--out", &out]);
        let said = stderr(&output);
        assert_eq!((code(&output), said.lines().count()), (64, 1), "{said}");
        assert!(said.contains("different folders"), "{said}");
        assert!(!Path::new(&out).exists());
    }
}

#[test]
fn a_target_that_is_an_input_is_a_usage_error_before_any_work() {
    let (folder, input, _) = place();
    let before = fs::read(&input).unwrap();
    let here = folder.path().to_str().unwrap();
    for force in [&[][..], &["--force"]] {
        let output = call(["mend", &input, "--out", here].iter().chain(force));
        assert_eq!(code(&output), 64);
        assert!(stderr(&output).contains("over the input"), "{}", stderr(&output));
    }
    assert_eq!(fs::read(&input).unwrap(), before);
    assert_eq!(names(folder.path()), ["boat.dst"]);
}

#[cfg(unix)]
#[test]
fn links_to_inputs_are_seen_through() {
    use std::os::unix::fs::symlink;
    let (folder, input, out) = place();
    // The folder for results is a link to the inputs' folder.
    symlink(folder.path(), &out).unwrap();
    assert_eq!(code(&call(["mend", &input, "--out", &out])), 64);
    // The result's name is a link to the input.
    fs::remove_file(&out).unwrap();
    fs::create_dir(&out).unwrap();
    symlink(&input, Path::new(&out).join("boat.dst")).unwrap();
    assert_eq!(code(&call(["mend", &input, "--out", &out])), 64);
    // A log that is a link to another input of the call.
    fs::remove_file(Path::new(&out).join("boat.dst")).unwrap();
    let other = put(folder.path(), "other.dst", &tape(&zigzag()));
    symlink(&other, Path::new(&out).join("boat.changes.json")).unwrap();
    assert_eq!(code(&call(["mend", &input, &other, "--out", &out, "--force"])), 64);
    assert_eq!(fs::read(&other).unwrap(), tape(&zigzag()));
}

#[cfg(unix)]
#[test]
fn results_get_the_rights_that_any_new_file_gets() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, input, out) = place();
    fine(&call(["mend", &input, "--out", &out]));
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode();
    fs::write(folder.path().join("any"), b"").unwrap();
    assert_eq!(mode(&Path::new(&out).join("boat.dst")), mode(&folder.path().join("any")));
}

#[test]
fn a_file_without_an_ending_works_too() {
    let (folder, _, out) = place();
    let plain = put(folder.path(), "plain", &tape(&zigzag()));
    fine(&call(["mend", &plain, "--out", &out]));
    assert_eq!(names(Path::new(&out)), ["plain", "plain.changes.json"]);
}
