//! The usual cautions of the tools of the trade.

use super::Caution;
use crate::draft::Tool;

/// What to beware of with `tool`.
pub fn caution(tool: Tool) -> Caution {
    let (title, text) = match tool {
        Tool::Blade => (
            "blades",
            "Keep guards in place. Wear a chain-mail glove on the hand near the blade and cut away \
             from yourself. Cut off and lock the power before changing a blade or reaching in.",
        ),
        Tool::Iron => (
            "hot iron, steam",
            "Plates and steam burn. Try heat and steam on a scrap of the cloth first, and never \
             leave an iron on and alone.",
        ),
    };
    Caution {
        title: title.to_owned(),
        text: text.to_owned(),
    }
}
