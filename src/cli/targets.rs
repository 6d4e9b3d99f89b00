//! Where results go, and what may be replaced there.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::{OsStr, OsString};
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::show;
use crate::report::{Log, sha256_hex};

/// The files that one tape gives rise to.
#[derive(Debug)]
pub struct Targets {
    pub tape: PathBuf,
    pub log: PathBuf,
    /// Before and after, where pictures are wanted.
    pub pictures: Option<[PathBuf; 2]>,
}

impl Targets {
    /// None where the input has no file name (`..`).
    pub fn of(input: &Path, out: &Path, pictures: bool) -> Option<Self> {
        let tape = out.join(input.file_name()?);
        let beside = |ending| named(input, out, ending);
        let log = beside(".changes.json");
        let pictures = pictures.then(|| [beside(".before.svg"), beside(".after.svg")]);
        Some(Self { tape, log, pictures })
    }

    pub fn all(&self) -> impl Iterator<Item = &Path> {
        let pictures = self.pictures.iter().flatten();
        [&self.tape, &self.log].into_iter().chain(pictures).map(PathBuf::as_path)
    }
}

/// A result in `out` that is called as the input, with another ending.
pub fn named(input: &Path, out: &Path, ending: &str) -> PathBuf {
    let mut name: OsString = input.file_stem().unwrap_or(OsStr::new("")).to_owned();
    name.push(ending);
    out.join(name)
}

/// Refuses a call in which two results, or a result and an input, are one file (links resolved).
/// The error is a whole message.
pub fn check_apart<'a>(
    inputs: &[PathBuf],
    results: impl IntoIterator<Item = &'a Path>,
) -> Result<(), String> {
    let real: BTreeMap<PathBuf, &Path> = inputs
        .iter()
        .filter_map(|input| Some((fs::canonicalize(input).ok()?, input.as_path())))
        .collect();
    let mut taken: BTreeSet<&Path> = BTreeSet::new();
    for path in results {
        if let Some(input) = fs::canonicalize(path).ok().and_then(|path| real.get(&path)) {
            return Err(format!(
                "{}: would be written over the input {}; choose another --out",
                show(path),
                show(input)
            ));
        }
        if !taken.insert(path) {
            return Err(format!(
                "{}: two inputs would be written to it; write them into different folders",
                show(path)
            ));
        }
    }
    Ok(())
}

/// Makes the folder for results where it is missing. The error is a whole message.
pub fn make_folder(out: &Path) -> Result<(), String> {
    fs::create_dir_all(out).map_err(|error| {
        format!("{}: the folder cannot be made ({error}); choose another --out", show(out))
    })
}

/// May these files be written? An older result is replaced only if its log shows that it is ours.
/// The error is a whole message.
pub fn check_ours(targets: &Targets, tape: &[u8], force: bool) -> Result<(), String> {
    if let Some(folder) = targets.all().find(|path| path.is_dir()) {
        return Err(format!("{}: a folder is in the way; move it away", show(folder)));
    }
    if force {
        return Ok(());
    }
    let foreign = |path: &Path| {
        Err(format!(
            "{}: exists, and no log beside it shows that it is ours; move it away or use --force",
            show(path)
        ))
    };
    let log =
        fs::read(&targets.log).ok().and_then(|json| serde_json::from_slice::<Log>(&json).ok());
    let log = log.filter(|log| log.tool.name == env!("CARGO_PKG_NAME"));
    if is_there(&targets.tape) {
        let old = fs::read(&targets.tape).ok();
        let same = old.as_deref() == Some(tape);
        let ours = old.zip(log.as_ref()).is_some_and(|(o, l)| l.output.sha256 == sha256_hex(&o));
        if !same && !ours {
            return foreign(&targets.tape);
        }
    }
    match targets.all().skip(1).find(|path| is_there(path)) {
        Some(path) if log.is_none() => foreign(path),
        _ => Ok(()),
    }
}

/// Also true for a link that leads nowhere.
pub fn is_there(path: &Path) -> bool {
    fs::symlink_metadata(path).is_ok()
}

/// Writes files so that each is there whole or not at all, in the given order; all are on the disk
/// under a temporary name before the first takes its place. The error is a whole message.
pub fn write_all(files: &[(&Path, &[u8])]) -> Result<(), String> {
    let cannot = |path: &Path, error: &io::Error| {
        format!("{}: cannot be written ({error}); check the folder and its free space", show(path))
    };
    let staged: Result<Vec<_>, String> = files
        .iter()
        .map(|(path, bytes)| stage(path, bytes).map_err(|error| cannot(path, &error)))
        .collect();
    for (file, (path, _)) in staged?.into_iter().zip(files) {
        file.persist(path).map_err(|failed| cannot(path, &failed.error))?;
    }
    if let Some((path, _)) = files.first() {
        settle(path);
    }
    Ok(())
}

fn stage(path: &Path, bytes: &[u8]) -> io::Result<tempfile::NamedTempFile> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".crownmend-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // As any new file: the user's mask takes away what it should.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// Brings the new names to the disk where the system can; the files themselves are there already.
fn settle(path: &Path) {
    if let Some(folder) = path.parent().and_then(|folder| fs::File::open(folder).ok()) {
        let _ = folder.sync_all();
    }
}
