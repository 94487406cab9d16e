//! Checks that no readback sounds like anything else that may be said.

use steps::procedure::{At, Code, Examined};
use words::sound::{Lexicon, Nearness, Sounds, near};

pub(super) fn check(examined: &mut Examined, lexicon: &Lexicon<'_>) {
    let Some(procedure) = examined.procedure.clone() else {
        return;
    };
    let sounds = Sounds::new(lexicon, &procedure.sounds_like);
    for found in near(&procedure, sounds) {
        let gate = &found.gate;
        let (what, remedy) = match &found.what {
            Nearness::Readback(other) => (
                format!("that of “{other}”"),
                "say what is seen at this gate and nowhere else",
            ),
            Nearness::Sayable => (
                format!("“{}”, which may be said too", found.words),
                "say what was done and seen in a sentence of its own",
            ),
            Nearness::Denial => (
                format!("“{}”, which denies it", found.words),
                "choose a word whose contrary sounds otherwise, so that more than one short sound changes",
            ),
        };
        examined.add(
            Code::SoundsNear,
            gate.as_str(),
            &At::Readback(gate.clone()),
            format!("the readback of “{gate}” sounds nearly like {what}"),
            format!("too near to “{}”", found.words),
            remedy,
        );
    }
}
