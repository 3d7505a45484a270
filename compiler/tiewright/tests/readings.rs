//! The whole way of readings: form, table, judgement, files and exit codes.

use std::fs;
use std::path::Path;
use std::process::Command;

use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use tempfile::TempDir;

const CHOIR: &str = "style choir-tie from four-in-hand {\n  size long { length 62 in }\n}\n";

struct Said {
    code: Option<i32>,
    out: String,
    err: String,
}

fn run(folder: &Path, arguments: &[&str]) -> Said {
    let output = Command::new(env!("CARGO_BIN_EXE_tiewright"))
        .arg("readings")
        .args(arguments)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .expect("the program starts");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    Said {
        code: output.status.code(),
        out: text(output.stdout),
        err: text(output.stderr),
    }
}

/// A folder with the choir's tie and a table.
fn folder(table: impl AsRef<[u8]>) -> TempDir {
    let folder = TempDir::new().expect("a folder");
    fs::write(folder.path().join("choir.tie"), CHOIR).expect("written");
    fs::write(folder.path().join("table.csv"), table).expect("written");
    folder
}

fn judged(table: impl AsRef<[u8]>, more: &[&str]) -> Said {
    let folder = folder(table);
    let arguments: Vec<&str> = ["choir.tie", "table.csv"]
        .iter()
        .chain(more)
        .copied()
        .collect();
    run(folder.path(), &arguments)
}

#[test]
fn a_form_filled_in_is_judged() {
    let folder = folder("");
    let form = run(folder.path(), &["choir.tie", "--form"]);
    assert_eq!(form.code, Some(0), "{}", form.err);
    let mut lines = form.out.lines();
    let heading = lines.next().expect("a heading");
    let at = heading
        .split(',')
        .position(|cell| cell == "finished-length (mm)");
    let rows: Vec<String> = lines
        .enumerate()
        .map(|(index, line)| {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            cells[0] = format!("H-{index}");
            cells[at.expect("the column")] = ["1447.8", "1574.8"][index].to_owned();
            cells.join(",")
        })
        .collect();
    assert_eq!(rows.len(), 2);
    let table = format!("{heading}\n{}\n", rows.join("\n"));
    let said = judged(table, &["--strict"]);
    assert_eq!(said.code, Some(0), "{}", said.err);
    assert!(
        said.out
            .ends_with("2 rows: 2 judged, 0 refused; 0 of 2 ties outside\n"),
        "{}",
        said.out
    );
}

#[test]
fn good_rows_are_judged_beside_bad_ones() {
    let table = "tie,finished-length\nH-1,57 in\nH-2,57\nH-3,145 cm\n,1450 mm\nH-4,1460 mm\nH-5\n";
    let said = judged(table, &[]);
    assert_eq!(said.code, Some(1));
    assert!(
        said.out
            .contains("6 rows: 3 judged, 3 refused; 1 of 3 ties outside"),
        "{}",
        said.out
    );
    assert!(
        said.out.contains("H-4  finished-length  1460 mm"),
        "{}",
        said.out
    );
    for code in ["no-unit", "blank-row", "cell-count"] {
        assert!(said.err.contains(code), "{}", said.err);
    }
}

#[test]
fn a_size_whose_rows_are_all_refused_is_not_shown() {
    let table = "tie,size,finished-length\n1,,57 in\n2,long,\"62,25 in\"\n";
    let said = judged(table, &[]);
    assert!(said.out.contains("choir-tie: 1 row\n"), "{}", said.out);
    assert!(!said.out.contains("size long"), "{}", said.out);
    assert!(
        said.err
            .contains("write a decimal point in place of the comma"),
        "{}",
        said.err
    );
}

#[test]
fn what_may_stand_in_a_row_is_told() {
    let said = judged("tie,size,finished-length\n1,tall,57 in\n", &[]);
    assert!(
        said.err.contains("write `long`, or leave it blank"),
        "{}",
        said.err
    );
    let folder = folder("tie,style,finished-length\n1,,57 in\n");
    let two = format!("{CHOIR}style usher-tie from four-in-hand\n");
    fs::write(folder.path().join("choir.tie"), two).expect("written");
    let said = run(folder.path(), &["choir.tie", "table.csv"]);
    assert!(
        said.err
            .contains("fill in the style (`choir-tie`, `usher-tie`)"),
        "{}",
        said.err
    );
    let said = run(folder.path(), &["choir.tie", "none.csv"]);
    assert_eq!(said.code, Some(1));
    assert!(
        said.err.contains("there is no file `none.csv`"),
        "{}",
        said.err
    );
}

#[test]
fn ties_outside_are_no_mistake_unless_strict() {
    let table = "tie,finished-length\nH-1,58 in\n";
    assert_eq!(judged(table, &[]).code, Some(0));
    assert_eq!(judged(table, &["--strict"]).code, Some(1));
}

#[test]
fn what_spreadsheets_save_is_read() {
    let tables = [
        "\u{FEFF}tie,finished-length\r\nH-1,57 in\r\n",
        "tie;finished-length\nH-1;57 in\n",
        "tie\tfinished-length\nH-1\t57 in",
        "\"tie\",\"finished-length (in)\"\n\"H-1\",\" 57 \"\n\n",
        "tie,finished-length,note\nH-1,57 in,\"soft, pressed\"\n",
    ];
    for table in tables {
        let said = judged(table, &["--strict"]);
        assert_eq!(said.code, Some(0), "{table}\n{}", said.err);
        assert!(
            said.out.contains("1 row: 1 judged"),
            "{table}\n{}",
            said.out
        );
    }
}

#[test]
fn the_place_is_right_after_a_byte_order_mark_and_line_ends() {
    let said = judged(
        "\u{FEFF}tie,finished-length\r\nH-1,57 in\r\nH-2,long\r\n",
        &[],
    );
    assert_eq!(said.code, Some(1));
    assert!(said.err.contains("--> table.csv:3:5"), "{}", said.err);
    assert!(said.err.contains("3 | H-2,long"), "{}", said.err);
}

#[test]
fn one_tie_may_be_read_once_at_each_inspection() {
    let table = "tie,flat-length,finished-length\nH-1,1492 mm,\nH-1,,57 in\nH-1,,57 in\n";
    let said = judged(table, &[]);
    assert!(
        said.out
            .contains("3 rows: 2 judged, 1 refused; 0 of 1 tie outside"),
        "{}",
        said.out
    );
    assert!(said.err.contains("read-twice"), "{}", said.err);
}

#[test]
fn the_readings_themselves_are_never_written_over() {
    let folder = folder("");
    let table = "tie,finished-length\nH-1,57 in\n";
    fs::write(folder.path().join("choir-readings.csv"), table).expect("written");
    let said = run(
        folder.path(),
        &["choir.tie", "choir-readings.csv", "--out", "."],
    );
    assert_eq!(said.code, Some(1));
    let kept = fs::read_to_string(folder.path().join("choir-readings.csv")).expect("kept");
    assert_eq!(kept, table);
    assert!(!folder.path().join("choir-readings.svg").exists());
}

#[test]
fn the_same_table_gives_the_same_bytes() {
    let folder = folder("tie,size,finished-length\nH-1,long,62 in\nH-2,,57 in\nH-3,,58 in\n");
    let files = [
        "choir-readings.csv",
        "choir-outside.csv",
        "choir-readings.svg",
    ];
    let write = |out: &str| {
        let said = run(folder.path(), &["choir.tie", "table.csv", "--out", out]);
        assert_eq!(said.code, Some(0), "{}", said.err);
        files.map(|file| fs::read(folder.path().join(out).join(file)).expect("written"))
    };
    assert_eq!(write("one"), write("two"));
}

#[test]
fn usage_is_asked_for_properly() {
    assert_eq!(judged("tie\n", &["--form"]).code, Some(2));
    assert_eq!(judged("tie\n", &["--unit", "ell"]).code, Some(2));
    let folder = folder("");
    assert_eq!(run(folder.path(), &["choir.tie"]).code, Some(2));
    assert_eq!(run(folder.path(), &["-", "-"]).code, Some(2));
}

/// Any bytes are judged or refused without a crash, and every row is accounted for.
#[test]
fn any_bytes_are_taken_calmly() {
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    let config = Config {
        cases: 40,
        failure_persistence: None,
        ..Config::default()
    };
    let bytes = prop::collection::vec(
        prop::sample::select(b"tie,\"\n\r;57 1/8in\xFFmm().-".to_vec()),
        0..200,
    );
    let heads = prop::sample::select(vec![
        "tie,finished-length\n",
        "tie,finished-length (mm),note\r\n",
        "",
    ]);
    TestRunner::new_with_rng(config, rng)
        .run(&(heads, bytes), |(head, bytes)| {
            let table = [head.as_bytes(), &bytes].concat();
            let said = judged(&table, &[]);
            prop_assert!(matches!(said.code, Some(0 | 1)), "{}", said.err);
            let last = said.out.lines().last().unwrap_or_default().to_owned();
            let numbers: Vec<u64> = last
                .split(|c: char| !c.is_ascii_digit())
                .filter_map(|word| word.parse().ok())
                .collect();
            prop_assert_eq!(numbers[0], numbers[1] + numbers[2], "{}", last);
            prop_assert_eq!(said.code == Some(0), numbers[2] == 0 && said.err.is_empty());
            Ok(())
        })
        .expect("calm");
}
