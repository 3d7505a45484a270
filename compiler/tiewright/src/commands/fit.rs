//! `tiewright fit`: a special for one wearer. A style from the shape `fitting` reckons length and
//! joins; what it measures under the name of a parameter of the tie's style is proposed for it. The
//! proposal is drafted and proven before it is shown.
//!
//! Nothing is reckoned here: the geometry stands in the shape, in the language. This only brings the
//! two styles together, each taking from the other what bears the same name.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use tiewright_core::diagnostic::Diagnostic;
use tiewright_core::draft::{Draft, Measure, ProofRow, Unit};
use tiewright_core::format::in_words;
use tiewright_core::source::Span;
use tiewright_core::{Compiled, Quantity, compile};

use super::Outcome;
use super::drafting::{Job, draft_all};
use super::knots::{about, list};
use super::proposal::{self, Composed};
use crate::cli::FitArgs;
use crate::console::Console;
use crate::files::{Staged, Written};
use crate::loader::{FileLoader, STDIN};
use crate::report;
use crate::table::{counted, measure_row, section};

/// The shape that reckons, and its parameters that have an option of their own.
const FITTING: &str = "fitting";
const NECK: &str = "neck-girth";
const HEIGHT: &str = "height";
const DROP: &str = "blade-drop";
const MOVES: &str = "knot-moves";
/// Its measure without which nothing is worth proposing: what has no first join is not tied in a knot.
const FIRST_JOIN: &str = "blade-length";
/// Its parameter that only measuring can tell.
const LENGTH_A_MOVE: &str = "length-a-move";

/// What settings from the command line are called by the compiler.
const OUTSIDE: &str = "--set";
/// A tie may change with its length, and what is reckoned for it with the tie. Twice is usual; what
/// has not settled after so many rounds never will.
const ROUNDS: usize = 8;

/// Why nothing is proposed.
enum Stop {
    /// Something in the files or in the proposal is wrong.
    Wrong(String),
    /// The command line leaves something open.
    Open(String),
}

type Fit<T> = Result<T, Stop>;

/// Proposes what `args` ask for, or lists the knots.
pub fn run(args: &FitArgs, console: &Console) -> Outcome {
    let Some(file) = args.file.as_deref().filter(|_| !args.knots) else {
        console.say(&list());
        return Outcome::Done;
    };
    match propose(args, file, console) {
        Ok(said) => {
            console.say(&said);
            Outcome::Done
        }
        Err(Stop::Wrong(why)) => {
            console.complain(&(why + "nothing is proposed\n"));
            Outcome::Wrong
        }
        Err(Stop::Open(why)) => {
            console.complain(&format!("error: {why}\n"));
            Outcome::Misused
        }
    }
}

/// The tie's style and what its special is called, and the style that reckons for it.
struct Names {
    file: String,
    tie: String,
    fitting: String,
    special: String,
}

fn propose(args: &FitArgs, file: &str, console: &Console) -> Fit<String> {
    let names = names(args, file, console)?;
    let target = Target::new(args, &names)?;
    let shared = shared(&names, console)?;
    let tie = measured(&names, &[], &shared, console)?;
    let mut fitted = Fitted::reckon(args, &names, &tie, &shared, console)?;
    for _ in 0..ROUNDS {
        let settings = fitted.settings(&names, &tie)?;
        let anew = match measured(&names, &settings, &shared, console) {
            Ok(tie) => Some(Fitted::reckon(args, &names, &tie, &shared, console)?),
            // The proof says better why it does not go together.
            Err(_) => None,
        };
        let settled = match &anew {
            Some(anew) => anew.settings(&names, &tie)? == settings,
            None => true,
        };
        fitted = anew.unwrap_or(fitted);
        if settled {
            let doc = fitted.doc(args);
            let text = proposal::style(&target.used, &names.special, &names.tie, &doc, &settings);
            return finished(args, &names, &target, &fitted, &text, console);
        }
    }
    Err(Stop::Wrong(format!(
        "error: the tapers of `{}` change with its length so much that its joins find no place\nset `taper-run` and `tail-taper-run` in it, so that they stay\n",
        names.tie
    )))
}

/// What is proposed, proven and written. What it was reckoned from is shown even if the tie does not
/// go together.
fn finished(
    args: &FitArgs,
    names: &Names,
    target: &Target,
    fitted: &Fitted,
    text: &str,
    console: &Console,
) -> Fit<String> {
    let shown = fitted.shown(args, names);
    match Proven::of(target, names, text, console) {
        Ok(proven) => Ok(shown + &proven.shown(names, text) + &target.write(text)?),
        Err(stop) => {
            console.say(&shown);
            Err(stop)
        }
    }
}

/// Which styles are meant.
fn names(args: &FitArgs, file: &str, console: &Console) -> Fit<Names> {
    if file == STDIN || file.contains(['"', '\n']) {
        let why = "`fit` needs a file whose name can stand in the `use` of another";
        return Err(Stop::Open(why.to_owned()));
    }
    let compiled = compile(file, &[], &FileLoader);
    stop_at_errors(&compiled, &compiled.diagnostics, console)?;
    let fittings = compiled.program.made_from(FITTING);
    let styles = compiled.program.styles();
    let ties = styles.iter().map(|style| &*style.name);
    let ties: Vec<&str> = ties.filter(|name| !fittings.contains(name)).collect();
    let tie = chosen("style", args.style.as_deref(), &ties, file)?;
    let fitting = match (&args.fitting, fittings.as_slice()) {
        (None, []) => FITTING.to_owned(),
        (wanted, _) => chosen("fitting", wanted.as_deref(), &fittings, file)?,
    };
    let ending = args.wearer.as_deref().unwrap_or("fitted");
    let special = args
        .name
        .clone()
        .unwrap_or_else(|| format!("{tie}-{ending}"));
    if styles.iter().any(|style| *style.name == *special) {
        return Err(Stop::Open(format!(
            "`{special}` is a style in {file} already: call the special something else with `--name`"
        )));
    }
    Ok(Names {
        file: file.to_owned(),
        tie,
        fitting,
        special,
    })
}

/// The one style meant, said by `--OPTION` or the only one there is.
fn chosen(option: &str, wanted: Option<&str>, there: &[&str], file: &str) -> Fit<String> {
    match (wanted, there) {
        (Some(name), _) if there.contains(&name) => Ok(name.to_owned()),
        (None, [one]) => Ok((*one).to_owned()),
        (_, []) => Err(Stop::Open(format!(
            "{file} holds no style for `--{option}`"
        ))),
        (Some(name), _) => Err(Stop::Open(format!(
            "`--{option} {name}` is none of {}",
            quoted(there)
        ))),
        (None, _) => Err(Stop::Open(format!(
            "say which is meant with `--{option}`: {}",
            quoted(there)
        ))),
    }
}

/// The parameters of the fitting that the tie has something of the same name and kind for.
fn shared(names: &Names, console: &Console) -> Fit<Vec<String>> {
    let (fitting, _) = names.reckoning(&[], &[], console)?;
    let tie = compile(&names.file, &[], &FileLoader);
    let there = tie.program.quantities(&names.tie);
    let style = names.reckoning_style();
    let own = fitting.program.quantities(&style);
    let has = |one: &&Quantity<'_>| {
        let mut there = there.iter();
        one.is_parameter && there.any(|other| (other.name, other.kind) == (one.name, one.kind))
    };
    Ok(own
        .iter()
        .filter(has)
        .map(|one| one.name.to_owned())
        .collect())
}

/// The tie with these settings, measured for the fitting.
fn measured(
    names: &Names,
    settings: &[(String, String)],
    shared: &[String],
    console: &Console,
) -> Fit<Draft> {
    let measures = shared
        .iter()
        .map(|name| ("measure".to_owned(), name.clone()));
    let lines: Vec<(String, String)> = settings.iter().cloned().chain(measures).collect();
    let text = proposal::style(&names.file, &names.special, &names.tie, "", &lines);
    let source = format!("measures of {}", names.tie);
    let loader = Composed {
        name: &source,
        text: &text,
    };
    let compiled = compile(&source, &[], &loader);
    stop_at_errors(&compiled, &compiled.diagnostics, console)?;
    let drafted = compiled.program.draft(&names.special, None);
    let failed = || wrong(&compiled, &drafted.diagnostics, console);
    drafted.draft.ok_or_else(failed)
}

impl Names {
    /// What the style that reckons is called.
    fn reckoning_style(&self) -> String {
        format!("{}-of-{}", self.fitting, self.special)
    }

    /// The style that reckons, with what it takes from the tie and what is asked for, and what its
    /// text is called.
    fn reckoning(
        &self,
        taken: &[&Measure],
        asked: &[String],
        console: &Console,
    ) -> Fit<(Compiled, String)> {
        let taken = proposal::exact(taken);
        let style = self.reckoning_style();
        let text = proposal::style(&self.file, &style, &self.fitting, "", &taken);
        let source = format!("fitting of {}", self.special);
        let loader = Composed {
            name: &source,
            text: &text,
        };
        let compiled = compile(&source, asked, &loader);
        stop_at_errors(&compiled, &compiled.diagnostics, console)?;
        Ok((compiled, source))
    }
}

/// The fitting, reckoned for a tie.
struct Fitted {
    draft: Draft,
    /// Names of the parameters that the fitting's style or the command line set.
    origins: Vec<(String, String)>,
}

impl Fitted {
    /// Reckons with what the tie has in place of the fitting's own of the same name.
    fn reckon(
        args: &FitArgs,
        names: &Names,
        tie: &Draft,
        shared: &[String],
        console: &Console,
    ) -> Fit<Fitted> {
        // Everything shared is printed by the tie as measured.
        let is_shared = |one: &&Measure| shared.iter().any(|name| **name == *one.name);
        let taken: Vec<&Measure> = tie.measures.iter().filter(is_shared).collect();
        let (compiled, source) = names.reckoning(&taken, &asked(args), console)?;
        let name = names.reckoning_style();
        let job = Job {
            style: name.as_str().into(),
            size: wearer(args, names, &compiled)?,
        };
        let set = compiled.program.set_at(&name, job.size.as_deref());
        known(&set)?;
        let origin = |(name, span): (&&str, &Span)| {
            let file = compiled.sources.get(span.file);
            let origin = match file.map_or("", |source| &source.name) {
                OUTSIDE => "asked for",
                file if file == source => &names.tie,
                file => file,
            };
            ((*name).to_owned(), origin.to_owned())
        };
        let origins = set.iter().map(origin).collect();
        let (mut drafts, diagnostics) = draft_all(&compiled.program, &[job], false);
        stop_at_errors(&compiled, &diagnostics, console)?;
        let draft = drafts.pop().flatten();
        let draft = draft.ok_or_else(|| wrong(&compiled, &diagnostics, console))?;
        Ok(Fitted { draft, origins })
    }

    /// Settings for the tie: what is measured under the name of a parameter of the tie, and is no
    /// parameter here.
    fn settings(&self, names: &Names, tie: &Draft) -> Fit<Vec<(String, String)>> {
        let is_in = |list: &[Measure], one: &Measure| {
            let same = |other: &Measure| other.name == one.name && other.unit == one.unit;
            list.iter().any(same)
        };
        let measures = self.draft.measures.iter();
        let proposed: Vec<&Measure> = measures
            .filter(|one| one.unit == Unit::Millimetre)
            .filter(|one| is_in(&tie.parameters, one) && !is_in(&self.draft.parameters, one))
            .collect();
        if !proposed.iter().any(|one| *one.name == *FIRST_JOIN) {
            return Err(Stop::Wrong(format!(
                "error: `{}` has no `{FIRST_JOIN}`: only a tie with a blade that is tied and a join under the collar is fitted\n",
                names.tie
            )));
        }
        Ok(proposal::readable(&proposed))
    }

    fn parameter(&self, name: &str) -> Option<&Measure> {
        self.draft.parameters.iter().find(|one| &*one.name == name)
    }

    fn origin(&self, name: &str) -> Option<&str> {
        let origin = self.origins.iter().find(|(set, _)| set == name);
        origin.map(|(_, origin)| origin.as_str())
    }

    /// The note of the proposed style.
    fn doc(&self, args: &FitArgs) -> String {
        let said = |name| {
            self.parameter(name)
                .map_or_else(String::new, |one| in_words(one.value, one.unit))
        };
        let wearer = args
            .wearer
            .as_ref()
            .map_or_else(String::new, |name| format!("{name}: "));
        format!(
            "{wearer}neck {}, blade drop {}, knot of {} moves",
            said(NECK),
            said(DROP),
            said(MOVES)
        )
    }

    /// Everything reckoned from, everything reckoned, and what only measuring can tell.
    fn shown(&self, args: &FitArgs, names: &Names) -> String {
        let mut out = format!(
            "{}, from {} by {}\n",
            names.special, names.tie, names.fitting
        );
        section(&mut out, "reckoned from", &self.draft.parameters, |one| {
            let mut row = measure_row(one);
            let origin = self.origin(&one.name).unwrap_or("unless set");
            row.insert(row.len() - 1, origin.to_owned());
            row
        });
        section(&mut out, "reckoned", &self.draft.measures, measure_row);
        out += &warned(&self.draft);
        if let Some(knot) = args.knot.as_ref().and_then(|meant| meant.knot.as_ref()) {
            out += &about(knot);
        }
        if let Some(one) = self.parameter(LENGTH_A_MOVE) {
            let said = in_words(one.value, one.unit);
            let _ = match self.origin(LENGTH_A_MOVE) {
                None => writeln!(
                    out,
                    "length a move of {said} is the house's own setting (common practice, no source): tie one and measure, and set `{LENGTH_A_MOVE}` in a style from `{FITTING}`"
                ),
                Some(origin) => writeln!(
                    out,
                    "length a move of {said} is the house's own setting (no source): {origin}"
                ),
            };
        }
        out
    }
}

/// The size of the fitting that keeps the wearer, if one is asked for.
fn wearer(args: &FitArgs, names: &Names, compiled: &Compiled) -> Fit<Option<Arc<str>>> {
    let Some(wanted) = args.wearer.as_deref() else {
        return Ok(None);
    };
    let styles = compiled.program.styles().iter();
    let sizes: Vec<Arc<str>> = styles.flat_map(|style| style.sizes.clone()).collect();
    if let Some(size) = sizes.iter().find(|size| ***size == *wanted) {
        return Ok(Some(size.clone()));
    }
    let why = format!("`{}` keeps no wearer `{wanted}`", names.fitting);
    Err(Stop::Open(match sizes.as_slice() {
        [] => format!("{why}: it has no sizes"),
        sizes => format!("{why}: it has {}", quoted(sizes)),
    }))
}

/// Somebody must have said whom the tie is for.
fn known(set: &BTreeMap<&str, Span>) -> Fit<()> {
    let options = [
        (&[NECK][..], "`--neck`"),
        (&[HEIGHT, DROP], "`--height` or `--drop`"),
    ];
    for (any, option) in options {
        if !any.iter().any(|name| set.contains_key(name)) {
            let why = format!("the wearer is not known: say it with {option}");
            return Err(Stop::Open(why));
        }
    }
    Ok(())
}

fn quoted(names: &[impl AsRef<str>]) -> String {
    let quoted = names.iter().map(|name| format!("`{}`", name.as_ref()));
    quoted.collect::<Vec<_>>().join(", ")
}

/// A line for each row of the proof that only advises and does not hold.
fn warned(draft: &Draft) -> String {
    let rows = draft.proof.iter().filter(|row| !row.holds);
    let line = |row: &ProofRow| format!("  but not \"{}\": {}\n", row.name, row.advice);
    rows.map(line).collect()
}

/// What the command line sets in the fitting.
fn asked(args: &FitArgs) -> Vec<String> {
    let moves = args.knot.as_ref().map(|meant| meant.moves.to_string());
    let options = [
        (NECK, &args.neck),
        (HEIGHT, &args.height),
        (DROP, &args.drop),
        (MOVES, &moves),
    ];
    let set = options
        .iter()
        .filter_map(|(name, value)| Some(format!("{name}={}", value.as_ref()?)));
    set.chain(args.set.iter().cloned()).collect()
}

/// The proposed style, drafted, its proof holding.
struct Proven {
    draft: Draft,
    /// Sizes it takes over from the tie that do not go together with it.
    apart: Vec<Arc<str>>,
}

impl Proven {
    fn of(target: &Target, names: &Names, text: &str, console: &Console) -> Fit<Proven> {
        let compiled = compile(
            &target.name,
            &[],
            &Composed {
                name: &target.name,
                text,
            },
        );
        stop_at_errors(&compiled, &compiled.diagnostics, console)?;
        let job = |size| Job {
            style: names.special.as_str().into(),
            size,
        };
        let (mut drafts, diagnostics) = draft_all(&compiled.program, &[job(None)], false);
        stop_at_errors(&compiled, &diagnostics, console)?;
        let Some(draft) = drafts.pop().flatten() else {
            return Err(wrong(&compiled, &diagnostics, console));
        };
        let styles = compiled.program.styles().iter();
        let sizes = styles.flat_map(|style| style.sizes.iter().cloned());
        let fails = |size: &Arc<str>| {
            let (_, found) = draft_all(&compiled.program, &[job(Some(size.clone()))], false);
            found.iter().any(Diagnostic::is_error)
        };
        let apart = sizes.filter(fails).collect();
        Ok(Proven { draft, apart })
    }

    fn shown(&self, names: &Names, text: &str) -> String {
        let rows = counted(self.draft.proof.len(), "row");
        let mut out = format!(
            "{} is drafted and its proof holds ({rows})\n",
            names.special
        );
        out += &warned(&self.draft);
        if !self.apart.is_empty() {
            let _ = writeln!(
                out,
                "  but not in the sizes it takes over from {}: {}",
                names.tie,
                quoted(&self.apart)
            );
        }
        format!("{out}\n{text}\n")
    }
}

/// Where the proposal would be saved.
struct Target {
    out: Option<PathBuf>,
    /// What it is called in messages.
    name: String,
    /// What it calls the file with the tie.
    used: String,
}

impl Target {
    fn new(args: &FitArgs, names: &Names) -> Fit<Target> {
        let Some(out) = &args.out else {
            return Ok(Target {
                out: None,
                name: format!("{}.tie", names.special),
                used: names.file.clone(),
            });
        };
        let used = proposal::as_seen_from(Path::new(&names.file), out)
            .map_err(|e| Stop::Wrong(format!("error: `{}`: {e}\n", out.display())))?;
        Ok(Target {
            out: Some(out.clone()),
            name: out.display().to_string(),
            used,
        })
    }

    /// Writes the text and says so, or says how to.
    fn write(&self, text: &str) -> Fit<String> {
        let Some(out) = &self.out else {
            return Ok("to keep it, name a file with `--out`\n".to_owned());
        };
        let name = &self.name;
        let failed = |why: String| Stop::Wrong(format!("error: {name} {why}\n"));
        let staged = Staged::new(out.clone(), text.as_bytes())
            .map_err(|e| failed(format!("cannot be written: {e}")))?;
        if staged.would_replace() {
            return Err(failed("is there already and says something else: name another file with `--out`, or take it away".to_owned()));
        }
        match staged.finish() {
            Ok(Written::Written) => Ok(format!("wrote {name}\n")),
            Ok(Written::Unchanged) => Ok(format!("unchanged {name}\n")),
            Err(e) => Err(failed(format!("cannot be written: {e}"))),
        }
    }
}

/// `Err` with everything that is wrong if any of it is an error.
fn stop_at_errors(compiled: &Compiled, diagnostics: &[Diagnostic], console: &Console) -> Fit<()> {
    if diagnostics.iter().any(Diagnostic::is_error) {
        return Err(wrong(compiled, diagnostics, console));
    }
    Ok(())
}

fn wrong(compiled: &Compiled, diagnostics: &[Diagnostic], console: &Console) -> Stop {
    Stop::Wrong(report::render(
        &compiled.sources,
        diagnostics,
        console.is_styled(),
    ))
}
