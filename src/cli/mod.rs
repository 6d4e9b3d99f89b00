//! Command line: arguments, files, exit codes. The only part that prints.

mod args;
mod exit;
mod garments;
mod input;
mod mend;
mod options;
mod pictures;
mod printer;
mod seal;
mod survey;
mod targets;

use std::ffi::OsString;
use std::path::Path;

use clap::Parser;
use clap::error::ErrorKind;
use log::LevelFilter;

use args::{Cli, Command};
pub use exit::Exit;

/// Runs one call; the first argument is the program's name.
pub fn run(args: impl IntoIterator<Item = OsString>) -> Exit {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version go to stdout, the rest to stderr; a reader that has gone is no error.
            let _ = error.print();
            return match error.kind() {
                ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => Exit::Done,
                _ => Exit::Usage,
            };
        }
    };
    input::hush_panics();
    match &cli.command {
        Command::Mend(args) => {
            log_to_stderr(args.reading.verbose);
            mend::run(args)
        }
        Command::Survey(args) => {
            log_to_stderr(args.reading.verbose);
            survey::run(args)
        }
        Command::Garments(args) => garments::run(args),
    }
}

fn log_to_stderr(verbose: u8) {
    let level = match verbose {
        0 | 1 => LevelFilter::Warn,
        2 => LevelFilter::Info,
        _ => LevelFilter::Debug,
    };
    let builder = &mut env_logger::Builder::new();
    // A logger that is there already is as good.
    let _ = builder.filter_level(level).format_timestamp(None).format_target(false).try_init();
}

/// A path as it may be shown on a terminal: names of files are bytes from strangers too.
fn show(path: &Path) -> String {
    crate::tape::inert(path.as_os_str().as_encoded_bytes())
}
