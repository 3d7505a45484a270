//! `tiewright plan`: an order book planned, its markers laid, and everything written that it is cut by.
//!
//! Jobs are written before the first marker is searched for, and each marker as soon as it is laid, so that
//! a run that was stopped goes on where it was. Then come drawings and papers, some at a time, and last the
//! plan itself, all its files or none. Never: which lays, or where a piece lies.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::paper::Document;
use tiewright_core::source::FileId;
use tiewright_core::{Compiled, compile};

use super::Outcome;
use super::delivery::{Done, Export, STDOUT, put_each, refuse};
use super::lay::{JOB, LAID, export, laid_before};
use super::laying::table as chosen_table;
use super::search::{searched, stopped};
use crate::cli::{LayFormat, PlanArgs, Together, Tolerance};
use crate::console::Console;
use crate::export::{dxf, html::html, pdf::pdf};
use crate::lay::field::number;
use crate::lay::job::Search;
use crate::lay::{Laid, Prepared, quick};
use crate::loader::{FileLoader, STDIN, table_bytes};
use crate::orders::book::{self, Book, Known};
use crate::orders::rolls::{self, Roll};
use crate::planning::articles::{Articles, articles};
use crate::planning::assign::Bundle;
use crate::planning::groups::groups;
use crate::planning::lengths::QuickMarkers;
use crate::planning::markers::{Marker, sealed};
use crate::planning::plan::{Asked, Lay, Planned, Unfit, planned, unfit};
use crate::planning::spreading::papers;
use crate::planning::store::allotted;
use crate::planning::sums::sums;
use crate::planning::text::{Told, report as told_as_text};
use crate::planning::{json, tables};
use crate::rows::findings::Findings;
use crate::rows::{Rows, as_text};
use crate::table::counted;
use crate::{parallel, report};

/// Seconds of the search for each marker, of which nothing is said.
const SECONDS: f64 = 5.0;

/// Files of an earlier plan that are named.
const MOST_NAMED: usize = 8;

/// Jobs made and written at a time: they are long.
const AT_ONCE: usize = 64;

/// Plans what `args` ask for.
pub fn run(args: &PlanArgs, console: &Console) -> Outcome {
    let stdins = [Some(&args.orders), Some(&args.styles), args.rolls.as_ref()];
    if stdins
        .iter()
        .flatten()
        .filter(|path| **path == STDIN)
        .count()
        > 1
    {
        console.complain("error: only one file can be read from the standard input\n");
        return Outcome::Misused;
    }
    if args.out == Path::new(STDOUT) {
        console.complain("error: a plan is many files: `--out` names the folder for them\n");
        return Outcome::Misused;
    }
    let compiled = compile(&args.styles, &[], &FileLoader);
    if compiled.diagnostics.iter().any(Diagnostic::is_error) {
        return refuse(console, &compiled, &compiled.diagnostics);
    }
    match Planner::new(args, compiled, console).and_then(|mut planner| planner.run()) {
        Ok(()) => Outcome::Done,
        Err(why) => {
            if !why.is_empty() {
                console.complain(&format!("error: {why}\n"));
            }
            Outcome::Wrong
        }
    }
}

/// Everything at hand for one run.
struct Planner<'a> {
    args: &'a PlanArgs,
    console: &'a Console,
    compiled: Compiled,
    cloths: Vec<Arc<str>>,
    /// The bytes of the order book, and what diagnostics call it.
    bytes: Vec<u8>,
    file: FileId,
    rolls: Option<Vec<Roll>>,
}

impl<'a> Planner<'a> {
    fn new(
        args: &'a PlanArgs,
        mut compiled: Compiled,
        console: &'a Console,
    ) -> Result<Self, String> {
        let names = compiled
            .program
            .cloths()
            .iter()
            .map(|cloth| cloth.name.clone());
        let cloths: Vec<Arc<str>> = names.collect();
        let bytes = table_bytes(&args.orders, "an order book")?;
        let file = compiled.sources.add(args.orders.as_str(), as_text(&bytes));
        let mut planner = Planner {
            args,
            console,
            compiled,
            cloths,
            bytes,
            file,
            rolls: None,
        };
        if let Some(path) = &args.rolls {
            planner.rolls = Some(planner.read_rolls(path)?);
        }
        Ok(planner)
    }

    fn read_rolls(&mut self, path: &str) -> Result<Vec<Roll>, String> {
        let bytes = table_bytes(path, "a table of rolls")?;
        let file = self.compiled.sources.add(path, as_text(&bytes));
        let store = rolls::read(&bytes, file, &self.cloths);
        if store.findings.is_empty() {
            return Ok(store.rolls);
        }
        self.complain(store.findings);
        Err("the table of rolls is wrong, and nothing was planned".to_owned())
    }

    /// Shows what is wrong with a table.
    fn complain(&self, findings: Findings) {
        let (shown, more) = findings.into_shown();
        let styled = self.console.is_styled();
        self.console
            .complain(&report::render(&self.compiled.sources, &shown, styled));
        if more > 0 {
            self.console
                .complain(&format!("and {more} more mistakes\n\n"));
        }
    }

    fn run(&mut self) -> Result<(), String> {
        let args = self.args;
        let program = &self.compiled.program;
        let known = Known {
            styles: program.styles(),
            cloths: &self.cloths,
        };
        let asked = Asked {
            table: chosen_table(program, args.table.as_deref())?,
            surplus: args.surplus,
            search: search(args),
        };
        let mut book = book::read(&self.bytes, self.file, known);
        let articles = articles(program, &book.wares);
        let markers = QuickMarkers::new(&articles.cuts, asked.job_table().gap);
        self.sort_out(&mut book, &articles, &markers, &asked)?;
        let mut together: Vec<Together> = Vec::new();
        for what in &args.together {
            if !together.contains(what) {
                together.push(*what);
            }
        }
        let groups = groups(&book, &articles, &together)?;
        let mut plan = planned(&articles, groups, &markers, &asked)?;
        if plan.lays.is_empty() {
            return Err("there is nothing to lay".to_owned());
        }
        let mut written = self.write_jobs(&mut plan, &articles, &asked)?;
        self.gather(&mut plan, &articles, &asked, &mut written)?;
        self.deliver(&book, &articles, &plan, &asked, written)
    }

    /// Writes a job for each marker.
    fn write_jobs(
        &self,
        plan: &mut Planned,
        articles: &Articles,
        asked: &Asked<'_>,
    ) -> Result<Done, String> {
        let mut written = Done::default();
        let numbers: Vec<usize> = (0..plan.markers.len()).collect();
        for numbers in numbers.chunks(AT_ONCE) {
            let of = |number: &usize| {
                let marker = plan.markers.get(*number)?;
                Some((*number, sealed(marker, plan, articles, asked)))
            };
            let made = parallel::map(numbers, of);
            let mut jobs = Vec::with_capacity(made.len());
            for (number, sealed) in made.into_iter().flatten() {
                let sealed = sealed?;
                if let Some(marker) = plan.markers.get_mut(number) {
                    marker.digest = sealed.digest;
                    jobs.push((marker.name.clone(), vec![file(JOB, sealed.text)]));
                }
            }
            written.add(put_each(&self.args.out, jobs)?);
        }
        Ok(written)
    }

    /// Refuses the lines that cannot be made or laid; goes on if all is well or may be left out.
    fn sort_out(
        &self,
        book: &mut Book,
        articles: &Articles,
        markers: &QuickMarkers<'_>,
        asked: &Asked<'_>,
    ) -> Result<(), String> {
        let said = &articles.diagnostics;
        let styled = self.console.is_styled();
        self.console
            .complain(&report::render(&self.compiled.sources, said, styled));
        let unfit: BTreeMap<(usize, usize), Unfit> = unfit(articles, markers, asked)
            .into_iter()
            .map(|one| (one.part, one))
            .collect();
        let rows = Rows::new(&self.bytes, self.file);
        book.refuse(|line| {
            let row = rows.row(line.start);
            let Some(made) = articles.made.get(line.ware).and_then(Option::as_ref) else {
                let message = "this article cannot be planned, since its pattern cannot be drafted";
                let hint =
                    "put the pattern right first; `tiewright check` tells what is wrong with it";
                return Some(row.error(Code::NoDraft, message).hint(hint));
            };
            if made.parts.is_empty() {
                let message = "no cloth with a width is named for anything of this article";
                let hint = "name one in the column `cloth` or in the style, and state its `width`";
                return Some(row.error(Code::NoWidth, message).hint(hint));
            }
            let mut parts = made.parts.iter();
            let unfit = parts.find_map(|part| unfit.get(&(part.cut, part.stuff)))?;
            let hint = if unfit.code == Code::LongerThanTable {
                "cut it on a longer table, or order a smaller size"
            } else {
                "order a wider cloth or a smaller size"
            };
            Some(row.error(unfit.code, unfit.why.as_str()).hint(hint))
        });
        let (rows, refused, wrong) = (book.rows, book.refused(), !book.findings.is_empty());
        self.complain(std::mem::take(&mut book.findings));
        let rows = counted(usize::try_from(rows).unwrap_or(usize::MAX), "row");
        if book.lines.is_empty() {
            return Err(match refused {
                // What is wrong with the table is told.
                0 if wrong => String::new(),
                0 => "there is no row to plan".to_owned(),
                _ => format!("none of {rows} can be planned"),
            });
        }
        if wrong && !self.args.good_only {
            return Err(format!(
                "{refused} of {rows} cannot be planned, and nothing was; put them right, or plan the \
                 others with `--good-only`"
            ));
        }
        if refused > 0 {
            let good = book.lines.len();
            self.console
                .complain(&format!("{refused} of {rows} left out, {good} planned\n\n"));
        }
        Ok(())
    }

    /// Takes the markers that are laid already, and lays the others.
    fn gather(
        &self,
        plan: &mut Planned,
        articles: &Articles,
        asked: &Asked<'_>,
        written: &mut Done,
    ) -> Result<(), String> {
        for number in 0..plan.markers.len() {
            let laid = self.gathered(number, plan, articles, asked, written)?;
            if let Some(marker) = plan.markers.get_mut(number) {
                marker.laid = laid;
            }
        }
        Ok(())
    }

    /// The marker of this number as it is laid; none where it is to be laid elsewhere and is not yet.
    fn gathered(
        &self,
        number: usize,
        plan: &Planned,
        articles: &Articles,
        asked: &Asked<'_>,
        written: &mut Done,
    ) -> Result<Option<Laid>, String> {
        let Some(marker) = plan.markers.get(number) else {
            return Ok(None);
        };
        let out = &self.args.out;
        let is_there = out.join(format!("{}{LAID}", marker.name)).exists();
        if self.args.jobs && !is_there {
            return Ok(None);
        }
        let sealed = sealed(marker, plan, articles, asked)?;
        let prepared = Prepared::new(&sealed)?;
        let before = laid_before(out, &sealed, &prepared);
        if self.args.jobs {
            return Ok(before);
        }
        if let Some(laid) = before {
            return self.kept(marker, &prepared, laid, written).map(Some);
        }
        let count = plan.markers.len();
        self.console
            .complain(&format!("laying {} of {count}\n", marker.name));
        let laid = searched(&prepared, None, None, self.console)?;
        let laid = self.kept(marker, &prepared, laid, written)?;
        // Else all others would be laid in haste, and never again.
        if stopped() {
            return Err(format!(
                "stopped at {} of {count}; the markers so far are kept, and the same command goes on from \
                 there",
                marker.name
            ));
        }
        Ok(Some(laid))
    }

    /// Keeps a marker, or the one the plan reckons with if that is shorter: a search may end too soon to
    /// come to it, and the table may be no longer. Returns what is kept.
    fn kept(
        &self,
        marker: &Marker,
        prepared: &Prepared<'_>,
        laid: Laid,
        written: &mut Done,
    ) -> Result<Laid, String> {
        let out = &self.args.out;
        let laid = no_longer(laid, marker.planned, prepared)?;
        let files = vec![file(LAID, laid.text()?)];
        written.add(put_each(out, vec![(marker.name.clone(), files)])?);
        // As it stands in the file, so that the next run finds the same numbers.
        Ok(laid_before(out, prepared.sealed, prepared).unwrap_or(laid))
    }

    /// Writes and says everything.
    fn deliver(
        &self,
        book: &Book,
        articles: &Articles,
        plan: &Planned,
        asked: &Asked<'_>,
        mut written: Done,
    ) -> Result<(), String> {
        let sums = sums(book, articles, plan, asked);
        let allotted = self
            .rolls
            .as_ref()
            .map(|rolls| allotted(plan, articles, asked, rolls));
        let told = Told {
            book,
            articles,
            planned: plan,
            asked,
            sums: &sums,
            allotted: allotted.as_ref(),
        };
        if !self.args.jobs {
            written.add(self.of_lays(&told)?);
        }
        let files = vec![(
            "plan".to_owned(),
            vec![
                file(".csv", tables::lays(&told)),
                file("-bundles.csv", tables::bundles(&told)),
                file("-cloths.csv", tables::cloths(&told)),
                file(".json", json::json(&told)?),
            ],
        )];
        written.add(put_each(&self.args.out, files)?);
        self.console
            .say(&(told_as_text(&told) + &written.listing(&self.args.out) + &self.next(plan)));
        self.console.complain(&left_over(&self.args.out, plan));
        Ok(())
    }

    /// Writes the markers and the papers of the lays, some at a time: there may be many.
    fn of_lays(&self, told: &Told<'_>) -> Result<Done, String> {
        let mut written = Done::default();
        for markers in told.planned.markers.chunks(AT_ONCE) {
            let made = parallel::map(markers, |marker| {
                let files = self.of_marker(told, marker)?;
                Ok((marker.name.clone(), files))
            });
            let files = made.into_iter().collect::<Result<_, String>>()?;
            written.add(put_each(&self.args.out, files)?);
        }
        let lays = told.planned.lays.iter().zip(&told.sums.bundles);
        let lays: Vec<(usize, (&Lay, &Vec<Bundle>))> = lays.enumerate().collect();
        for lays in lays.chunks(AT_ONCE) {
            let made = parallel::map(lays, |(index, (lay, bundles))| {
                let document = papers(told, *index, lay, bundles);
                Ok((lay.name.clone(), self.of_paper(&document)?))
            });
            let files = made.into_iter().collect::<Result<_, String>>()?;
            written.add(put_each(&self.args.out, files)?);
        }
        Ok(written)
    }

    /// What is to be done next.
    fn next(&self, plan: &Planned) -> String {
        let path = |name: Option<&String>| {
            let path = self.args.out.join(name.map_or("", |name| name));
            path.display().to_string()
        };
        if self.args.jobs {
            let path = path(plan.markers.first().map(|marker| &marker.name));
            format!(
                "next: lay each marker, `tiewright lay {path}{JOB}` and so on; then the same command without \
                 `--jobs`\n"
            )
        } else {
            let path = path(plan.lays.first().map(|lay| &lay.name));
            format!(
                "next: print {path}-papers.pdf and so on: they say how to spread and bundle each lay\n"
            )
        }
    }

    /// The papers of a lay.
    fn of_paper(&self, document: &Document) -> Result<Vec<Export>, String> {
        let size = self.args.paper.into();
        Ok(vec![
            file("-papers.html", html(document, size)),
            Export {
                ending: "-papers.pdf",
                bytes: pdf(document, size).map_err(|e| e.to_string())?,
            },
        ])
    }

    /// A marker in the forms asked for; none if it is not laid.
    fn of_marker(&self, told: &Told<'_>, marker: &Marker) -> Result<Vec<Export>, String> {
        let Some(laid) = &marker.laid else {
            return Ok(Vec::new());
        };
        let sealed = sealed(marker, told.planned, told.articles, told.asked)?;
        let mut formats = self.args.formats.clone();
        formats.sort_unstable();
        formats.dedup();
        let tolerance = Tolerance(dxf::DEFAULT_TOLERANCE);
        // The laid file is there already.
        let formats = formats.iter().filter(|format| **format != LayFormat::Json);
        formats
            .map(|format| export(&sealed.job, laid, *format, tolerance))
            .collect()
    }
}

fn file(ending: &'static str, text: String) -> Export {
    Export {
        ending,
        bytes: text.into_bytes(),
    }
}

/// `laid`, or the quick marker if that is shorter and `laid` is longer than `planned` mm. A plan in haste
/// takes quick markers in haste too.
fn no_longer(laid: Laid, planned: f64, prepared: &Prepared<'_>) -> Result<Laid, String> {
    let mut best = laid;
    for in_haste in [false, true] {
        if best.length <= number(planned) {
            break;
        }
        let other = quick(prepared, &|| in_haste)?;
        if other.length < best.length {
            best = other;
        }
    }
    Ok(best)
}

fn search(args: &PlanArgs) -> Search {
    Search {
        seed: args.seed,
        seconds: args.seconds.or(args.steps.is_none().then_some(SECONDS)),
        steps: args.steps,
    }
}

/// A word on files in the folder that are of no marker and no lay of the plan: of an earlier one, and not to
/// be cut or spread by.
fn left_over(out: &Path, plan: &Planned) -> String {
    let mut names: BTreeSet<String> = BTreeSet::new();
    names.extend(plan.markers.iter().map(|marker| marker.name.clone()));
    names.extend(plan.lays.iter().map(|lay| format!("{}-papers", lay.name)));
    let found = std::fs::read_dir(out).into_iter().flatten().flatten();
    let mut old: Vec<String> = found
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .filter(|name| {
            let stem = name.split('.').next().unwrap_or_default();
            let is_marker = stem.strip_prefix("marker-").is_some_and(is_number);
            let lay = stem
                .strip_suffix("-papers")
                .and_then(|stem| stem.strip_prefix("lay-"));
            (is_marker || lay.is_some_and(is_number)) && !names.contains(stem)
        })
        .collect();
    old.sort_unstable();
    if old.is_empty() {
        return String::new();
    }
    let named = old
        .iter()
        .take(MOST_NAMED)
        .map(String::as_str)
        .collect::<Vec<_>>()
        .join(", ");
    let more = match old.len().checked_sub(MOST_NAMED) {
        Some(more @ 1..) => format!(" and {more} more"),
        _ => String::new(),
    };
    format!(
        "warning: in the folder there are {} of an earlier plan, not to be cut or spread by: {named}{more}; take \
         them out, or write to another folder\n",
        counted(old.len(), "file"),
    )
}

fn is_number(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}
