/// How a call ended, the worst last.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// All done, nothing left for a person.
    #[default]
    Done = 0,
    /// Something is left for a person's eyes.
    Eyes = 2,
    /// A file failed or was refused.
    Failed = 4,
    /// The call makes no sense; nothing was begun.
    Usage = 64,
    /// Our own bug.
    Bug = 70,
}

impl From<Exit> for std::process::ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}
