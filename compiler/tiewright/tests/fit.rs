//! `tiewright fit` from end to end: what it proposes, what it writes, and what it refuses.

use std::fs;
use std::path::Path;
use std::process::Command;

use tempfile::TempDir;

const CHOIR: &str = "style choir-tie from four-in-hand {\n  size long { length 62 in }\n}\n";
const HOUSE: &str = "use \"choir.tie\"
style house-fitting from fitting {
  length-a-move  2 in
  size tall-bass { neck-girth 17 in; height 76 in; knot-moves 6 }
}
style special from choir-tie
";

struct Said {
    code: Option<i32>,
    out: String,
    wrong: String,
}

fn tiewright(folder: &Path, arguments: &[&str]) -> Said {
    let output = Command::new(env!("CARGO_BIN_EXE_tiewright"))
        .args(arguments)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .expect("the program starts");
    Said {
        code: output.status.code(),
        out: String::from_utf8(output.stdout).expect("text"),
        wrong: String::from_utf8(output.stderr).expect("text"),
    }
}

fn folder() -> TempDir {
    let folder = TempDir::new().expect("a folder");
    fs::write(folder.path().join("choir.tie"), CHOIR).expect("written");
    fs::write(folder.path().join("house.tie"), HOUSE).expect("written");
    folder
}

const WEARER: [&str; 4] = ["--neck", "16 in", "--height", "72 in"];

fn fit(folder: &Path, more: &[&str]) -> Said {
    let arguments = [&["fit"], more].concat();
    tiewright(folder, &arguments)
}

/// By hand, in inches: 18 drop, 4 moves of 3/4 + 0.4 x 3 1/4 = 2.05, 17 round the collar, 1 1/2 behind
/// the knot, 13 1/2 of tail: 58.2. The collar runs from 26.2 to 43.2; a join with 2 in of cover and half
/// a neck of 1 1/4 stands at 28.825 or more, and at 40.575 or less.
#[test]
fn the_proposal_is_what_is_reckoned_by_hand() {
    let folder = folder();
    let said = fit(folder.path(), &[&["choir.tie"][..], &WEARER].concat());
    assert_eq!(said.code, Some(0), "{}", said.wrong);
    for line in [
        "  length        58 1/4 in",
        "  blade-length  29 in",
        "  tail-length   17 3/4 in",
    ] {
        assert!(said.out.lines().any(|l| l == line), "{line}\n{}", said.out);
    }
    let own = "length a move of 52.07 mm (2.05 in) is the house's own setting (common practice, no source): tie one and measure";
    assert!(said.out.contains(own), "{}", said.out);
    assert!(
        said.out
            .contains("use \"choir.tie\"\n\nstyle choir-tie-fitted from choir-tie")
    );
    let files = fs::read_dir(folder.path()).expect("a folder").count();
    assert_eq!(files, 2, "nothing is written unless asked for");
}

#[test]
fn what_is_written_drafts_and_is_not_overwritten() {
    let folder = folder();
    fs::create_dir(folder.path().join("specials")).expect("made");
    let ask = |height: &str| {
        let out = ["--out", "specials/a.tie", "--set", "rounding=5 mm"];
        let wearer = ["choir.tie", "--neck", "16 in", "--height", height];
        fit(folder.path(), &[&wearer[..], &out].concat())
    };
    let first = ask("72 in");
    assert!(
        first.out.ends_with("wrote specials/a.tie\n"),
        "{}",
        first.wrong
    );
    let text = fs::read_to_string(folder.path().join("specials/a.tie")).expect("written");
    assert!(text.starts_with("use \"../choir.tie\"\n"), "{text}");
    assert!(text.contains("  length        1480 mm\n"), "{text}");
    assert!(first.out.contains(&text));
    assert_eq!(
        tiewright(folder.path(), &["check", "specials/a.tie"]).code,
        Some(0)
    );
    assert!(ask("72 in").out.ends_with("unchanged specials/a.tie\n"));
    let other = ask("75 in");
    assert_eq!(other.code, Some(1));
    assert!(
        other.wrong.contains("says something else"),
        "{}",
        other.wrong
    );
    let kept = fs::read_to_string(folder.path().join("specials/a.tie")).expect("there");
    assert_eq!(kept, text);
}

#[test]
fn the_house_and_its_wearers_are_found() {
    let folder = folder();
    let said = fit(folder.path(), &["house.tie", "--wearer", "tall-bass"]);
    assert_eq!(said.code, Some(0), "{}", said.wrong);
    // 19 + 6 x 2 + 18 + 1 1/2 + 14 1/4 in.
    assert!(
        said.out.contains("  length        64 3/4 in\n"),
        "{}",
        said.out
    );
    assert!(
        said.out
            .contains("style special-tall-bass from special \"tall-bass: ")
    );
    assert!(said.out.contains(
        "length a move of 50.8 mm (2 in) is the house's own setting (no source): house.tie"
    ));
    // What is asked for comes before what is kept.
    let said = fit(
        folder.path(),
        &["house.tie", "--wearer", "tall-bass", "--knot", "windsor"],
    );
    assert!(
        said.out.contains("  length        68 3/4 in\n"),
        "{}",
        said.out
    );
    assert!(
        said.out
            .contains("windsor: Li Co Ri Lo Ci Ro Li Co T, 8 moves\n")
    );
    // The style from the fitting is found through `use` as well, and must be named if there are two.
    let more = "use \"house.tie\"\nstyle club from choir-tie\n";
    fs::write(folder.path().join("club.tie"), more).expect("written");
    let said = fit(folder.path(), &[&["club.tie"][..], &WEARER].concat());
    assert!(
        said.out
            .starts_with("club-fitted, from club by house-fitting\n"),
        "{}",
        said.wrong
    );
    let two = format!("{more}style other-fitting from house-fitting\n");
    fs::write(folder.path().join("club.tie"), two).expect("written");
    let said = fit(folder.path(), &[&["club.tie"][..], &WEARER].concat());
    assert_eq!(said.code, Some(2));
    assert!(
        said.wrong
            .contains("`--fitting`: `house-fitting`, `other-fitting`"),
        "{}",
        said.wrong
    );
    let said = fit(
        folder.path(),
        &[&["club.tie", "--fitting", "other-fitting"][..], &WEARER].concat(),
    );
    assert_eq!(said.code, Some(0), "{}", said.wrong);
}

/// A tie whose neck is worked out, not set, is fitted by what it comes to: 2 in of width, not 1 1/4.
#[test]
fn what_the_tie_works_out_counts() {
    let folder = folder();
    let text = "style straight from straight-sided { blade-width 2 in }\n";
    fs::write(folder.path().join("straight.tie"), text).expect("written");
    let said = fit(folder.path(), &[&["straight.tie"][..], &WEARER].concat());
    assert_eq!(said.code, Some(0), "{}", said.wrong);
    // 18 + 4 x 1.55 + 2 + 1 = 27.2 in.
    assert!(
        said.out.contains("  blade-length  27 1/4 in\n"),
        "{}",
        said.out
    );
}

#[test]
fn what_cannot_be_fitted_is_refused_with_a_reason() {
    let folder = folder();
    let ascot = "style ascot-tie from ascot\n";
    fs::write(folder.path().join("ascot.tie"), ascot).expect("written");
    let abrupt = "style abrupt from four-in-hand { taper-run 45 in; tail-taper-run 8 in }\n";
    fs::write(folder.path().join("abrupt.tie"), abrupt).expect("written");
    let with = |more: &[&'static str]| [&WEARER[..], more].concat();
    for (arguments, code, why) in [
        (
            vec!["choir.tie"],
            2,
            "the wearer is not known: say it with `--neck`",
        ),
        (
            vec!["choir.tie", "--neck", "16 in"],
            2,
            "say it with `--height` or `--drop`",
        ),
        (
            with(&["choir.tie", "--knot", "LRRC"]),
            2,
            "no knot of 3 to 9 moves goes so",
        ),
        (
            with(&["choir.tie", "--style", "chior"]),
            2,
            "`--style chior` is none of `choir-tie`",
        ),
        (
            with(&["choir.tie", "--fitting", "house"]),
            2,
            "choir.tie holds no style for `--fitting`",
        ),
        (
            with(&["house.tie", "--wearer", "alto"]),
            2,
            "`house-fitting` keeps no wearer `alto`: it has `tall-bass`",
        ),
        (
            with(&["choir.tie", "--name", "choir-tie"]),
            2,
            "is a style in choir.tie already",
        ),
        (with(&["-"]), 2, "`fit` needs a file"),
        (with(&["ascot.tie"]), 1, "`ascot-tie` has no `blade-length`"),
        (
            with(&["choir.tie", "--set", "collar-cover=7 in"]),
            1,
            "no room for two joins",
        ),
        (
            with(&["choir.tie", "--set", "tail-drop=30 in"]),
            1,
            "tail no longer than the blade",
        ),
        (
            vec!["abrupt.tie", "--neck", "13 in", "--height", "50 in"],
            1,
            "points and tapers do not fit",
        ),
        (with(&["missing.tie"]), 1, "there is no file `missing.tie`"),
    ] {
        let said = fit(folder.path(), &arguments);
        assert_eq!(said.code, Some(code), "{arguments:?}\n{}", said.wrong);
        assert!(said.wrong.contains(why), "{arguments:?}\n{}", said.wrong);
        assert!(
            !said.out.contains("\nstyle "),
            "{arguments:?}\n{}",
            said.out
        );
    }
}

#[test]
fn every_knot_is_listed() {
    let said = tiewright(folder().path(), &["fit", "--knots"]);
    assert_eq!(said.code, Some(0));
    let knots = said.out.lines().filter(|line| line.contains(" Co T"));
    assert_eq!(knots.count(), 85);
    assert!(
        said.out
            .contains("Li Ro Ci Lo Ri Co T           half-windsor\n"),
        "{}",
        said.out
    );
}

/// A draft without pieces prints its measures and writes no drawing, and no folder for one.
#[test]
fn a_fitting_is_measured_and_not_drawn() {
    let folder = folder();
    let alone = ["draft", "house.tie", "--style", "house-fitting"];
    let said = tiewright(folder.path(), &alone);
    assert_eq!(said.code, Some(0), "{}", said.wrong);
    assert!(
        said.out
            .ends_with("house-fitting has nothing to cut and is not drawn\n"),
        "{}",
        said.out
    );
    assert!(said.out.contains("    exact-length "));
    assert!(!folder.path().join("out").exists());
    let said = tiewright(
        folder.path(),
        &["draft", "house.tie", "--as", "svg,json,folded"],
    );
    assert_eq!((said.code, said.wrong.as_str()), (Some(0), ""));
    let mut names: Vec<String> = fs::read_dir(folder.path().join("out"))
        .expect("made")
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    names.sort();
    let wanted = [
        "house-fitting.json",
        "special-folded.svg",
        "special.json",
        "special.svg",
    ];
    assert_eq!(names, wanted);
    let said = tiewright(
        folder.path(),
        &[&alone[..], &["--as", "dxf", "--out", "-"]].concat(),
    );
    assert_eq!(said.code, Some(1));
    assert!(said.wrong.contains("nothing to cut"), "{}", said.wrong);
    let said = tiewright(
        folder.path(),
        &[
            "sheet",
            "house.tie",
            "--style",
            "house-fitting",
            "--out",
            "sheets",
        ],
    );
    assert_eq!(said.code, Some(0), "{}", said.wrong);
    assert!(!folder.path().join("sheets").exists());
}
