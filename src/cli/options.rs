//! From arguments to the library's settings.

use std::path::Path;

use super::args::{Mend, Reading};
use super::show;
use crate::garment::{self, Profile};
use crate::report::thread::Thread;
use crate::settings::Settings;

/// A built-in profile by name, or one from a TOML file. The error is a whole message.
pub fn profile(name: &str) -> Result<Profile, String> {
    let path = Path::new(name);
    let is_file = path.extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"))
        || path.components().count() > 1;
    if !is_file {
        return garment::built_in(name).map_err(|error| error.to_string());
    }
    let shown = show(path);
    let text = std::fs::read_to_string(path)
        .map_err(|error| format!("{shown}: the garment file cannot be read ({error})"))?;
    garment::parse(&text).map_err(|error| format!("{shown}: {error}"))
}

/// Settings that any reading of a tape needs. The error is a whole message.
pub fn reading(options: &Reading) -> Result<Settings, String> {
    let mut profile = profile(&options.garment)?;
    if let Some(mm) = options.allowance {
        profile.set_allowance(mm).map_err(|error| format!("--allowance: {error}"))?;
    }
    let mut settings = Settings::new(profile);
    settings.seam = options.seam_x.unwrap_or_default();
    settings.brim = options.brim;
    settings.colours = options.colours.as_deref().map(colours).transpose()?;
    settings.salvage = options.salvage;
    Ok(settings)
}

/// One spelling for each thread, so that stops of one thread compare equal.
fn colours(list: &[String]) -> Result<Vec<String>, String> {
    let spelled: Vec<String> = list.iter().map(|text| Thread::parse(text).spelled()).collect();
    match spelled.iter().position(String::is_empty) {
        Some(stop) => Err(format!("--colours: stop {} has no thread; name one for each", stop + 1)),
        None => Ok(spelled),
    }
}

/// Settings of a repair. The error is a whole message.
pub fn mending(options: &Mend) -> Result<Settings, String> {
    let mut settings = reading(&options.reading)?;
    settings.stops = options.stops;
    if let Some(only) = &options.only {
        settings.passes = only.iter().copied().collect();
    }
    settings.passes.extend(&options.with);
    settings.passes.retain(|pass| !options.without.contains(pass));
    Ok(settings)
}
