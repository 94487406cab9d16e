//! What may be said in a job in words of the procedure's own.

use crate::wording;
use steps::procedure::At;
use steps::{Language, Procedure};

/// A phrase, and where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Phrase {
    /// Its place in the file.
    pub at: At,
    /// The words as they are said.
    pub words: String,
}

/// All that is listened for besides the commands: readbacks and the author's decoys, the answers at the start, what
/// leads to a branch, the names of what may be left for later, the job's title.
pub fn phrases(procedure: &Procedure) -> Vec<Phrase> {
    let mut all = vec![phrase(At::Title, &procedure.title)];
    for (id, gate) in &procedure.gates {
        let readbacks = gate.readbacks();
        all.extend(readbacks.map(|it| phrase(At::Readback(id.clone()), it)));
        let decoys = gate.decoys.iter();
        all.extend(decoys.map(|it| phrase(At::Decoy(id.clone(), it.clone()), it)));
    }
    for variant in &procedure.variants {
        let options = variant.options.iter();
        all.extend(
            options.map(|(option, words)| {
                phrase(At::Option(variant.id.clone(), option.clone()), words)
            }),
        );
    }
    for say in procedure.branches.values().flat_map(|it| &it.say) {
        all.push(phrase(At::Says(say.clone()), say));
    }
    let items = procedure.items.iter();
    let items = items
        .filter(|(_, it)| it.may_wait)
        .map(|(id, it)| (id, &it.name));
    let groups = procedure.fasteners.iter();
    let groups = groups
        .filter(|(_, it)| it.may_wait)
        .map(|(id, it)| (id, if it.count == 1 { &it.name } else { &it.names }));
    let readings = procedure.readings.iter();
    let readings = readings
        .filter(|(_, it)| it.may_wait)
        .map(|(id, it)| (id, &it.name));
    let names = items.chain(groups).chain(readings);
    all.extend(names.map(|(id, name)| phrase(At::Name(id.clone()), name)));
    all
}

/// A name may hold a size (“M8 bolts”): it is said in words.
fn phrase(at: At, words: &str) -> Phrase {
    Phrase {
        at,
        words: crate::said::plain(&wording::spoken(Language::English, words)),
    }
}
