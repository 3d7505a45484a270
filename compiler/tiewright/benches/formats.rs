//! How long one tie takes in each format, beyond drafting it.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use tiewright::export::{dxf, json, outline, svg};
use tiewright_core::compile;
use tiewright_core::draft::Draft;
use tiewright_core::layout::{folded_sheet, pattern_sheet};
use tiewright_core::source::{LoadError, Loader, Source};

/// A shape file in memory.
struct Memory;

impl Loader for Memory {
    fn load(&self, path: &str, _: Option<&str>) -> Result<Source, LoadError> {
        let text = "style regular from four-in-hand { length 57 in }".into();
        Ok(Source {
            name: path.to_owned(),
            text,
        })
    }
}

fn tie() -> Draft {
    let compiled = compile("regular.tie", &[], &Memory);
    compiled
        .program
        .draft("regular", None)
        .draft
        .expect("the standard tie can be drafted")
}

fn formats(criterion: &mut Criterion) {
    let draft = tie();
    let sheet = pattern_sheet(&draft);
    criterion.bench_function("layout", |b| b.iter(|| pattern_sheet(black_box(&draft))));
    criterion.bench_function("folded", |b| b.iter(|| folded_sheet(black_box(&draft))));
    criterion.bench_function("svg", |b| b.iter(|| svg::svg(black_box(&sheet))));
    criterion.bench_function("json", |b| b.iter(|| json::json(black_box(&draft))));
    criterion.bench_function("outline", |b| {
        b.iter(|| outline::outline(black_box(&draft)))
    });
    criterion.bench_function("dxf", |b| {
        b.iter(|| dxf::dxf(black_box(&sheet), dxf::DEFAULT_TOLERANCE));
    });
}

fn whole(criterion: &mut Criterion) {
    let compiled = compile("regular.tie", &[], &Memory);
    criterion.bench_function("compile", |b| {
        b.iter(|| compile("regular.tie", &[], &Memory))
    });
    criterion.bench_function("draft", |b| {
        b.iter(|| compiled.program.draft(black_box("regular"), None));
    });
}

criterion_group!(benches, formats, whole);
criterion_main!(benches);
