//! How long a sentence takes to be said, estimated from its letters.
//!
//! The rate is measured: 348 sentences of the shipped procedures without figures, spoken by espeak-ng 1.51 (voice
//! en-gb) at 160 words a minute, which is the voice's usual rate here. The least-squares fit over syllables, counted as
//! below, and pauses is 0.216 s a syllable and 0.391 s a pause, with a deviation of 0.36 s a sentence.

const SECONDS_A_SYLLABLE: f64 = 0.216;
const SECONDS_A_PAUSE: f64 = 0.391;

/// Syllables of a digit or a sign that stands for a word: “21 mm” is said with seven. Common practice, no source.
const SYLLABLES_A_SIGN: usize = 2;

/// Seconds that a text takes to be said, about.
pub fn seconds_to_say(text: &str) -> f64 {
    let pauses = text
        .split_whitespace()
        .filter(|word| word.ends_with(['.', '!', '?', ':', ';', ',']))
        .count();
    let syllables: usize = text.split_whitespace().map(syllables).sum();
    // Far below 2⁵³, so both are exact.
    syllables as f64 * SECONDS_A_SYLLABLE + pauses as f64 * SECONDS_A_PAUSE
}

/// Syllables of a word: its groups of vowels, without a silent e and the e of most words in -ed.
fn syllables(word: &str) -> usize {
    let signs = word
        .chars()
        .filter(|c| c.is_ascii_digit() || "·°%/".contains(*c))
        .count();
    let word: String = word
        .chars()
        .filter(|c| c.is_alphabetic())
        .flat_map(char::to_lowercase)
        .collect();
    let mut groups = 0;
    let mut in_group = false;
    for c in word.chars() {
        let vowel = "aeiouyäöüéèáíóú".contains(c);
        groups += usize::from(vowel && !in_group);
        in_group = vowel;
    }
    let silent = (word.ends_with('e') && !word.ends_with("le"))
        || (word.ends_with("ed") && !word.ends_with("ted") && !word.ends_with("ded"));
    if silent && groups > 1 {
        groups -= 1;
    }
    let letters = if word.is_empty() { 0 } else { groups.max(1) };
    letters + signs * SYLLABLES_A_SIGN
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn syllables_are_counted() {
        for (word, count) in [
            ("wheel", 1),
            ("Tighten", 2),
            ("fastener", 3),
            ("chocked.", 1),
        ] {
            assert_eq!(syllables(word), count, "{word}");
        }
        assert_eq!(syllables("—"), 0);
        assert_eq!(syllables("21"), 4);
    }

    /// Spoken by espeak-ng 1.51, voice en-gb, 160 words a minute.
    #[test]
    fn sentences_take_about_as_long_as_they_were_measured() {
        for (text, seconds) in SPOKEN {
            let told = seconds_to_say(text);
            assert!(
                (told - seconds).abs() < 1.0,
                "{text}: {told:.1} s, spoken in {seconds} s"
            );
        }
    }

    const SPOKEN: [(&str, f64); 4] = [
        ("Hook the caliper up.", 1.48),
        ("Press the red cable's clamp down onto the plus post.", 3.33),
        (
            "Look which circuit keeps drawing, fuse by fuse, by its voltage drop.",
            5.03,
        ),
        (
            "A van that comes down will crush what is under it. Stay outside its outline.",
            4.99,
        ),
    ];
}
