//! What is to be laid of a shape file: styles and counts, roles, cloth, table, flaws, from the words
//! of the command line to a lay job. Nothing here searches or writes.

use std::path::Path;

use tiewright_core::cloth::{Properties, Property};
use tiewright_core::diagnostic::Diagnostic;
use tiewright_core::draft::{Cloth, Draft};
use tiewright_core::format::decimal;
use tiewright_core::names::nearest;
use tiewright_core::table::Table;
use tiewright_core::{Compiled, Program, compile};

use super::drafting::{Job, Sizes, draft_all, jobs};
use crate::cli::LayArgs;
use crate::lay::field::{LEAST, LONGEST, MOST_TIES};
use crate::lay::job::{JobCloth, LayJob, Search};
use crate::lay::{self, Article};
use crate::loader::FileLoader;
use crate::readings::cell::{length, unit as reading_unit};
use crate::report;

/// Seconds of a search of which nothing is said.
const SECONDS: f64 = 10.0;
/// What the name of a marker ends in unless it is given.
const MARKER: &str = "-marker";

/// Why there is no job.
#[derive(Debug)]
pub enum Unmade {
    /// The files are wrong, and this is the compiler's word of it, whole as it is.
    Reported(String),
    /// The files are wrong; what to say of it.
    Wrong(String),
    /// The command line is; what to say of it.
    Misused(String),
}

/// A job, and what is to be said all the same.
pub struct Made {
    /// The job.
    pub job: LayJob,
    /// Warnings, each with its line end.
    pub warnings: String,
}

/// The job that `args` ask for.
///
/// # Errors
/// What stands in the way.
pub fn made(args: &LayArgs, styled: bool) -> Result<Made, Unmade> {
    let compiled = compile(&args.file, &args.set, &FileLoader);
    let refuse = |diagnostics: &[Diagnostic]| {
        Unmade::Reported(report::render(&compiled.sources, diagnostics, styled))
    };
    if compiled.diagnostics.iter().any(Diagnostic::is_error) {
        return Err(refuse(&compiled.diagnostics));
    }
    let wanted = wanted(&compiled.program, &args.ties).map_err(Unmade::Misused)?;
    let mut asked = Vec::new();
    for one in &wanted {
        let size = one.size.as_deref().map_or(Sizes::Base, Sizes::One);
        let found = jobs(&compiled.program, Some(&one.style), size);
        asked.extend(found.map_err(|error| refuse(&[*error]))?);
    }
    let (drafts, diagnostics) = draft_all(&compiled.program, &asked, false);
    let drafts: Vec<Draft> = drafts.into_iter().flatten().collect();
    if diagnostics.iter().any(Diagnostic::is_error) || drafts.len() != wanted.len() {
        return Err(refuse(&diagnostics));
    }
    let all: Vec<Diagnostic> = compiled
        .diagnostics
        .iter()
        .cloned()
        .chain(diagnostics)
        .collect();
    let warnings = report::render(&compiled.sources, &all, styled);
    let mut made = of_drafts(args, &compiled, &wanted, &drafts)?;
    made.job.name = args
        .name
        .clone()
        .unwrap_or_else(|| named(&args.file, &asked));
    made.warnings = warnings + &made.warnings;
    Ok(made)
}

fn named(file: &str, asked: &[Job]) -> String {
    let stem = match asked {
        [one] => one.stem(),
        _ => {
            let stem = Path::new(file).file_stem().unwrap_or_default();
            crate::files::safe_name(&stem.to_string_lossy())
        }
    };
    stem + MARKER
}

/// Some ties of a style in a size.
struct Wanted {
    style: String,
    size: Option<String>,
    count: u32,
}

/// What `--ties` says, each style and size once.
fn wanted(program: &Program, ties: &[String]) -> Result<Vec<Wanted>, String> {
    if ties.is_empty() {
        return Err(
            "say how many ties: `--ties STYLE=12`, or `--ties 12` for the one style of the file"
                .to_owned(),
        );
    }
    let mut all: Vec<Wanted> = Vec::new();
    for text in ties {
        let one = one_wanted(program, text)?;
        let same = |w: &&mut Wanted| w.style == one.style && w.size == one.size;
        match all.iter_mut().find(same) {
            Some(same) => same.count = same.count.saturating_add(one.count),
            None => all.push(one),
        }
    }
    if let Some(many) = all.iter().find(|one| one.count > MOST_TIES) {
        return Err(format!(
            "`--ties` asks for {} of {}, and one marker holds at most {MOST_TIES}",
            many.count, many.style
        ));
    }
    Ok(all)
}

fn one_wanted(program: &Program, text: &str) -> Result<Wanted, String> {
    let (name, count) = match text.rsplit_once('=') {
        Some((name, count)) => (Some(name.trim()), count),
        None => (None, text),
    };
    let read = count.trim().parse::<u32>();
    let count = read.ok().filter(|n| (1..=MOST_TIES).contains(n));
    let count = count.ok_or_else(|| {
        format!("`--ties {text}` ends in no number of ties from 1 to {MOST_TIES}; write it as `--ties STYLE=12`")
    })?;
    if name.is_some_and(|name| name.split('/').any(|word| word.trim().is_empty())) {
        return Err(format!(
            "`--ties {text}` names no style or no size; write it as `--ties STYLE=12` or `--ties \
             STYLE/SIZE=12`"
        ));
    }
    let name = match (name, program.styles()) {
        (Some(name), _) => name.to_owned(),
        (None, [only]) => only.name.to_string(),
        (None, _) => {
            return Err(format!(
                "the file has several styles: say which, as in `--ties STYLE={count}`"
            ));
        }
    };
    let (style, size) = match name.split_once('/') {
        Some((style, size)) => (style.to_owned(), Some(size.to_owned())),
        None => (name, None),
    };
    Ok(Wanted { style, size, count })
}

fn of_drafts(
    args: &LayArgs,
    compiled: &Compiled,
    wanted: &[Wanted],
    drafts: &[Draft],
) -> Result<Made, Unmade> {
    let mut articles = Vec::new();
    let mut cloths: Vec<(&Cloth, &Draft)> = Vec::new();
    for (draft, one) in drafts.iter().zip(wanted) {
        let roles = roles(draft, args.role.as_deref()).map_err(Unmade::Wrong)?;
        cloths.extend(roles.first().map(|cloth| (*cloth, draft)));
        articles.push(Article {
            draft,
            roles: roles.iter().map(|cloth| &*cloth.role).collect(),
            count: one.count,
        });
    }
    let table = table(&compiled.program, args.table.as_deref()).map_err(Unmade::Wrong)?;
    let table = table.map(lay::table).unwrap_or_default();
    let (cloth, warnings) = match &args.cloth {
        Some(name) => other_cloth(&compiled.program, name, &cloths),
        None => same_cloth(&cloths).map(|cloth| (cloth, String::new())),
    }
    .map_err(Unmade::Wrong)?;
    let mut job = lay::job("", &articles, cloth, table, search(args));
    job.near = args
        .near
        .as_deref()
        .map(near)
        .transpose()
        .map_err(Unmade::Misused)?;
    for flaw in &args.flaws {
        job.flaws
            .push(self::flaw(flaw, &job).map_err(Unmade::Misused)?);
    }
    job.tied.clone_from(&args.tied);
    Ok(Made { job, warnings })
}

/// How to search.
pub fn search(args: &LayArgs) -> Search {
    Search {
        seed: args.seed.unwrap_or(0),
        seconds: args.seconds.or(args.steps.is_none().then_some(SECONDS)),
        steps: args.steps,
    }
}

/// The cloths of the roles whose pieces are laid: that of `role`, or else of the first role anything
/// is cut from, and of all roles cut from the same cloth by name.
fn roles<'d>(draft: &'d Draft, role: Option<&str>) -> Result<Vec<&'d Cloth>, String> {
    let has_pieces = |cloth: &&Cloth| draft.pieces.iter().any(|p| p.cloth == cloth.role);
    let mut cut = draft.cloths.iter().filter(has_pieces);
    let title = draft.title();
    if let Some(role) = role {
        return match cut.clone().find(|cloth| *cloth.role == *role) {
            Some(cloth) => Ok(vec![cloth]),
            None => {
                let known: Vec<&str> = cut.map(|cloth| &*cloth.role).collect();
                let known = known.join(", ");
                Err(format!(
                    "nothing of {title} is cut from `{role}`; its cloth roles are {known}"
                ))
            }
        };
    }
    let Some(first) = cut.clone().next() else {
        return Err(format!("{title} has nothing to cut and cannot be laid"));
    };
    let same = |cloth: &&Cloth| {
        cloth.role == first.role || (cloth.name.is_some() && cloth.name == first.name)
    };
    Ok(cut.by_ref().filter(same).collect())
}

/// The one cloth that all pieces are cut from.
fn same_cloth(cloths: &[(&Cloth, &Draft)]) -> Result<JobCloth, String> {
    let Some(((first, draft), rest)) = cloths.split_first() else {
        return Err("there is nothing to lay".to_owned());
    };
    let called = |cloth: &Cloth| {
        cloth
            .name
            .as_deref()
            .map_or("none".to_owned(), |n| format!("`{n}`"))
    };
    let differs = |(cloth, _): &&(&Cloth, &Draft)| {
        cloth.name != first.name || (cloth.name.is_none() && cloth.properties != first.properties)
    };
    if let Some((other, of)) = rest.iter().find(differs) {
        return Err(format!(
            "one marker lies on one cloth, and {} is cut from {}, {} from {}: lay them apart, or \
             choose with `--cloth`",
            draft.title(),
            called(first),
            of.title(),
            called(other)
        ));
    }
    let name = first.name.as_deref().unwrap_or_default();
    lay::cloth(name, &first.doc, &first.properties).map_err(|_| match &first.name {
        Some(name) => no_width(name),
        None => format!(
            "the cloth of the role `{role}` of {title} does not say how wide it is: write `cloth \
             NAME {{ width 140 cm }}` and `{role} NAME` in the style, or choose one with `--cloth`",
            role = first.role,
            title = draft.title()
        ),
    })
}

fn no_width(name: &str) -> String {
    format!("the cloth `{name}` does not say how wide it is: write `width 140 cm` in it")
}

/// The cloth of that name, and a warning where the pieces were drafted for one that behaves
/// otherwise.
fn other_cloth(
    program: &Program,
    name: &str,
    cloths: &[(&Cloth, &Draft)],
) -> Result<(JobCloth, String), String> {
    let found = program.cloth(name).ok_or_else(|| {
        let known = program.cloths().iter().map(|cloth| &*cloth.name);
        missing("cloth", name, known)
    })?;
    let made = lay::cloth(name, &found.doc, &found.properties).map_err(|_| no_width(name))?;
    let hangs = |p: &Properties| [Property::Give, Property::Thickness].map(|which| p.get(which));
    let differs = |drafted: &Properties| {
        let mut pairs = hangs(&found.properties).into_iter().zip(hangs(drafted));
        pairs.any(|(own, drafted)| own.is_some() && own != drafted)
    };
    let drafted = cloths.iter().find(|(cloth, _)| differs(&cloth.properties));
    let warning = drafted.map_or(String::new(), |(cloth, draft)| {
        format!(
            "warning: the pieces of {} are drafted for a cloth of another give or thickness; \
             `--set {}={name}` drafts them for `{name}`\n",
            draft.title(),
            cloth.role
        )
    });
    Ok((made, warning))
}

/// The table of that name; the only one of the file without a name.
///
/// # Errors
/// In words, where there is none or it cannot be told.
pub fn table<'p>(program: &'p Program, name: Option<&str>) -> Result<Option<&'p Table>, String> {
    Ok(match (name, program.tables()) {
        (Some(name), tables) => Some(
            program
                .table(name)
                .ok_or_else(|| missing("table", name, tables.iter().map(|table| &*table.name)))?,
        ),
        (None, [only]) => Some(only),
        (None, []) => None,
        (None, _) => {
            return Err("the file has several tables: choose one with `--table`".to_owned());
        }
    })
}

/// There is none of that name.
fn missing<'a>(what: &str, name: &str, known: impl Iterator<Item = &'a str> + Clone) -> String {
    let message = format!("there is no {what} `{name}`");
    if let Some(near) = nearest(name, known.clone()) {
        return format!("{message}; did you mean `{near}`?");
    }
    let known: Vec<&str> = known.collect();
    if known.is_empty() {
        format!("{message}: the file declares none")
    } else {
        format!("{message}; there is {}", known.join(", "))
    }
}

fn near(text: &str) -> Result<f64, String> {
    measured(text.trim()).map_err(|why| format!("`--near {text}`: {why}"))
}

/// A flaw as it is measured on the cloth, from its end and from its selvedge, in the frame of the
/// job.
fn flaw(text: &str, job: &LayJob) -> Result<[f64; 4], String> {
    let parts: Vec<&str> = text.split(',').map(str::trim).collect();
    let [x, y, long, wide] = parts.as_slice() else {
        return Err(format!(
            "`--flaw {text}` needs four lengths, as in `--flaw \"80 cm,12 cm,3 cm,3 cm\"`"
        ));
    };
    let wrong = |why: String| format!("`--flaw {text}`: {why}");
    let (x, y) = (place(x).map_err(wrong)?, place(y).map_err(wrong)?);
    let (long, wide) = (
        measured(long).map_err(wrong)?,
        measured(wide).map_err(wrong)?,
    );
    let cloth = &job.cloth;
    if y >= cloth.width {
        return Err(wrong(format!(
            "it lies beside the cloth, which is {} mm wide",
            decimal(cloth.width, 1)
        )));
    }
    let margin = (cloth.width - cloth.usable_width) / 2.0;
    Ok([x - job.table.end_loss, y - margin, long, wide])
}

/// How far a flaw lies from the end or the selvedge of the cloth. Nought is no reading, but it is a
/// place.
fn place(text: &str) -> Result<f64, String> {
    let number = text.trim_end_matches(|c: char| c.is_alphabetic() || c == ' ');
    let unit = text.get(number.len()..).unwrap_or_default().trim();
    let is_known = unit.is_empty() || reading_unit(unit).is_some();
    match number.parse::<f64>() {
        Ok(value) if value == 0.0 && is_known => Ok(0.0),
        Ok(value) if value < 0.0 => Err(format!(
            "`{text}` is outside the cloth: its place is measured from the end and from the selvedge"
        )),
        _ => measured(text),
    }
}

/// A length that a job may hold.
fn measured(text: &str) -> Result<f64, String> {
    let value = length(text, None).map_err(|why| said(&why.message, &why.hint))?;
    if (LEAST..=LONGEST).contains(&value) {
        Ok(value)
    } else {
        Err(format!("`{text}` is not from {LEAST} mm to {LONGEST} mm"))
    }
}

fn said(message: &str, hint: &str) -> String {
    // What to do about blank cells does not belong here.
    let hint = hint.split(';').next().unwrap_or_default();
    let hint = hint.split(", or the unit into").next().unwrap_or_default();
    format!("{message}: {hint}")
}
