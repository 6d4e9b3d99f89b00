//! A family's tapes and the truth beside them.

use std::path::{Path, PathBuf};

use geo::MultiPolygon;
use serde::Deserialize;

use super::outline::{Outline, area};

#[derive(Deserialize)]
pub struct Truth {
    pub labels: Vec<(String, usize)>,
    pub objects: Vec<TruthObject>,
    pub junctions: Vec<TruthJunction>,
}

/// How far `under` reaches under `over`, on average.
#[derive(Deserialize)]
pub struct TruthJunction {
    pub under: String,
    pub over: String,
    pub overlap_mm: f64,
}

#[derive(Deserialize)]
pub struct TruthObject {
    pub id: String,
    pub class: String,
    pub style: String,
    pub first: usize,
    pub last: usize,
    pub outline: Option<Outline>,
    pub angle_deg: Option<f64>,
    pub row_pitch_mm: Option<f64>,
    pub same_side_pitch_mm: Option<f64>,
    pub width_mm: Option<[f64; 3]>,
    /// Columns that may be taken for one object share a group.
    pub group: Option<String>,
}

impl TruthObject {
    pub fn area(&self) -> Option<MultiPolygon<f64>> {
        self.outline.as_ref().map(area)
    }

    /// First word of the style and the next one: what the table tells apart.
    pub fn row(&self) -> String {
        self.style.splitn(3, '-').take(2).collect::<Vec<_>>().join("-")
    }
}

pub struct Design {
    pub name: String,
    pub bytes: Vec<u8>,
    pub truth: Truth,
}

impl Design {
    /// One label per needle penetration.
    pub fn labels(&self) -> Vec<&str> {
        let runs = self.truth.labels.iter();
        runs.flat_map(|(label, n)| std::iter::repeat_n(label.as_str(), *n)).collect()
    }
}

/// Every design of the family, by name.
pub fn family() -> Vec<Design> {
    let own = Path::new(env!("CARGO_MANIFEST_DIR")).join("corpus/family");
    let folder = std::env::var_os("CROWNMEND_FAMILY").map_or(own, PathBuf::from);
    let mut tapes: Vec<PathBuf> = std::fs::read_dir(&folder)
        .expect("the family's folder")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|e| e == "dst"))
        .collect();
    tapes.sort();
    tapes
        .into_iter()
        .map(|path| {
            let truth = std::fs::read_to_string(path.with_extension("json")).expect("the truth");
            Design {
                name: path.file_stem().unwrap_or_default().to_string_lossy().into_owned(),
                bytes: std::fs::read(&path).expect("the tape"),
                truth: serde_json::from_str(&truth).expect("the truth is valid"),
            }
        })
        .collect()
}
