//! Words on a sheet: how wide they are and how to shorten them.
//!
//! Widths follow the advances of Noto Sans, the font the pictures are drawn in, with a reserve for
//! the fonts a viewer may put in its place. Nothing here breaks or hyphenates inside a word.

/// Heights of a capital in one em of the font (1462 of 2048 units).
const CAPITALS_PER_EM: f64 = 2048.0 / 1462.0;
/// Reserve for other fonts: the common sans-serif faces are up to a tenth wider.
const RESERVE: f64 = 1.1;
/// Advance of anything outside printable ASCII, thousandths of an em: as wide as a square.
const OTHER: u16 = 1000;
/// Advances of the printable ASCII characters from the space on, thousandths of an em (Noto Sans).
const ADVANCES: [u16; 95] = [
    260, 269, 408, 646, 572, 831, 732, 225, 300, 300, 551, 572, 268, 322, 268, 372, 572, 572, 572,
    572, 572, 572, 572, 572, 572, 572, 268, 268, 572, 572, 572, 434, 899, 639, 650, 632, 730, 556,
    519, 728, 741, 339, 273, 619, 524, 907, 760, 781, 605, 781, 622, 549, 556, 731, 600, 930, 586,
    566, 572, 329, 372, 329, 572, 444, 580, 561, 615, 480, 615, 564, 344, 615, 618, 258, 258, 534,
    258, 935, 618, 605, 615, 615, 413, 479, 361, 618, 508, 786, 529, 510, 470, 380, 551, 380, 572,
];

/// Width of `text` in mm when its capitals are `height` mm high, with a reserve of a tenth.
pub fn text_width(text: &str, height: f64) -> f64 {
    let thousandths: u64 = text.chars().map(|c| u64::from(advance(c))).sum();
    thousandths as f64 / 1000.0 * CAPITALS_PER_EM * height * RESERVE
}

/// `text` on one line no wider than `width` mm: cut short with three dots if need be.
pub fn fitted(text: &str, height: f64, width: f64) -> String {
    let clean: String = text
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if text_width(&clean, height) <= width {
        return clean;
    }
    let dots = text_width("...", height);
    let mut used = 0.0;
    let kept: String = clean
        .chars()
        .take_while(|&c| {
            used += text_width(c.encode_utf8(&mut [0; 4]), height);
            used + dots <= width
        })
        .collect();
    format!("{}...", kept.trim_end())
}

/// `text` in lines no wider than `width` mm, broken between words; a longer word stays whole.
pub(super) fn wrapped(text: &str, height: f64, width: f64) -> Vec<String> {
    let wide = |text: &str| text_width(text, height);
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if wide(line) + wide(" ") + wide(word) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

fn advance(c: char) -> u16 {
    let place = (c as usize).checked_sub(' ' as usize);
    place
        .and_then(|place| ADVANCES.get(place))
        .copied()
        .unwrap_or(OTHER)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_are_those_of_the_font_and_the_reserve() {
        // "Hi": 741 + 258 thousandths of an em of 5 mm capitals.
        let bare = 0.999 * 5.0 * 2048.0 / 1462.0;
        assert!((text_width("Hi", 5.0) - 1.1 * bare).abs() < 1e-9);
        assert_eq!(text_width("", 5.0), 0.0);
        assert!(text_width("\u{7d79}", 5.0) > text_width("m", 5.0));
    }

    #[test]
    fn long_words_are_cut_to_the_width() {
        assert_eq!(fitted("blade", 3.5, 100.0), "blade");
        assert_eq!(fitted("two\nlines", 3.5, 100.0), "two lines");
        for width in [5.0, 10.0, 20.0, 40.0] {
            let cut = fitted("a very long name that goes on and on", 3.5, width);
            assert!(cut.ends_with("..."), "{cut}");
            assert!(
                text_width(&cut, 3.5) <= width.max(text_width("...", 3.5)),
                "{cut}"
            );
        }
    }

    #[test]
    fn wrapping_keeps_every_word_and_the_width() {
        let text = "sew on this line after the tipping is turned";
        let lines = wrapped(text, 3.5, 40.0);
        assert_eq!(lines.join(" "), text);
        assert!(lines.len() > 1);
        assert!(lines.iter().all(|line| text_width(line, 3.5) <= 40.0));
        assert_eq!(
            wrapped("unbreakable-and-long", 3.5, 5.0),
            ["unbreakable-and-long"]
        );
    }
}
