//! The command line: what may be said and what the help texts say about it.

mod examples;

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use tiewright_core::format::INCH;
use tiewright_core::knots::{self, Meant, NoKnot};
use tiewright_core::names::nearest;

use self::examples::{
    CHECK_EXAMPLES, DRAFT_EXAMPLES, FIT_EXAMPLES, GOLDEN_EXAMPLES, HELP_WIDTH, LAY_EXAMPLES,
    PLAN_EXAMPLES, READINGS_EXAMPLES, SHEET_EXAMPLES, examples,
};
use crate::export::paper_size::PaperSize;
use crate::export::{dxf, png};
use crate::lay::field::LONGEST_SEARCH;
use crate::readings::cell::{Unit, unit};

/// The finest and the coarsest tolerance accepted, mm: below, files grow without use; above, the
/// pieces no longer fit each other.
const TOLERANCES: (f64, f64) = (0.001, 5.0);
/// The coarsest and the finest picture accepted, picture points to a millimetre.
const PIXELS: (f64, f64) = (0.1, 100.0);

/// Drafts neckwear: from a shape file to pieces to cut, proven by folding them again.
#[derive(Debug, Parser)]
#[command(name = "tiewright", version, after_help = examples(), max_term_width = HELP_WIDTH)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What the program can do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Draft the styles of a file and write the patterns
    Draft(DraftArgs),
    /// Write the papers to work by: what to cut, how to make it, what to measure
    Sheet(SheetArgs),
    /// Lay pieces on a length of cloth, as short as can be, and write the marker
    Lay(LayArgs),
    /// Draft every style in every size, fold it again and report what is wrong; write nothing
    Check(CheckArgs),
    /// Judge readings of finished ties: which are outside, mean, spread; or write a blank form for them
    Readings(ReadingsArgs),
    /// Propose length and joins of a special from the wearer's neck, their height or the wanted drop,
    /// and their knot
    Fit(FitArgs),
    /// Plan the cutting of an order book: markers, plies, spreading lists, tickets
    Plan(PlanArgs),
    /// Compare drafts with outlines kept from before, to see what a change to a shape does
    Golden(GoldenArgs),
}

/// What `draft` is told.
#[derive(Debug, Args)]
#[command(after_help = DRAFT_EXAMPLES)]
pub struct DraftArgs {
    /// The shape file to draft; `-` reads it from the standard input
    pub file: String,

    /// Draft this style only [default: every style in the file]
    #[arg(long, value_name = "NAME")]
    pub style: Option<String>,

    /// Draft this named size, or `all` named sizes [default: the style as it stands]
    #[arg(long, value_name = "SIZE")]
    pub size: Option<String>,

    /// Set a parameter for this run only, such as `length=58 in`; may be given several times
    #[arg(long = "set", value_name = "NAME=VALUE")]
    pub set: Vec<String>,

    /// What to write, separated by commas [default: dxf,svg]
    #[arg(long = "as", value_name = "FORMATS", value_delimiter = ',', hide_default_value = true,
          default_values_t = [Format::Dxf, Format::Svg])]
    pub formats: Vec<Format>,

    /// The folder to write to, made if need be; `-` writes a single file to the standard output
    #[arg(long, value_name = "FOLDER", default_value = "out")]
    pub out: PathBuf,

    /// How far the straight lines that stand for a curve in DXF may be off it, mm unless `in` is
    /// said
    #[arg(long, value_name = "LENGTH", default_value_t = Tolerance(dxf::DEFAULT_TOLERANCE), value_parser = tolerance)]
    pub tolerance: Tolerance,

    /// How fine a PNG picture is, in picture points to the millimetre
    #[arg(long, value_name = "NUMBER", default_value_t = png::DEFAULT_PIXELS_PER_MM, value_parser = pixels)]
    pub pixels_per_mm: f64,

    /// Write the patterns even though the proof fails, to see what is wrong with them
    #[arg(long)]
    pub unproven: bool,
}

/// What `sheet` is told.
#[derive(Debug, Args)]
#[command(after_help = SHEET_EXAMPLES)]
pub struct SheetArgs {
    /// The shape file to draft; `-` reads it from the standard input
    pub file: String,

    /// The papers of this style only [default: every style in the file]
    #[arg(long, value_name = "NAME")]
    pub style: Option<String>,

    /// The papers of this named size, or of `all` named sizes [default: the style as it stands]
    #[arg(long, value_name = "SIZE")]
    pub size: Option<String>,

    /// Set a parameter for this run only, such as `length=58 in`; may be given several times
    #[arg(long = "set", value_name = "NAME=VALUE")]
    pub set: Vec<String>,

    /// The paper to print on
    #[arg(long, value_name = "PAPER", default_value = "a4")]
    pub paper: Paper,

    /// What to write, separated by commas [default: html,pdf]
    #[arg(long = "as", value_name = "FORMATS", value_delimiter = ',', hide_default_value = true,
          default_values_t = [PaperFormat::Html, PaperFormat::Pdf])]
    pub formats: Vec<PaperFormat>,

    /// The folder to write to, made if need be; `-` writes a single file to the standard output
    #[arg(long, value_name = "FOLDER", default_value = "out")]
    pub out: PathBuf,
}

/// What `lay` is told.
#[derive(Debug, Args)]
#[command(after_help = LAY_EXAMPLES)]
pub struct LayArgs {
    /// The shape file, or a job file (`NAME.job.json`) written before
    pub file: String,

    /// How many ties: `12` where the file has one style, `club=12`, `club/long=4`; may be given
    /// several times
    #[arg(
        long = "ties",
        value_name = "STYLE[/SIZE]=COUNT",
        conflicts_with = "again"
    )]
    pub ties: Vec<String>,

    /// The pieces of this cloth role only [default: those cut from the cloth of the first role]
    #[arg(long, value_name = "ROLE")]
    pub role: Option<String>,

    /// Lay them on this cloth of the file [default: the one the style names]
    #[arg(long, value_name = "NAME")]
    pub cloth: Option<String>,

    /// The cutting table of the file, for gap, end loss and longest ply [default: the only one, or
    /// none]
    #[arg(long, value_name = "NAME")]
    pub table: Option<String>,

    /// The pieces of one tie no further apart than this along the cloth
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    pub near: Option<String>,

    /// Keep clear of a flaw: from the end of the cloth, from the selvedge, how long, how wide; may be
    /// given several times
    #[arg(
        long = "flaw",
        value_name = "X,Y,LENGTH,WIDTH",
        allow_hyphen_values = true
    )]
    pub flaws: Vec<String>,

    /// Lay all copies of this piece on the same place of the cloth's repeat; may be given several
    /// times
    #[arg(long = "tie-to-repeat", value_name = "PIECE")]
    pub tied: Vec<String>,

    /// Set a parameter for this run only, such as `length=58 in`; may be given several times
    #[arg(long = "set", value_name = "NAME=VALUE")]
    pub set: Vec<String>,

    /// Seconds to search [default: what a job file says; else 10, or as long as the steps take]
    #[arg(long, value_name = "NUMBER", value_parser = seconds, allow_negative_numbers = true)]
    pub seconds: Option<f64>,

    /// How many steps to search [default: no limit]
    #[arg(long, value_name = "NUMBER")]
    pub steps: Option<u64>,

    /// Where the drawing of lots starts: another number, another search [default: 0]
    #[arg(long, value_name = "NUMBER")]
    pub seed: Option<u64>,

    /// What to write, separated by commas [default: dxf,svg]
    #[arg(long = "as", value_name = "FORMATS", value_delimiter = ',', hide_default_value = true,
          default_values_t = [LayFormat::Dxf, LayFormat::Svg])]
    pub formats: Vec<LayFormat>,

    /// The folder to write to, made if need be; `-` writes a single file to the standard output
    /// [default: out, or where the job file is]
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,

    /// What to call the marker [default: the style, or the file, with `-marker`]
    #[arg(long, value_name = "NAME")]
    pub name: Option<String>,

    /// How far the straight lines that stand for a curve in DXF may be off it, mm unless `in` is
    /// said
    #[arg(long, value_name = "LENGTH", default_value_t = Tolerance(dxf::DEFAULT_TOLERANCE), value_parser = tolerance)]
    pub tolerance: Tolerance,

    /// Write the job, to be laid later or elsewhere, and lay nothing
    #[arg(long)]
    pub job: bool,

    /// Go on from what a job file was laid as, for a shorter marker
    #[arg(long, conflicts_with = "job")]
    pub again: bool,
}

/// What a marker can be written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub enum LayFormat {
    /// For the cutter, at full size
    Dxf,
    /// To print at full size
    Svg,
    /// A picture, to a smaller scale
    Png,
    /// One page: at full size as far as PDF goes (5.08 m), else to a smaller scale
    Pdf,
    /// Where every piece lies, for other programs
    Json,
}

impl std::fmt::Display for LayFormat {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            LayFormat::Dxf => "dxf",
            LayFormat::Svg => "svg",
            LayFormat::Png => "png",
            LayFormat::Pdf => "pdf",
            LayFormat::Json => "json",
        })
    }
}

/// What `check` is told.
#[derive(Debug, Args)]
#[command(after_help = CHECK_EXAMPLES)]
pub struct CheckArgs {
    /// The shape files to check
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<String>,
}

/// What `readings` is told.
#[derive(Debug, Args)]
#[command(after_help = READINGS_EXAMPLES)]
pub struct ReadingsArgs {
    /// The shape file the ties were made to
    pub file: String,

    /// The table of readings, as comma-separated values; `-` reads it from the standard input
    #[arg(required_unless_present = "form", conflicts_with = "form")]
    pub readings: Option<String>,

    /// Write a blank form for readings instead: to the folder of `--out`, or the standard output
    #[arg(long)]
    pub form: bool,

    /// The style of rows that do not name one; with `--form` this style only
    #[arg(long, value_name = "NAME")]
    pub style: Option<String>,

    /// The size of rows that do not name one; with `--form` this size only [default: the style as it
    /// stands]
    #[arg(long, value_name = "SIZE")]
    pub size: Option<String>,

    /// Set a parameter for this run only, such as `length=58 in`; may be given several times
    #[arg(long = "set", value_name = "NAME=VALUE")]
    pub set: Vec<String>,

    /// The unit of lengths on the screen, in the plot and on the form; tables are in mm
    #[arg(long, value_name = "UNIT", default_value = "mm", value_parser = length_unit)]
    pub unit: Unit,

    /// The folder to write to, made if need be [default: nothing is written]
    #[arg(long, value_name = "FOLDER")]
    pub out: Option<PathBuf>,

    /// End with exit code 1 when a tie is outside a tolerance
    #[arg(long)]
    pub strict: bool,
}

/// What `fit` is told.
#[derive(Debug, Args)]
#[command(after_help = FIT_EXAMPLES)]
pub struct FitArgs {
    /// The shape file with the style to make the special from
    #[arg(required_unless_present = "knots")]
    pub file: Option<String>,

    /// The style to make it from [default: the one in the file]
    #[arg(long, value_name = "NAME")]
    pub style: Option<String>,

    /// The neck, round it just below the Adam's apple, such as `16 in`
    #[arg(long, value_name = "LENGTH")]
    pub neck: Option<String>,

    /// The wearer's height, such as `74 in`; how far the blade drops follows from it
    #[arg(long, value_name = "LENGTH", conflicts_with = "drop")]
    pub height: Option<String>,

    /// How far the blade is to drop, from the lower edge of the knot to the front point
    #[arg(long, value_name = "LENGTH")]
    pub drop: Option<String>,

    /// The knot: its name, its number of moves, or the moves as in "Li Ro Li Co T" [default:
    /// four-in-hand]
    #[arg(long, value_name = "KNOT", value_parser = knot)]
    pub knot: Option<Meant>,

    /// Set another parameter of the fitting, such as `length-a-move=2 in`; may be given several times
    #[arg(long = "set", value_name = "NAME=VALUE")]
    pub set: Vec<String>,

    /// A wearer kept as a size of the style from `fitting`
    #[arg(long, value_name = "SIZE")]
    pub wearer: Option<String>,

    /// The style from `fitting` that holds the settings of the house [default: the one in the file or
    /// in those it uses]
    #[arg(long, value_name = "NAME")]
    pub fitting: Option<String>,

    /// What to call the proposed style [default: the style with `-fitted`, or with the wearer]
    #[arg(long, value_name = "NAME")]
    pub name: Option<String>,

    /// The file to write the proposed style to; one that says something else is never overwritten
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,

    /// List every knot with its moves
    #[arg(long)]
    pub knots: bool,
}

/// What `plan` is told.
#[derive(Debug, Args)]
#[command(after_help = PLAN_EXAMPLES)]
pub struct PlanArgs {
    /// The order book, as comma-separated values; `-` reads it from the standard input
    pub orders: String,

    /// The shape file with the styles, cloths and tables
    #[arg(long, value_name = "FILE")]
    pub styles: String,

    /// The table that is cut on [default: the one in the file; where there is none, no limits]
    #[arg(long, value_name = "NAME")]
    pub table: Option<String>,

    /// What orders must agree in to be cut together, separated by commas; width, direction, bias and
    /// repeat of the cloths they must always
    #[arg(
        long,
        value_name = "WHAT",
        value_delimiter = ',',
        default_value = "customer,shape"
    )]
    pub together: Vec<Together>,

    /// How many of one article in one cloth may be cut too many, where that saves work
    #[arg(long, value_name = "NUMBER", default_value_t = 0, value_parser = surplus, allow_negative_numbers = true)]
    pub surplus: u32,

    /// The rolls in store, as comma-separated values: tells which plies come off which roll
    #[arg(long, value_name = "FILE")]
    pub rolls: Option<String>,

    /// Seconds to search for each marker [default: 5, or as long as the steps take]
    #[arg(long, value_name = "NUMBER", value_parser = seconds, allow_negative_numbers = true)]
    pub seconds: Option<f64>,

    /// Steps to search for each marker: the same markers on every machine [default: no limit]
    #[arg(long, value_name = "NUMBER")]
    pub steps: Option<u64>,

    /// Where the drawing of lots starts: another number, another search
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    pub seed: u64,

    /// What to write of each marker, separated by commas [default: dxf,svg]
    #[arg(long = "as", value_name = "FORMATS", value_delimiter = ',', hide_default_value = true,
          default_values_t = [LayFormat::Dxf, LayFormat::Svg])]
    pub formats: Vec<LayFormat>,

    /// Write the plan and a job for each marker, and search for none: to be laid elsewhere, by
    /// `tiewright lay`; once they are, the same command without this gathers them
    #[arg(long)]
    pub jobs: bool,

    /// Plan the rows that are good, though others are wrong
    #[arg(long)]
    pub good_only: bool,

    /// The paper that spreading lists and tickets are printed on
    #[arg(long, value_name = "PAPER", default_value = "a4")]
    pub paper: Paper,

    /// The folder to write to, made if need be
    #[arg(long, value_name = "FOLDER", default_value = "out")]
    pub out: PathBuf,
}

/// What orders agree in that are cut together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub enum Together {
    /// One customer
    Customer,
    /// Styles made from one shape
    Shape,
    /// One style
    Style,
    /// One cloth
    Cloth,
    /// One day they are due
    Due,
    /// One order
    Order,
}

impl Together {
    /// The word it is said by.
    pub fn as_str(self) -> &'static str {
        match self {
            Together::Customer => "customer",
            Together::Shape => "shape",
            Together::Style => "style",
            Together::Cloth => "cloth",
            Together::Due => "due",
            Together::Order => "order",
        }
    }
}

/// What `golden` is told.
#[derive(Debug, Args)]
#[command(after_help = GOLDEN_EXAMPLES)]
pub struct GoldenArgs {
    /// Keep the outlines as they are now, in place of those kept before
    #[arg(long)]
    pub accept: bool,

    /// The folder with the shape files
    #[arg(value_name = "SHAPES", default_value = "examples")]
    pub examples: PathBuf,

    /// The folder with the outlines kept
    #[arg(value_name = "KEPT", default_value = "golden")]
    pub golden: PathBuf,
}

/// What can be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub enum Format {
    /// For the cutter and other pattern programs, at full size
    Dxf,
    /// The pattern to print at full size
    Svg,
    /// A picture of the pattern, for the screen
    Png,
    /// Measures, pieces and proof for other programs
    Json,
    /// The pieces as plain text, to compare two drafts line by line
    Outline,
    /// A picture of the finished work, folded: face and back; with `png` as PNG too
    Folded,
    /// A picture of all sizes of a style, nested; with `png` as PNG too
    Nested,
    /// The measures of a style in all its sizes, for a spreadsheet (CSV)
    Table,
}

impl Format {
    /// Whether it is measures and pieces as data, which a draft without pieces has too, and no drawing.
    pub fn is_data(self) -> bool {
        matches!(self, Format::Json | Format::Outline | Format::Table)
    }
}

impl std::fmt::Display for Format {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Format::Dxf => "dxf",
            Format::Svg => "svg",
            Format::Png => "png",
            Format::Json => "json",
            Format::Outline => "outline",
            Format::Folded => "folded",
            Format::Nested => "nested",
            Format::Table => "table",
        })
    }
}

/// The paper to print on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Paper {
    /// 210 by 297 mm
    A4,
    /// 8 1/2 by 11 in
    Letter,
}

impl From<Paper> for PaperSize {
    fn from(paper: Paper) -> PaperSize {
        match paper {
            Paper::A4 => PaperSize::A4,
            Paper::Letter => PaperSize::Letter,
        }
    }
}

/// What papers can be written as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub enum PaperFormat {
    /// For the screen, to read or print from a browser
    Html,
    /// To print
    Pdf,
}

impl std::fmt::Display for PaperFormat {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            PaperFormat::Html => "html",
            PaperFormat::Pdf => "pdf",
        })
    }
}

/// A length in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance(pub f64);

impl std::fmt::Display for Tolerance {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}mm", self.0)
    }
}

/// A length with or without its unit: `0.05mm`, `0.05 mm`, `0.002in`, `0.05`.
fn tolerance(text: &str) -> Result<Tolerance, String> {
    let text = text.trim();
    let (digits, unit) = match (text.strip_suffix("mm"), text.strip_suffix("in")) {
        (Some(digits), _) => (digits, 1.0),
        (_, Some(digits)) => (digits, INCH),
        _ => (text, 1.0),
    };
    let value: f64 = digits
        .trim()
        .parse()
        .map_err(|_| "not a length such as 0.05mm")?;
    let (least, greatest) = TOLERANCES;
    let millimetres = value * unit;
    if (least..=greatest).contains(&millimetres) {
        Ok(Tolerance(millimetres))
    } else {
        Err(format!("must be from {least} mm to {greatest} mm"))
    }
}

fn surplus(text: &str) -> Result<u32, String> {
    let why = "must be a whole number of ties, 0 or more";
    text.trim().parse().map_err(|_| why.to_owned())
}

fn seconds(text: &str) -> Result<f64, String> {
    let value: f64 = text.trim().parse().map_err(|_| "not a number")?;
    if (0.0..=LONGEST_SEARCH).contains(&value) {
        Ok(value)
    } else {
        Err(format!("must be from 0 to {LONGEST_SEARCH}"))
    }
}

fn length_unit(name: &str) -> Result<Unit, String> {
    unit(name).ok_or_else(|| "choose mm, cm, m or in".to_owned())
}

/// A knot by its name, its number of moves, or its moves.
fn knot(text: &str) -> Result<Meant, String> {
    let (fewest, most) = knots::MOVES;
    let why = match knots::meant(text) {
        Ok(meant) => return Ok(meant),
        Err(NoKnot::Moves) => format!("a knot has from {fewest} to {most} moves"),
        Err(NoKnot::Sequence) => {
            format!(
                "no knot of {fewest} to {most} moves goes so: it starts left, ends `Ro Li Co T` or `Lo Ri Co T`, and never stays where it is"
            )
        }
        Err(NoKnot::Name) => match nearest(text, knots::names()) {
            Some(near) => format!("no knot is called so; did you mean `{near}`?"),
            None => {
                let names: Vec<&str> = knots::names().collect();
                format!(
                    "no knot is called so; known are {}, a number of moves, and moves as in \"Li Ro Li Co T\"",
                    names.join(", ")
                )
            }
        },
    };
    Err(format!("{why}; `tiewright fit --knots` lists them all"))
}

fn pixels(text: &str) -> Result<f64, String> {
    let value: f64 = text.trim().parse().map_err(|_| "not a number")?;
    let (least, greatest) = PIXELS;
    if (least..=greatest).contains(&value) {
        Ok(value)
    } else {
        Err(format!("must be from {least} to {greatest}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_command_line_is_consistent() {
        Cli::command().debug_assert();
    }

    #[test]
    fn tolerances_have_units_and_limits() {
        assert_eq!(tolerance("0.05mm"), Ok(Tolerance(0.05)));
        assert_eq!(tolerance(" 0.1 "), Ok(Tolerance(0.1)));
        assert_eq!(tolerance("0.002 in"), Ok(Tolerance(0.002 * 25.4)));
        for wrong in ["", "mm", "0", "-1", "nan", "inf", "6mm", "1 ft"] {
            assert!(tolerance(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn knots_are_told_from_what_is_none() {
        assert!(knot("half-windsor").is_ok());
        for (wrong, why) in [
            ("10", "from 3 to 9 moves"),
            ("LRLR", "ends `Ro Li Co T`"),
            ("windsro", "did you mean `windsor`?"),
            ("bowline", "known are simple"),
        ] {
            let said = knot(wrong).expect_err(wrong);
            assert!(said.contains(why) && said.contains("--knots"), "{said}");
        }
    }

    #[test]
    fn help_speaks_to_pattern_makers() {
        let mut command = Cli::command();
        let mut help = command.render_long_help().to_string();
        for sub in command.get_subcommands_mut() {
            help += &sub.render_long_help().to_string();
        }
        assert!(help.starts_with("Drafts neckwear"));
        assert!(help.contains("--size all"));
        assert!(!help.to_lowercase().contains("polyline"));
    }

    #[test]
    fn every_command_has_examples_of_its_own() {
        for sub in Cli::command().get_subcommands_mut() {
            let name = sub.get_name().to_owned();
            let help = sub.render_long_help().to_string();
            let examples = help.lines().filter_map(|l| l.strip_prefix("  tiewright "));
            let examples: Vec<&str> = examples.collect();
            assert!(!examples.is_empty(), "{name}");
            assert!(examples.iter().all(|e| e.starts_with(&name)), "{name}");
        }
    }
}
