//! Draws the plain four-in-hand in many lengths, as DXF and SVG files: the least a program must
//! do for the same drawings. The formulas are written out by hand; nothing is checked or proven.
//!
//! Usage: `bare COUNT DIRECTORY`. One file of each kind a tie, worked on by all cores. A file that
//! holds the same text already is left alone, as the compiler leaves it.

mod drawing;
mod tie;

use std::path::Path;
use std::process::ExitCode;
use std::sync::atomic::{AtomicUsize, Ordering};

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [count, directory] = arguments.as_slice() else {
        eprintln!("usage: bare COUNT DIRECTORY");
        return ExitCode::from(2);
    };
    let Ok(count) = count.parse() else {
        eprintln!("COUNT is a whole number");
        return ExitCode::from(2);
    };
    match run(count, Path::new(directory)) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn run(count: usize, directory: &Path) -> std::io::Result<()> {
    std::fs::create_dir_all(directory)?;
    let workers = std::thread::available_parallelism()?.get().min(count);
    let next = AtomicUsize::new(0);
    let work = || -> std::io::Result<()> {
        loop {
            let n = next.fetch_add(1, Ordering::Relaxed);
            if n >= count {
                return Ok(());
            }
            // A single tie has the usual length; many have one length each.
            let length = if count == 1 {
                1447.8
            } else {
                1400.0 + 0.3 * n as f64
            };
            let pieces = tie::pieces(length);
            let name = format!("speed-{n}");
            write(
                &directory.join(format!("{name}.dxf")),
                &drawing::dxf(&name, &pieces),
            )?;
            write(
                &directory.join(format!("{name}.svg")),
                &drawing::svg(&pieces),
            )?;
        }
    };
    if workers < 2 {
        return work();
    }
    std::thread::scope(|scope| {
        let handles: Vec<_> = (0..workers).map(|_| scope.spawn(work)).collect();
        handles.into_iter().try_for_each(|handle| {
            handle
                .join()
                .unwrap_or_else(|_| Err(std::io::Error::other("a worker failed")))
        })
    })
}

/// Writes `text` unless the file holds it already.
fn write(path: &Path, text: &str) -> std::io::Result<()> {
    let same_length = std::fs::metadata(path).is_ok_and(|about| about.len() == text.len() as u64);
    if same_length && std::fs::read(path).is_ok_and(|there| there == text.as_bytes()) {
        return Ok(());
    }
    std::fs::write(path, text)
}
