//! Words as R12 can carry them.
//!
//! The DXF library writes carets as `^ ` and what is not ASCII as `\U+XXXX` by itself; here is what
//! it leaves open: text that has no such form, and text that grows too long by it.

/// The longest text of a group in R12, characters.
const LONGEST: usize = 255;
/// Characters of `\U+XXXX`.
const ESCAPE: usize = 7;

/// `text` ready for the library: line ends and other controls as spaces, characters that four
/// digits cannot name as `?`, cut so that it is no longer than R12 allows once written.
pub(super) fn plain(text: &str) -> String {
    let mut length = 0;
    text.chars()
        .map(|c| match c {
            c if c.is_control() => ' ',
            c if u32::from(c) > 0xFFFF => '?',
            c => c,
        })
        .take_while(|&c| {
            length += match c {
                '^' => 2,
                ' '..='~' => 1,
                _ => ESCAPE,
            };
            length <= LONGEST
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn controls_and_what_has_no_escape_are_replaced() {
        assert_eq!(plain("caf\u{e9} ^ 1\n2\u{7f}\u{85}"), "caf\u{e9} ^ 1 2  ");
        assert_eq!(plain("\u{1F454}"), "?");
    }

    #[test]
    fn text_is_cut_by_its_length_as_written() {
        assert_eq!(plain(&"a".repeat(300)).len(), 255);
        assert_eq!(plain(&"^".repeat(300)).len(), 127);
        assert_eq!(plain(&"\u{e9}".repeat(100)).chars().count(), 36);
    }
}
