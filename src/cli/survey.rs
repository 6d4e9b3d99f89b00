use std::path::{Path, PathBuf};

use super::args::Survey as Args;
use super::exit::Exit;
use super::input::{self, Failure};
use super::mend::{json_line, refusal};
use super::printer::{Printer, message};
use super::targets::{check_apart, make_folder, named, write_all};
use super::{options, seal, show};
use crate::mend::{MendError, Surveyed, survey};
use crate::report::State;
use crate::report::account::{Style, survey_account};
use crate::report::picture::{SurveyPicture, survey_svg};
use crate::report::survey::{Survey, SurveyReport};
use crate::settings::Settings;

/// `crownmend survey`.
pub fn run(args: &Args) -> Exit {
    let settings = match options::reading(&args.reading) {
        Ok(settings) => settings,
        Err(words) => {
            message(&words);
            return Exit::Usage;
        }
    };
    let picture = |file: &Path| Some(named(file, args.out.as_deref()?, ".survey.svg"));
    let jobs: Vec<(&Path, Option<PathBuf>)> =
        args.files.iter().map(|file| (file.as_path(), picture(file))).collect();
    let pictures = jobs.iter().filter_map(|(_, picture)| picture.as_deref());
    if let Err(words) = check_apart(&args.files, pictures) {
        message(&words);
        return Exit::Usage;
    }
    if let Some(Err(words)) = args.out.as_deref().map(make_folder) {
        message(&words);
        return Exit::Failed;
    }
    let mut printer = Printer::new(args.reading.verbose > 0);
    let mut worst = Exit::Done;
    for (file, picture) in &jobs {
        let seen = one(file, picture.as_deref(), args, &settings);
        let done = seen.map(|seen| {
            let bad = args.check && seen.log.result == State::NeedsEyes;
            let text = if args.json {
                json(&seen, &settings)
            } else {
                account(file, &seen, picture.as_deref(), printer.style)
            };
            (if bad { Exit::Eyes } else { Exit::Done }, text)
        });
        worst = worst.max(print(&mut printer, file, args.json, done));
    }
    worst
}

/// Surveys one file, and draws it where a picture is wanted.
fn one(
    file: &Path,
    picture: Option<&Path>,
    args: &Args,
    settings: &Settings,
) -> Result<Surveyed, Failure> {
    let bytes = input::read(file)?;
    let name = file.file_name().map(|name| show(Path::new(name)));
    let (mut surveyed, svg) = input::guarded(|| {
        let surveyed = survey(&bytes, settings)?;
        let title = format!("{} survey", name.as_deref().unwrap_or("tape"));
        let svg = picture.map(|_| draw(&title, &surveyed, settings));
        Ok::<_, MendError>((surveyed, svg))
    })?;
    surveyed.log.input.name.clone_from(&name);
    surveyed.log.output.name = name;
    if let Some((path, svg)) = picture.zip(svg) {
        seal::check(path, args.force).map_err(Failure::refused)?;
        write_all(&[(path, seal::sealed(&svg).as_bytes())]).map_err(Failure::refused)?;
    }
    Ok(surveyed)
}

fn draw(title: &str, surveyed: &Surveyed, settings: &Settings) -> String {
    survey_svg(&SurveyPicture {
        title,
        design: &surveyed.analysis.design,
        objects: &surveyed.analysis.objects,
        junctions: &surveyed.analysis.junctions,
        seam_x: settings.seam_x(),
        thin: settings.profile.numbers.overlap_act_below_mm,
    })
}

fn json(seen: &Surveyed, settings: &Settings) -> String {
    let Surveyed { analysis, log } = seen;
    let report = Survey::of(log, &analysis.objects, &analysis.junctions, settings);
    json_line(&SurveyReport::Survey(Box::new(report)))
}

fn account(file: &Path, seen: &Surveyed, picture: Option<&Path>, style: Style) -> String {
    let written = picture.map(|path| format!("  written: {}\n\n", show(path)));
    let account = survey_account(&show(file), &seen.log, style);
    format!("{account}\n{}", written.unwrap_or_default())
}

/// Prints what is said about one file, or why it failed; says how it ends the call.
fn print(
    printer: &mut Printer,
    file: &Path,
    json: bool,
    done: Result<(Exit, String), Failure>,
) -> Exit {
    let failure = match done {
        Ok((exit, text)) => return exit.max(printer.result(&text)),
        Err(failure) => failure,
    };
    let (name, exit) = (show(file), failure.exit);
    message(&format!("{name}: {}", failure.words));
    if !json {
        return exit;
    }
    let text = json_line(&SurveyReport::Refusal(refusal(name, failure)));
    exit.max(printer.result(&text))
}
