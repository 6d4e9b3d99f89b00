use super::Tape;

/// The bytes of a tape; those of the file it was read from, if nothing was changed.
pub fn write(tape: &Tape) -> Vec<u8> {
    let mut bytes =
        Vec::with_capacity(tape.header.len() + 3 * tape.records.len() + tape.tail.len());
    bytes.extend_from_slice(&tape.header);
    bytes.extend(tape.records.iter().flat_map(|record| record.bytes));
    bytes.extend_from_slice(&tape.tail);
    bytes
}
