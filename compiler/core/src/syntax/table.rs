//! The grammar of cutting tables.

use super::blocks::Block;
use super::cloth::body_of;
use super::expected::expected;
use super::lexis::{blank, keyword, word};
use super::reader::{Reader, first_word, optional};
use super::tree::{Table, TableLine};
use crate::table::{LINES, property};

impl<'a> Reader<'a, '_> {
    /// `table NAME "doc" { … }`
    pub fn table(&mut self, block: &Block<'a>) -> Option<Table> {
        let g = self.grammar;
        let head = self.read(block, |i| {
            let (i, _) = keyword("table")(i)?;
            let (i, name) = g.name(i)?;
            let (i, doc) = optional(i, |i| g.text(i))?;
            Ok((i, (name, doc)))
        });
        let lines = body_of(block).iter();
        let lines = lines.filter_map(|inner| self.table_line(inner)).collect();
        head.map(|(name, doc)| Table { name, doc, lines })
    }

    /// `PROPERTY VALUE`
    fn table_line(&mut self, block: &Block<'a>) -> Option<TableLine> {
        let g = self.grammar;
        let first = first_word(block);
        if !LINES.contains(&first) {
            self.unknown_statement(block, "a table", LINES);
            return None;
        }
        self.no_body(block);
        let span = g.slice(blank(block.head).get(..first.len()).unwrap_or(block.head));
        self.read(block, |i| {
            let (i, found) = word(i)?;
            let Some(row) = property(found) else {
                return expected(blank(i), "a line of a table");
            };
            let (i, value) = g.expression(i)?;
            let property = row.property;
            Ok((
                i,
                TableLine {
                    property,
                    value,
                    span,
                },
            ))
        })
    }
}
