//! `tiewright lay`: pieces laid on a length of cloth, and the marker written; or a job for it.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use clap::ValueEnum;
use tiewright_core::format::decimal;

use super::Outcome;
use super::delivery::{Export, chosen, put};
use super::laying::{Unmade, made, search};
use super::search::searched;
use crate::cli::{LayArgs, LayFormat, Tolerance};
use crate::console::Console;
use crate::export::{dxf, pdf, png, svg};
use crate::files::safe_name;
use crate::lay::job::{LayJob, Search};
use crate::lay::sheet::{Marker, NAMES, facts};
use crate::lay::{Laid, Prepared, Sealed};
use crate::loader::{load_up_to, unread};

/// What the names of job files end in.
pub(super) const JOB: &str = ".job.json";
/// What the names of laid files end in.
pub(super) const LAID: &str = ".laid.json";
/// The plan beside the markers of a plan.
const PLAN: &str = "plan.json";
/// What tells a job file from a shape file.
const JSON: &str = ".json";
/// What order books end in.
const CSV: &str = ".csv";
/// The largest job or laid file read, bytes: one of as many pieces as a marker holds.
const MOST_BYTES: u64 = 64 << 20;
/// Picture points to a millimetre of a picture of a marker, which is to a small scale.
const PIXELS_PER_MM: f64 = 10.0;

/// Why nothing is written.
struct Refused {
    outcome: Outcome,
    why: String,
}

/// Lays what `args` ask for and writes it.
pub fn run(args: &LayArgs, console: &Console) -> Outcome {
    let done = if args.file.ends_with(JSON) {
        of_job_file(args, console)
    } else {
        of_shape_file(args, console)
    };
    match done {
        Ok(()) => Outcome::Done,
        Err(Refused { outcome, why }) => {
            console.complain(&why);
            if outcome == Outcome::Wrong {
                console.complain("nothing was written\n");
            }
            outcome
        }
    }
}

fn wrong(why: impl std::fmt::Display) -> Refused {
    Refused {
        outcome: Outcome::Wrong,
        why: format!("error: {why}\n"),
    }
}

fn misused(why: impl std::fmt::Display) -> Refused {
    Refused {
        outcome: Outcome::Misused,
        why: format!("error: {why}\n"),
    }
}

/// The formats asked for, each once, and whether they go to the standard output.
fn formats(
    wanted: &[LayFormat],
    out: &Path,
    console: &Console,
) -> Result<(Vec<LayFormat>, bool), Refused> {
    chosen(wanted, out, console).ok_or(Refused {
        outcome: Outcome::Misused,
        why: String::new(),
    })
}

fn of_shape_file(args: &LayArgs, console: &Console) -> Result<(), Refused> {
    if args.file.ends_with(CSV) {
        return Err(misused(
            "an order book is planned by `tiewright plan`; this lays a shape file or a job",
        ));
    }
    if args.again {
        return Err(misused(
            "`--again` goes on from a job that was laid: give the job file",
        ));
    }
    let out = args.out.clone().unwrap_or_else(|| PathBuf::from("out"));
    // A job is one file, whatever its marker will be written as.
    let wanted = if args.job {
        &[LayFormat::Json]
    } else {
        &*args.formats
    };
    let (formats, to_stdout) = formats(wanted, &out, console)?;
    let made = made(args, console.is_styled()).map_err(|unmade| match unmade {
        Unmade::Reported(why) => Refused {
            outcome: Outcome::Wrong,
            why,
        },
        Unmade::Wrong(why) => wrong(why),
        Unmade::Misused(why) => misused(why),
    })?;
    console.complain(&made.warnings);
    let sealed = Sealed::new(&made.job).map_err(wrong)?;
    let prepared = Prepared::new(&sealed).map_err(wrong)?;
    let stem = safe_name(&sealed.job.name);
    if args.job {
        if to_stdout {
            return console.deliver(sealed.text.as_bytes()).map_err(wrong);
        }
        let file = Export {
            ending: JOB,
            bytes: sealed.text.clone().into_bytes(),
        };
        let written = put(&out, stem, vec![file]).map_err(wrong)?;
        console.say(&written);
        return Ok(());
    }
    let laid = searched(&prepared, None, None, console).map_err(wrong)?;
    deliver(args, &sealed, &laid, (&out, to_stdout), &formats, console)
}

fn of_job_file(args: &LayArgs, console: &Console) -> Result<(), Refused> {
    if args.job
        || !args.ties.is_empty()
        || args.role.is_some()
        || args.cloth.is_some()
        || args.table.is_some()
        || args.near.is_some()
        || !args.flaws.is_empty()
        || !args.tied.is_empty()
        || !args.set.is_empty()
        || args.name.is_some()
    {
        return Err(misused(
            "a job file says itself what is laid: only how to search and what to write can be chosen",
        ));
    }
    let folder = Path::new(&args.file).parent().unwrap_or(Path::new(""));
    let folder = if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    };
    let out = args.out.clone().unwrap_or_else(|| folder.to_owned());
    let (mut formats, to_stdout) = formats(&args.formats, &out, console)?;
    let read = load_up_to(Path::new(&args.file), MOST_BYTES);
    let source = read.map_err(|why| wrong(unread(&args.file, &why)))?;
    let named = |why: String| wrong(format_args!("{}: {why}", args.file));
    let sealed = Sealed::read(source.text.to_string()).map_err(named)?;
    let prepared = Prepared::new(&sealed).map_err(named)?;
    let before = if to_stdout {
        None
    } else {
        laid_before(&out, &sealed, &prepared)
    };
    let own = own_search(args, &sealed.job.search);
    let laid = match &before {
        Some(laid) if !args.again => {
            console.say(&format!(
                "{} is laid already; `--again` goes on from there\n",
                sealed.job.name
            ));
            laid.clone()
        }
        before => searched(&prepared, before.as_ref(), Some(&own), console).map_err(named)?,
    };
    if !to_stdout {
        formats.extend(drawn_before(&out, &sealed));
        formats.push(LayFormat::Json);
        formats.sort_unstable();
        formats.dedup();
    }
    deliver(args, &sealed, &laid, (&out, to_stdout), &formats, console)?;
    if !to_stdout && before.is_some_and(|before| before != laid) && out.join(PLAN).exists() {
        console.complain(&format!(
            "warning: the plan in {} is of the marker as it was, and so are its papers: make it again with \
             `tiewright plan`, and print its papers again\n",
            out.display()
        ));
    }
    Ok(())
}

/// The formats in which the marker is drawn already: drawings of one marker all show the same.
fn drawn_before<'a>(out: &'a Path, sealed: &Sealed) -> impl Iterator<Item = LayFormat> + 'a {
    let stem = safe_name(&sealed.job.name);
    let drawn = move |format: &LayFormat| out.join(format!("{stem}{}", ending(*format))).exists();
    LayFormat::value_variants().iter().copied().filter(drawn)
}

/// What the name of a marker in one format ends in.
fn ending(format: LayFormat) -> &'static str {
    match format {
        LayFormat::Dxf => ".dxf",
        LayFormat::Svg => ".svg",
        LayFormat::Png => ".png",
        LayFormat::Pdf => ".pdf",
        LayFormat::Json => LAID,
    }
}

/// How to search a job that says `said`: what `args` leave out is as the job has it.
fn own_search(args: &LayArgs, said: &Search) -> Search {
    let search = if args.seconds.is_none() && args.steps.is_none() {
        said.clone()
    } else {
        search(args)
    };
    Search {
        seed: args.seed.unwrap_or(said.seed),
        ..search
    }
}

/// What the job was laid as before, if that is still there and sound.
pub(super) fn laid_before(out: &Path, sealed: &Sealed, prepared: &Prepared<'_>) -> Option<Laid> {
    let path = out.join(safe_name(&sealed.job.name) + LAID);
    let source = load_up_to(&path, MOST_BYTES).ok()?;
    let laid = Laid::read(&source.text).ok()?;
    let layout = prepared
        .layout(&laid)
        .filter(|_| laid.job == sealed.digest)?;
    // Whatever stands in the file, what it comes to is reckoned again.
    prepared.laid(&layout).ok()
}

fn deliver(
    args: &LayArgs,
    sealed: &Sealed,
    laid: &Laid,
    (out, to_stdout): (&Path, bool),
    formats: &[LayFormat],
    console: &Console,
) -> Result<(), Refused> {
    let export = |format: &LayFormat| export(&sealed.job, laid, *format, args.tolerance);
    let files: Result<Vec<Export>, String> = formats.iter().map(export).collect();
    let files = files.map_err(wrong)?;
    if let (true, [file]) = (to_stdout, files.as_slice()) {
        return console.deliver(&file.bytes).map_err(wrong);
    }
    let written = put(out, safe_name(&sealed.job.name), files).map_err(wrong)?;
    console.say(&(summary(&sealed.job, laid) + &written));
    Ok(())
}

/// A marker in one format.
pub(super) fn export(
    job: &LayJob,
    laid: &Laid,
    format: LayFormat,
    tolerance: Tolerance,
) -> Result<Export, String> {
    let marker = Marker { job, laid };
    let small = || marker.sheet(marker.small_scale());
    let bytes = match format {
        LayFormat::Dxf => {
            let (sheet, origin) = marker.sheet(1.0);
            let drawing = dxf::marker::marker(&sheet, origin, tolerance.0);
            drawing.map_err(|e| e.to_string())?.into_bytes()
        }
        LayFormat::Svg => svg::svg(&marker.sheet(1.0).0).into_bytes(),
        LayFormat::Png => {
            png::png(&svg::svg(&small().0), PIXELS_PER_MM).map_err(|e| e.to_string())?
        }
        LayFormat::Pdf => {
            let full = marker.sheet(1.0).0;
            let fits = full.width.max(full.height) <= pdf::MOST_SIDE;
            let sheet = if fits { full } else { small().0 };
            pdf::drawing(&sheet).map_err(|e| e.to_string())?
        }
        LayFormat::Json => laid.text()?.into_bytes(),
    };
    Ok(Export {
        ending: ending(format),
        bytes,
    })
}

/// What a marker comes to, for people.
fn summary(job: &LayJob, laid: &Laid) -> String {
    let mut out = format!("{}\n", job.name);
    // Writing to a string cannot fail.
    for (name, what) in facts(job, laid) {
        let _ = writeln!(out, "  {name:<NAMES$}{what}");
    }
    if let Some(longest) = job.table.longest.filter(|most| laid.ply_length > *most) {
        let _ = writeln!(
            out,
            "  warning: one ply is longer than the table takes ({} mm): lay fewer ties",
            decimal(longest, 1)
        );
    }
    out
}
