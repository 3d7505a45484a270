//! What is ordered, as it is cut: every style in every size and cloth drafted once, its pieces sorted by
//! the cloth they come from.
//!
//! Pieces of several roles that come to the same cloth are cut together. Roles for which no cloth is
//! named, or one that does not say how wide it is, cannot be planned; how much of it they need is told.

use std::collections::BTreeMap;
use std::sync::Arc;

use sha2::{Digest, Sha256};
use tiewright_core::cloth::Property;
use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::draft::{Cloth, Draft};
use tiewright_core::{Drafted, Program};

use crate::commands::drafting::judge;
use crate::lay::job::{JobArticle, JobCloth};
use crate::lay::make;
use crate::orders::book::Ware;
use crate::parallel;

/// Wares drafted before any is sorted in.
const AT_ONCE: usize = 64;

/// The pieces of one style and size that are cut from one cloth, whichever that is.
#[derive(Debug)]
pub struct Cut {
    /// The pieces, for one article.
    pub article: JobArticle,
    /// The shape the style is made from.
    pub shape: Arc<str>,
    /// The roles they are of, in order of declaration.
    pub roles: Vec<Arc<str>>,
    /// The area of the lines to cut, mm².
    pub area: f64,
}

/// A cloth that something is cut from.
#[derive(Debug)]
pub struct Stuff {
    /// What it is and how wide.
    pub cloth: JobCloth,
    /// The price of a metre; none where it states none.
    pub price: Option<f64>,
}

/// One cut of an article and its cloth, places in the lists of [`Articles`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    /// The pieces.
    pub cut: usize,
    /// The cloth.
    pub stuff: usize,
}

/// A role that cannot be planned.
#[derive(Debug, Clone, PartialEq)]
pub struct Without {
    /// The role.
    pub role: Arc<str>,
    /// The cloth it names, which states no width.
    pub cloth: Option<Arc<str>>,
    /// The area of its pieces in one article, mm².
    pub area: f64,
}

/// What one ware comes to.
#[derive(Debug, Default)]
pub struct Made {
    /// What is cut from which cloth.
    pub parts: Vec<Part>,
    /// What cannot be planned.
    pub without: Vec<Without>,
}

/// Everything that is ordered, drafted.
#[derive(Debug, Default)]
pub struct Articles {
    /// The cuts.
    pub cuts: Vec<Cut>,
    /// The cloths.
    pub stuffs: Vec<Stuff>,
    /// What each ware comes to; none of one that cannot be made, which `diagnostics` tell of.
    pub made: Vec<Option<Made>>,
    /// What is to be said of the drafts.
    pub diagnostics: Vec<Diagnostic>,
}

/// Drafts `wares` and sorts their pieces.
pub fn articles(program: &Program, wares: &[Ware]) -> Articles {
    let mut out = Articles::default();
    let mut cuts = BTreeMap::new();
    let mut stuffs = BTreeMap::new();
    // Drafts are large, and most wares are cut as others are: some at a time.
    let all = wares.chunks(AT_ONCE).flat_map(|wares| {
        let made = parallel::map(wares, |ware| prepared(program, ware));
        wares.iter().zip(made)
    });
    for (ware, one) in all {
        out.diagnostics.extend(one.diagnostics);
        let Some(sorted) = one.sorted else {
            out.made.push(None);
            continue;
        };
        let shape = program.shape_of(&ware.style).unwrap_or(&ware.style);
        let parts = sorted.parts.into_iter().map(|part| Part {
            cut: *cuts.entry(part.key).or_insert_with_key(|(_, _, roles, _)| {
                out.cuts.push(Cut {
                    article: part.article,
                    shape: shape.into(),
                    roles: roles.clone(),
                    area: part.area,
                });
                out.cuts.len() - 1
            }),
            stuff: *stuffs.entry(part.stuff_key).or_insert_with(|| {
                out.stuffs.push(part.stuff);
                out.stuffs.len() - 1
            }),
        });
        let parts = parts.collect();
        out.made.push(Some(Made {
            parts,
            without: sorted.without,
        }));
    }
    out
}

/// Style, size, roles and a digest of the pieces: equal ones are cut alike.
type CutKey = (Arc<str>, Option<Arc<str>>, Vec<Arc<str>>, String);

struct SortedPart {
    key: CutKey,
    stuff_key: (String, Option<u64>),
    article: JobArticle,
    area: f64,
    stuff: Stuff,
}

struct Sorted {
    parts: Vec<SortedPart>,
    without: Vec<Without>,
}

/// One ware drafted, with all that is to be said about it.
struct Prepared {
    sorted: Option<Sorted>,
    diagnostics: Vec<Diagnostic>,
}

fn prepared(program: &Program, ware: &Ware) -> Prepared {
    let Drafted {
        draft,
        mut diagnostics,
    } = program.draft_in(&ware.style, ware.size.as_deref(), ware.cloth.as_deref());
    diagnostics.extend(draft.iter().flat_map(|draft| judge(draft, false)));
    let good = !diagnostics.iter().any(Diagnostic::is_error);
    let sorted = draft.filter(|_| good).map(|draft| sorted(&draft));
    match sorted {
        Some(Err(why)) => {
            diagnostics.push(Diagnostic::general(Code::NoDraft, why));
            Prepared {
                sorted: None,
                diagnostics,
            }
        }
        other => Prepared {
            sorted: other.and_then(Result::ok),
            diagnostics,
        },
    }
}

/// The pieces of a draft by the cloth they are cut from.
fn sorted(draft: &Draft) -> Result<Sorted, String> {
    let mut parts: Vec<(&Cloth, JobCloth, Vec<Arc<str>>)> = Vec::new();
    let mut without = Vec::new();
    for cloth in &draft.cloths {
        let of_it = || {
            draft
                .pieces
                .iter()
                .filter(|piece| piece.cloth == cloth.role)
        };
        if of_it().next().is_none() {
            continue;
        }
        let named = cloth.name.as_deref().and_then(|name| {
            let made = make::cloth(name, &cloth.doc, &cloth.properties);
            made.ok()
        });
        let Some(made) = named else {
            without.push(Without {
                role: cloth.role.clone(),
                cloth: cloth.name.clone(),
                area: of_it().map(|p| p.area * f64::from(p.quantity)).sum(),
            });
            continue;
        };
        match parts.iter_mut().find(|(_, known, _)| *known == made) {
            Some((.., roles)) => roles.push(cloth.role.clone()),
            None => parts.push((cloth, made, vec![cloth.role.clone()])),
        }
    }
    let parts = parts
        .into_iter()
        .map(|(cloth, made, roles)| part(draft, cloth, made, roles));
    Ok(Sorted {
        parts: parts.collect::<Result<_, String>>()?,
        without,
    })
}

/// SHA-256 in hexadecimal digits: the pieces themselves are long.
fn digest(text: &str) -> String {
    let digest = Sha256::digest(text.as_bytes());
    digest.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn part(
    draft: &Draft,
    cloth: &Cloth,
    made: JobCloth,
    roles: Vec<Arc<str>>,
) -> Result<SortedPart, String> {
    let article = make::article(&make::Article {
        draft,
        roles: roles.iter().map(|role| &**role).collect(),
        count: 1,
    });
    let text = |what: Result<String, serde_json::Error>| what.map_err(|e| e.to_string());
    let price = cloth.properties.get(Property::Price);
    Ok(SortedPart {
        key: (
            draft.style.clone(),
            draft.size.clone(),
            roles,
            digest(&text(serde_json::to_string(&article))?),
        ),
        stuff_key: (text(serde_json::to_string(&made))?, price.map(f64::to_bits)),
        area: article
            .pieces
            .iter()
            .map(|p| p.cut.area() * f64::from(p.quantity))
            .sum(),
        article,
        stuff: Stuff { cloth: made, price },
    })
}
