//! How long each stage of the compiler takes with the standard tie: parsing its shape, checking a
//! style, drafting and proving it, laying out the sheet.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use tiewright_core::layout::pattern_sheet;
use tiewright_core::source::{FileId, LoadError, Loader, Source};
use tiewright_core::{compile, stdlib, syntax};

/// A shape file in memory.
struct Memory;

impl Loader for Memory {
    fn load(&self, path: &str, _: Option<&str>) -> Result<Source, LoadError> {
        Ok(Source {
            name: path.to_owned(),
            text: "style regular from four-in-hand { size long { length 60 in } }".into(),
        })
    }
}

fn stages(criterion: &mut Criterion) {
    let (_, text) = stdlib::find("four-in-hand").expect("a standard shape");
    criterion.bench_function("parse", |b| {
        b.iter(|| syntax::parse(FileId::default(), black_box(text)));
    });
    criterion.bench_function("parse and check", |b| {
        b.iter(|| compile(black_box("regular.tie"), &[], &Memory));
    });
    let program = compile("regular.tie", &[], &Memory).program;
    criterion.bench_function("draft and prove", |b| {
        b.iter(|| program.draft(black_box("regular"), Some("long")));
    });
    let draft = program.draft("regular", None).draft.expect("a draft");
    criterion.bench_function("lay out", |b| b.iter(|| pattern_sheet(black_box(&draft))));
}

criterion_group!(benches, stages);
criterion_main!(benches);
