//! What people say in a workshop when they mean nobody's machine: sentences put together from parts, so that no
//! two hours are alike. They use the words of commands and readbacks on purpose.

use super::shop::Chance;

const WHO: [&str; 16] = [
    "i",
    "you",
    "he",
    "she",
    "the new one",
    "the foreman",
    "the customer",
    "my brother",
    "somebody",
    "the driver",
    "they",
    "we",
    "the ferry crew",
    "the boss",
    "nobody here",
    "the other shift",
];

const DOES: [&str; 24] = [
    "left the wrench on",
    "was looking for",
    "wants a new",
    "never cleaned",
    "ordered the wrong",
    "already pulled",
    "dropped",
    "put grease on",
    "can't find",
    "bent",
    "had to weld",
    "will bring back",
    "should check",
    "forgot",
    "borrowed",
    "tightened",
    "broke",
    "painted",
    "measured",
    "took off",
    "hung up",
    "sold",
    "kept talking about",
    "stood beside",
];

const WHAT: [&str; 32] = [
    "the brake caliper",
    "the hose",
    "a wheel nut",
    "the stands",
    "the trolley jack",
    "the big wrench",
    "the sensor wire",
    "the hub",
    "the rollers",
    "the trailer",
    "the van",
    "the collar",
    "the pin",
    "the pedal",
    "the hook",
    "the clips",
    "the splash shield",
    "the old bearing",
    "the torque sheet",
    "the coffee machine",
    "the radio",
    "the heater",
    "the key",
    "his pocket knife",
    "the front wheel",
    "the lever",
    "the gearbox",
    "the lamp",
    "both gloves",
    "the delivery",
    "the weight",
    "the next one",
];

const WHERE: [&str; 24] = [
    "yesterday",
    "on the bench",
    "under the van",
    "before lunch",
    "in the other bay",
    "with both hands",
    "twice",
    "all around",
    "every time",
    "when it rained",
    "at the ferry",
    "next to the door",
    "for an hour",
    "without asking",
    "and it moved freely",
    "and nothing happened",
    "so we stop now",
    "and then it clicked",
    "as usual",
    "on monday",
    "and carried on",
    "until the whistle",
    "because the light was green",
    "again",
];

const REMARKS: [&str; 40] = [
    "did you see the game last night",
    "is there any coffee left",
    "mind your head",
    "can you hold this for me",
    "what time do you finish today",
    "i'll be back in a minute",
    "turn that radio down please",
    "the parts should come tomorrow",
    "no that goes on the other side",
    "yes but not like that",
    "how many do we need",
    "what size did you say",
    "which one is next",
    "where are we going for lunch",
    "why does it always rain on monday",
    "hold on to the rail",
    "carry on like that and it breaks",
    "he told me to stop by the office",
    "there was a note on the windscreen",
    "help me lift this",
    "who left the door open",
    "the weather will turn cold tonight",
    "my back hurts again",
    "have a look at the tide table",
    "the boat leaves at half past seven",
    "give me the long one",
    "that's not what the book says",
    "you finish the paperwork",
    "next week i'm on holiday",
    "say that again and i'll tell your mother",
    "it's quiet today",
    "wait for the others",
    "the song is older than you are",
    "and now the news at noon",
    "traffic is slow on the coast road",
    "we continue with music from the harbour",
    "winds from the west and rain by evening",
    "our reporter was at the quay",
    "call the number on the screen",
    "stay with us after the break",
];

/// The sentence of this number.
pub fn sentence(number: u64) -> String {
    let mut chance = Chance::new(number.wrapping_mul(31).wrapping_add(5));
    let mut part = |parts: &[&'static str]| parts[chance.below(parts.len())];
    match part(&["remark", "plain", "plain", "plain", "joined", "asked"]) {
        "remark" => {
            let first = part(&REMARKS);
            let second = part(&REMARKS);
            if first == second {
                first.to_owned()
            } else {
                format!("{first} {second}")
            }
        }
        "plain" => format!(
            "{} {} {} {}",
            part(&WHO),
            part(&DOES),
            part(&WHAT),
            part(&WHERE)
        ),
        "joined" => format!(
            "{} {} {} and {} {} {}",
            part(&WHO),
            part(&DOES),
            part(&WHAT),
            part(&WHO),
            part(&DOES),
            part(&WHAT),
        ),
        _ => format!(
            "do you know if {} {} {} {}",
            part(&WHO),
            part(&DOES),
            part(&WHAT),
            part(&WHERE)
        ),
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn sentences_vary_and_are_the_same_each_time() {
        let all: std::collections::HashSet<String> = (0..1000).map(super::sentence).collect();
        assert!(all.len() > 900, "{}", all.len());
        assert_eq!(super::sentence(3), super::sentence(3));
    }
}
