use std::fmt::Write;

use super::args::Garments;
use super::exit::Exit;
use super::options;
use super::printer::{Printer, message};
use crate::garment::{self, Mark, Profile, UNITS_AND_MEANINGS};
use crate::settings::PassName;
use crate::tape::inert;

/// `crownmend garments`.
pub fn run(args: &Garments) -> Exit {
    let mut printer = Printer::new(args.explain);
    let Some(name) = &args.name else { return printer.result(&list()) };
    match options::profile(name) {
        Ok(profile) => printer.result(&show(&profile, args.explain)),
        Err(words) => {
            message(&words);
            Exit::Usage
        }
    }
}

/// One line for each built-in garment. Writing to a string cannot fail, here and below.
fn list() -> String {
    let mut text = String::new();
    for profile in garment::names().filter_map(|name| garment::built_in(name).ok()) {
        let _ = writeln!(text, "{:<18}{}", profile.name, profile.about);
        let _ = writeln!(text, "{:<18}{}", "", features(&profile));
    }
    text.push_str(
        "\n`crownmend garments NAME --explain` shows every number and where it comes from.\n",
    );
    text
}

fn features(profile: &Profile) -> String {
    let seam = if profile.seam { "centre seam" } else { "no seam" };
    let passes: Vec<&str> = profile.passes.iter().copied().map(PassName::name).collect();
    format!("{seam}; passes: {}", passes.join(", "))
}

/// All numbers of a profile, with or without meaning and source.
fn show(profile: &Profile, explain: bool) -> String {
    let mut text = format!(
        "{}: {}\n  {}\n  S published source, D derived from or picked inside published values, \
         J our judgement, to be calibrated by sewing\n\n",
        inert(profile.name.as_bytes()),
        inert(profile.about.as_bytes()),
        features(profile)
    );
    for (name, unit, meaning) in UNITS_AND_MEANINGS {
        let Some(entry) = profile.entries.get(*name) else { continue };
        let mark = match entry.mark {
            Mark::S => 'S',
            Mark::D => 'D',
            Mark::J => 'J',
        };
        let _ = writeln!(text, "  {name:<26}{:>8} {unit:<14}{mark}", entry.value);
        if explain {
            let source = inert(entry.source.as_bytes());
            let _ = writeln!(text, "      {meaning}\n      {mark}: {source}");
        }
    }
    text
}
