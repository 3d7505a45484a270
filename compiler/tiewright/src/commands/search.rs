//! A search that is watched: a clock that ends it, Ctrl-C that ends it sooner, and word of how it
//! goes on the standard error. What is found by then is kept. Never: what is written.

use std::io::IsTerminal;
use std::sync::Arc;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use tiewright_core::format::decimal;
use tiewright_marker::Progress;

use crate::console::Console;
use crate::lay::job::Search;
use crate::lay::{Effort, Laid, Prepared, solve};

/// Between two words of how it goes, on a terminal, where one line is written over.
const OFTEN: Duration = Duration::from_millis(200);
/// The same in a file, where every word is a line more.
const SELDOM: Duration = Duration::from_secs(10);

/// Lays `prepared`, going on from `start`, as `search` says in place of the job if it is given. The
/// time counts from now.
///
/// # Errors
/// Why it cannot be laid, in words.
pub fn searched(
    prepared: &Prepared<'_>,
    start: Option<&Laid>,
    search: Option<&Search>,
    console: &Console,
) -> Result<Laid, String> {
    let began = Instant::now();
    let said = search.unwrap_or(&prepared.sealed.job.search);
    let limit = said.seconds.map(Duration::from_secs_f64);
    let told = interrupted();
    let stop =
        || told.load(Ordering::Relaxed) || limit.is_some_and(|limit| began.elapsed() >= limit);
    let mut word = Word::new(&prepared.sealed.job.name, began, console);
    let effort = Effort { start, search };
    let laid = solve(prepared, &effort, &stop, &mut |progress| {
        word.say(&progress)
    });
    word.end();
    if told.load(Ordering::Relaxed) {
        console.complain("stopped; the best marker so far is kept\n");
    }
    laid
}

/// Whether the user has asked for an end of all searches.
pub fn stopped() -> bool {
    interrupted().load(Ordering::Relaxed)
}

/// Whether the user has asked for an end, by Ctrl-C or as systems do it.
fn interrupted() -> Arc<AtomicBool> {
    static TOLD: OnceLock<Arc<AtomicBool>> = OnceLock::new();
    let told = TOLD.get_or_init(|| {
        let told = Arc::new(AtomicBool::new(false));
        let heard = told.clone();
        // Where no handler can be set, Ctrl-C ends the program and nothing is written.
        let _ = ctrlc::set_handler(move || heard.store(true, Ordering::Relaxed));
        told
    });
    told.clone()
}

/// One line on the standard error, now and then.
struct Word<'c> {
    name: String,
    began: Instant,
    next: Instant,
    console: &'c Console,
    on_terminal: bool,
    /// Characters of the line last written over.
    written: usize,
}

impl<'c> Word<'c> {
    fn new(name: &str, began: Instant, console: &'c Console) -> Self {
        let on_terminal = std::io::stderr().is_terminal();
        Word {
            name: name.to_owned(),
            began,
            next: began + if on_terminal { OFTEN } else { SELDOM },
            console,
            on_terminal,
            written: 0,
        }
    }

    fn say(&mut self, progress: &Progress) {
        let now = Instant::now();
        if now < self.next {
            return;
        }
        let line = format!(
            "laying {}: {} mm, {} % of the usable width, after {} s",
            self.name,
            decimal(progress.length, 1),
            decimal(progress.utilisation * 100.0, 1),
            (now - self.began).as_secs()
        );
        if self.on_terminal {
            let width = self.written.max(line.chars().count());
            self.console.complain(&format!("\r{line:width$}"));
            self.written = width;
            self.next = now + OFTEN;
        } else {
            self.console.complain(&(line + "\n"));
            self.next = now + SELDOM;
        }
    }

    /// Leaves the line empty.
    fn end(&self) {
        if self.written > 0 {
            let width = self.written;
            self.console.complain(&format!("\r{:width$}\r", ""));
        }
    }
}
