//! Garment profiles: every number the program decides by, with its mark and source.

mod numbers;

pub use numbers::{Numbers, UNITS_AND_MEANINGS};

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::settings::PassName;

/// Where a number comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Mark {
    /// A published source.
    S,
    /// Derived from published values by arithmetic.
    D,
    /// Our judgement, to be calibrated by sewing.
    J,
}

/// One number of a profile as it stands in the TOML.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    pub value: f64,
    pub mark: Mark,
    /// Title of the source (S), the derivation (D) or the reason (J).
    pub source: String,
}

/// A garment profile.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    pub name: String,
    pub about: String,
    /// Does this garment have a centre seam under the design?
    pub seam: bool,
    /// Passes that are on, by default.
    pub passes: Vec<PassName>,
    pub numbers: Numbers,
    /// The same numbers with mark and source, by name.
    pub entries: BTreeMap<String, Entry>,
}

/// Why a profile cannot be used; the caller names the file.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ProfileError {
    #[error("garment '{0}' is not known; `crownmend garments` lists the built-in ones")]
    Unknown(String),
    #[error("line {line}: {message}; write it as README shows")]
    Syntax { line: usize, message: String },
    #[error("number '{0}' is missing; name it, or add `base = \"finished-cap\"`")]
    Missing(String),
    #[error("'{0}' is not a number that garments have; `garments NAME --explain` lists them")]
    Extra(String),
    #[error("'{name}' is {value}, which is not a sensible number of {unit}")]
    Absurd { name: String, value: f64, unit: &'static str },
    #[error("base '{0}' is not a built-in garment; `crownmend garments` lists them")]
    Base(String),
    #[error("'{0}' has no source; say where the number comes from")]
    NoSource(String),
    #[error("an allowance of {0} mm is outside {min} to {max} mm", min = ALLOWANCE_MM.0, max = ALLOWANCE_MM.1)]
    Allowance(f64),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    name: String,
    about: String,
    /// Built-in profile whose numbers are taken where this file names none.
    base: Option<String>,
    seam: Option<bool>,
    passes: Option<Vec<PassName>>,
    #[serde(default)]
    numbers: BTreeMap<String, Entry>,
}

const BUILT_IN: [(&str, &str); 4] = [
    ("finished-cap", include_str!("finished-cap.toml")),
    ("unstructured-cap", include_str!("unstructured-cap.toml")),
    ("flat-woven", include_str!("flat-woven.toml")),
    ("pique-knit", include_str!("pique-knit.toml")),
];

/// Names of the built-in profiles, the default first.
pub fn names() -> impl Iterator<Item = &'static str> {
    BUILT_IN.iter().map(|(name, _)| *name)
}

/// A built-in profile by name.
pub fn built_in(name: &str) -> Result<Profile, ProfileError> {
    let (_, text) = BUILT_IN
        .iter()
        .find(|(known, _)| *known == name)
        .ok_or_else(|| ProfileError::Unknown(name.to_owned()))?;
    parse(text)
}

/// Reads a profile from TOML. Numbers that it does not name come from its `base`.
pub fn parse(text: &str) -> Result<Profile, ProfileError> {
    let file: File = toml::from_str(text).map_err(|error| syntax(text, &error))?;
    let base = match &file.base {
        Some(name) => Some(built_in(name).map_err(|_| ProfileError::Base(name.clone()))?),
        None => None,
    };
    let mut entries = base.as_ref().map(|b| b.entries.clone()).unwrap_or_default();
    entries.extend(file.numbers);
    if let Some((name, _)) = entries.iter().find(|(_, entry)| entry.source.trim().is_empty()) {
        return Err(ProfileError::NoSource(name.clone()));
    }
    Ok(Profile {
        name: file.name,
        about: file.about,
        seam: file.seam.or(base.as_ref().map(|b| b.seam)).unwrap_or(false),
        passes: file.passes.or(base.map(|b| b.passes)).unwrap_or_default(),
        numbers: Numbers::from_entries(&entries)?,
        entries,
    })
}

/// A TOML error as one line: where, and what.
fn syntax(text: &str, error: &toml::de::Error) -> ProfileError {
    let start = error.span().map_or(0, |span| span.start);
    let before = text.get(..start).unwrap_or(text);
    let message = error.message().split_whitespace().collect::<Vec<_>>().join(" ");
    ProfileError::Syntax { line: before.matches('\n').count() + 1, message }
}

/// Narrowest and widest overlap allowance that a run may ask for, mm (J: half of and thrice the
/// published 1.0).
const ALLOWANCE_MM: (f64, f64) = (0.5, 3.0);

/// Distance of "act below" and "aim for" from the allowance, mm: one point for rounding.
const ALLOWANCE_ROOM_MM: f64 = 0.1;

impl Profile {
    /// Sets the overlap allowance (mm), and with it where repairs start and what they aim for.
    ///
    /// # Errors
    /// [`ProfileError::Allowance`] outside 0.5 to 3 mm.
    pub fn set_allowance(&mut self, mm: f64) -> Result<(), ProfileError> {
        if !(ALLOWANCE_MM.0..=ALLOWANCE_MM.1).contains(&mm) {
            return Err(ProfileError::Allowance(mm));
        }
        let tidy = |value: f64| (value * 1000.0).round() / 1000.0;
        for (name, value) in [
            ("overlap_allowance_mm", mm),
            ("overlap_act_below_mm", tidy(mm - ALLOWANCE_ROOM_MM)),
            ("overlap_aim_mm", tidy(mm + ALLOWANCE_ROOM_MM)),
        ] {
            let entry = Entry { value, mark: Mark::J, source: "chosen for this run".to_owned() };
            self.entries.insert(name.to_owned(), entry);
        }
        self.numbers = Numbers::from_entries(&self.entries)?;
        Ok(())
    }
}
