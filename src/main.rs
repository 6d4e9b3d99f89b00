//! See `crownmend --help`.

use std::process::ExitCode;

fn main() -> ExitCode {
    crownmend::cli::run(std::env::args_os()).into()
}
