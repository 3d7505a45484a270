//! Which styles and sizes to draft, drafting them, and judging their proofs.

use std::collections::BTreeMap;
use std::sync::Arc;

use tiewright_core::check::style::ALL_SIZES;
use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::draft::{Draft, ProofRow, Relation};
use tiewright_core::format::in_words;
use tiewright_core::names::nearest;
use tiewright_core::{Compiled, Program, StyleInfo};

use crate::table;
use crate::{files, parallel};

/// One draft to be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Job {
    /// The style.
    pub style: Arc<str>,
    /// The named size; `None` for the style as it stands.
    pub size: Option<Arc<str>>,
}

/// Which sizes of a style are meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sizes<'a> {
    /// The style as it stands.
    Base,
    /// Every named size; a style that names none, as it stands.
    Named,
    /// The style as it stands and every named size.
    Every,
    /// One named size.
    One(&'a str),
}

/// The most drafts in one run: all are held until the last one is known to be right.
const MOST_DRAFTS: usize = 10_000;
/// The most names listed in a hint.
const MOST_NAMED: usize = 12;

impl Job {
    /// The stem of the names of the files this draft becomes.
    pub fn stem(&self) -> String {
        match &self.size {
            Some(size) => files::safe_name(&format!("{}-{size}", self.style)),
            None => files::safe_name(&self.style),
        }
    }
}

/// The drafts that `style` (all without one) in `sizes` come to, in order of declaration.
///
/// # Errors
/// A diagnostic when no style or size has that name, with the nearest one as advice, or when the
/// drafts are too many.
pub fn jobs(
    program: &Program,
    style: Option<&str>,
    sizes: Sizes<'_>,
) -> Result<Vec<Job>, Box<Diagnostic>> {
    let styles = program.styles();
    let chosen: Vec<&StyleInfo> = styles
        .iter()
        .filter(|s| style.is_none_or(|name| *s.name == *name))
        .collect();
    if let Some(name) = style.filter(|_| chosen.is_empty()) {
        let known = styles.iter().map(|s| &*s.name);
        return Err(Box::new(unknown(Code::UnknownStyle, name, known)));
    }
    let jobs: Vec<Job> = chosen
        .iter()
        .flat_map(|style| jobs_of(style, sizes))
        .collect();
    if jobs.len() > MOST_DRAFTS {
        let message = format!(
            "this comes to {} drafts, and one run makes at most {MOST_DRAFTS}",
            jobs.len()
        );
        let error = Diagnostic::general(Code::TooManyDrafts, message);
        let hint = "draft some of them with `--style` and `--size`, or split the file up";
        return Err(Box::new(error.hint(hint)));
    }
    match sizes {
        Sizes::One(name) if jobs.is_empty() => {
            let known = chosen.iter().flat_map(|s| s.sizes.iter().map(|z| &**z));
            Err(Box::new(unknown(Code::UnknownSize, name, known)))
        }
        _ => Ok(jobs),
    }
}

fn jobs_of(style: &StyleInfo, sizes: Sizes<'_>) -> Vec<Job> {
    let named: Vec<&Arc<str>> = match sizes {
        Sizes::Base => Vec::new(),
        Sizes::Named | Sizes::Every => style.sizes.iter().collect(),
        Sizes::One(name) => style.sizes.iter().filter(|size| ***size == *name).collect(),
    };
    let base = match sizes {
        Sizes::Base | Sizes::Every => true,
        Sizes::Named => named.is_empty(),
        Sizes::One(_) => false,
    };
    let job = |size: Option<&Arc<str>>| Job {
        style: style.name.clone(),
        size: size.cloned(),
    };
    base.then(|| job(None))
        .into_iter()
        .chain(named.into_iter().map(|n| job(Some(n))))
        .collect()
}

/// No style or size is called `name`.
fn unknown<'a>(code: Code, name: &str, known: impl Iterator<Item = &'a str> + Clone) -> Diagnostic {
    let what = if code == Code::UnknownStyle {
        "style"
    } else {
        "size"
    };
    let error = Diagnostic::general(code, format!("there is no {what} `{name}`"));
    if let Some(near) = nearest(name, known.clone()) {
        return error.hint(format!("did you mean `{near}`?"));
    }
    let count = known.clone().count();
    let first = known.take(MOST_NAMED).map(|name| format!("`{name}`"));
    let first = first.collect::<Vec<_>>().join(", ");
    match count {
        0 => error.hint(format!("none is named there; leave the {what} out")),
        1..=MOST_NAMED => error.hint(format!("there is {first}")),
        _ => error.hint(format!("there is {first} and {} more", count - MOST_NAMED)),
    }
}

/// An error for every two drafts whose files would have the same names.
pub fn same_names(jobs: &[Job]) -> Vec<Diagnostic> {
    let mut taken: BTreeMap<String, &Job> = BTreeMap::new();
    let mut errors = Vec::new();
    for job in jobs {
        // Some file systems do not tell upper from lower case.
        if taken.insert(job.stem().to_lowercase(), job).is_some() {
            let message = format!(
                "two drafts would be written to files named `{}`",
                job.stem()
            );
            let error = Diagnostic::general(Code::SameFile, message);
            errors.push(error.hint(
                "give one of them another name, or draft one at a time with `--style` and `--size`",
            ));
        }
    }
    errors
}

/// What the command line asks to have drafted.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// One style; all without it.
    pub style: Option<&'a str>,
    /// One named size, or all of them; the style as it stands without it.
    pub size: Option<&'a str>,
    /// Whether a proof may fail.
    pub unproven: bool,
}

/// Drafts that may be written.
#[derive(Debug)]
pub struct Drafts {
    /// What was to be drafted.
    pub jobs: Vec<Job>,
    /// The draft of each job.
    pub drafts: Vec<Draft>,
    /// What is to be said all the same.
    pub warnings: Vec<Diagnostic>,
}

/// Everything that is asked for, drafted and proven.
///
/// # Errors
/// Every diagnostic, if one of them is an error.
pub fn drafts_of(compiled: &Compiled, asked: &Asked) -> Result<Drafts, Vec<Diagnostic>> {
    let mut diagnostics = compiled.diagnostics.clone();
    if diagnostics.iter().any(Diagnostic::is_error) {
        return Err(diagnostics);
    }
    let sizes = match asked.size {
        None => Sizes::Base,
        Some(ALL_SIZES) => Sizes::Named,
        Some(size) => Sizes::One(size),
    };
    let jobs = match jobs(&compiled.program, asked.style, sizes) {
        Ok(jobs) => jobs,
        Err(error) => return Err(vec![*error]),
    };
    diagnostics.extend(same_names(&jobs));
    if let (Sizes::One(size), None) = (sizes, asked.style) {
        diagnostics.extend(without_size(&compiled.program, &jobs, size));
    }
    let (drafts, more) = draft_all(&compiled.program, &jobs, asked.unproven);
    diagnostics.extend(more);
    let complete: Option<Vec<Draft>> = drafts.into_iter().collect();
    match complete {
        Some(drafts) if !diagnostics.iter().any(Diagnostic::is_error) => Ok(Drafts {
            jobs,
            drafts,
            warnings: diagnostics,
        }),
        _ => Err(diagnostics),
    }
}

/// A warning for every style that is skipped because it lacks the size asked for.
fn without_size(program: &Program, jobs: &[Job], size: &str) -> Vec<Diagnostic> {
    let skipped = |style: &&StyleInfo| !jobs.iter().any(|job| job.style == style.name);
    let warning = |style: &StyleInfo| {
        let message = format!("`{}` has no size `{size}` and is left out", style.name);
        Diagnostic::general_warning(Code::UnknownSize, message)
    };
    program
        .styles()
        .iter()
        .filter(skipped)
        .map(warning)
        .collect()
}

/// Every job drafted, in their order, with all that is to be said about each.
pub fn draft_all(
    program: &Program,
    jobs: &[Job],
    unproven: bool,
) -> (Vec<Option<Draft>>, Vec<Diagnostic>) {
    let drafted = parallel::map(jobs, |job| program.draft(&job.style, job.size.as_deref()));
    let mut drafts = Vec::with_capacity(jobs.len());
    let mut diagnostics = Vec::new();
    for one in drafted {
        diagnostics.extend(one.diagnostics);
        if let Some(draft) = &one.draft {
            diagnostics.extend(judge(draft, unproven));
        }
        drafts.push(one.draft);
    }
    (drafts, diagnostics)
}

/// What is to be said about every job; the drafts are let go one by one.
pub fn prove_all(program: &Program, jobs: &[Job]) -> Vec<Diagnostic> {
    let proven = parallel::map(jobs, |job| {
        let one = program.draft(&job.style, job.size.as_deref());
        let mut diagnostics = one.diagnostics;
        diagnostics.extend(one.draft.iter().flat_map(|draft| judge(draft, false)));
        diagnostics
    });
    proven.into_iter().flatten().collect()
}

/// A diagnostic for every row of the proof that does not hold: an error, but a warning where the
/// row only advises or the user wants the draft `unproven`.
pub fn judge(draft: &Draft, unproven: bool) -> impl Iterator<Item = Diagnostic> {
    let title = draft.title();
    draft.proof.iter().filter(|row| !row.holds).map(move |row| {
        let message = format!("{title}: \"{}\" {}", row.name, found(row));
        let diagnostic = if row.advisory || unproven {
            Diagnostic::warning(Code::ProofFails, row.span, message)
        } else {
            Diagnostic::error(Code::ProofFails, row.span, message)
        };
        let label = format!("must be {}", table::bound(row));
        let mut diagnostic = diagnostic.label(label);
        diagnostic.secondary.extend(row.set.iter().cloned());
        if row.advice.is_empty() {
            diagnostic
        } else {
            diagnostic.hint(&*row.advice)
        }
    })
}

fn found(row: &ProofRow) -> String {
    let side = match row.relation {
        Relation::AtMost => "above",
        Relation::AtLeast => "below",
    };
    let show = |value| in_words(value, row.unit);
    format!(
        "comes to {}, {side} the limit of {}",
        show(row.value),
        show(row.limit)
    )
}
