use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

use crate::settings::{Brim, PassName, Seam, StopRule};

/// Repairs embroidery stitch tapes (DST) so that they sew well on finished caps.
#[derive(Parser, Debug)]
#[command(name = "crownmend", version, max_term_width = 100, after_help = EXIT_CODES)]
pub struct Cli {
    #[command(subcommand)]
    pub command: Command,
}

const EXIT_CODES: &str = "\
Exit codes: 0 all done; 2 something is left for a person's eyes; 4 a file failed or was refused;
64 wrong usage; 70 our own bug. With several files the worst decides.";

#[derive(Subcommand, Debug)]
pub enum Command {
    Mend(Mend),
    Survey(Survey),
    Garments(Garments),
}

/// Repair tapes and write each beside a log of every change.
#[derive(Args, Debug)]
#[command(after_help = "Writes OUT/NAME.dst and OUT/NAME.changes.json; inputs are never touched.")]
pub struct Mend {
    /// Tapes to repair.
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Folder for the repaired tapes; made where it is missing.
    #[arg(long, value_name = "DIR", required_unless_present = "dry_run")]
    pub out: Option<PathBuf>,
    #[command(flatten)]
    pub reading: Reading,
    /// Report everything, write nothing.
    #[arg(long)]
    pub dry_run: bool,
    /// Run these passes and no others.
    #[arg(long, value_name = "PASS,…", value_delimiter = ',', conflicts_with_all = ["with", "without"])]
    pub only: Option<Vec<PassName>>,
    /// Run these passes as well.
    #[arg(long, value_name = "PASS,…", value_delimiter = ',')]
    pub with: Vec<PassName>,
    /// Leave these passes out.
    #[arg(long, value_name = "PASS,…", value_delimiter = ',')]
    pub without: Vec<PassName>,
    /// How far the order may change: keep the stops, or finish each element in all its colours.
    #[arg(long, value_enum, default_value_t)]
    pub stops: StopRule,
    /// Write NAME.before.svg and NAME.after.svg beside the tape.
    #[arg(long)]
    pub pictures: bool,
    /// Print the logs as JSON, one line for each file, instead of the account.
    #[arg(long)]
    pub json: bool,
    /// Replace files in DIR even where no log shows that they are ours.
    #[arg(long)]
    pub force: bool,
}

/// Measure what will sew badly; change nothing.
#[derive(Args, Debug)]
#[command(after_help = "Writes nothing without --pictures; inputs are never touched.")]
pub struct Survey {
    /// Tapes to survey.
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    #[command(flatten)]
    pub reading: Reading,
    /// Exit with 2 where there is any fault, or too much of a tape was not understood.
    #[arg(long)]
    pub check: bool,
    /// Print every object, junction and finding as JSON, one line for each file.
    #[arg(long)]
    pub json: bool,
    /// Write OUT/NAME.survey.svg: every object, its rails or the direction of its rows, and the
    /// overlap of edges that run alongside each other.
    #[arg(long, requires = "out")]
    pub pictures: bool,
    /// Folder for the pictures; made where it is missing.
    #[arg(long, value_name = "DIR", requires = "pictures")]
    pub out: Option<PathBuf>,
    /// Replace pictures in DIR even where they are not ours or were changed since.
    #[arg(long, requires = "pictures")]
    pub force: bool,
}

/// List the garment profiles, or show one with every number it decides by.
#[derive(Args, Debug)]
pub struct Garments {
    /// A built-in garment, or a profile of your own (FILE.toml).
    #[arg(value_name = "NAME|FILE.toml")]
    pub name: Option<String>,
    /// Say what each number means, and where it comes from.
    #[arg(long, requires = "name")]
    pub explain: bool,
}

/// How a tape is to be read.
#[derive(Args, Debug)]
pub struct Reading {
    /// Garment it is sewn on; `crownmend garments` lists them.
    #[arg(long, value_name = "NAME|FILE.toml", default_value = "finished-cap")]
    pub garment: String,
    /// Overlap that junctions should have, instead of the garment's.
    #[arg(long, value_name = "MM", allow_negative_numbers = true)]
    pub allowance: Option<f64>,
    /// Where the centre seam runs, from the start point to the right; `none` where there is none.
    #[arg(long, value_name = "MM|none", value_parser = seam, allow_negative_numbers = true)]
    pub seam_x: Option<Seam>,
    /// Thread of each stop in order: names, #RRGGBB, or both; without it every stop counts as a
    /// colour of its own.
    #[arg(long, value_name = "LIST", value_delimiter = ',')]
    pub colours: Option<Vec<String>>,
    /// Side of the drawn design on which the brim is.
    #[arg(long, value_enum, default_value_t)]
    pub brim: Brim,
    /// Read a damaged tape up to the damage.
    #[arg(long)]
    pub salvage: bool,
    /// List every finding and change; twice: say what the program does meanwhile.
    #[arg(short, long, action = clap::ArgAction::Count)]
    pub verbose: u8,
}

/// Widest field of any machine, mm (J): no seam lies further from the start point.
const SEAM_REACH_MM: f64 = 500.0;

fn seam(text: &str) -> Result<Seam, String> {
    if text == "none" {
        return Ok(Seam::None);
    }
    match text.parse::<f64>() {
        Ok(x) if x.abs() <= SEAM_REACH_MM => Ok(Seam::At(x)),
        _ => Err(format!("give mm between −{SEAM_REACH_MM} and {SEAM_REACH_MM}, or `none`")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn arguments_are_consistent() {
        Cli::command().debug_assert();
    }

    #[test]
    fn seams_are_read() {
        assert_eq!(seam("none"), Ok(Seam::None));
        assert_eq!(seam("-3.5"), Ok(Seam::At(-3.5)));
        for wrong in ["", "left", "nan", "inf", "501", "1e9"] {
            assert!(seam(wrong).is_err(), "{wrong}");
        }
    }
}
