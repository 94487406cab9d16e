//! Spaces and punctuation after the words were put in.

/// Single spaces, none before punctuation, no two pauses side by side, brackets made pauses.
pub(super) fn tidied(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    // A pause that is due before the next word, if a word follows.
    let mut pause = false;
    let mut space = false;
    for c in words.chars() {
        match c {
            '(' | ')' | '[' | ']' | '{' | '}' | '|' => pause = true,
            _ if c.is_whitespace() => space = true,
            ',' | ';' | ':' | '.' | '!' | '?' | '…' => {
                let after_pause = out.ends_with([',', ';', ':', '.', '!', '?', '…']);
                // At the very beginning, and after another pause, it would be said twice.
                if !out.is_empty() && !after_pause {
                    out.push(c);
                }
                pause = false;
                space = true;
            }
            _ => {
                if pause && !out.is_empty() && !out.ends_with([',', ';', ':', '.', '!', '?', '…'])
                {
                    out.push(',');
                }
                if (space || pause) && !out.is_empty() {
                    out.push(' ');
                }
                (pause, space) = (false, false);
                out.push(c);
            }
        }
    }
    out
}
