//! Words of the trade that mean the contrary of each other: common practice, no source.

/// Each pair both ways.
const PAIRS: &[(&str, &str)] = &[
    ("raised", "lowered"),
    ("on", "off"),
    ("tight", "loose"),
    ("tightened", "loosened"),
    ("tightened", "loose"),
    ("torqued", "loose"),
    ("connected", "disconnected"),
    ("set", "released"),
    ("applied", "released"),
    ("pressed", "released"),
    ("chocked", "unchocked"),
    ("up", "down"),
    ("in", "out"),
    ("open", "closed"),
    ("open", "shut"),
    ("hot", "cold"),
    ("warm", "cold"),
    ("full", "empty"),
    ("locked", "unlocked"),
    ("fitted", "removed"),
    ("refitted", "removed"),
    ("attached", "detached"),
    ("hung", "hanging"),
    ("supported", "hanging"),
    ("supported", "unsupported"),
    ("steady", "rocking"),
    ("steady", "moving"),
    ("solid", "rocking"),
    ("firm", "soft"),
    ("stopped", "running"),
    ("isolated", "live"),
    ("dead", "live"),
    ("safe", "unsafe"),
    ("secure", "loose"),
    ("clear", "blocked"),
    ("clean", "dirty"),
    ("dry", "wet"),
    ("straight", "twisted"),
    ("left", "right"),
    ("front", "rear"),
    ("inner", "outer"),
    ("top", "bottom"),
    ("level", "sloping"),
    ("all", "some"),
    ("both", "one"),
    ("nobody", "somebody"),
    ("nothing", "something"),
    ("before", "after"),
    ("above", "below"),
    ("under", "over"),
    ("good", "bad"),
    ("seated", "unseated"),
    ("present", "missing"),
    ("drained", "full"),
    ("charged", "discharged"),
    ("plugged", "unplugged"),
    ("stands", "jack"),
    ("with", "without"),
    ("slack", "tight"),
    ("high", "low"),
    ("hard", "soft"),
    ("hard", "gently"),
    ("deep", "shallow"),
    ("opened", "closed"),
    ("bare", "covered"),
    ("every", "no"),
    ("every", "some"),
    ("my", "your"),
    ("moved", "held"),
    ("grip", "miss"),
];

/// Numbers in order: a count one off is as wrong as the contrary.
const COUNTS: [&str; 13] = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
];

/// What could stand instead of the word and would make the sentence false.
pub(super) fn opposites(word: &str) -> Vec<&'static str> {
    let pairs = PAIRS.iter().filter_map(|&(one, other)| match word {
        _ if word == one => Some(other),
        _ if word == other => Some(one),
        _ => None,
    });
    let count = COUNTS.iter().position(|&count| count == word);
    let neighbours = count.into_iter().flat_map(|at| {
        [at.checked_sub(1), Some(at + 1)]
            .into_iter()
            .flatten()
            .filter_map(|at| COUNTS.get(at))
    });
    pairs.chain(neighbours.copied()).collect()
}
