//! Notes, as they are written down.

/// A note as somebody would write it: a capital first, “I” for “i”, and no comma left over at either end.
///
/// ```
/// assert_eq!(words::note::tidied(", the boot is split, i think,"), "The boot is split, I think");
/// ```
pub fn tidied(words: &str) -> String {
    let stray = |letter: char| letter.is_whitespace() || matches!(letter, ',' | ';');
    let words = words.trim_matches(stray).split_whitespace();
    let words = words.map(
        |word| match word.trim_end_matches(|c: char| !c.is_alphanumeric()) {
            "i" | "i'm" | "i've" | "i'll" | "i'd" => word.replacen('i', "I", 1),
            _ => word.to_owned(),
        },
    );
    let tidy = words.collect::<Vec<_>>().join(" ");
    let mut letters = tidy.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => tidy,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_is_written_as_somebody_would_write_it() {
        assert_eq!(tidied("i'm out of grease"), "I'm out of grease");
        assert_eq!(tidied("Left, as i said."), "Left, as I said.");
        assert_eq!(tidied("17 mm is tight;"), "17 mm is tight");
        assert_eq!(tidied("está suelto"), "Está suelto");
        assert_eq!(tidied(" , "), "");
    }
}
