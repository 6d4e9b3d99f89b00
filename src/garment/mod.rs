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

#[derive(Debug, thiserror::Error)]
pub enum ProfileError {
    #[error("garment '{0}' is not known; `crownmend garments` lists the built-in ones")]
    Unknown(String),
    #[error("garment file: {0}")]
    Syntax(#[from] toml::de::Error),
    #[error("garment file: number '{0}' is missing")]
    Missing(String),
    #[error("garment file: '{0}' is not a number that garments have")]
    Extra(String),
    #[error("garment file: '{name}' is {value}, which is not a sensible number of {unit}")]
    Absurd { name: String, value: f64, unit: &'static str },
    #[error("garment file: base '{0}' is not a built-in garment")]
    Base(String),
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
    let file: File = toml::from_str(text)?;
    let base = match &file.base {
        Some(name) => Some(built_in(name).map_err(|_| ProfileError::Base(name.clone()))?),
        None => None,
    };
    let mut entries = base.as_ref().map(|b| b.entries.clone()).unwrap_or_default();
    entries.extend(file.numbers);
    Ok(Profile {
        name: file.name,
        about: file.about,
        seam: file.seam.or(base.as_ref().map(|b| b.seam)).unwrap_or(false),
        passes: file.passes.or(base.map(|b| b.passes)).unwrap_or_default(),
        numbers: Numbers::from_entries(&entries)?,
        entries,
    })
}
