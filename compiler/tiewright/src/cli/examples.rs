//! What stands below the help texts: examples, and what the exit codes tell.
//!
//! Text only: nothing here reads the command line.

use tiewright_core::stdlib;

/// Letters in a line of help.
pub(super) const HELP_WIDTH: usize = 100;

/// What stands below the help of the whole program.
pub(super) fn examples() -> String {
    let mut shapes = String::new();
    let mut width = 0;
    for name in stdlib::names() {
        let start = width == 0 || width + name.len() + 2 > HELP_WIDTH;
        shapes.push_str(match (start, shapes.is_empty()) {
            (true, true) => "  ",
            (true, false) => "\n  ",
            (false, _) => " ",
        });
        shapes.push_str(name);
        width = name.len() + if start { 2 } else { width + 1 };
    }
    format!(
        "{EXAMPLES}\n\nBuilt-in shapes, for `style NAME from SHAPE {{ … }}` in a shape file:\n{shapes}\n\n{EXIT_CODES}"
    )
}

const EXIT_CODES: &str = "Exit codes: 0 done; 1 something in the files is wrong; 2 something on the command line is wrong.";

const EXAMPLES: &str = "\
Examples:
  tiewright draft regular.tie
      draft every style in regular.tie and write DXF and SVG files to the folder `out`
  tiewright check regular.tie school.tie
      fold every tie again in every size and report what does not come out right
  tiewright help draft
      tell what can be drafted and written, with more examples";

pub(super) const DRAFT_EXAMPLES: &str = "\
Examples:
  tiewright draft regular.tie
      draft every style in regular.tie and write DXF and SVG files to the folder `out`
  tiewright draft regular.tie --style club --size long --as svg,folded --out patterns
      one style in one size: the pattern to print and a drawing of the folded tie
  tiewright draft regular.tie --size all --as dxf
      every named size, for the cutter
  tiewright draft regular.tie --size all --as nested,table
      all sizes in one picture, and their measures side by side for a spreadsheet
  tiewright draft regular.tie --set \"blade-width=3 1/2 in\" --as svg
      try another width without touching the file

If anything is wrong, nothing is written.";

pub(super) const SHEET_EXAMPLES: &str = "\
Examples:
  tiewright sheet regular.tie
      cutting ticket, bench sheet and measuring sheet of every style, as HTML and PDF files in the
      folder `out`
  tiewright sheet regular.tie --size all --as pdf --paper letter --out papers
      every named size, to print on Letter paper

Print at 100 % or \"actual size\". If anything is wrong, nothing is written.";

pub(super) const LAY_EXAMPLES: &str = "\
Examples:
  tiewright lay regular.tie --ties 12
      lay the shell of twelve ties on its cloth and write the marker as DXF and SVG files to the
      folder `out`
  tiewright lay regular.tie --ties club=12 --ties club/long=4 --table long-table --as dxf,pdf,png
      two sizes in one marker, with the gap and the end loss of the cutting table
  tiewright lay regular.tie --ties 12 --seconds 60 --flaw \"80 cm,12 cm,3 cm,3 cm\"
      search longer, and keep clear of a flaw: its place from the end of the cloth and from the
      selvedge, its length and its width
  tiewright lay regular.tie --ties 12 --role tipping --near \"1500 mm\"
      the tipping; what belongs to one tie no further apart than 1500 mm along the cloth
  tiewright lay regular.tie --ties 12 --job --name monday
      write the job out/monday.job.json and lay nothing
  tiewright lay out/monday.job.json
      lay that job; once laid it is left alone, until it changes or `--again` is said

The cloth must say how wide it is: `cloth NAME { width 140 cm }` in the shape file. Ctrl-C ends the
search and writes the best marker found so far. The same steps and seed give the same marker.";

pub(super) const CHECK_EXAMPLES: &str = "\
Examples:
  tiewright check regular.tie
      draft every style of the file in every size and fold it again
  tiewright check regular.tie school.tie
      the same for several files, before all of them go to the cutter";

pub(super) const READINGS_EXAMPLES: &str = "\
Examples:
  tiewright readings regular.tie --form --out papers
      write a blank form, a table to fill in by hand or in a spreadsheet
  tiewright readings regular.tie monday.csv
      tell which ties are outside their tolerances, and what the readings come to
  tiewright readings regular.tie monday.csv --out monday
      the same, and write it to the folder `monday` as tables and as a plot

A reading states its unit, in the cell (`57 1/8 in`, `1450 mm`, `145 cm`) or for a whole column in the
heading (`finished-length (in)`). A point that was not measured is left blank.

Exit codes: 0 all rows judged; 1 a row or the file is wrong, or with `--strict` a tie is outside;
2 something on the command line is wrong.";

pub(super) const FIT_EXAMPLES: &str = "\
Examples:
  tiewright fit regular.tie --neck \"16 in\" --height \"74 in\"
      propose the regular tie for this wearer, tied in a four-in-hand
  tiewright fit regular.tie --neck \"16 in\" --drop \"19 in\" --knot windsor --out special.tie
      from the wanted drop of the blade, for another knot; keep the proposal in special.tie
  tiewright fit regular.tie --style club --wearer tall-bass
      a wearer kept as a size of the house's own style from `fitting`
  tiewright fit regular.tie --neck \"16 in\" --height \"74 in\" --set \"length-a-move=2 1/4 in\"
      try another setting of the house
  tiewright fit --knots
      list every knot with its moves

The settings of the house stand in a style from `fitting`, in the file or in one it uses.";

pub(super) const PLAN_EXAMPLES: &str = "\
Examples:
  tiewright plan orders.csv --styles regular.tie
      what to lay, spread and cut for every order: the plan, markers, spreading lists and tickets, in
      the folder `out`
  tiewright plan orders.csv --styles regular.tie --rolls rolls.csv --out monday
      the same, and which plies come off which roll
  tiewright plan orders.csv --styles regular.tie --together shape --surplus 1
      orders of all customers cut together, and one tie too many where that saves a marker
  tiewright plan orders.csv --styles regular.tie --jobs
      the plan and the jobs alone, in seconds; the markers can then be laid on other machines

Columns of the order book: `order`, `customer`, `style`, `size`, `cloth`, `quantity`, `due`, `note`, in any
order. Size blank: the style as it stands. Cloth blank: the style's own. Due is written 2027-03-31.
Rolls: `cloth`, `roll`, `length (m)`.

If a row is wrong, nothing is planned, unless `--good-only` is said. What is laid already is used again.";

pub(super) const GOLDEN_EXAMPLES: &str = "\
Examples:
  tiewright golden --accept patterns kept
      keep the outlines of every shape file in `patterns`, in the folder `kept`
  tiewright golden patterns kept
      after a change, show every line that is not as it was kept";
