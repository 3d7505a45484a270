//! The grammar of styles, their sizes, settings and parameters left open.

use super::blocks::Block;
use super::lexis::{after_keyword, after_sign, keyword};
use super::reader::{Reader, first_word, optional, range};
use super::tree::{Find, Setting, Size, Style};

impl<'a> Reader<'a, '_> {
    /// `style NAME from BASE "doc" { … }`
    pub fn style(&mut self, block: &Block<'a>) -> Option<Style> {
        let g = self.grammar;
        let head = self.read(block, |i| {
            let (i, _) = keyword("style")(i)?;
            let (i, name) = g.name(i)?;
            let (i, _) = keyword("from")(i)?;
            let (i, base) = g.name(i)?;
            let (i, doc) = optional(i, |i| g.text(i))?;
            Ok((i, (name, base, doc)))
        });
        let mut settings = Vec::new();
        let mut sizes = Vec::new();
        let mut finds = Vec::new();
        let mut items = Vec::new();
        // Without a block the style differs in nothing from its base, which is a fair thing to say.
        for inner in block.body.as_deref().unwrap_or_default() {
            match first_word(inner) {
                "size" => sizes.extend(self.size(inner)),
                "find" => finds.extend(self.find(inner)),
                "measure" | "require" => items.extend(self.item(inner)),
                _ => settings.extend(self.setting(inner)),
            }
        }
        let (name, base, doc) = head?;
        Some(Style {
            name,
            base,
            doc,
            settings,
            sizes,
            finds,
            items,
        })
    }

    fn size(&mut self, block: &Block<'a>) -> Option<Size> {
        let g = self.grammar;
        let name = self.read(block, |i| keyword("size")(i).and_then(|(i, _)| g.name(i)));
        let mut settings = Vec::new();
        for inner in self.body(block) {
            settings.extend(self.setting(inner));
        }
        name.map(|name| Size { name, settings })
    }

    pub(super) fn setting(&mut self, block: &Block<'a>) -> Option<Setting> {
        self.no_body(block);
        let g = self.grammar;
        self.read(block, |i| {
            let (i, name) = g.name(i)?;
            let (i, value) = g.expression(i)?;
            Ok((i, Setting { name, value }))
        })
    }

    fn find(&mut self, block: &Block<'a>) -> Option<Find> {
        self.no_body(block);
        let g = self.grammar;
        let span = g.slice(block.head);
        self.read(block, |i| {
            let (mut i, _) = keyword("find")(i)?;
            let mut unknowns = Vec::new();
            loop {
                let (after, name) = g.name(i)?;
                let (after, range) = optional(after, |i| range(&g, i))?;
                unknowns.push((name, range));
                i = after;
                let Some(after) = after_sign(i, ",") else {
                    break;
                };
                i = after;
            }
            let (i, _) = keyword("so")(i)?;
            let (mut i, _) = keyword("that")(i)?;
            let mut equations = Vec::new();
            loop {
                let (after, left) = g.sum(i, 0)?;
                let (after, _) = keyword("is")(after)?;
                let (after, right) = g.sum(after, 0)?;
                equations.push((left, right));
                i = after;
                let Some(after) = after_keyword(i, "and") else {
                    break;
                };
                i = after;
            }
            Ok((
                i,
                Find {
                    unknowns,
                    equations,
                    span,
                },
            ))
        })
    }
}
