//! Strange words as a procedure says that they sound.

use std::collections::BTreeMap;

/// The text with plain words in the place of those that they sound like.
///
/// ```
/// let own = std::collections::BTreeMap::from([("undertray".to_owned(), "under-tray".to_owned())]);
/// let said = words::wording::as_it_sounds("Undertray off, the undertray's screws too.", &own);
/// assert_eq!(said, "under-tray off, the undertray's screws too.");
/// ```
pub fn as_it_sounds(text: &str, sounds_like: &BTreeMap<String, String>) -> String {
    if sounds_like.is_empty() {
        return text.to_owned();
    }
    let of_word = |c: char| c.is_alphanumeric() || matches!(c, '\'' | '’');
    let mut said = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let in_word = of_word(first);
        let end = rest.find(|c| of_word(c) != in_word).unwrap_or(rest.len());
        let (run, after) = rest.split_at(end);
        let word = run.to_lowercase().replace('’', "'");
        said.push_str(sounds_like.get(&word).map_or(run, String::as_str));
        rest = after;
    }
    said
}
