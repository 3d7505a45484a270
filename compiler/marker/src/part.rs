//! A part of a layout searched alone: the pieces of a window, and as ones that stay or go with its
//! end all that they can meet.
//!
//! In: a clear layout and a window of it. Out: the part, and the whole layout with the part as it
//! is later. Never: how the part is made shorter.
//!
//! What lies before the window stays; what lies behind it goes along the cloth with its end, all as
//! one. Past a flaw, or off the repeat that pieces are tied to, nothing can go so, and whether the
//! pieces of a tie lie near one another only all together tell: the part is then the whole layout,
//! of which only the pieces of the window are taken apart.

use crate::state::State;

/// The pieces of a window and all that they can meet.
#[derive(Clone)]
pub(crate) struct Part<'t> {
    /// Where they lie. Pieces that stay for good, and those behind, are frozen.
    pub(crate) state: State<'t>,
    /// Those that go with the end of the window.
    pub(crate) behind: Vec<bool>,
    /// Those of the window.
    pub(crate) free: Vec<bool>,
    /// The window, millimetres along the layout it was cut from.
    pub(crate) window: (f64, f64),
    /// Whether the part is the whole layout, so that no piece stays where it is.
    pub(crate) whole: bool,
}

/// How a part belongs to the layout it was cut from.
#[derive(Clone)]
pub(crate) struct Seam {
    /// The number of each piece of the part in the layout.
    members: Vec<usize>,
    /// The pieces of the layout that go with the end of the window.
    behind: Vec<bool>,
    /// The length of the layout, millimetres.
    length: f64,
}

impl<'t> Part<'t> {
    /// The part of `whole` whose pieces have their middle in the window. A window as long as the
    /// layout takes it all.
    pub(crate) fn cut(whole: &State<'t>, window: (f64, f64)) -> (Part<'t>, Seam) {
        let all = window.0 <= 0.0 && window.1 >= whole.length;
        let table = whole.table;
        let fixed = !table.flaws.is_empty() || table.step > 0.0 || table.near.is_some();
        let widths = whole.table.poses.iter().map(|p| p.bounds.width());
        let widest = widths.fold(0.0, f64::max);
        // A free piece reaches out of the window by half its width, and so it may again when it has
        // moved; what it can meet there lies by half its own width further.
        let reach = 2.0 * widest;
        let mut part = Part {
            state: State::empty(whole.table),
            behind: Vec::new(),
            free: Vec::new(),
            window,
            whole: all || fixed,
        };
        part.state.length = whole.length;
        part.state.is_loop = whole.is_loop;
        if !all {
            part.state.margin = (
                (window.0 - widest / 2.0).max(0.0),
                (whole.length - window.1 - widest / 2.0).max(0.0),
            );
        }
        let mut seam = Seam {
            members: Vec::new(),
            behind: vec![false; whole.len()],
            length: whole.length,
        };
        for i in 0..whole.len() {
            let x = whole.middle(i);
            let free = !whole.frozen[i] && (all || (x >= window.0 && x <= window.1));
            let behind = !free && !fixed && !whole.frozen[i] && x > (window.0 + window.1) / 2.0;
            seam.behind[i] = behind;
            if fixed || free || (x >= window.0 - reach && x <= window.1 + reach) {
                let stays = whole.frozen[i] || (!fixed && !free);
                part.state.push(whole.pose[i], whole.at[i], stays);
                part.behind.push(behind);
                part.free.push(free);
                seam.members.push(i);
            }
        }
        (part, seam)
    }

    /// How many pieces are in the window.
    pub(crate) fn count(&self) -> usize {
        self.free.iter().filter(|f| **f).count()
    }

    /// Whether all pieces of the layout but its flaws are in the window.
    pub(crate) fn is_all(&self) -> bool {
        let mut pieces = self.free.iter().zip(&self.state.frozen);
        self.whole && pieces.all(|(free, frozen)| *free || *frozen)
    }

    /// Freezes all but the pieces of the window, to take only these apart; gives what was frozen.
    pub(crate) fn hold(&mut self) -> Vec<bool> {
        let held = self.free.iter().map(|free| !free).collect();
        std::mem::replace(&mut self.state.frozen, held)
    }
}

impl Seam {
    /// Lays the pieces of the part as they are now into a layout in which what lies before the
    /// window is as it was when it was cut, and moves along what lies behind.
    pub(crate) fn join(&self, part: &Part<'_>, whole: &mut State<'_>) {
        let by = part.state.length - self.length;
        for (at, behind) in whole.at.iter_mut().zip(&self.behind) {
            if *behind {
                at.x += by;
            }
        }
        for (k, &i) in self.members.iter().enumerate() {
            if !part.state.frozen[k] {
                whole.pose[i] = part.state.pose[k];
                whole.at[i] = part.state.at[k];
            }
        }
        whole.length = if whole.is_loop {
            part.state.length
        } else {
            whole.reach()
        };
    }
}
