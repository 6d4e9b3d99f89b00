//! Reads the corpus: tapes and the truth beside them.
#![allow(dead_code)] // each test file uses its own part

pub mod decode;
pub mod draw;
pub mod lines;
pub mod measure;
pub mod outline;
pub mod plane;
pub mod world;

use std::path::{Path, PathBuf};

use serde::Deserialize;

#[derive(Deserialize)]
pub struct Truth {
    pub name: String,
    pub garment: String,
    pub stitch_count: usize,
    pub exit_code: i32,
    pub outcome: String,
    pub labels: Vec<(String, usize)>,
    pub objects: Vec<TruthObject>,
    pub junctions: Vec<TruthJunction>,
    pub faults: Vec<Fault>,
}

#[derive(Deserialize)]
pub struct TruthObject {
    pub id: String,
    pub class: String,
    pub stop: u32,
    pub first: usize,
    pub last: usize,
    /// Polygons of rings, the first outside, mm as sewn.
    pub outline: outline::Outline,
    /// Both edges of a satin, mm as drawn.
    pub rails: Option<[Vec<[f64; 2]>; 2]>,
    pub closed: bool,
    /// Least and greatest length of the crossings of a satin.
    pub width_mm: Option<[f64; 2]>,
    pub angle_deg: Option<f64>,
    pub row_pitch_mm: Option<f64>,
    pub hides: bool,
    pub held: bool,
}

#[derive(Deserialize)]
pub struct TruthJunction {
    pub under: String,
    pub over: String,
    pub kind: String,
    pub overlap_mm: [f64; 2],
    pub length_mm: f64,
    pub curve: Vec<[f64; 2]>,
}

#[derive(Deserialize)]
pub struct Fault {
    pub kind: String,
    pub objects: Vec<String>,
    pub repairable: bool,
    pub note: String,
}

impl Truth {
    /// One label per needle penetration.
    pub fn flat_labels(&self) -> Vec<&str> {
        self.labels.iter().flat_map(|(label, n)| std::iter::repeat_n(label.as_str(), *n)).collect()
    }
}

pub struct Case {
    pub name: String,
    pub path: PathBuf,
    pub bytes: Vec<u8>,
    pub truth: Truth,
}

pub fn corpus_root() -> PathBuf {
    std::env::var_os("CROWNMEND_CORPUS")
        .map_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("corpus"), PathBuf::from)
}

/// Every corpus case, by name.
pub fn corpus() -> Vec<Case> {
    let mut names: Vec<String> = std::fs::read_dir(corpus_root())
        .expect("the corpus folder is part of the project")
        .filter_map(|entry| entry.ok())
        .filter(|entry| entry.path().join("truth.json").exists())
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names.iter().map(|name| case(name)).collect()
}

pub fn case(name: &str) -> Case {
    case_in(&corpus_root(), name)
}

/// A case in a folder of its own under `root`.
pub fn case_in(root: &Path, name: &str) -> Case {
    let folder = root.join(name);
    let path = folder.join(format!("{name}.dst"));
    let truth = std::fs::read_to_string(folder.join("truth.json")).expect("truth.json");
    Case {
        name: name.to_owned(),
        bytes: std::fs::read(&path).expect("the tape"),
        truth: serde_json::from_str(&truth).expect("truth.json is valid"),
        path,
    }
}
