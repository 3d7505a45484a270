//! Cloths and cutting tables as data: of the file and of those it uses, whether or not a style names
//! them.

use tiewright_core::cloth::{Bias, Direction, Property};
use tiewright_core::source::{LoadError, Loader, Source};
use tiewright_core::{Compiled, compile};

/// Files by name.
struct Memory(&'static [(&'static str, &'static str)]);

impl Loader for Memory {
    fn load(&self, path: &str, _: Option<&str>) -> Result<Source, LoadError> {
        let found = self.0.iter().find(|(name, _)| *name == path);
        let (name, text) = found.ok_or(LoadError::Missing)?;
        Ok(Source {
            name: (*name).to_owned(),
            text: (*text).into(),
        })
    }
}

const HOUSE: &str = "
table long-table \"the long table by the window\" {
  longest 6 m; plies 40; gap 3 mm; end-loss 2 cm; set-up 10 + 2; spreading 0.9
}
cloth stripe \"silk repp\" { width 140 cm; direction one-way; bias left; repeat-warp 36 mm; price 48 }
";

const STYLE: &str = "
use \"house.tie\"
table bench
cloth club-navy { width 90 cm; usable-width 88 cm }
style club-tie from four-in-hand
";

const WRONG: &str = "
table bench { longest 600 m; plies 12; gap -1 mm }
style club-tie from four-in-hand
";

fn compiled() -> Compiled {
    let files = Memory(&[("house.tie", HOUSE), ("club.tie", STYLE)]);
    let compiled = compile("club.tie", &[], &files);
    assert!(
        compiled.diagnostics.is_empty(),
        "{:?}",
        compiled.diagnostics
    );
    compiled
}

#[test]
fn tables_are_told_with_what_holds_where_they_are_silent() {
    let program = compiled().program;
    let names: Vec<&str> = program.tables().iter().map(|table| &*table.name).collect();
    assert_eq!(names, ["bench", "long-table"]);

    let long = program.table("long-table").expect("of the used file");
    assert_eq!(&*long.doc, "the long table by the window");
    assert_eq!((long.longest, long.plies), (Some(6000.0), Some(40)));
    assert_eq!((long.gap, long.end_loss), (3.0, 20.0));
    assert_eq!((long.set_up, long.spreading), (12.0, 0.9));

    let bench = program.table("bench").expect("of the file");
    assert_eq!((&*bench.doc, bench.longest, bench.plies), ("", None, None));
    assert_eq!((bench.gap, bench.end_loss), (0.0, 0.0));
    assert_eq!((bench.set_up, bench.spreading), (0.0, 0.0));
    assert_eq!(program.table("stripe"), None);
}

#[test]
fn cloths_are_told_that_no_style_names() {
    let program = compiled().program;
    let names: Vec<&str> = program.cloths().iter().map(|cloth| &*cloth.name).collect();
    assert_eq!(names, ["club-navy", "stripe"]);

    let stripe = program.cloth("stripe").expect("of the used file");
    assert_eq!(&*stripe.doc, "silk repp");
    assert_eq!(stripe.properties.get(Property::UsableWidth), Some(1400.0));
    assert_eq!(stripe.properties.direction(), Direction::OneWay);
    assert_eq!(stripe.properties.bias(), Some(Bias::Left));
    // The stripes run from selvedge to selvedge, so the warp runs the other way.
    assert_eq!(stripe.properties.warp(), Some(Bias::Right));

    let navy = program.cloth("club-navy").expect("of the file");
    assert_eq!(navy.properties.bias(), None);
    assert_eq!(navy.properties.get(Property::UsableWidth), Some(880.0));
    assert_eq!(program.cloth("bench"), None);
}

#[test]
fn a_line_that_is_wrong_counts_as_not_said() {
    let compiled = compile("wrong.tie", &[], &Memory(&[("wrong.tie", WRONG)]));
    assert_eq!(compiled.diagnostics.len(), 2);
    let bench = compiled.program.table("bench").expect("a table");
    assert_eq!(
        (bench.longest, bench.plies, bench.gap),
        (None, Some(12), 0.0)
    );
}
