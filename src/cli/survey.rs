use std::path::Path;

use super::args::Survey;
use super::exit::Exit;
use super::input::{self, Failure};
use super::mend::{json_line, refusal};
use super::printer::{Printer, message};
use super::{options, show};
use crate::report::account::survey_account;
use crate::report::{Log, Report};
use crate::settings::Settings;

/// `crownmend survey`: a repair in which no pass runs, so that both always find the same.
pub fn run(args: &Survey) -> Exit {
    let mut settings = match options::reading(&args.reading) {
        Ok(settings) => settings,
        Err(words) => {
            message(&words);
            return Exit::Usage;
        }
    };
    settings.passes.clear();
    let mut printer = Printer::new(args.reading.verbose > 0);
    let one_file = |file: &Path| one(file, &settings);
    let mut worst = Exit::Done;
    for file in &args.files {
        let exit = match one_file(file) {
            Ok(log) => {
                let exit =
                    if args.check && log.faults_before() > 0 { Exit::Eyes } else { Exit::Done };
                exit.max(printer.result(&text(file, log, args.json, &printer)))
            }
            Err(failure) => {
                message(&format!("{}: {}", show(file), failure.words));
                let exit = failure.exit;
                let line = if args.json {
                    json_line(&refusal(show(file), failure))
                } else {
                    String::new()
                };
                exit.max(printer.result(&line))
            }
        };
        worst = worst.max(exit);
    }
    worst
}

fn one(file: &Path, settings: &Settings) -> Result<Log, Failure> {
    let bytes = input::read(file)?;
    let mut log = input::work(&bytes, settings)?.log;
    let name = file.file_name().map(|name| show(Path::new(name)));
    log.input.name.clone_from(&name);
    log.output.name = name;
    Ok(log)
}

fn text(file: &Path, log: Log, json: bool, printer: &Printer) -> String {
    if json {
        json_line(&Report::Log(Box::new(log)))
    } else {
        format!("{}\n", survey_account(&show(file), &log, printer.style))
    }
}
