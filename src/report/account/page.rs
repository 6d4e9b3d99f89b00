use std::fmt::Write;

/// Width of the first column, and of the two columns of figures.
const LABEL: usize = 24;
const FIGURE: usize = 15;

/// What a title says about the outcome.
#[derive(Clone, Copy)]
pub enum Tone {
    Good,
    Eyes,
}

/// Lines under construction, aligned in columns. Writing to a string cannot fail.
pub struct Page {
    text: String,
    colour: bool,
}

impl Page {
    pub fn new(colour: bool) -> Self {
        Self { text: String::new(), colour }
    }

    fn painted(&self, text: &str, code: &str) -> String {
        if self.colour { format!("\x1b[{code}m{text}\x1b[0m") } else { text.to_owned() }
    }

    pub fn title(&mut self, name: &str, outcome: &str, tone: Tone) {
        let code = match tone {
            Tone::Good => "1;32",
            Tone::Eyes => "1;33",
        };
        let (name, outcome) = (self.painted(name, "1"), self.painted(outcome, code));
        let _ = writeln!(self.text, "{name}: {outcome}");
    }

    /// A heading over the columns, with an empty line before it.
    pub fn heading(&mut self, label: &str, columns: &[&str]) {
        let figures: String = columns.iter().map(|column| format!("{column:>FIGURE$}")).collect();
        let line = format!("{label:<LABEL$}{figures}");
        let line = match line.trim_end() {
            "" => String::new(),
            line => format!("  {}\n", self.painted(line, "1")),
        };
        let _ = write!(self.text, "\n{line}");
    }

    pub fn row(&mut self, label: &str, words: &str) {
        let line = format!("  {label:<LABEL$}{words}");
        let _ = writeln!(self.text, "{}", line.trim_end());
    }

    /// A label, right-aligned figures, and a note.
    pub fn figures(&mut self, label: &str, figures: &[String], note: &str) {
        let figures: String = figures.iter().map(|figure| format!("{figure:>FIGURE$}")).collect();
        let line = format!("  {label:<LABEL$}{figures}  {note}");
        let _ = writeln!(self.text, "{}", line.trim_end());
    }

    /// A heading and one line each, as many as there is room for; nothing for an empty list.
    pub fn list(&mut self, heading: &str, lines: &[String], room: usize) {
        if lines.is_empty() {
            return;
        }
        self.heading(heading, &[]);
        for line in lines.iter().take(room) {
            self.wrapped(line);
        }
        if lines.len() > room {
            let _ = writeln!(self.text, "  … and {} more; -v lists all", lines.len() - room);
        }
    }

    /// One item of a list, broken at spaces.
    fn wrapped(&mut self, line: &str) {
        const WIDTH: usize = 92;
        let mut used = 0;
        let _ = write!(self.text, "  -");
        for word in line.split(' ') {
            let length = word.chars().count() + 1;
            if used > 0 && used + length > WIDTH {
                let _ = write!(self.text, "\n   ");
                used = 0;
            }
            let _ = write!(self.text, " {word}");
            used += length;
        }
        self.text.push('\n');
    }

    pub fn finish(self) -> String {
        self.text
    }
}
