//! Which pieces of a marker make one tie, so that the pieces of a tie lie near one another.
//!
//! In: a job with articles and its layout. Out: the tie of every piece, and how much of the cloth
//! the pieces of each tie lie along. Never: where a piece lies.
//!
//! Why dealing out in order is best: let every kind belong to one article, and its pieces be equally
//! long along the cloth in all their turns. Of two ties, the one may take of every kind the left one
//! of their two pieces, the other the right one. The left tie then begins with the first of the
//! two and ends no later than either did; the right one begins no sooner than either and ends with
//! the last. So neither the sum of the two spreads grows nor the greater of them. Where a kind
//! belongs to several articles, or its turns differ in length, its pieces are dealt out anew, all
//! others as they are, at the least sum, as long as that makes the sum less.

use crate::assign::least;
use crate::job::{Article, Job};
use crate::layout::{Layout, Placement};
use crate::outline::bounds;
use crate::tolerance::TOUCH;

/// Which pieces make one tie. Ties are numbered from 0, by where they begin along the cloth.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bundles {
    /// The tie of each placement of the layout.
    pub of: Vec<usize>,
    /// The article of each tie.
    pub article: Vec<usize>,
    /// How much of the cloth the pieces of each tie lie along, from the left end of the first to the
    /// right end of the last, millimetres.
    pub spread: Vec<f64>,
}

/// One piece along the cloth.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Span {
    pub(crate) kind: usize,
    pub(crate) start: f64,
    pub(crate) end: f64,
}

/// One tie in the making.
struct Deal {
    article: usize,
    /// How far it comes among those of its article, from 0 to 1.
    share: f64,
    /// The kind of each of its pieces, and the piece.
    pieces: Vec<(usize, usize)>,
}

/// How often kinds are dealt out anew at the most.
const ROUNDS: usize = 8;

impl Bundles {
    /// The widest spread of a tie, millimetres.
    pub fn widest(&self) -> f64 {
        self.spread.iter().copied().fold(0.0, f64::max)
    }
}

/// The ties of a marker: pieces dealt out so that the sum of the spreads is least. That is exact if
/// every kind belongs to one article and is equally long along the cloth in all its turns, as it is
/// in a turn and the opposite; the widest spread then is the least too. Else no kind can be dealt
/// out better while the others stay.
///
/// Empty if the job has no articles, or the layout is not one of the job.
pub fn bundles(job: &Job, layout: &Layout) -> Bundles {
    if job.articles.is_empty() {
        return Bundles::default();
    }
    let span = |p: &Placement| {
        let reach = bounds(&p.corners(job)?);
        Some(Span {
            kind: p.kind,
            start: reach.x0,
            end: reach.x1,
        })
    };
    let spans: Option<Vec<Span>> = layout.placements.iter().map(span).collect();
    spans
        .and_then(|spans| dealt(&job.articles, &spans))
        .unwrap_or_default()
}

/// [`bundles`] of pieces of which only the run along the cloth is known; `None` if they are not the
/// pieces of the articles.
pub(crate) fn dealt(articles: &[Article], spans: &[Span]) -> Option<Bundles> {
    let kinds = articles.iter().flat_map(|a| a.pieces.iter().map(|p| p.0));
    let kinds = kinds.max().map_or(0, |most| most + 1);
    let mut of_kind: Vec<Vec<usize>> = vec![Vec::new(); kinds];
    for (piece, span) in spans.iter().enumerate() {
        of_kind.get_mut(span.kind)?.push(piece);
    }
    let middle = |&piece: &usize| spans[piece].start + spans[piece].end;
    for pieces in &mut of_kind {
        pieces.sort_by(|a, b| middle(a).total_cmp(&middle(b)).then(a.cmp(b)));
    }
    let users = |kind: usize| {
        let has = |a: &&Article| a.count > 0 && a.pieces.iter().any(|p| p.0 == kind && p.1 > 0);
        articles.iter().filter(has).count()
    };
    let (own, shared): (Vec<usize>, Vec<usize>) = (0..kinds).partition(|&k| users(k) <= 1);
    let mut deals = empty(articles);
    for &kind in own.iter().chain(&shared) {
        deal_out(&mut deals, articles, kind, &of_kind[kind], spans)?;
    }
    let uneven = |&kind: &usize| {
        let long = |&piece: &usize| spans[piece].end - spans[piece].start;
        let pieces = &of_kind[kind];
        let first = pieces.first().map_or(0.0, long);
        pieces.iter().any(|p| (long(p) - first).abs() > TOUCH)
    };
    let again: Vec<usize> = (0..kinds)
        .filter(|kind| shared.contains(kind) || uneven(kind))
        .collect();
    for _ in 0..ROUNDS {
        let better = again.iter().map(|&kind| redeal(&mut deals, kind, spans));
        if better.filter(|b| *b).count() == 0 {
            break;
        }
    }
    Some(numbered(deals, spans))
}

/// All ties that have pieces, still without them.
fn empty(articles: &[Article]) -> Vec<Deal> {
    let mut deals = Vec::new();
    for (article, made) in articles.iter().enumerate() {
        if made.pieces.iter().all(|p| p.1 == 0) {
            continue;
        }
        deals.extend((0..made.count).map(|number| Deal {
            article,
            share: (number as f64 + 0.5) / made.count as f64,
            pieces: Vec::new(),
        }));
    }
    deals
}

/// Gives every tie its pieces of one kind, all in order along the cloth; `None` if they do not come
/// out even.
fn deal_out(
    deals: &mut [Deal],
    articles: &[Article],
    kind: usize,
    pieces: &[usize],
    spans: &[Span],
) -> Option<()> {
    let all = spans.iter().fold(0.0_f64, |end, s| end.max(s.end));
    let place = |deal: &Deal| {
        let begin = deal.pieces.iter().map(|p| spans[p.1].start);
        let begin = begin.fold(f64::INFINITY, f64::min);
        let place = if begin.is_finite() {
            begin
        } else {
            deal.share * all
        };
        (place, deal.article)
    };
    let mut order: Vec<usize> = (0..deals.len()).collect();
    // Stable: ties of one article stay in their order, as nothing of theirs crosses.
    order.sort_by(|&a, &b| {
        let (a, b) = (place(&deals[a]), place(&deals[b]));
        a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))
    });
    let mut left = pieces.iter();
    for number in order {
        for &(_, quantity) in articles[deals[number].article]
            .pieces
            .iter()
            .filter(|p| p.0 == kind)
        {
            for _ in 0..quantity {
                deals[number].pieces.push((kind, *left.next()?));
            }
        }
    }
    left.next().is_none().then_some(())
}

/// Deals one kind out anew, one piece of each tie at a time; whether the sum of spreads is less.
fn redeal(deals: &mut [Deal], kind: usize, spans: &[Span]) -> bool {
    let mut better = false;
    let mut round = 0;
    loop {
        let slots = slots(deals, kind, round);
        if slots.is_empty() {
            return better;
        }
        round += 1;
        let things: Vec<usize> = slots.iter().map(|&(n, s)| deals[n].pieces[s].1).collect();
        let cost: Vec<Vec<f64>> = slots
            .iter()
            .map(|&(number, slot)| {
                let others = deals[number].pieces.iter().enumerate();
                let others = others.filter(|(s, _)| *s != slot).map(|(_, p)| p.1);
                let (start, end) = reach(others, spans);
                let with = |&t: &usize| spans[t].end.max(end) - spans[t].start.min(start);
                things.iter().map(with).collect()
            })
            .collect();
        let now: f64 = (0..slots.len()).map(|k| cost[k][k]).sum();
        let found = least(&cost);
        let then: f64 = found.iter().enumerate().map(|(k, &t)| cost[k][t]).sum();
        if then < now - TOUCH {
            better = true;
            for (&(number, slot), &thing) in slots.iter().zip(&found) {
                deals[number].pieces[slot].1 = things[thing];
            }
        }
    }
}

/// Of every tie that has so many pieces of the kind: its number, and which of its pieces is the
/// one of this round.
fn slots(deals: &[Deal], kind: usize, round: usize) -> Vec<(usize, usize)> {
    let slot = |deal: &Deal| {
        let own = deal.pieces.iter().enumerate().filter(|(_, p)| p.0 == kind);
        own.map(|(slot, _)| slot).nth(round)
    };
    let numbered = deals.iter().enumerate();
    numbered
        .filter_map(|(number, deal)| slot(deal).map(|slot| (number, slot)))
        .collect()
}

/// From where to where pieces lie along the cloth.
fn reach(pieces: impl Iterator<Item = usize>, spans: &[Span]) -> (f64, f64) {
    pieces.fold((f64::INFINITY, f64::NEG_INFINITY), |(start, end), piece| {
        (start.min(spans[piece].start), end.max(spans[piece].end))
    })
}

/// The ties in their order along the cloth.
fn numbered(deals: Vec<Deal>, spans: &[Span]) -> Bundles {
    let mut ties: Vec<(f64, f64, Deal)> = deals
        .into_iter()
        .map(|deal| {
            let (start, end) = reach(deal.pieces.iter().map(|p| p.1), spans);
            (start, end, deal)
        })
        .collect();
    ties.sort_by(|a, b| {
        a.0.total_cmp(&b.0)
            .then(a.1.total_cmp(&b.1))
            .then(a.2.article.cmp(&b.2.article))
    });
    let mut bundles = Bundles {
        of: vec![0; spans.len()],
        ..Bundles::default()
    };
    for (number, (start, end, deal)) in ties.iter().enumerate() {
        for (_, piece) in &deal.pieces {
            bundles.of[*piece] = number;
        }
        bundles.article.push(deal.article);
        bundles.spread.push((end - start).max(0.0));
    }
    bundles
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn article(pieces: &[(usize, usize)], count: usize) -> Article {
        Article {
            pieces: pieces.to_vec(),
            count,
        }
    }

    fn span(kind: usize, start: f64, long: f64) -> Span {
        Span {
            kind,
            start,
            end: start + long,
        }
    }

    /// The least sum and the least widest spread of two ties of one article, by trying all.
    fn by_trying(spans: &[Span], quantities: &[usize]) -> (f64, f64) {
        let (mut sum, mut widest) = (f64::INFINITY, f64::INFINITY);
        for mask in 0..1_usize << spans.len() {
            let of = |tie: usize| (0..spans.len()).filter(move |piece| (mask >> piece & 1) == tie);
            let even = quantities
                .iter()
                .enumerate()
                .all(|(kind, &q)| of(0).filter(|&p| spans[p].kind == kind).count() == q);
            if even {
                let [a, b] = [0, 1].map(|tie| {
                    let (start, end) = reach(of(tie), spans);
                    end - start
                });
                sum = sum.min(a + b);
                widest = widest.min(a.max(b));
            }
        }
        (sum, widest)
    }

    proptest! {
        /// In order is best, both for the sum and for the widest.
        #[test]
        fn no_other_deal_of_two_ties_is_nearer(
            quantities in prop::collection::vec(1..3_usize, 1..4),
            starts in prop::collection::vec(0.0..1000.0_f64, 12),
        ) {
            let mut spans = Vec::new();
            for (kind, &quantity) in quantities.iter().enumerate() {
                for _ in 0..2 * quantity {
                    spans.push(span(kind, starts[spans.len()], 100.0 + 50.0 * kind as f64));
                }
            }
            let pieces: Vec<(usize, usize)> = quantities.iter().copied().enumerate().collect();
            let found = dealt(&[article(&pieces, 2)], &spans).expect("ties");
            let (sum, widest) = by_trying(&spans, &quantities);
            prop_assert!((found.spread.iter().sum::<f64>() - sum).abs() < 1e-9);
            prop_assert!((found.widest() - widest).abs() < 1e-9);
        }
    }

    #[test]
    fn ties_are_numbered_from_the_left_and_lie_together() {
        let spans = [
            span(0, 500.0, 100.0),
            span(1, 30.0, 50.0),
            span(0, 0.0, 100.0),
            span(1, 520.0, 50.0),
        ];
        let found = dealt(&[article(&[(0, 1), (1, 1)], 2)], &spans).expect("ties");
        assert_eq!(found.of, [1, 0, 0, 1]);
        assert_eq!(found.spread, [100.0, 100.0]);
    }

    #[test]
    fn a_kind_of_two_articles_goes_where_it_lies() {
        // One tie of the first article on the left, one on the right; those of the second between.
        let mut spans = vec![span(0, 0.0, 10.0), span(0, 900.0, 10.0)];
        spans.extend([span(1, 300.0, 10.0), span(1, 600.0, 10.0)]);
        spans.extend([0.0, 300.0, 600.0, 900.0].map(|x| span(2, x + 5.0, 10.0)));
        let articles = [article(&[(0, 1), (2, 1)], 2), article(&[(1, 1), (2, 1)], 2)];
        let found = dealt(&articles, &spans).expect("ties");
        assert_eq!(found.spread, [15.0; 4]);
        assert_eq!(found.article, [0, 1, 1, 0]);
        assert_eq!(found.of, [0, 3, 1, 2, 0, 1, 2, 3]);
    }

    #[test]
    fn a_shared_kind_is_dealt_at_the_least_sum() {
        // In order along the cloth the long tie would take the left piece, which costs more.
        let articles = [article(&[(0, 2), (2, 1)], 1), article(&[(1, 1), (2, 1)], 1)];
        let spans = [
            span(0, 0.0, 10.0),
            span(0, 90.0, 10.0),
            span(1, 20.0, 10.0),
            span(2, 25.0, 10.0),
            span(2, 80.0, 10.0),
        ];
        let found = dealt(&articles, &spans).expect("ties");
        assert_eq!(found.spread, [100.0, 15.0]);
        assert_eq!(found.of, [0, 0, 1, 1, 0]);
    }

    #[test]
    fn pieces_of_no_tie_are_none() {
        let articles = [article(&[(0, 1)], 1)];
        assert_eq!(
            dealt(&articles, &[span(0, 0.0, 1.0), span(0, 0.0, 1.0)]),
            None
        );
        assert_eq!(dealt(&articles, &[span(1, 0.0, 1.0)]), None);
        assert_eq!(dealt(&articles, &[]), None);
    }
}
