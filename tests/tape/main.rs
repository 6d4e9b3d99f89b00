//! Tape reader and writer, needle points and assembling, through the public library.

mod assemble;
mod bytes;
mod damage;
mod header;
mod inert;
mod needles;
mod properties;
mod records;
