//! The usual cautions of the tools of the trade.

use super::{Block, Caution};

/// What to beware of with a blade.
pub(super) fn blade() -> Caution {
    Caution {
        title: "Blades".to_owned(),
        text:
            "Keep guards in place. Wear a chain-mail glove on the hand near the blade and cut away \
               from yourself. Cut off and lock the power before changing a blade or reaching in."
                .to_owned(),
    }
}

impl From<Caution> for Block {
    fn from(caution: Caution) -> Block {
        Block::Caution(caution)
    }
}
