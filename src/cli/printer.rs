use std::io::{self, ErrorKind, IsTerminal, Write};

use super::exit::Exit;
use crate::report::account::Style;

/// Results to stdout, messages to stderr.
pub struct Printer {
    /// None once the reader has gone, which is no error: the work goes on all the same.
    out: Option<io::Stdout>,
    pub style: Style,
}

impl Printer {
    /// `detail`: list every finding and change.
    pub fn new(detail: bool) -> Self {
        let out = io::stdout();
        let wanted = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
        let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        let colour = wanted && !dumb && out.is_terminal();
        Self { out: Some(out), style: Style { colour, detail } }
    }

    /// Prints a result. A reader that has gone is no error; a full disk is.
    pub fn result(&mut self, text: &str) -> Exit {
        let Some(out) = &mut self.out else { return Exit::Done };
        let written = out.write_all(text.as_bytes()).and_then(|()| out.flush());
        match written {
            Ok(()) => Exit::Done,
            Err(error) if error.kind() == ErrorKind::BrokenPipe => {
                self.out = None;
                Exit::Done
            }
            Err(error) => {
                self.out = None;
                message(&format!("standard output cannot be written ({error}); send it elsewhere"));
                Exit::Failed
            }
        }
    }
}

/// One line for a person.
pub fn message(text: &str) {
    // Where even stderr is gone there is nobody left to tell.
    let _ = writeln!(io::stderr(), "crownmend: {text}");
}
