//! Every diagnostic, shown by a case: the source and what a user reads about it, side by side.
//!
//! Each `tests/cases/CODE[-VARIANT].tie` is checked as `tiewright check` does, and must say `CODE`.
//! What is about files or the command line is run as a command in a folder of its own. A case is
//! added by adding a file, or a line to [`runs`]; `cargo insta review` shows what it says.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use insta::{Settings, assert_snapshot, glob};
use tiewright::commands::check;
use tiewright::loader::FileLoader;
use tiewright::report;
use tiewright_core::compile;
use tiewright_core::diagnostic::Code;
use tiewright_core::source::{LoadError, Loader, Source};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/cases")
}

/// Loads the files of the cases, under their names there.
struct Cases(PathBuf);

impl Loader for Cases {
    fn load(&self, path: &str, from: Option<&str>) -> Result<Source, LoadError> {
        let at = |name: &str| self.0.join(name).to_string_lossy().into_owned();
        let from = from.map(at);
        let path = from.as_ref().map_or_else(|| at(path), |_| path.to_owned());
        let source = FileLoader.load(&path, from.as_deref())?;
        let inside = Path::new(&source.name).strip_prefix(&self.0);
        let name = inside.map_or(source.name.clone(), |p| p.to_string_lossy().into_owned());
        Ok(Source { name, ..source })
    }
}

/// What `tiewright check` says about the case `name`, without colours.
fn said(name: &str) -> String {
    let loader = Cases(folder().canonicalize().expect("the folder of the cases"));
    let compiled = compile(name, &[], &loader);
    let diagnostics = check::diagnostics(&compiled).0;
    report::render(&compiled.sources, &diagnostics, false)
}

/// The same without the line numbers of the built-in shapes, which move with every change to them.
fn without_built_in_lines(said: &str) -> String {
    let hidden = |text: &str| -> String {
        let hide = |c: char| if c.is_ascii_digit() { '#' } else { c };
        text.chars().map(hide).collect()
    };
    let mut built_in = false;
    let mut out = String::new();
    for line in said.lines() {
        if let Some((before, place)) = line.split_once(BUILT_IN) {
            built_in = true;
            out += &format!("{before}{BUILT_IN}{}", hidden(place));
        } else if line.contains(":::") || line.contains("-->") || line.is_empty() {
            built_in = false;
            out += line;
        } else if let Some((number, rest)) = line.split_once(" |").filter(|_| built_in) {
            out += &format!("{} |{rest}", hidden(number));
        } else {
            out += line;
        }
        out.push('\n');
    }
    out
}

/// What the name of a built-in shape file begins with.
const BUILT_IN: &str = "stdlib-shapes/";

fn settings() -> Settings {
    let mut settings = Settings::clone_current();
    settings.set_snapshot_path(folder().join("snapshots"));
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings
}

#[test]
fn every_case_says_what_its_name_says() {
    settings().bind(|| {
        glob!("../../../tests/cases", "*.tie", |path| {
            let name = path.file_name().expect("a name").to_string_lossy();
            let source = fs::read_to_string(path).expect("a case");
            let said = said(&name);
            let codes = codes_in(&said);
            let own = |code: &String| {
                let rest = name.strip_prefix(code.as_str());
                rest.is_some_and(|rest| rest.starts_with(['-', '.']))
            };
            assert!(codes.iter().any(own), "{name} says {codes:?}:\n{said}");
            assert_snapshot!(
                "case",
                format!("{source}\n----\n\n{}", without_built_in_lines(&said))
            );
        });
    });
}

/// Bytes of a file shown in a snapshot.
const MOST_SHOWN: usize = 200;

/// A command in a folder of its own.
struct Run {
    /// What it shows.
    name: &'static str,
    /// The files there: name and bytes.
    files: Vec<(&'static str, Vec<u8>)>,
    /// The arguments of `tiewright`.
    arguments: Vec<&'static str>,
}

const CHOIR: &[u8] = b"style choir-tie from four-in-hand {\n  blade-width  3 1/4 in\n  size long { length 62 in }\n}\n";
const REGATTA: &[u8] = b"style regatta-tie from four-in-hand {
  find taper-run from 14 in to 34 in so that width of finished at 14 in is 2 1/4 in
}
";

/// Commands that go wrong. Each must end with 1 and write nothing.
fn runs() -> Vec<Run> {
    let sizes: String = (0..1500)
        .map(|n| format!("size s{n} {{ length {n} mm }}\n"))
        .collect();
    let styles: String = (0..7)
        .map(|n| format!("style t{n} from base {{}}\n"))
        .collect();
    let many = format!("style base from four-in-hand {{\n{sizes}}}\n{styles}");
    let long = format!("parameter hem 3/8 in; {}", "measure hem; ".repeat(2000));
    let long = format!("shape pocket-square {{ {long} }}\n");
    let chain: String = (1..=101)
        .map(|n| format!("style s{n} from s{} {{}}\n", n - 1))
        .collect();
    let chain = format!("style s0 from four-in-hand {{}}\n{chain}");
    vec![
        run_of("no-file", &[], &["draft", "choir.tie"]),
        run_of(
            "file-too-large",
            &[("lengths.tie", &[b' '; 5_000_000])],
            &["draft", "lengths.tie"],
        ),
        run_of(
            "not-text",
            &[("choir.tie", b"\xFF\xD8\xFF\xE0 a photograph of a tie")],
            &["draft", "choir.tie"],
        ),
        run_of(
            "not-text-control",
            &[("choir.tie", b"style choir-tie\0from four-in-hand\n")],
            &["draft", "choir.tie"],
        ),
        run_of(
            "cannot-read",
            &[("ties/choir.tie", CHOIR)],
            &["draft", "ties"],
        ),
        run_of(
            "not-nested",
            &[("regatta.tie", REGATTA)],
            &["draft", "regatta.tie", "--size", "all", "--as", "nested"],
        ),
        run_of(
            "not-nested-one",
            &[("choir.tie", CHOIR)],
            &["draft", "choir.tie", "--size", "long", "--as", "nested"],
        ),
        run_of(
            "unknown-style",
            &[("choir.tie", CHOIR)],
            &["draft", "choir.tie", "--style", "chior-tie"],
        ),
        run_of(
            "unknown-style-none",
            &[("choir.tie", CHOIR)],
            &["draft", "choir.tie", "--style", "rowing-club"],
        ),
        run_of(
            "unknown-size",
            &[("choir.tie", CHOIR)],
            &["draft", "choir.tie", "--size", "lnog"],
        ),
        run_of(
            "unknown-size-none",
            &[("regatta.tie", REGATTA)],
            &["draft", "regatta.tie", "--size", "long"],
        ),
        run_of(
            "same-file",
            &[(
                "club.tie",
                b"style club from four-in-hand { size long { length 62 in } }
style club-long from four-in-hand { length 62 in }
",
            )],
            &["draft", "club.tie", "--size", "all"],
        ),
        run_of(
            "same-file-checked",
            &[(
                "club.tie",
                b"style club from four-in-hand { size long { length 62 in } }
style club-long from four-in-hand { length 62 in }
",
            )],
            &["check", "club.tie"],
        ),
        run_of("cannot-read-here", &[("choir.tie", CHOIR)], &["draft", "."]),
        run_of(
            "out-is-a-file",
            &[("choir.tie", CHOIR)],
            &["draft", "choir.tie", "--out", "choir.tie"],
        ),
        run_of(
            "set-twice-outside",
            &[("choir.tie", CHOIR)],
            &[
                "draft",
                "choir.tie",
                "--set",
                "length=58 in",
                "--set",
                "length=59 in",
            ],
        ),
        run_of(
            "golden-proof-fails",
            &[(
                "ties/short.tie",
                b"style short-blade from four-in-hand { blade-length 4 in }\n",
            )],
            &["golden", "--accept", "ties", "kept"],
        ),
        run_of("golden-no-folder", &[], &["golden", "ties", "kept"]),
        run_of(
            "nothing-to-draft",
            &[("choir.tie", b"")],
            &["draft", "choir.tie"],
        ),
        run_of(
            "set-unknown-parameter",
            &[("choir.tie", CHOIR)],
            &["draft", "choir.tie", "--set", "blade-widht=3 1/2 in"],
        ),
        run_of(
            "set-not-a-parameter",
            &[("choir.tie", CHOIR)],
            &["draft", "choir.tie", "--set", "neck-run=12 in"],
        ),
        run_of(
            "set-syntax",
            &[("choir.tie", CHOIR)],
            &["draft", "choir.tie", "--set", "blade-width"],
        ),
        run_of(
            "set-unknown-unit",
            &[("choir.tie", CHOIR)],
            &["draft", "choir.tie", "--set", "length=57 inches"],
        ),
        run_of(
            "set-wrong-kind",
            &[("choir.tie", CHOIR)],
            &[
                "draft",
                "choir.tie",
                "--set",
                "length=57",
                "--set",
                "tip-angle=80 mm",
            ],
        ),
        run_of(
            "set-out-of-range",
            &[("choir.tie", CHOIR)],
            &["draft", "choir.tie", "--set", "length=5 in"],
        ),
        run_of(
            "set-requirement",
            &[("choir.tie", CHOIR)],
            &[
                "draft",
                "choir.tie",
                "--size",
                "long",
                "--set",
                "taper-run=50 in",
            ],
        ),
        run_of(
            "set-and-open",
            &[("regatta.tie", REGATTA)],
            &["draft", "regatta.tie", "--set", "taper-run=26 in"],
        ),
        run_of(
            "one-of-two-files",
            &[
                ("choir.tie", CHOIR),
                (
                    "club.tie",
                    b"style club from four-in-hand {\n  length 57\n}\n",
                ),
            ],
            &["check", "choir.tie", "club.tie"],
        ),
        run_of(
            "too-many-drafts",
            &[("sizes.tie", many.as_bytes())],
            &["draft", "sizes.tie", "--size", "all"],
        ),
        run_of(
            "too-many",
            &[("square.tie", long.as_bytes())],
            &["draft", "square.tie"],
        ),
        plan(
            "plan-rows",
            b"order,customer,style,size,cloth,quantity,due\n1,Choir,choir-tie,,,12,2027-03-31\n\
              2,Choir,choir-tei,,,1,\n3,Choir,choir-tie,lnog,,1,\n4,Choir,choir-tie,,nayv,1,\n\
              5,Choir,choir-tie,,,2.5,\n6,Choir,choir-tie,,,1,31.3.2027\n1,Choir,choir-tie,,,3,\n\
              1,Club,choir-tie,,navy,3,\n7,Choir,choir-tie,,ribbon,1,\n8,Club,plain-tie,,,1,\n\
              9,Club,choir-tie,,,0,\n10,Club,choir-tie,,,0,\n",
        ),
        plan("plan-columns", b"order,customer,stile,quantity\n1,Choir,choir-tie,12\n"),
        plan("plan-empty", b""),
        plan("plan-no-headings", b"1,Choir,choir-tie,,,12,\n2,Choir,choir-tie,,navy,3,\n"),
        plan("plan-utf-16", b"\xFF\xFEo\0r\0d\0e\0r\0,\0"),
        run_of(
            "plan-longer-than-table",
            &[
                ("ordered.tie", &[ORDERED, b"table bench { longest 600 mm; end-loss 20 mm }\n"].concat()),
                ("orders.csv", b"order,customer,style,quantity\n1,Choir,choir-tie,12\n"),
            ],
            &["plan", "orders.csv", "--styles", "ordered.tie"],
        ),
        readings("readings-column", b"tie,finished-lenght (mm),frill,front-width (inch),tie\nH-1,1447,,,\n"),
        readings("readings-no-tie", b"finished-length (mm)\n1447\n"),
        readings("readings-no-points", b"tie,note\nH-1,all well\n"),
        readings("readings-empty", b""),
        readings(
            "readings-cells",
            b"tie,finished-length (mm)\nH-1,1447,\nH-2\nH-3,\"1447\nH-4,1448\nH-5,1449\n",
        ),
        readings(
            "readings-blank",
            b"tie,size,finished-length (mm),front-width (mm)\n,,,\nH-1,long,,\n,,1447,82\nH-2,,1447,\n",
        ),
        readings(
            "readings-lengths",
            b"tie,finished-length,front-width (mm)\nH-1,1447.8,82\nH-2,57 inches,82\nH-3,57 in,eighty\nH-4,57\",-82\n",
        ),
        readings(
            "readings-twice",
            b"tie,size,finished-length,flat-length\nH-1,,57 in,\nH-1,,,1492 mm\nH-1,,57 1/8 in,\nH-2,lnog,62 in,\nH-3,,57 mm,\n",
        ),
        readings("readings-not-text", b"tie,finished-length (mm)\nH-\xE91,1447\nH-2,1448\n"),
        run_of(
            "readings-style",
            &[
                ("choir.tie", b"style choir-tie from four-in-hand\nstyle square from pocket-square\n"),
                (
                    "monday.csv",
                    b"tie,style,finished-length (mm)\nH-1,chior-tie,1447\nH-2,,1447\nH-3,square,1447\n",
                ),
            ],
            &["readings", "choir.tie", "monday.csv"],
        ),
        run_of(
            "readings-no-style",
            &[
                ("choir.tie", b"style choir-tie from four-in-hand\nstyle square from pocket-square\n"),
                ("monday.csv", b"tie,finished-length (mm)\nH-1,1447\n"),
            ],
            &["readings", "choir.tie", "monday.csv"],
        ),
        run_of(
            "readings-no-draft",
            &[
                ("choir.tie", b"style choir-tie from four-in-hand { size tiny { neck-width 5 in } }\n"),
                ("monday.csv", b"tie,size,finished-length (mm)\nH-1,tiny,1447\nH-2,tiny,1448\nH-3,,1447\n"),
            ],
            &["readings", "choir.tie", "monday.csv"],
        ),
        run_of(
            "readings-no-file",
            &[("choir.tie", CHOIR)],
            &["readings", "choir.tie", "mnday.csv"],
        ),
        run_of(
            "long-chain",
            &[("chain.tie", chain.as_bytes())],
            &["draft", "chain.tie"],
        ),
    ]
}

/// The styles an order book of the cases speaks of.
const ORDERED: &[u8] = b"cloth navy { width 140 cm }
cloth ribbon { width 10 cm }
style choir-tie from untipped {
  shell navy
  interlining navy
  size long { length 62 in }
}
style plain-tie from untipped
";

/// A run of `plan` on the order book `orders`.
fn plan(name: &'static str, orders: &[u8]) -> Run {
    run_of(
        name,
        &[("ordered.tie", ORDERED), ("orders.csv", orders)],
        &["plan", "orders.csv", "--styles", "ordered.tie"],
    )
}

/// A table of readings of the choir's tie.
fn readings(name: &'static str, table: &'static [u8]) -> Run {
    run_of(
        name,
        &[("choir.tie", CHOIR), ("monday.csv", table)],
        &["readings", "choir.tie", "monday.csv"],
    )
}

fn run_of(name: &'static str, files: &[(&'static str, &[u8])], arguments: &[&'static str]) -> Run {
    Run {
        name,
        files: files
            .iter()
            .map(|(name, bytes)| (*name, bytes.to_vec()))
            .collect(),
        arguments: arguments.to_vec(),
    }
}

/// What a run says, and that it wrote nothing.
fn run(case: &Run) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    for (name, bytes) in &case.files {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        fs::write(path, bytes).expect("written");
    }
    let (code, said) = tiewright(folder.path(), &case.arguments);
    assert_eq!(code, Some(1), "{said}");
    assert!(!folder.path().join("out").exists(), "{}", case.name);
    let files: String = case
        .files
        .iter()
        .map(|(name, bytes)| {
            let start = bytes.get(..bytes.len().min(MOST_SHOWN)).unwrap_or_default();
            let text = String::from_utf8_lossy(start).replace('\0', "\u{2400}");
            format!("# {name}\n{text}\n")
        })
        .collect();
    let quoted: Vec<String> = case.arguments.iter().map(|a| quoted(a)).collect();
    let said = without_built_in_lines(&said);
    format!("{files}$ tiewright {}\n\n----\n\n{said}", quoted.join(" "))
}

fn tiewright(folder: &Path, arguments: &[&str]) -> (Option<i32>, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_tiewright"))
        .args(arguments)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .expect("run");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code(), said)
}

fn quoted(argument: &str) -> String {
    if argument.contains(' ') {
        format!("\"{argument}\"")
    } else {
        argument.to_owned()
    }
}

/// Nothing is wrong, and yet less is written than might be thought.
#[test]
fn what_is_left_out_is_said() {
    let folder = tempfile::tempdir().expect("a folder");
    let text = "shape band {
  piece strip {
    cloth shell
    grain 45 deg
    outline {
      edge left  = line through (0 mm, 0 mm) at 90 deg
      edge upper = line through (0 mm, 20 mm) at 0 deg
      edge right = line through (200 mm, 0 mm) at -90 deg
      both sides
    }
  }
}
style one from band { size long {} }
style two from band
";
    fs::write(folder.path().join("bands.tie"), text).expect("written");
    let arguments = [
        "draft",
        "bands.tie",
        "--size",
        "long",
        "--as",
        "folded,outline",
    ];
    let (code, said) = tiewright(folder.path(), &arguments);
    assert_eq!(code, Some(0), "{said}");
    assert!(
        said.contains("`two` has no size `long` and is left out"),
        "{said}"
    );
    assert!(
        said.contains("one, size long has no folded picture"),
        "{said}"
    );
    assert!(folder.path().join("out/one-long.txt").exists());
    // All sizes were asked for; to ask for them is no advice then.
    let (code, said) = tiewright(
        folder.path(),
        &["draft", "bands.tie", "--size", "all", "--as", "nested"],
    );
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("give it another size"), "{said}");
}

#[test]
fn commands_that_go_wrong_say_why() {
    settings().bind(|| {
        for case in runs() {
            assert_snapshot!(format!("run-{}", case.name), run(&case));
        }
    });
}

/// The codes that a rendered text names: `error[CODE]: …`.
fn codes_in(said: &str) -> BTreeSet<String> {
    said.lines()
        .filter_map(|line| {
            let rest = line
                .strip_prefix("error[")
                .or_else(|| line.strip_prefix("warning["));
            rest?.split(']').next().map(str::to_owned)
        })
        .collect()
}

#[test]
fn every_code_has_a_case() {
    let mut shown: BTreeSet<String> = runs()
        .iter()
        .flat_map(|case| codes_in(&run(case)))
        .collect();
    for entry in fs::read_dir(folder()).expect("the cases") {
        let path = entry.expect("an entry").path();
        if path.extension().is_some_and(|e| e == "tie") {
            let name = path.file_name().expect("a name").to_string_lossy();
            shown.extend(codes_in(&said(&name)));
        }
    }
    let without: Vec<&str> = Code::ALL
        .iter()
        .map(|code| code.as_str())
        .filter(|code| !shown.contains(*code))
        .collect();
    assert!(without.is_empty(), "no case shows {without:?}");
}

#[test]
fn codes_are_distinct_and_plain() {
    let names: BTreeSet<&str> = Code::ALL.iter().map(|code| code.as_str()).collect();
    assert_eq!(names.len(), Code::ALL.len());
    let plain = |name: &str| name.chars().all(|c| c.is_ascii_lowercase() || c == '-');
    assert!(names.iter().all(|name| plain(name)));
}
