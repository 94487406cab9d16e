//! Text that can't do anything where it is shown.

use std::borrow::Cow;

/// Returns true for a character that a terminal obeys or that reorders the text around it: the control characters C0
/// and C1 except the line feed and the tab, DEL, and Unicode's bidirectional embeddings, overrides and isolates. None
/// of them has a place in a procedure, a note or a name.
pub fn is_hidden_control(character: char) -> bool {
    (character.is_control() && !matches!(character, '\n' | '\t'))
        || matches!(character, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// The text with each [hidden control](is_hidden_control) replaced by U+FFFD.
pub fn harmless(text: &str) -> Cow<'_, str> {
    match text.contains(is_hidden_control) {
        true => Cow::Owned(text.replace(is_hidden_control, "\u{fffd}")),
        false => Cow::Borrowed(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_terminal_obeys_is_replaced_and_the_rest_stays() {
        let hostile = "a\u{1b}]0;x\u{7}\u{9b}2J\u{7f}\r\u{202e}\u{2066}b";
        let shown = "a\u{fffd}]0;x\u{fffd}\u{fffd}2J\u{fffd}\u{fffd}\u{fffd}\u{fffd}b";
        assert_eq!(harmless(hostile), shown);
        let plain = "Größe: 25 N·m, “left”\n\tnext line, 漢字";
        assert_eq!(harmless(plain), plain);
    }
}
