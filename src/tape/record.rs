/// What a record tells the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    Stitch,
    Jump,
    /// Colour change.
    Stop,
    /// Colour bit without the jump bit: sequin mode on or off.
    SequinToggle,
}

/// One three-byte record, kept as it stood so that any encoding survives.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Record {
    pub bytes: [u8; 3],
}
