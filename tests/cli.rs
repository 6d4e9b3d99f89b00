//! The command line as a whole: exit codes, dry runs, passes, logs.

mod cli_support;

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use cli_support::*;
use crownmend::report::survey::Survey;
use crownmend::report::{Log, Report, State};
use crownmend::settings::PassName;
use pretty_assertions::assert_eq;

/// Exit codes as the corpus states them beside each file.
fn truth(name: &str) -> (i32, String) {
    let path = corpus(name).with_file_name("truth.json");
    let truth: serde_json::Value = serde_json::from_slice(&fs::read(path).unwrap()).unwrap();
    let code = i32::try_from(truth["exit_code"].as_i64().unwrap()).unwrap();
    (code, truth["outcome"].as_str().unwrap().to_owned())
}

fn mend(name: &str, out: &Path, more: &[&str]) -> std::process::Output {
    let mut command = crownmend();
    command.arg("mend").arg(corpus(name)).arg("--out").arg(out).args(more);
    command.output().unwrap()
}

fn log(out: &Path, name: &str) -> Log {
    serde_json::from_slice(&fs::read(out.join(format!("{name}.changes.json"))).unwrap()).unwrap()
}

/// Exit code, outcome and log of every file of the corpus, on the garment of its order.
#[test]
fn every_file_of_the_corpus_ends_as_it_should() {
    for name in corpus_names() {
        let out = tempfile::tempdir().unwrap();
        let order = fs::read_to_string(corpus(&name).with_file_name("order.toml")).unwrap();
        let order: toml::Table = order.parse().unwrap();
        let garment = order["garment"].as_str().unwrap();
        let output = mend(&name, out.path(), &["--garment", garment]);
        let (wanted, outcome) = truth(&name);
        assert_eq!(code(&output), wanted, "{name}: {}\n{}", stderr(&output), stdout(&output));
        let same = fs::read(corpus(&name)).unwrap()
            == fs::read(out.path().join(format!("{name}.dst"))).unwrap();
        assert_eq!(same, outcome == "unchanged", "{name}");
        assert_eq!(log(out.path(), &name).unchanged(), same, "{name}");
    }
}

fn corpus_names() -> Vec<String> {
    let folder = corpus("crest").ancestors().nth(2).unwrap().to_owned();
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.path().join("order.toml").exists())
        .map(|entry| entry.file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert!(names.len() >= 13, "{names:?}");
    names
}

#[test]
fn a_dry_run_writes_nothing_and_says_the_same() {
    let out = tempfile::tempdir().unwrap();
    let dry_out = out.path().join("dry");
    let wet = mend("crest", &out.path().join("wet"), &[]);
    let dry = mend("crest", &dry_out, &["--dry-run"]);
    assert_eq!(names(&dry_out), [""; 0]);
    assert_eq!(code(&dry), code(&wet));
    let said = |output| -> Vec<String> {
        let text = stdout(output);
        text.lines().filter(|line| !line.starts_with("  written:")).map(str::to_owned).collect()
    };
    assert_eq!(said(&dry), said(&wet));
    assert!(stdout(&dry).contains("written: nothing (dry run)"));
}

#[test]
fn a_dry_run_gives_the_same_log() {
    let out = tempfile::tempdir().unwrap();
    mend("crest", out.path(), &[]);
    let file = corpus("crest");
    let dry = call(["mend", "--dry-run", "--json", file.to_str().unwrap()]);
    let lines = stdout(&dry);
    assert_eq!(lines.lines().count(), 1);
    assert_eq!(serde_json::from_str::<Log>(&lines).unwrap(), log(out.path(), "crest"));
}

#[test]
fn the_same_call_gives_the_same_bytes() {
    let out = tempfile::tempdir().unwrap();
    let (a, b) = (out.path().join("a"), out.path().join("b"));
    mend("crest", &a, &["--pictures"]);
    mend("crest", &b, &["--pictures"]);
    for name in ["crest.dst", "crest.changes.json", "crest.before.svg", "crest.after.svg"] {
        assert!(fs::read(a.join(name)).unwrap() == fs::read(b.join(name)).unwrap(), "{name}");
    }
}

#[test]
fn logs_and_refusals_follow_the_published_schema() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/report/changes.schema.json");
    let schema: serde_json::Value = serde_json::from_slice(&fs::read(path).unwrap()).unwrap();
    let schema = jsonschema::validator_for(&schema).unwrap();
    let valid = |json: &str| {
        let value: serde_json::Value = serde_json::from_str(json).unwrap();
        let faults: Vec<String> = schema.iter_errors(&value).map(|e| e.to_string()).collect();
        assert!(faults.is_empty(), "{faults:?}");
        value
    };
    let out = tempfile::tempdir().unwrap();
    let bad = put(out.path(), "bad.dst", b"");
    let mut command = crownmend();
    command.args(["mend", "--json", &bad, "--out"]).arg(out.path().join("out"));
    command.args(["crest", "mast", "outline", "scribble"].map(corpus));
    let output = command.output().unwrap();
    assert_eq!((code(&output), stdout(&output).lines().count()), (4, 5));
    for line in stdout(&output).lines() {
        valid(line);
    }
    for name in ["crest", "mast", "outline", "scribble"] {
        let file = out.path().join(format!("out/{name}.changes.json"));
        let value = valid(&fs::read_to_string(file).unwrap());
        assert_eq!(value["schema_version"], 1);
    }
    let first = stdout(&output).lines().next().unwrap().to_owned();
    let Report::Refusal(refusal) = serde_json::from_str(&first).unwrap() else { panic!("{first}") };
    assert!(refusal.reason.starts_with("byte 0: the file is empty"), "{}", refusal.reason);
    assert!(!schema.is_valid(&serde_json::json!({"schema_version": 1})));
}

#[test]
fn the_log_names_both_tapes_by_their_hash() {
    let out = tempfile::tempdir().unwrap();
    mend("tagline", out.path(), &[]);
    let log = log(out.path(), "tagline");
    for (facts, path) in
        [(log.input, corpus("tagline")), (log.output, out.path().join("tagline.dst"))]
    {
        let sum = Command::new("sha256sum").arg(&path).output().unwrap();
        assert!(stdout(&sum).starts_with(&facts.sha256), "{}", path.display());
        assert_eq!(facts.bytes, fs::metadata(&path).unwrap().len());
    }
}

#[test]
fn any_subset_of_the_passes_runs_and_no_other() {
    for bits in 0u32..32 {
        let chosen = |index: usize| bits & (1 << index) != 0;
        let picked = |wanted: bool| -> Vec<PassName> {
            let all = PassName::ALL.into_iter().enumerate();
            all.filter(|(index, _)| chosen(*index) == wanted).map(|(_, pass)| pass).collect()
        };
        let list =
            |passes: &[PassName]| passes.iter().map(|p| p.name()).collect::<Vec<_>>().join(",");
        let (with, without) = (picked(true), picked(false));
        let file = corpus("tagline");
        let mut log = None;
        for (option, passes) in [("--only", &with), ("--without", &without)] {
            if passes.is_empty() {
                continue;
            }
            let args = ["mend", "--dry-run", "--json", option, &list(passes)];
            let output = call(args.iter().copied().chain([file.to_str().unwrap()]));
            assert!([0, 2].contains(&code(&output)), "{bits}: {}", stderr(&output));
            let new: Log = serde_json::from_str(&stdout(&output)).unwrap();
            assert_eq!(new.settings.passes, with);
            assert!(new.changes.iter().all(|change| with.contains(&change.pass)), "{bits}");
            assert_eq!(*log.get_or_insert_with(|| new.clone()), new);
        }
    }
}

#[test]
fn wrong_usage_is_64_and_does_nothing() {
    let out = tempfile::tempdir().unwrap();
    let file = corpus("sound");
    let file = file.to_str().unwrap();
    let target = out.path().join("out");
    let calls: [&[&str]; 17] = [
        &[],
        &["stitch"],
        &["mend"],
        &["mend", file],
        &["mend", "--out"],
        &["mend", file, "--only", "pressing"],
        &["mend", file, "--only", "overlap", "--with", "guard"],
        &["mend", file, "--only", "overlap", "--without", "overlap"],
        &["mend", file, "--garment", "beret"],
        &["mend", file, "--garment", "no/such.toml"],
        &["mend", file, "--allowance", "0.1"],
        &["mend", file, "--allowance", "wide"],
        &["mend", file, "--seam-x", "left"],
        &["mend", file, "--colours", "navy,,brass"],
        &["survey", file, "--brim", "side"],
        &["garments", "beret"],
        &["garments", "--explain"],
    ];
    for args in calls {
        let mut command = crownmend();
        command.args(args);
        if args.first() == Some(&"mend") && args.len() > 2 && args[1] == file {
            command.arg("--out").arg(&target);
        }
        let output = command.output().unwrap();
        assert_eq!(code(&output), 64, "{args:?}: {}", stderr(&output));
        assert!(!stderr(&output).is_empty(), "{args:?}");
        assert!(!target.exists(), "{args:?}");
    }
}

#[test]
fn help_and_version_are_results() {
    for args in [&["--help"][..], &["--version"], &["help", "mend"], &["mend", "--help"]] {
        let output = call(args);
        assert_eq!(code(&output), 0);
        assert!(!output.stdout.is_empty() && output.stderr.is_empty());
    }
}

#[test]
fn a_survey_changes_nothing_and_only_judges_when_asked() {
    let file = corpus("crest");
    let before = fs::read(&file).unwrap();
    let plain = call(["survey", file.to_str().unwrap()]);
    assert_eq!(code(&plain), 0, "{}", stderr(&plain));
    assert!(stdout(&plain).contains("thin overlap"), "{}", stdout(&plain));
    assert_eq!(code(&call(["survey", "--check", file.to_str().unwrap()])), 2);
    assert_eq!(code(&call(["survey", "--check", corpus("sound").to_str().unwrap()])), 0);
    // Nothing is found where nothing is understood.
    let unread = call(["survey", "--check", corpus("scribble").to_str().unwrap()]);
    assert_eq!(code(&unread), 2);
    assert!(stdout(&unread).contains("0 faults, 0 for advice, needs eyes"), "{}", stdout(&unread));
    assert_eq!(fs::read(&file).unwrap(), before);
}

#[test]
fn reading_options_reach_the_log() {
    let file = corpus("tagline");
    let log = |more: &[&str]| -> Survey {
        let args = ["survey", "--json", file.to_str().unwrap()];
        serde_json::from_str(&stdout(&call(args.iter().chain(more)))).unwrap()
    };
    assert_eq!(log(&[]).settings.seam_x_mm, Some(0.0));
    assert_eq!(log(&["--seam-x", "-2.5"]).settings.seam_x_mm, Some(-2.5));
    assert_eq!(log(&["--seam-x", "none"]).settings.seam_x_mm, None);
    assert_eq!(log(&["--garment", "flat-woven"]).settings.garment, "flat-woven");
    assert_eq!(log(&["--allowance", "1.3"]).settings.numbers["overlap_aim_mm"], 1.4);
    let folder = tempfile::tempdir().unwrap();
    let toml = "name = \"ours\"\nabout = \"x\"\nbase = \"pique-knit\"\n";
    let own = put(folder.path(), "ours.toml", toml.as_bytes());
    assert_eq!(log(&["--garment", &own]).settings.garment, "ours");
}

#[test]
fn one_colour_for_each_stop_or_none_at_all() {
    let file = corpus("crest");
    let args = ["mend", "--dry-run", file.to_str().unwrap(), "--colours"];
    let output = call(args.iter().chain(&["navy,teal"]));
    assert_eq!(code(&output), 4, "{}", stderr(&output));
    assert_eq!(stderr(&output).lines().count(), 1);
    assert!(stderr(&output).contains('2') && stderr(&output).contains('4'), "{}", stderr(&output));
    let output = call(args.iter().chain(&["navy,teal #3b8686,brass,navy"]));
    assert!(code(&output) != 4, "{}", stderr(&output));
    assert!(stdout(&output).contains("teal"), "{}", stdout(&output));
    let spellings = "navy #1D3557, teal,brass,#1d3557 navy";
    let args = ["survey", "--json", file.to_str().unwrap(), "--colours", spellings];
    let survey: Survey = serde_json::from_str(&stdout(&call(args))).unwrap();
    let colours = survey.settings.colours.unwrap();
    assert_eq!(colours, ["navy #1d3557", "teal", "brass", "navy #1d3557"]);
}

#[test]
fn nothing_is_coloured_away_from_a_terminal() {
    let out = tempfile::tempdir().unwrap();
    let output = mend("crest", out.path(), &["-v"]);
    assert!(!stdout(&output).contains('\x1b') && !stderr(&output).contains('\x1b'));
}

#[test]
fn detail_lists_every_change() {
    let out = tempfile::tempdir().unwrap();
    let output = mend("crest", out.path(), &["-v"]);
    for change in log(out.path(), "crest").changes {
        assert!(stdout(&output).contains(&format!("- {} at ", change.id)), "{}", change.id);
    }
}

#[test]
fn a_reader_that_goes_away_is_no_error_and_the_work_is_done() {
    let out = tempfile::tempdir().unwrap();
    let mut child = Command::new(assert_cmd::cargo::cargo_bin("crownmend"))
        .arg("mend")
        .args(["outline", "sound"].map(corpus))
        .arg("--out")
        .arg(out.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!((code(&output), stderr(&output)), (0, String::new()));
    assert_eq!(names(out.path()).len(), 4);
}

#[test]
fn mended_and_sound_tapes_say_so() {
    let out = tempfile::tempdir().unwrap();
    for (name, state) in
        [("tagline", State::Mended), ("sound", State::Sound), ("mast", State::NeedsEyes)]
    {
        mend(name, out.path(), &[]);
        assert_eq!(log(out.path(), name).result, state, "{name}");
    }
}

#[test]
fn garments_are_explained_number_by_number() {
    let list = stdout(&call(["garments"]));
    for name in crownmend::garment::names() {
        assert!(list.contains(name), "{list}");
        let output = call(["garments", name, "--explain"]);
        assert_eq!(code(&output), 0);
        let profile = crownmend::garment::built_in(name).unwrap();
        for (number, unit, meaning) in crownmend::garment::UNITS_AND_MEANINGS {
            let entry = &profile.entries[*number];
            let text = stdout(&output);
            let at = text.find(&format!("  {number} ")).unwrap_or_else(|| panic!("{number}"));
            let lines: Vec<&str> = text[at..].lines().take(3).collect();
            let words: Vec<&str> = lines[0].split_whitespace().collect();
            let mark = format!("{:?}", entry.mark);
            assert_eq!(words, [*number, &entry.value.to_string(), *unit, &mark]);
            assert_eq!(lines[1].trim(), *meaning);
            assert_eq!(lines[2].trim(), format!("{mark}: {}", entry.source));
        }
    }
}
