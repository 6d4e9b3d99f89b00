//! `survey --json` and `survey --pictures`: the schema, the corpus truth, and what may be replaced.

mod cli_support;
mod support;

use std::fs;
use std::path::{Path, PathBuf};

use cli_support::{call, code, crownmend, names, put, stderr, stdout, tape, zigzag};
use crownmend::objects::Label;
use crownmend::report::survey::{Survey, SurveyReport, SurveyedObject};
use geo::Area;
use support::outline::{area, overlap};
use support::{Case, TruthObject};

fn survey(path: &Path, more: &[&str]) -> String {
    let mut command = crownmend();
    command.args(["survey", "--json"]).args(more).arg(path);
    let output = command.output().unwrap();
    assert_eq!(code(&output), 0, "{}: {}", path.display(), stderr(&output));
    stdout(&output)
}

fn surveyed(case: &Case) -> Survey {
    let line = survey(&case.path, &["--garment", &case.truth.garment]);
    serde_json::from_str(&line).unwrap()
}

fn case(name: &str) -> Case {
    support::case(name)
}

/// The object whose visible stitching holds the middle of the true one.
fn found<'a>(survey: &'a Survey, truth: &TruthObject) -> &'a SurveyedObject {
    let middle = ((truth.first + truth.last) / 2) as u32;
    let holds = |object: &&SurveyedObject| {
        object.top.is_some_and(|[first, last]| (first..=last).contains(&middle))
    };
    survey.objects.iter().find(holds).unwrap_or_else(|| panic!("nothing is {}", truth.id))
}

#[test]
fn every_line_follows_the_published_schema() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/report/survey.schema.json");
    let schema: serde_json::Value = serde_json::from_slice(&fs::read(path).unwrap()).unwrap();
    let schema = jsonschema::validator_for(&schema).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let bad = PathBuf::from(put(folder.path(), "bad.dst", b""));
    let small = PathBuf::from(put(folder.path(), "small.dst", &tape(&zigzag())));
    let family = support::corpus_root().join("family/0019.dst");
    let tapes = ["crest", "outline", "scribble", "sound", "applique"].map(|name| case(name).path);
    let files = [vec![bad, small, family], tapes.to_vec()].concat();
    let mut command = crownmend();
    let output = command.args(["survey", "--json"]).args(&files).output().unwrap();
    assert_eq!((code(&output), stdout(&output).lines().count()), (4, files.len()));
    for line in stdout(&output).lines() {
        let value: serde_json::Value = serde_json::from_str(line).unwrap();
        let faults: Vec<String> = schema.iter_errors(&value).map(|e| e.to_string()).collect();
        assert!(faults.is_empty(), "{faults:?}");
        assert_eq!(value["schema_version"], 1);
    }
    let first = stdout(&output).lines().next().unwrap().to_owned();
    let report: SurveyReport = serde_json::from_str(&first).unwrap();
    let SurveyReport::Refusal(refusal) = report else { panic!("{first}") };
    assert!(refusal.reason.starts_with("byte 0: the file is empty"), "{}", refusal.reason);
    // What a reader counts on must be there.
    let mut value: serde_json::Value = serde_json::from_str(&survey(&files[1], &[])).unwrap();
    assert!(schema.is_valid(&value));
    for key in ["outline", "parameters", "underlay", "parent", "element", "class", "stop"] {
        let object = value["objects"][0].as_object_mut().unwrap();
        let kept = object.remove(key).unwrap();
        assert!(!schema.is_valid(&value), "{key}");
        value["objects"][0][key] = kept;
    }
    assert!(!schema.is_valid(&serde_json::json!({"schema_version": 1})));
}

/// Class, stop, span and outline of every satin and fill whose truth the generator wrote down.
#[test]
fn objects_are_those_of_the_truth() {
    for name in ["crest", "ring", "lantern", "pennants", "sound", "tagline"] {
        let case = case(name);
        let survey = surveyed(&case);
        for truth in &case.truth.objects {
            let object = found(&survey, truth);
            let class = serde_json::to_value(object.line.class).unwrap();
            assert_eq!((class, object.line.stop), (truth.class.clone().into(), truth.stop));
            // Parts share needle points where they join, and a tip may be told from its tie by few.
            let [first, last] = object.top.unwrap();
            let slack = first.abs_diff(truth.first as u32).max(last.abs_diff(truth.last as u32));
            assert!(slack <= 4, "{name} {}: {first}..={last}", truth.id);
            let (wanted, got) = (area(&truth.outline), area(&object.outline));
            let shared = overlap(&wanted, &got);
            assert!(shared >= 0.95, "{name} {}: {shared}", truth.id);
            assert!((got.unsigned_area() / wanted.unsigned_area() - 1.0).abs() < 0.05);
        }
    }
}

#[test]
fn parameters_are_those_of_the_truth() {
    for name in ["crest", "ring", "lantern", "pennants", "sound"] {
        let case = case(name);
        let survey = surveyed(&case);
        for truth in &case.truth.objects {
            let parameters = found(&survey, truth).parameters;
            if let Some(angle) = truth.angle_deg {
                let off = (parameters.angle_deg.unwrap() - angle).rem_euclid(180.0);
                assert!(off.min(180.0 - off) < 1.0, "{name} {}", truth.id);
                let pitch = parameters.row_pitch_mm.unwrap();
                assert!((pitch - truth.row_pitch_mm.unwrap()).abs() < 0.02, "{name} {}", truth.id);
            }
            if let Some([least, most]) = truth.width_mm {
                // Both rails are rounded to 0.1 mm.
                let [low, middle, high] = parameters.width_mm.unwrap();
                assert!(low <= middle && middle <= high, "{name} {} {parameters:?}", truth.id);
                let fits = (least - 0.11..=most + 0.11).contains(&middle);
                assert!(fits, "{name} {} {parameters:?}", truth.id);
            }
            let closed = parameters.width_mm.map(|_| truth.closed);
            assert_eq!(parameters.closed, closed, "{name} {}", truth.id);
        }
    }
}

#[test]
fn spans_follow_each_other_through_the_whole_tape() {
    for name in ["crest", "outline", "scribble", "sound", "applique", "openborder"] {
        let case = case(name);
        let mut next = 0;
        for object in surveyed(&case).objects {
            assert_eq!(object.line.first, Some(next), "{name} o{}", object.line.id);
            next = object.line.last.unwrap() + 1;
            for part in object.underlay {
                assert!(object.line.first <= Some(part.first) && part.first <= part.last);
                assert!(Some(part.last) <= object.line.last);
            }
        }
        assert_eq!(next as usize, case.truth.stitch_count, "{name}");
    }
}

/// Under the disc of `sound` its own underlay and a guard, which holds it to its border.
#[test]
fn underlay_and_guards_know_whose_they_are() {
    let case = case("sound");
    let survey = surveyed(&case);
    let id = |wanted: &str| {
        let truth = case.truth.objects.iter().find(|object| object.id == wanted).unwrap();
        found(&survey, truth).line.id
    };
    let guards: Vec<&SurveyedObject> =
        survey.objects.iter().filter(|object| !object.parent.is_empty()).collect();
    let [guard] = guards.as_slice() else { panic!("{guards:?}") };
    // 767..=934 by the truth, and the tie before it.
    let (first, last) = (guard.line.first.unwrap(), guard.line.last.unwrap());
    assert!((760..=767).contains(&first) && (934..=936).contains(&last), "{first}..={last}");
    assert!(guard.parent.contains(&id("disc")) && guard.parent.contains(&id("border")));
    let disc = survey.objects.iter().find(|object| object.line.id == id("disc")).unwrap();
    for (label, first, last) in [(Label::EdgeRun, 936, 987), (Label::FillUnderlay, 995, 1194)] {
        let mut parts = disc.underlay.iter().filter(|part| part.label == label);
        // By the truth; a short way on to the next one may belong to either.
        let fits = parts.any(|part| part.first.abs_diff(first) <= 1 && last <= part.last + 1);
        assert!(fits, "{label:?} {:?}", disc.underlay);
    }
    // Disc, border and waves hang together, the letters do not.
    let element = |id: u32| survey.objects.iter().find(|o| o.line.id == id).unwrap().element;
    assert_eq!(element(id("disc")), element(id("border")));
    assert_eq!(element(id("disc")), element(id("wave-2")));
    assert_ne!(element(id("disc")), element(id("letter-1o-1")));
}

/// Overlaps as drawn, and the length of the visible curve.
#[test]
fn junctions_are_those_of_the_truth() {
    for name in ["ring", "lantern", "crest", "sound"] {
        let case = case(name);
        let survey = surveyed(&case);
        for truth in &case.truth.junctions {
            let id = |wanted: &String| {
                let object = case.truth.objects.iter().find(|object| object.id == *wanted);
                found(&survey, object.unwrap()).line.id
            };
            let (under, over) = (id(&truth.under), id(&truth.over));
            let of_pair = survey.junctions.iter().filter(|j| (j.under, j.over) == (under, over));
            let [least, most] = truth.overlap_mm;
            // Both edges are rounded to 0.1 mm. Where one lies deep under the other the truth lists
            // nothing.
            let fits = |overlap: &f64| (least - 0.15..=most + 0.15).contains(overlap);
            let length: f64 = of_pair
                .map(|junction| {
                    let count = junction.overlaps_mm.iter().filter(|mm| fits(mm)).count();
                    junction.length_mm * count as f64 / junction.overlaps_mm.len() as f64
                })
                .sum();
            let what = format!("{name}: {} under {}", truth.under, truth.over);
            assert!(length >= 0.8 * truth.length_mm, "{what}: {length} of {}", truth.length_mm);
        }
    }
}

#[test]
fn a_survey_is_the_same_every_time_and_finds_what_a_repair_finds() {
    let path = case("crest").path;
    let line = survey(&path, &[]);
    assert_eq!(line, survey(&path, &[]));
    let report: Survey = serde_json::from_str(&line).unwrap();
    let dry = call(["mend", "--dry-run", "--json", path.to_str().unwrap()]);
    let log: crownmend::report::Log = serde_json::from_str(&stdout(&dry)).unwrap();
    assert_eq!(report.findings, log.findings.before);
    assert_eq!(report.input, log.input);
    let lines: Vec<_> = report.objects.into_iter().map(|object| object.line).collect();
    assert_eq!(lines, log.objects);
}

/// A folder with one tape, and a folder for pictures that is not there yet.
fn place(name: &str) -> (tempfile::TempDir, String, String) {
    let folder = tempfile::tempdir().unwrap();
    let input = put(folder.path(), name, &tape(&zigzag()));
    let out = folder.path().join("out").to_str().unwrap().to_owned();
    (folder, input, out)
}

fn draw(input: &str, out: &str, more: &[&str]) -> std::process::Output {
    call(["survey", input, "--pictures", "--out", out].iter().chain(more))
}

#[test]
fn a_picture_shows_every_object_and_is_the_same_every_time() {
    let folder = tempfile::tempdir().unwrap();
    let case = case("crest");
    let path = case.path.to_str().unwrap();
    let drawn: Vec<String> = ["a", "b"]
        .iter()
        .map(|name| {
            let out = folder.path().join(name);
            let output = draw(path, out.to_str().unwrap(), &[]);
            assert_eq!(code(&output), 0, "{}", stderr(&output));
            assert!(stdout(&output).contains("crest.survey.svg"), "{}", stdout(&output));
            assert_eq!(names(&out), ["crest.survey.svg"]);
            fs::read_to_string(out.join("crest.survey.svg")).unwrap()
        })
        .collect();
    assert_eq!(drawn[0], drawn[1]);
    let survey = surveyed(&case);
    for object in &survey.objects {
        let group = format!("<g id=\"o{}\" class=\"object\"", object.line.id);
        assert_eq!(drawn[0].matches(&group).count(), 1, "{group}");
    }
    assert_eq!(drawn[0].matches("class=\"object\"").count(), survey.objects.len());
    assert_eq!(drawn[0].matches("class=\"curve\"").count(), survey.junctions.len());
    assert!(drawn[0].contains("<title>crest.dst survey</title>"));
}

#[test]
fn with_json_the_account_gives_way_and_the_picture_is_drawn() {
    let (_folder, input, out) = place("boat.dst");
    let output = draw(&input, &out, &["--json"]);
    assert_eq!(stdout(&output).lines().count(), 1);
    serde_json::from_str::<Survey>(&stdout(&output)).unwrap();
    assert_eq!(names(Path::new(&out)), ["boat.survey.svg"]);
}

#[test]
fn names_of_files_are_escaped() {
    let (_folder, input, out) = place("a&b<script>\"'\u{1b}[31m.dst");
    let output = draw(&input, &out, &[]);
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    assert!(!stdout(&output).contains('\x1b'));
    let [name] = names(Path::new(&out)).try_into().unwrap();
    let svg = fs::read_to_string(Path::new(&out).join(name)).unwrap();
    assert!(!svg.contains("<script") && !svg.contains('\x1b'), "{svg}");
    assert!(svg.contains("a&amp;b&lt;script&gt;"), "{svg}");
}

#[test]
fn our_own_pictures_are_replaced_and_no_others() {
    let (_folder, input, out) = place("boat.dst");
    for _ in 0..2 {
        assert_eq!(code(&draw(&input, &out, &[])), 0);
    }
    let picture = Path::new(&out).join("boat.survey.svg");
    let ours = fs::read(&picture).unwrap();
    // Another tape of that name, another picture: still ours.
    let flat: Vec<[u8; 3]> = zigzag().into_iter().rev().skip(1).take(30).collect();
    fs::write(&input, tape(&[flat, vec![cli_support::END]].concat())).unwrap();
    assert_eq!(code(&draw(&input, &out, &[])), 0);
    let newer = fs::read(&picture).unwrap();
    assert_ne!(newer, ours);
    let edited = String::from_utf8(newer).unwrap().replace("o0", "mine");
    for foreign in [edited.as_bytes(), b"<svg/>", b""] {
        fs::write(&picture, foreign).unwrap();
        let output = draw(&input, &out, &["--json"]);
        let said = stderr(&output);
        assert_eq!((code(&output), said.lines().count()), (4, 1), "{said}");
        assert!(said.contains("boat.survey.svg") && said.contains("--force"), "{said}");
        assert!(stdout(&output).contains("\"refused\""), "{}", stdout(&output));
        assert_eq!(fs::read(&picture).unwrap(), foreign);
    }
    assert_eq!(code(&draw(&input, &out, &["--force"])), 0);
    assert_ne!(fs::read(&picture).unwrap(), b"");
    assert_eq!(names(Path::new(&out)), ["boat.survey.svg"]);
}

#[test]
fn a_folder_in_the_way_stays_even_with_force() {
    let (_folder, input, out) = place("boat.dst");
    fs::create_dir_all(Path::new(&out).join("boat.survey.svg")).unwrap();
    assert_eq!(code(&draw(&input, &out, &["--force"])), 4);
    assert_eq!(names(Path::new(&out)), ["boat.survey.svg"]);
}

#[test]
fn inputs_and_other_results_are_never_written_over() {
    let (folder, input, out) = place("boat.dst");
    let other = folder.path().join("other");
    fs::create_dir(&other).unwrap();
    let twin = put(&other, "boat.DST", &tape(&zigzag()));
    let output = call(["survey", &input, &twin, "--pictures", "--out", &out]);
    assert_eq!(code(&output), 64);
    assert!(stderr(&output).contains("different folders"), "{}", stderr(&output));
    assert!(!Path::new(&out).exists());
    let drawn = put(folder.path(), "boat.survey.svg", &tape(&zigzag()));
    let here = folder.path().to_str().unwrap();
    let output = call(["survey", &input, &drawn, "--pictures", "--out", here, "--force"]);
    assert_eq!(code(&output), 64);
    assert!(stderr(&output).contains("over the input"), "{}", stderr(&output));
    assert_eq!(fs::read(&drawn).unwrap(), tape(&zigzag()));
}

#[test]
fn pictures_need_a_folder_and_a_folder_pictures() {
    let (_folder, input, out) = place("boat.dst");
    for more in [&["--pictures"][..], &["--out", &out], &["--force"]] {
        let output = call(["survey", &input].iter().copied().chain(more.iter().copied()));
        assert_eq!(code(&output), 64, "{more:?}");
        assert!(!Path::new(&out).exists());
    }
}

#[test]
fn a_survey_without_pictures_writes_nothing() {
    let (folder, input, _) = place("boat.dst");
    assert_eq!(code(&call(["survey", &input, "--json"])), 0);
    assert_eq!(names(folder.path()), ["boat.dst"]);
}
