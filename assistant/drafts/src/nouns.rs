//! Which fasteners and things a text speaks of.

/// Nouns of fasteners: one, several.
const FASTENERS: [(&str, &str); 6] = [
    ("nut", "nuts"),
    ("bolt", "bolts"),
    ("screw", "screws"),
    ("stud", "studs"),
    ("plug", "plugs"),
    ("capscrew", "capscrews"),
];

/// Words that no name of a thing goes over.
const ENDS: [&str; 27] = [
    "from", "off", "with", "onto", "on", "by", "to", "using", "and", "until", "in", "into", "at",
    "for", "of", "then", "so", "if", "when", "is", "are", "till", "under", "over", "through",
    "behind", "before",
];

/// Words that stand before a name.
const LEADS: [&str; 11] = [
    "the",
    "a",
    "an",
    "all",
    "both",
    "each",
    "every",
    "new",
    "old",
    "its",
    "remaining",
];

/// How many words of a row are looked at.
const MAX_WORDS: usize = 60;

/// A group of fasteners that a text names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    pub name: String,
    /// Whether the name is more than its noun.
    pub particular: bool,
    pub count: Option<u16>,
}

/// A word in lower case, without the punctuation around it.
pub fn bare(word: &str) -> String {
    word.trim_matches(|it: char| !it.is_alphanumeric())
        .to_lowercase()
}

/// The words of a text, in lower case, without punctuation; a sign that parts stands as an empty word.
fn words(text: &str) -> Vec<String> {
    let mut all = Vec::new();
    for word in text.split_whitespace().take(MAX_WORDS) {
        for (at, piece) in word.split(['(', ')', ',', ';', ':']).enumerate() {
            if at > 0 {
                all.push(String::new());
            }
            let piece = bare(piece);
            if !piece.is_empty() {
                all.push(piece);
            }
        }
    }
    all
}

/// A number that is written as such or as a word.
pub fn count(word: &str) -> Option<u16> {
    const WORDS: [&str; 12] = [
        "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
        "twelve",
    ];
    if word == "both" {
        return Some(2);
    }
    let place = WORDS.iter().position(|it| *it == word);
    place
        .map(|place| place as u16 + 1)
        .or_else(|| word.parse().ok())
        .filter(|it| (1..=200).contains(it))
}

/// The first fasteners that a text names: “5 wheel nuts”.
pub fn fasteners(text: &str) -> Option<Named> {
    let words = words(text);
    let (at, (one, several)) = words.iter().enumerate().find_map(|(at, word)| {
        let noun = FASTENERS
            .iter()
            .find(|(one, several)| word == one || word == several)?;
        Some((at, *noun))
    })?;
    let is_several = words[at] == several;
    let mut name: Vec<&str> = vec![one];
    let mut counted = None;
    for word in words[..at].iter().rev().take(4) {
        if let Some(count) = count(word) {
            counted = Some(count);
            break;
        }
        // The number before it is a size.
        let stops = word.is_empty() || word == "mm" || ENDS.contains(&word.as_str()) || verb(word);
        if stops || LEADS.contains(&word.as_str()) || word.chars().any(|it| it.is_ascii_digit()) {
            break;
        }
        name.insert(0, word);
    }
    Some(Named {
        particular: name.len() > 1,
        name: name.join(" "),
        count: counted.or((!is_several).then_some(1)),
    })
}

/// What a verb is done to: “Remove the left caliper (2 bolts)” has “left caliper”.
pub fn thing(text: &str) -> Option<String> {
    let words = words(text);
    let mut name: Vec<&str> = Vec::new();
    for word in words.iter().skip(1) {
        let word = word.as_str();
        if name.is_empty() && (LEADS.contains(&word) || matches!(word, "off" | "out" | "back")) {
            continue;
        }
        let fastener = FASTENERS
            .iter()
            .any(|(one, several)| word == *one || word == *several);
        if fastener || count(word).is_some() {
            return None;
        }
        if word.is_empty() || ENDS.contains(&word) || name.len() == 4 {
            break;
        }
        name.push(word);
    }
    (!name.is_empty()).then(|| name.join(" "))
}

fn verb(word: &str) -> bool {
    crate::interpretation::Verb::of(word).is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fasteners_are_named_and_counted() {
        let found = |text: &str| {
            let it = fasteners(text).unwrap();
            (it.name, it.count)
        };
        assert_eq!(
            found("tighten 5 nuts to 100 ft-lb"),
            ("nut".into(), Some(5))
        );
        assert_eq!(
            found("Loosen the five wheel nuts"),
            ("wheel nut".into(), Some(5))
        );
        assert_eq!(
            found("Torque axle nut to 245 Nm"),
            ("axle nut".into(), Some(1))
        );
        assert_eq!(
            found("remove caliper (2 bolts, 17 mm)"),
            ("bolt".into(), Some(2))
        );
        assert_eq!(
            found("undo both 8 mm guide bolts"),
            ("guide bolt".into(), None)
        );
        assert_eq!(fasteners("clean the hub"), None);
    }

    #[test]
    fn things_are_named_without_their_articles() {
        assert_eq!(
            thing("Remove the left caliper (2 bolts)").as_deref(),
            Some("left caliper")
        );
        assert_eq!(
            thing("Take off the fan guard").as_deref(),
            Some("fan guard")
        );
        assert_eq!(thing("Remove wheel from hub").as_deref(), Some("wheel"));
        assert_eq!(thing("Remove the 5 wheel nuts"), None);
        assert_eq!(thing("Remove"), None);
    }
}
