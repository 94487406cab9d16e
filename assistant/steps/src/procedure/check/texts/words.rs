//! The words that the rules go by, in each language.

use crate::Language;

/// Words of one language, in lower case.
pub(super) struct Words {
    /// What no order begins with.
    pub no_order: &'static [&'static str],
    /// The end of a form of the verb that is no order, its shortest word, and the orders that look like it.
    no_order_ending: (&'static str, usize, &'static [&'static str]),
    /// What joins a second action.
    pub and_then: &'static str,
    /// What belongs into a warning.
    pub cautions: &'static [&'static str],
    /// Orders to tighten.
    pub tighten: &'static [&'static str],
    /// What is tightened without a torque.
    pub by_hand: &'static [&'static str],
    /// Orders to measure.
    pub measure: &'static [&'static str],
    /// Orders to measure, where one of `gauges` follows.
    pub look: &'static [&'static str],
    /// What has a limit.
    pub gauges: &'static [&'static str],
}

impl Words {
    pub fn of(language: Language) -> &'static Self {
        match language {
            Language::English => &ENGLISH,
            Language::Spanish => &SPANISH,
        }
    }

    /// Whether a word has the form of no order: “lifting”, “levantando”.
    pub fn is_no_order(&self, word: &str) -> bool {
        let (ending, shortest, orders) = self.no_order_ending;
        word.chars().count() >= shortest && word.ends_with(ending) && !orders.contains(&word)
    }
}

const ENGLISH: Words = Words {
    no_order: &[
        "a", "an", "the", "this", "that", "these", "those", "it", "they", "you", "we", "i",
        "there", "now", "please", "should", "must", "both",
    ],
    no_order_ending: (
        "ing",
        5,
        &[
            "bring", "swing", "sling", "string", "spring", "ring", "ping",
        ],
    ),
    and_then: " and then ",
    cautions: &[
        "beware",
        "caution:",
        "danger:",
        "warning:",
        "watch out",
        "be careful",
        "take care",
        "can burn",
        "can crush",
        "may burst",
    ],
    tighten: &["tighten", "retighten"],
    by_hand: &[
        "by hand",
        "hand-tight",
        "hand tight",
        "finger-tight",
        "finger tight",
    ],
    measure: &["measure"],
    look: &["measure", "gauge", "check"],
    gauges: &[
        "gap",
        "play",
        "clearance",
        "thickness",
        "end float",
        "run-out",
        "voltage",
        "pressure",
    ],
};

const SPANISH: Words = Words {
    no_order: &[
        "el", "la", "los", "las", "un", "una", "unos", "unas", "este", "esta", "estos", "estas",
        "ese", "esa", "usted", "ustedes", "hay", "ahora", "debe", "deben", "ambos", "ambas",
        "nosotros", "yo",
    ],
    no_order_ending: ("ndo", 5, &[]),
    and_then: " y luego ",
    cautions: &[
        "cuidado",
        "atención:",
        "peligro:",
        "advertencia:",
        "precaución:",
        "tenga cuidado",
        "puede quemar",
        "puede aplastar",
        "puede reventar",
    ],
    tighten: &["apriete", "reapriete", "apretar"],
    by_hand: &["a mano", "con los dedos", "con la mano"],
    measure: &["mida"],
    look: &["mida", "compruebe", "verifique"],
    gauges: &[
        "juego", "holgura", "espesor", "grosor", "alabeo", "tensión", "presión",
    ],
};
