//! The documents say what is so: every shape, command, output and table in them is checked.
//!
//! How a fence of a document is taken:
//!
//! | fence | what must hold |
//! |---|---|
//! | `tie` | a whole file; it drafts and its proof holds |
//! | `tie in-shape` | statements of a shape, with nothing else in it |
//! | `tie-error` | a whole file; it does not draft |
//! | `sh` | commands, run in a folder with the examples; exit code 0 unless `# exit code N` follows |
//! | `text` | what the shape or the commands just before give; `…` stands for lines left out |
//!
//! A shape is saved under the name in its first line, `# NAME.tie`, for others to `use`. The
//! commands of the README run one after another, each finding what those before it left.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use tempfile::TempDir;
use tiewright_core::cloth::{BIAS, Bias, DIRECTION, Direction, PROPERTIES};
use tiewright_core::format::{quantity, unit, with_unit};
use tiewright_core::kind::Kind;
use tiewright_core::phrase::{CENTRE, CONSTANTS, FORMS, FUNCTIONS, Form, Gives, RESERVED};
use tiewright_core::row::{Reading, Row};
use tiewright_core::source::{LoadError, Loader, Source};
use tiewright_core::syntax::lexis::UNITS;
use tiewright_core::table;

const BINARY: &str = env!("CARGO_BIN_EXE_tiewright");
const LANGUAGE: &str = include_str!("../../LANGUAGE.md");
const README: &str = include_str!("../../../README.md");
const DEVELOPERS: &str = include_str!("../../../DEVELOPERS.md");
const FOUR_IN_HAND: &str = include_str!("../../../stdlib-shapes/four-in-hand.tie");
/// A line that stands for any number of lines left out.
const LEFT_OUT: &str = "…";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// A fenced part of a document.
struct Fence {
    info: String,
    body: String,
    line: usize,
}

/// The fences of a document, in order; each must be closed.
fn fences(document: &str) -> Vec<Fence> {
    let mut found: Vec<Fence> = Vec::new();
    let mut open = false;
    for (index, line) in document.lines().enumerate() {
        match (line.strip_prefix("```"), open) {
            (Some(info), false) => {
                found.push(Fence {
                    info: info.trim().to_owned(),
                    body: String::new(),
                    line: index + 1,
                });
                open = true;
            }
            (Some(_), true) => open = false,
            (None, true) => {
                let fence = found.last_mut().expect("an open fence");
                fence.body += line;
                fence.body.push('\n');
            }
            (None, false) => {}
        }
    }
    assert!(!open, "a fence is never closed");
    found
}

/// Every fence with the `text` fence that follows it, if one does.
fn with_output(fences: &[Fence]) -> Vec<(&Fence, Option<&Fence>)> {
    let mut pairs: Vec<(&Fence, Option<&Fence>)> = Vec::new();
    for fence in fences {
        if fence.info != "text" {
            pairs.push((fence, None));
            continue;
        }
        let shown = pairs.last_mut().map(|(_, output)| output.replace(fence));
        assert!(
            matches!(shown, Some(None)),
            "line {}: this output follows nothing that gives it",
            fence.line
        );
    }
    pairs
}

/// Whether `found` is `shown`, where a line `…` stands for lines left out.
fn is_shown(shown: &str, found: &str) -> bool {
    let parts: Vec<Vec<&str>> = shown
        .lines()
        .map(str::trim_end)
        .collect::<Vec<_>>()
        .split(|line| *line == LEFT_OUT)
        .map(<[&str]>::to_vec)
        .collect();
    let mut rest: &[&str] = &found.lines().map(str::trim_end).collect::<Vec<_>>();
    let last = parts.len() - 1;
    for (index, part) in parts.iter().enumerate() {
        let at = match (index, index == last) {
            (0, true) => return rest == part.as_slice(),
            (0, false) => rest.starts_with(part).then_some(0),
            (_, true) => rest
                .ends_with(part)
                .then(|| rest.len().saturating_sub(part.len())),
            (_, false) => rest
                .windows(part.len().max(1))
                .position(|w| w == part.as_slice()),
        };
        match at {
            Some(at) => rest = &rest[at + part.len()..],
            None => return false,
        }
    }
    true
}

#[test]
fn lines_left_out_may_be_any_but_the_others_must_be_there() {
    let found = "a\nb\nc\nd\n";
    for shown in ["a\nb\nc\nd\n", "a\n…\nd\n", "…\nb\n…\n", "…\nd\n", "a\n…\n"] {
        assert!(is_shown(shown, found), "{shown}");
    }
    for shown in [
        "a\nb\n",
        "…\na\n",
        "a\n…\nb\n",
        "…\nc\nb\n…\n",
        "d\n…\na\n",
        "…\nx\n…\n",
    ] {
        assert!(!is_shown(shown, found), "{shown}");
    }
}

/// What the program says and how it ends.
struct Said {
    text: String,
    code: i32,
}

/// Runs the program in `folder`; what is wrong comes before results.
fn tiewright(folder: &Path, arguments: &[String]) -> Said {
    let output = Command::new(BINARY)
        .args(arguments)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .expect("the program starts");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    Said {
        text: text(output.stderr) + &text(output.stdout),
        code: output.status.code().expect("an exit code"),
    }
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

/// Saves a shape under the name in its first line and gives the name.
fn save(folder: &Path, fence: &Fence) -> String {
    let first = fence.body.lines().next().unwrap_or("");
    let name = first
        .strip_prefix("# ")
        .filter(|name| name.ends_with(".tie"))
        .unwrap_or("example.tie");
    let path = folder.join(name);
    fs::create_dir_all(path.parent().expect("a folder")).expect("made");
    let body = match fence.info.as_str() {
        "tie in-shape" => format!("shape example {{\n{}}}\n", fence.body),
        _ => fence.body.clone(),
    };
    fs::write(path, body).expect("written");
    name.to_owned()
}

#[test]
fn every_shape_in_the_language_reference_is_what_is_said_of_it() {
    let folder = TempDir::new().expect("a folder");
    let fences = fences(LANGUAGE);
    let wrong: Vec<String> = with_output(&fences)
        .into_iter()
        .filter_map(|(fence, output)| shape(folder.path(), fence, output).err())
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Drafts the shape of a fence in every size and as it stands; `Err` says what is not as shown.
fn shape(folder: &Path, fence: &Fence, output: Option<&Fence>) -> Result<(), String> {
    let place = format!("compiler/LANGUAGE.md, line {}", fence.line);
    let wanted = match fence.info.as_str() {
        "tie" | "tie in-shape" => 0,
        "tie-error" => 1,
        other => return Err(format!("{place}: a fence `{other}`")),
    };
    let name = save(folder, fence);
    let in_every_size = tiewright(folder, &words(&["check", &name]));
    let said = tiewright(folder, &words(&["draft", &name, "--as", "outline"]));
    for said in [&in_every_size, &said] {
        if said.code != wanted {
            return Err(format!("{place}: exit code {}\n{}", said.code, said.text));
        }
    }
    let about_files = ["wrote ", "unchanged ", "nothing was written"];
    let lines = said.text.lines();
    let text: Vec<&str> = lines
        .filter(|line| !about_files.iter().any(|start| line.starts_with(start)))
        .collect();
    let text = text.join("\n");
    match output {
        Some(output) if !is_shown(output.body.trim_end(), text.trim_end()) => {
            Err(format!("{place}: the program says\n{text}"))
        }
        None if wanted != 0 => Err(format!("{place}: the message is not shown")),
        _ => Ok(()),
    }
}

#[test]
fn every_command_in_the_readme_does_what_is_shown() {
    let folder = TempDir::new().expect("a folder");
    copy(&root().join("examples"), &folder.path().join("examples"));
    let fences = fences(README);
    for (fence, output) in with_output(&fences) {
        let place = format!("README.md, line {}", fence.line);
        let mut said = String::new();
        match fence.info.as_str() {
            "tie" => {
                let name = save(folder.path(), fence);
                let checked = tiewright(folder.path(), &words(&["check", &name]));
                assert_eq!(checked.code, 0, "{place}:\n{}", checked.text);
            }
            "tie-error" => {
                let name = save(folder.path(), fence);
                let checked = tiewright(folder.path(), &words(&["check", &name]));
                assert_eq!(checked.code, 1, "{place}:\n{}", checked.text);
            }
            "sh" => {
                for line in fence.body.lines() {
                    said += &command(folder.path(), line, &place);
                }
            }
            other => panic!("{place}: a fence `{other}`"),
        }
        if let Some(output) = output {
            let same = is_shown(output.body.trim_end(), said.trim_end());
            assert!(same, "{place}: the program says\n{said}");
        }
    }
}

/// Runs one line of a `sh` fence if it is the program's, else checks that what it calls is there.
fn command(folder: &Path, line: &str, place: &str) -> String {
    let (line, wanted) = match line.split_once("# exit code ") {
        Some((line, code)) => (line, code.trim().parse().expect("a number")),
        None => (line, 0),
    };
    let words = split(line);
    let first = words.first().map_or("", |word| word.as_str());
    let has = |path: &str| root().join(path).exists();
    if line.starts_with("cargo run --release --locked -- ") || first == "tiewright" {
        let skip = if first == "tiewright" { 1 } else { 5 };
        let said = tiewright(folder, &words[skip..]);
        assert_eq!(said.code, wanted, "{place}: `{line}` says\n{}", said.text);
        return said.text;
    }
    // The rest builds or tests the program, which cannot be done from within a test.
    let there = match (first, words.get(1).map(String::as_str)) {
        ("cargo", Some("install")) => words
            .last()
            .is_some_and(|p| has(&format!("{p}/Cargo.toml"))),
        ("cargo", Some("bench")) => has("compiler/tiewright/benches"),
        (script, _) => script.contains('/') && is_executable(&root().join(script)),
    };
    assert!(there, "{place}: `{line}` calls what is not there");
    String::new()
}

#[cfg(unix)]
fn is_executable(path: &Path) -> bool {
    use std::os::unix::fs::PermissionsExt;
    fs::metadata(path).is_ok_and(|about| about.permissions().mode() & 0o111 != 0)
}

#[cfg(not(unix))]
fn is_executable(path: &Path) -> bool {
    path.is_file()
}

/// The words of a command line; double quotes hold blanks.
fn split(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (index, part) in line.split('"').enumerate() {
        if index % 2 == 1 {
            words.push(part.to_owned());
        } else {
            words.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    words
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("made");
    for entry in fs::read_dir(from).expect("a folder") {
        let entry = entry.expect("an entry");
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).expect("copied");
        }
    }
}

#[test]
fn the_pictures_are_the_programs_own() {
    let folder = TempDir::new().expect("a folder");
    let example = root().join("examples/choir-tie.tie");
    let example = example.to_string_lossy();
    let formats = ["draft", &example, "--as", "svg,folded", "--out", "."];
    let said = tiewright(folder.path(), &words(&formats));
    assert_eq!(said.code, 0, "{}", said.text);
    for name in ["choir-tie.svg", "choir-tie-folded.svg"] {
        let drawn = fs::read(folder.path().join(name)).expect("drawn");
        let kept = fs::read(root().join("examples/pictures").join(name)).expect("kept");
        assert!(
            drawn == kept,
            "{name} is out of date: see Pictures in DEVELOPERS.md"
        );
    }
}

/// Checks that `document` holds a table of these rows.
fn has_table(document: &str, head: &str, rows: impl Iterator<Item = String>) {
    let columns = head.matches('|').count() - 1;
    let table: String = [head.to_owned(), "|---".repeat(columns) + "|"]
        .into_iter()
        .chain(rows)
        .map(|row| row + "\n")
        .collect();
    // An empty line ends a table, and so does the end of the document.
    let ended = table.clone() + "\n";
    let there = (document.to_owned() + "\n").contains(&ended);
    assert!(there, "the table should be\n{table}");
}

fn places(form: &Form) -> String {
    let all: Vec<String> = form
        .places
        .iter()
        .map(|(_, place)| place.describe())
        .collect();
    all.join("; ")
}

fn gives(form: &Form) -> String {
    match form.gives {
        Gives::Kind(kind) => kind.to_string(),
        Gives::SameAsFirst => "the same kind".to_owned(),
        Gives::PointOrCurve => "a point for a point, else a curve".to_owned(),
    }
}

/// The row of the reference for a number that a cloth or table states.
fn row_of<P>(row: &Row<P>) -> String {
    let shown = |value: f64| match row.reading {
        Reading::Percent => format!("{} %", value * 100.0),
        Reading::Plain => with_unit(value, unit(row.kind())),
        Reading::Whole => format!("{value}"),
    };
    let (low, high) = (shown(row.lowest), shown(row.highest));
    let whole = match row.reading {
        Reading::Whole => ", whole",
        _ => "",
    };
    format!("| `{}` | {low} to {high}{whole} | {} |", row.word, row.doc)
}

/// Words in a row, each checked to be what it is read as.
fn words_of<T: Copy>(words: &[(&str, T)], written: fn(T) -> &'static str) -> String {
    let word = |(word, meant): &(&str, T)| {
        assert_eq!(written(*meant), *word);
        format!("`{word}`")
    };
    words.iter().map(word).collect::<Vec<_>>().join(", ")
}

#[test]
fn the_tables_of_the_language_are_those_of_the_compiler() {
    let phrases = FORMS.iter().map(|form| {
        format!(
            "| `{}` | {} | {} | {} |",
            form.usage(),
            places(form),
            gives(form),
            form.doc
        )
    });
    has_table(
        LANGUAGE,
        "| phrase | in its places | gives | meaning |",
        phrases,
    );
    let functions = FUNCTIONS
        .iter()
        .map(|(name, _, doc)| format!("| `{name}(…)` | {doc} |"));
    has_table(LANGUAGE, "| function | meaning |", functions);
    let constants = CONSTANTS
        .iter()
        .map(|(name, _, dim, doc)| format!("| `{name}` | {dim} | {doc} |"));
    let centre = format!(
        "| `{CENTRE}` | {} | the line along the middle of every draft |",
        Kind::Line
    );
    has_table(
        LANGUAGE,
        "| name | kind | meaning |",
        constants.chain([centre]),
    );
    let lines = PROPERTIES.iter().map(row_of);
    let ways = words_of(Direction::WORDS, Direction::as_str);
    let direction = format!(
        "| `{DIRECTION}` | {ways} | which ways a piece may be turned; any way unless said |"
    );
    let ways = words_of(Bias::WORDS, Bias::as_str);
    let bias = format!(
        "| `{BIAS}` | {ways} | which way the stripes run on the face; as the shape draws it unless said |"
    );
    has_table(
        LANGUAGE,
        "| line | may be | meaning |",
        lines.chain([direction, bias]),
    );
    let lines = table::PROPERTIES.iter().map(row_of);
    has_table(LANGUAGE, "| line of a table | may be | meaning |", lines);
    let units = UNITS
        .iter()
        .map(|(name, one, dim)| format!("| `{name}` | {} |", quantity(*one, Kind::Quantity(*dim))));
    has_table(LANGUAGE, "| unit | one of it |", units);
    let reserved: Vec<String> = RESERVED.iter().map(|word| format!("`{word}`")).collect();
    let reserved = reserved.join(" ");
    assert!(
        unwrapped(LANGUAGE).contains(&reserved),
        "the reserved words should be\n{reserved}"
    );
    let leading: Vec<String> = FORMS
        .iter()
        .filter(|f| f.leads())
        .map(|f| format!("`{}`", f.word))
        .collect();
    let mut once = leading.clone();
    once.dedup();
    let leading = once.join(" ");
    assert!(
        unwrapped(LANGUAGE).contains(&leading),
        "the leading words should be\n{leading}"
    );
}

/// A document with its lines joined.
fn unwrapped(document: &str) -> String {
    document.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// One text, whatever is asked for.
struct OneText<'t>(&'t str);

impl Loader for OneText<'_> {
    fn load(&self, path: &str, _: Option<&str>) -> Result<Source, LoadError> {
        Ok(Source {
            name: path.to_owned(),
            text: self.0.into(),
        })
    }
}

#[test]
fn the_parameters_and_measures_listed_are_those_of_the_four_in_hand() {
    let rows = FOUR_IN_HAND.lines().filter_map(|line| {
        let (said, doc) = line.trim().strip_prefix("parameter ")?.split_once('"')?;
        let (name, rest) = said.split_once(' ')?;
        let (default, range) = rest.split_once(" from ")?;
        let (default, range, doc) = (default.trim(), range.trim(), doc.trim_end_matches('"'));
        Some(format!("| `{name}` | {default} | {range} | {doc} |"))
    });
    let head = "| parameter | unless set | may be | meaning |";
    has_table(LANGUAGE, head, rows);
    let text = "style plain from four-in-hand";
    let compiled = tiewright_core::compile("plain.tie", &[], &OneText(text));
    let drafted = compiled.program.draft("plain", None);
    let draft = drafted.draft.expect("a draft");
    let rows = LANGUAGE.split(head).nth(1).expect("the table").lines();
    let listed = rows.skip(2).take_while(|row| row.starts_with('|')).count();
    assert_eq!(draft.parameters.len(), listed);
    let measures: Vec<String> = draft
        .measures
        .iter()
        .map(|measure| format!("`{}`", measure.name))
        .collect();
    let measures = measures.join(", ");
    let there = unwrapped(LANGUAGE).contains(&measures);
    assert!(there, "the measures should be\n{measures}");
}

#[test]
fn every_built_in_shape_is_told_of_and_proves() {
    let head = "| shape | what it is | of note |";
    let table: Vec<&str> = LANGUAGE
        .split(head)
        .nth(1)
        .expect("the table")
        .lines()
        .collect();
    for name in tiewright_core::stdlib::names() {
        let text = format!("style plain from {name}");
        let compiled = tiewright_core::compile("plain.tie", &[], &OneText(&text));
        let drafted = compiled.program.draft("plain", None);
        let draft = drafted.draft.expect(name);
        let failed: Vec<_> = draft.proof.iter().filter(|row| !row.holds).collect();
        assert!(failed.is_empty(), "{name}: {failed:?}");
        let row = format!("| `{name}` | {} |", draft.doc);
        let told = table.iter().any(|line| line.starts_with(&row));
        assert!(told, "no row in LANGUAGE.md begins with {row}");
        let of_note = |line: &&&str| line.starts_with(&row);
        let of_note = table
            .iter()
            .find(of_note)
            .map_or("", |line| &line[row.len()..]);
        for parameter in of_note.split('`').skip(1).step_by(2) {
            let known = draft.parameters.iter().any(|p| &*p.name == parameter);
            assert!(known, "{name} has no parameter {parameter}");
        }
    }
}

/// The rows of a table of the README, by its first heading: what each has in backticks in its
/// cells, and the plain text of its first cell.
fn readme_table(head: &str) -> Vec<(String, Vec<String>)> {
    let rows = README.lines().skip_while(|line| !line.starts_with(head));
    rows.skip(2)
        .take_while(|line| line.starts_with('|'))
        .map(|row| {
            let first = row.split('|').nth(1).unwrap_or("").trim().to_owned();
            let quoted = row.split('`').skip(1).step_by(2).map(str::to_owned);
            (first, quoted.collect())
        })
        .collect()
}

#[test]
fn the_json_fields_told_are_those_written() {
    let folder = TempDir::new().expect("a folder");
    let every_mark = "shape s { piece p { cloth c; grain 0 deg; outline {
        edge top = line from (0 mm, 9 mm) to (9 mm, 9 mm)
        edge end = line from (9 mm, 9 mm) to (9 mm, 0 mm)
        edge low = line from (9 mm, 0 mm) to (0 mm, 9 mm) }
        sew line from (4 mm, 8 mm) to (8 mm, 8 mm); drill (8 mm, 8 mm); text \"t\" at (8 mm, 7 mm)
        notch v on top at 3 mm depth 1 mm }
        prove \"one\" 1 at most 1
        assembly a { lay p; finish p; mark line from (4 mm, 8 mm) to (8 mm, 8 mm) as m on back }
        inspection i \"now\" of p { point w along line from (4 mm, 8 mm) to (8 mm, 8 mm) within 1 mm }
        step \"Do\" \"it\" }";
    fs::write(folder.path().join("s.tie"), every_mark).expect("written");
    let json = ["draft", "s.tie", "--as", "json", "--out", "-"];
    let said = tiewright(folder.path(), &words(&json));
    let draft: serde_json::Value = serde_json::from_str(&said.text).expect("JSON");
    let mut written = Vec::new();
    keys(&draft, &mut written);
    let told: Vec<String> = readme_table("| field |")
        .into_iter()
        .flat_map(|row| row.1)
        .collect();
    for key in &written {
        assert!(told.contains(key), "`{key}` is not told");
    }
    for name in told
        .iter()
        .filter(|name| !["mm", "y"].contains(&name.as_str()))
    {
        assert!(written.contains(name), "`{name}` is not written");
    }
}

/// The names of all fields, at any depth.
fn keys(value: &serde_json::Value, out: &mut Vec<String>) {
    match value {
        serde_json::Value::Object(fields) => {
            for (key, inner) in fields {
                out.push(key.clone());
                keys(inner, out);
            }
        }
        serde_json::Value::Array(list) => list.iter().for_each(|inner| keys(inner, out)),
        _ => {}
    }
}

#[test]
fn the_layers_told_hold_all_that_is_written() {
    let folder = TempDir::new().expect("a folder");
    let example = root().join("examples/choir-tie.tie");
    let formats = [
        "draft",
        &example.to_string_lossy(),
        "--as",
        "dxf",
        "--out",
        "-",
    ];
    let dxf = tiewright(folder.path(), &words(&formats)).text;
    let told: Vec<String> = readme_table("| layer |")
        .into_iter()
        .map(|row| row.0)
        .collect();
    let lines: Vec<&str> = dxf.lines().map(str::trim).collect();
    let mut layers: Vec<&str> = lines
        .chunks(2)
        .filter(|pair| pair[0] == "8")
        .map(|pair| pair[1])
        .collect();
    layers.sort_unstable();
    layers.dedup();
    assert!(layers.contains(&"1"), "no boundary in {layers:?}");
    for layer in layers {
        assert!(told.iter().any(|t| t == layer), "layer {layer} is not told");
    }
}

#[test]
fn the_code_map_names_every_module_and_nothing_else() {
    let map = DEVELOPERS
        .split("\n## ")
        .find(|part| part.starts_with("Code map"))
        .expect("a code map");
    for source in [
        "compiler/geometry/src",
        "compiler/core/src",
        "compiler/marker/src",
        "compiler/tiewright/src",
    ] {
        let section = map
            .split("\n### ")
            .find(|part| part.starts_with(&format!("`{source}`")))
            .unwrap_or_else(|| panic!("the code map has no section `{source}`"));
        let mut there = Vec::new();
        modules(&root().join(source), "", 0, &mut there);
        let named: Vec<&str> = section
            .lines()
            .filter_map(|line| line.strip_prefix("| `"))
            .filter_map(|row| row.split('`').next())
            .collect();
        for module in &there {
            assert!(
                named.contains(&module.as_str()),
                "{source}: `{module}` is not in the code map"
            );
        }
        for name in named {
            assert!(
                there.iter().any(|module| module == name),
                "{source}: there is no module `{name}`"
            );
        }
    }
}

/// The modules below a folder as they are imported, `a::b`; nothing deeper than that.
fn modules(folder: &Path, above: &str, depth: usize, out: &mut Vec<String>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        let stem = path
            .file_stem()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        if ["lib", "main", "mod"].contains(&stem.as_str()) {
            continue;
        }
        let name = format!("{above}{stem}");
        if path.is_dir() && depth == 0 {
            modules(&path, &format!("{name}::"), depth + 1, out);
        }
        out.push(name);
    }
}

#[test]
fn scripts_developers_are_told_to_run_are_there() {
    for fence in fences(DEVELOPERS).iter().filter(|f| f.info == "sh") {
        for line in fence.body.lines() {
            let script = line.split_whitespace().next().unwrap_or("");
            let there = script == "cargo" || is_executable(&root().join(script));
            assert!(there, "DEVELOPERS.md, line {}: `{line}`", fence.line);
        }
    }
}

#[test]
fn links_lead_somewhere() {
    for (document, folder) in [(LANGUAGE, "compiler"), (README, ""), (DEVELOPERS, "")] {
        for link in document
            .split("](")
            .skip(1)
            .filter_map(|rest| rest.split(')').next())
        {
            let file = link.split('#').next().expect("a part");
            let there = file.is_empty() || root().join(folder).join(file).exists();
            assert!(there, "{link} leads nowhere");
        }
    }
}
