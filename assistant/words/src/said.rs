//! What was said, freed from how it is written.

/// The words in lower case without punctuation, apostrophes kept ("what's"), a point kept inside a number.
pub(crate) fn plain(text: &str) -> String {
    let lower: Vec<char> = text
        .to_lowercase()
        .replace(['’', 'ʼ'], "'")
        .chars()
        .collect();
    let digit = |at: usize| lower.get(at).is_some_and(char::is_ascii_digit);
    let kept: String = lower
        .iter()
        .enumerate()
        .map(|(at, &c)| match c {
            '\'' => c,
            '.' if digit(at + 1) => c,
            '-' | '−' if digit(at + 1) && !(at > 0 && lower[at - 1].is_alphanumeric()) => '-',
            _ if c.is_alphanumeric() => c,
            _ => ' ',
        })
        .collect();
    let words: Vec<_> = kept
        .split_whitespace()
        .map(|word| word.trim_matches('\''))
        .filter(|w| !w.is_empty())
        .collect();
    words.join(" ")
}

/// What two phrases have in common when only their writing differs: plain words without apostrophes and accents.
pub(crate) fn folded(text: &str) -> String {
    without_accents(&plain(&plain(text).replace('\'', "")))
}

/// The accents of Spanish vowels taken off: not everybody types them. “Ñ” is a letter of its own.
pub(crate) fn without_accents(text: &str) -> String {
    let plain = |c: char| match c {
        'á' => 'a',
        'é' => 'e',
        'í' => 'i',
        'ó' => 'o',
        'ú' | 'ü' => 'u',
        c => c,
    };
    text.chars().map(plain).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn writing_is_taken_off() {
        assert_eq!(plain("What’s next?"), "what's next");
        assert_eq!(plain("Twenty-one point four."), "twenty one point four");
        assert_eq!(plain("Reading 17.5, mm."), "reading 17.5 mm");
        assert_eq!(plain("-5 or 3-5"), "-5 or 3 5");
        assert_eq!(folded("WHATS 'next'"), folded("what's next!"));
        assert_eq!(plain("...'"), "");
    }
}
