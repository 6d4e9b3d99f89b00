use std::path::Path;

use serde::Serialize;

use super::args::Mend;
use super::exit::Exit;
use super::input::{self, Failure};
use super::printer::{Printer, message};
use super::targets::{Targets, check_apart, check_ours, make_folder, write_all};
use super::{options, pictures, show};
use crate::mend::Outcome;
use crate::report::account::account;
use crate::report::{Log, Refusal, Refused, Report, SCHEMA_VERSION, State, Tool};
use crate::settings::Settings;

/// `crownmend mend`.
pub fn run(args: &Mend) -> Exit {
    let settings = match options::mending(args) {
        Ok(settings) => settings,
        Err(words) => {
            message(&words);
            return Exit::Usage;
        }
    };
    let targets = |file: &Path| Targets::of(file, args.out.as_deref()?, args.pictures);
    let jobs: Vec<(&Path, Option<Targets>)> =
        args.files.iter().map(|file| (file.as_path(), targets(file))).collect();
    let results = jobs.iter().filter_map(|(_, targets)| targets.as_ref()).flat_map(Targets::all);
    if let Err(words) = check_apart(&args.files, results) {
        message(&words);
        return Exit::Usage;
    }
    if let Some(out) = args.out.as_deref().filter(|_| !args.dry_run)
        && let Err(words) = make_folder(out)
    {
        message(&words);
        return Exit::Failed;
    }
    let mut printer = Printer::new(args.reading.verbose > 0);
    let mut worst = Exit::Done;
    for (file, targets) in &jobs {
        let done = one(file, targets.as_ref(), args, &settings);
        worst = worst.max(print(&mut printer, file, args.json, done));
    }
    worst
}

/// What is said about a file that worked: its log, and a last line for people.
struct Done {
    log: Log,
    written: String,
}

/// Works on one file.
fn one(
    file: &Path,
    targets: Option<&Targets>,
    args: &Mend,
    settings: &Settings,
) -> Result<Done, Failure> {
    let bytes = input::read(file)?;
    let mut outcome = input::work(&bytes, settings)?;
    let name = file.file_name().map(|name| show(Path::new(name)));
    outcome.log.input.name.clone_from(&name);
    outcome.log.output.name = name;
    if args.out.is_some() && targets.is_none() {
        return Err(Failure::refused("byte 0: has no file name of its own; name the file itself"));
    }
    if let Some(targets) = targets {
        check_ours(targets, &outcome.bytes, args.force).map_err(Failure::refused)?;
    }
    let written = match targets.filter(|_| !args.dry_run) {
        Some(targets) => write(targets, &bytes, &outcome)?,
        None => "nothing (dry run)".to_owned(),
    };
    Ok(Done { log: outcome.log, written })
}

/// Writes the results of one file; the tape first, so that a log never speaks of a tape that is
/// not there.
fn write(targets: &Targets, before: &[u8], outcome: &Outcome) -> Result<String, Failure> {
    let bug = |error: serde_json::Error| Failure {
        exit: Exit::Bug,
        words: format!("internal error: the log cannot be written as JSON ({error})"),
    };
    let json = outcome.log.to_json().map_err(bug)?;
    let mut files = vec![
        (targets.tape.as_path(), outcome.bytes.as_slice()),
        (targets.log.as_path(), json.as_bytes()),
    ];
    let drawn;
    if let Some(paths) = &targets.pictures {
        drawn = pictures::draw(before, outcome)?;
        files.extend(paths.iter().zip(&drawn).map(|(path, svg)| (path.as_path(), svg.as_bytes())));
    }
    write_all(&files).map_err(Failure::refused)?;
    Ok(targets.all().map(show).collect::<Vec<_>>().join(", "))
}

/// Prints what became of one file, and says how it ends the call.
fn print(printer: &mut Printer, file: &Path, json: bool, done: Result<Done, Failure>) -> Exit {
    let name = show(file);
    match done {
        Ok(Done { log, written }) => {
            let exit = if log.result == State::NeedsEyes { Exit::Eyes } else { Exit::Done };
            let text = if json {
                json_line(&Report::Log(Box::new(log)))
            } else {
                format!("{}\n  written: {written}\n\n", account(&name, &log, printer.style))
            };
            exit.max(printer.result(&text))
        }
        Err(failure) => {
            message(&format!("{name}: {}", failure.words));
            let exit = failure.exit;
            if json {
                let text = json_line(&Report::Refusal(refusal(name, failure)));
                return exit.max(printer.result(&text));
            }
            exit
        }
    }
}

pub fn refusal(name: String, failure: Failure) -> Refusal {
    Refusal {
        schema_version: SCHEMA_VERSION,
        tool: Tool::this(),
        name,
        result: Refused::Refused,
        reason: failure.words,
    }
}

/// One line of JSON for one file.
pub fn json_line(report: &impl Serialize) -> String {
    // The types of a report hold nothing that JSON cannot: string keys, numbers, text.
    serde_json::to_string(report).map(|line| line + "\n").unwrap_or_default()
}
