//! Reads and recognises one tape and prints how long that took, for `scripts/growth/run.py`:
//! needle points, objects, milliseconds to read, milliseconds to recognise.

use std::time::Instant;

use crownmend::settings::Settings;
use crownmend::{design, garment, recognise, tape};

/// The program's own allocator.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    // Cargo adds an argument of its own.
    let file = std::env::args().skip(1).find(|arg| !arg.starts_with("--")).ok_or("no tape")?;
    let settings = Settings::new(garment::built_in("finished-cap")?);
    let start = Instant::now();
    let (tape, _) = tape::read(&std::fs::read(file)?, tape::Salvage::Refuse)?;
    let design = design::from_tape(&tape);
    let read = start.elapsed();
    let objects = recognise::recognise(&design, &settings);
    let recognised = start.elapsed() - read;
    println!(
        "{} {} {:.3} {:.3}",
        design.points.len(),
        objects.items.len(),
        1000.0 * read.as_secs_f64(),
        1000.0 * recognised.as_secs_f64()
    );
    Ok(())
}
