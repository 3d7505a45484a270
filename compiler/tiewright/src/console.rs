//! What the program says and where: results on the standard output, what is wrong on the standard
//! error. A closed pipe ends the talking, not the work.

use std::io::{IsTerminal, Write};

/// Characters beside each other in a file or pipe.
const COLUMNS: usize = 100;

/// The two outputs.
#[derive(Debug)]
pub struct Console {
    styled: bool,
}

impl Default for Console {
    fn default() -> Self {
        Self::new()
    }
}

impl Console {
    /// Looks whether colours are wanted: on a terminal, unless `NO_COLOR` is set.
    pub fn new() -> Self {
        let plain = std::env::var_os("NO_COLOR").is_some_and(|v| !v.is_empty())
            || std::env::var_os("TERM").is_some_and(|v| v == "dumb");
        Console {
            styled: !plain && std::io::stderr().is_terminal(),
        }
    }

    /// Whether what goes to the standard error may have colours.
    pub fn is_styled(&self) -> bool {
        self.styled
    }

    /// How many characters fit beside each other where results are shown; 100 if that is no
    /// terminal.
    pub fn columns(&self) -> usize {
        let size = terminal_size::terminal_size_of(std::io::stdout());
        size.map_or(COLUMNS, |(width, _)| usize::from(width.0))
    }

    /// Writes a result. Whoever closed the pipe does not want the rest.
    pub fn say(&self, text: &str) {
        let mut out = std::io::stdout().lock();
        let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    }

    /// Writes a file to the standard output.
    ///
    /// # Errors
    /// Why it could not be written; a closed pipe is none.
    pub fn deliver(&self, bytes: &[u8]) -> std::io::Result<()> {
        let mut out = std::io::stdout().lock();
        match out.write_all(bytes).and_then(|()| out.flush()) {
            Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
            other => other,
        }
    }

    /// Writes what is wrong.
    pub fn complain(&self, text: &str) {
        let _ = std::io::stderr().lock().write_all(text.as_bytes());
    }
}
