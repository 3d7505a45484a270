//! Papers as one HTML file, for the screen and the printer.
//!
//! Input is a document of the core and the paper to print on, output the text of a file that needs
//! no other: pictures are inline drawings at their stated size, and there is no script. Elements
//! say what things are, so that the papers can be listened to as well.

use std::fmt::Write;

use tiewright_core::paper::{Align, Block, Caution, Cell, Column, Document, Paper, Step, Table};
use tiewright_core::sheet::Sheet;

use super::number::{Zeros, fixed};
use super::paper_size::{BODY_POINTS, MARGIN, PaperSize};
use super::svg::svg;

/// Decimals of a share of a table's width, per cent.
const PLACES: usize = 2;

/// `document` as an HTML file that prints on paper of `size`.
pub fn html(document: &Document, size: PaperSize) -> String {
    let title = escaped(&document.title);
    let mut text = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width\">\n<title>{title}</title>\n\
         <style>\n{}</style>\n</head>\n<body>\n",
        style(document, size)
    );
    for paper in &document.papers {
        write_paper(&mut text, document, paper);
    }
    text += "</body>\n</html>\n";
    text
}

/// What the parts look like. The words of a footer are quoted as style sheets ask.
fn style(document: &Document, size: PaperSize) -> String {
    let (margin, body) = (number(MARGIN), number(BODY_POINTS));
    let (name, width) = (size.name(), number(size.millimetres().0 - 2.0 * MARGIN));
    let quoted = quoted(&document.title);
    format!(
        r#"@page {{ size: {name}; margin: {margin}mm;
  font: 9pt "Noto Sans", Helvetica, Arial, sans-serif;
  @bottom-left {{ content: "{quoted}"; }}
  @bottom-right {{ content: "page " counter(page) " of " counter(pages); }} }}
body {{ font: {body}pt/1.4 "Noto Sans", Helvetica, Arial, sans-serif; color: #000; background: #fff;
  max-width: {width}mm; margin: 0 auto; padding: 0 3mm; }}
section {{ margin: 10mm 0 20mm; }}
header {{ border-bottom: 0.5mm solid #000; }}
h1, h2, header p, .step {{ margin: 0; }}
h1 {{ font-size: 20pt; line-height: 1.3; }}
h2 {{ font-size: 13pt; margin-top: 5mm; }}
header strong {{ font-size: 13pt; margin-right: 2mm; }}
table {{ border-collapse: collapse; width: calc(100% - 0.2mm); table-layout: fixed; margin-top: 2mm; }}
th, td {{ border: 0.2mm solid #000; padding: 1mm 1.5mm; text-align: start; vertical-align: top;
  overflow-wrap: anywhere; }}
th {{ background: #e0e0e0; print-color-adjust: exact; }}
.middle {{ text-align: center; }}
.end {{ text-align: end; }}
.write {{ height: 7mm; }}
td .note {{ display: block; }}
td svg {{ vertical-align: middle; }}
dl {{ display: grid; grid-template-columns: 1fr 1fr; gap: 1mm 3mm; margin: 2mm 0; }}
dl div {{ display: flex; gap: 2mm; align-items: flex-end; min-height: 7mm; }}
dd {{ margin: 0; flex: 1; border-bottom: 0.2mm solid #000; height: 6mm; }}
ol {{ padding-left: 9mm; }}
li::marker, .step {{ font-weight: bold; }}
li {{ margin-top: 3mm; }}
li p {{ margin: 0; }}
li aside {{ margin: 1.5mm 0; }}
li p {{ orphans: 2; widows: 2; }}
figure {{ margin: 3mm 0 0; }}
figcaption {{ margin-bottom: 1.5mm; }}
aside {{ border: 0.5mm solid #000; border-left-width: 2mm; padding: 2mm 3mm; margin: 3mm 0; }}
aside p {{ margin: 0; }}
@media screen {{ figure svg {{ max-width: 100%; height: auto; }} }}
@media print {{
  body {{ max-width: none; padding: 0; }}
  section {{ margin: 0; }}
  section + section {{ break-before: page; }}
  h1, h2, header, figcaption {{ break-after: avoid; }}
  tr, figure, aside, .step, dl div {{ break-inside: avoid; }}
  .step {{ break-after: avoid; }}
  thead {{ display: table-header-group; }}
}}
"#
    )
}

fn write_paper(text: &mut String, document: &Document, paper: &Paper) {
    line(text, "<section>\n<header>");
    element(text, "h1", &paper.title);
    let (whose, doc) = (escaped(&document.title), escaped(&document.doc));
    line(text, &format!("<p><strong>{whose}</strong> {doc}</p>"));
    line(text, "</header>");
    for block in &paper.blocks {
        write_block(text, block);
    }
    line(text, "</section>");
}

fn write_block(text: &mut String, block: &Block) {
    match block {
        Block::Heading(words) => element(text, "h2", words),
        Block::Paragraph(words) => element(text, "p", words),
        Block::Facts(facts) => {
            line(text, "<dl>");
            facts.iter().for_each(|name| write_fact(text, name));
            line(text, "</dl>");
        }
        Block::Steps(steps) => {
            line(text, "<ol>");
            steps.iter().for_each(|step| write_step(text, step));
            line(text, "</ol>");
        }
        Block::Table(table) => write_table(text, table),
        Block::Picture(picture) => {
            line(text, "<figure>");
            element(text, "figcaption", &picture.caption);
            line(text, &inline(&picture.drawing));
            line(text, "</figure>");
        }
        Block::Caution(caution) => write_caution(text, caution),
    }
}

fn write_fact(text: &mut String, name: &str) {
    let name = escaped(name);
    line(text, &format!("<div><dt>{name}</dt><dd></dd></div>"));
}

fn write_step(text: &mut String, step: &Step) {
    line(text, "<li>");
    line(
        text,
        &format!("<p class=\"step\">{}</p>", escaped(&step.title)),
    );
    if let Some(caution) = &step.caution {
        write_caution(text, caution);
    }
    if !step.text.is_empty() {
        element(text, "p", &step.text);
    }
    line(text, "</li>");
}

fn write_caution(text: &mut String, caution: &Caution) {
    let title = escaped(&caution.title);
    line(text, "<aside role=\"note\">");
    line(text, &format!("<p><strong>Caution: {title}</strong></p>"));
    element(text, "p", &caution.text);
    line(text, "</aside>");
}

fn write_table(text: &mut String, table: &Table) {
    line(
        text,
        &format!("<table aria-label=\"{}\">", escaped(&table.name)),
    );
    let whole: f64 = table.columns.iter().map(|column| column.share).sum();
    line(text, "<colgroup>");
    for column in &table.columns {
        let share = number(column.share / whole * 100.0);
        line(text, &format!("<col style=\"width:{share}%\">"));
    }
    line(text, "</colgroup>\n<thead>\n<tr>");
    for column in &table.columns {
        let class = class_of(column, false);
        let heading = escaped(&column.heading);
        line(text, &format!("<th scope=\"col\"{class}>{heading}</th>"));
    }
    line(text, "</tr>\n</thead>\n<tbody>");
    for row in &table.rows {
        line(text, "<tr>");
        for (cell, column) in row.iter().zip(&table.columns) {
            let class = class_of(column, matches!(cell, Cell::Blank));
            line(text, &format!("<td{class}>{}</td>", inside(cell)));
        }
        line(text, "</tr>");
    }
    line(text, "</tbody>\n</table>");
}

fn class_of(column: &Column, writing: bool) -> &'static str {
    match (writing, column.align) {
        (true, _) => " class=\"write\"",
        (false, Align::Start) => "",
        (false, Align::Middle) => " class=\"middle\"",
        (false, Align::End) => " class=\"end\"",
    }
}

fn inside(cell: &Cell) -> String {
    match cell {
        Cell::Blank => String::new(),
        Cell::Words(words) => {
            let lines: Vec<String> = words.split('\n').map(escaped).collect();
            lines.join("<br>")
        }
        Cell::Named { name, note } if note.is_empty() => {
            format!("<strong>{}</strong>", escaped(name))
        }
        Cell::Named { name, note } => format!(
            "<strong>{}</strong> <span class=\"note\">{}</span>",
            escaped(name),
            escaped(note)
        ),
        Cell::Picture(sheet) => inline(sheet),
    }
}

/// A drawing as an element of the file.
fn inline(sheet: &Sheet) -> String {
    svg(sheet).trim_end().to_owned()
}

fn element(text: &mut String, name: &str, words: &str) {
    line(text, &format!("<{name}>{}</{name}>", escaped(words)));
}

fn line(text: &mut String, words: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{words}");
}

fn number(value: f64) -> String {
    fixed(value, PLACES, Zeros::Dropped)
}

/// Words as text of an element or an attribute; what cannot be shown is a blank.
fn escaped(words: &str) -> String {
    let mut text = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '&' => text += "&amp;",
            '<' => text += "&lt;",
            '>' => text += "&gt;",
            '"' => text += "&quot;",
            c if c.is_control() => text.push(' '),
            c => text.push(c),
        }
    }
    text
}

/// Words between quotes of a style sheet. A `<` is written as its number, or it might end the
/// sheet.
fn quoted(words: &str) -> String {
    let mut text = String::with_capacity(words.len());
    for c in words.chars() {
        match c {
            '"' | '\\' | '<' => {
                // Writing to a string cannot fail.
                let _ = write!(text, "\\{:06x}", u32::from(c));
            }
            c if c.is_control() => text.push(' '),
            c => text.push(c),
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::sample;
    use tiewright_core::paper::papers;

    #[test]
    fn the_file_stands_alone() {
        let text = html(&papers(&sample::draft()), PaperSize::A4);
        assert!(text.starts_with("<!DOCTYPE html>\n<html lang=\"en\">"));
        assert!(text.contains("@page { size: A4; margin: 15mm;"));
        for loaded in [
            "<script", "<link", "<img", "src=", "href=", "@import", "url(",
        ] {
            assert!(!text.contains(loaded), "{loaded}");
        }
    }

    #[test]
    fn words_are_written_out() {
        let mut draft = sample::draft();
        draft.style = "a\u{0}</style><b>\"\\&".into();
        let text = html(&papers(&draft), PaperSize::Letter);
        assert_eq!(text.matches("</style>").count(), 1);
        assert!(!text.contains("<b>"));
        assert!(text.contains("<title>a &lt;/style&gt;&lt;b&gt;&quot;\\&amp;"));
        assert!(text.contains("content: \"a \\00003c/style>\\00003cb>\\000022\\00005c&"));
    }

    #[test]
    fn no_two_elements_bear_one_name() {
        let text = html(&papers(&sample::draft()), PaperSize::A4);
        let ids = text
            .split(" id=\"")
            .skip(1)
            .filter_map(|r| r.split('"').next());
        let all: Vec<&str> = ids.collect();
        let once: BTreeSet<&str> = all.iter().copied().collect();
        assert!(all.len() > 3);
        assert_eq!(all.len(), once.len(), "{all:?}");
    }
}
