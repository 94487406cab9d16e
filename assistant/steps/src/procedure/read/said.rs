//! What is said aloud: where it stands, and what its strange words sound like.

use super::Reader;
use crate::Id;
use crate::procedure::At;
use crate::procedure::code::Code;
use crate::procedure::file::Text;
use crate::procedure::names::{as_heard, fill};
use std::collections::BTreeMap;

impl Reader<'_> {
    /// Notes where everything stands that may be said, for who looks at how it sounds.
    pub(super) fn said(&mut self) {
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            let file = &it.file;
            let own = |name: &Text| Id::new(&fill(name.as_ref(), &it.with));
            let heard = |words: &Text| as_heard(&fill(words.as_ref(), &it.with));
            let mut said: Vec<(At, &Text)> = Vec::new();
            let mut readbacks = Vec::new();
            said.extend(file.title.iter().map(|title| (At::Title, title)));
            for gate in &file.gate {
                let id = own(&gate.id);
                let decoys = gate.decoys.iter();
                said.extend(decoys.map(|it| (At::Decoy(id.clone(), heard(it)), it)));
                readbacks.push((At::Readback(id), gate.readback.span()));
            }
            for variant in &file.variant {
                let id = Id::new(variant.id.as_ref());
                let options = variant.options.as_ref().iter();
                said.extend(options.map(|it| {
                    let option = Id::new(it.id.as_ref());
                    (At::Option(id.clone(), option), &it.say)
                }));
            }
            let says = file.branch.iter().flat_map(|it| &it.say);
            said.extend(says.map(|it| (At::Says(heard(it)), it)));
            let items = file.item.iter().map(|it| (&it.id, &it.name));
            let groups = file.fastener.iter();
            let groups = groups.map(|it| (&it.id, it.names.as_ref().unwrap_or(&it.name)));
            let readings = file.reading.iter().map(|it| (&it.id, &it.name));
            let names = items.chain(groups).chain(readings);
            said.extend(names.map(|(id, name)| (At::Name(own(id)), name)));
            let said = said.into_iter().map(|(at, words)| (at, words.span()));
            for (at, span) in said.chain(readbacks) {
                let place = self.at(loaded, span);
                self.desk.places.insert(at.to_string(), place);
            }
        }
    }

    /// Words with what they sound like, of all files.
    pub(super) fn sounds_like(&mut self) -> BTreeMap<String, String> {
        let mut all: BTreeMap<String, String> = BTreeMap::new();
        for (loaded, it) in self.gathered.files.iter().enumerate() {
            for (word, like) in &it.file.sounds_like {
                let place = self.at(loaded, like.span());
                let words = like.as_ref().trim();
                let is_word = as_heard(word) == *word && !word.contains(' ');
                let has_digits = |text: &str| text.chars().any(char::is_numeric);
                if !is_word || word.is_empty() || has_digits(word) {
                    self.desk.problem(
                        Code::Value,
                        &place,
                        format!("“{word}” isn't one word as it is heard"),
                        "sounds like this",
                        "give one word, in lower case, without figures: undertray = \"under-tray\"",
                    );
                } else if as_heard(words).is_empty() || has_digits(words) || words == word {
                    self.desk.problem(
                        Code::Value,
                        &place,
                        format!("“{words}” doesn't tell how “{word}” sounds"),
                        "no other words",
                        "write plain words that sound like it: undertray = \"under-tray\"",
                    );
                } else if let Some(before) = all.insert(word.clone(), words.to_owned())
                    && before != words
                {
                    self.desk.problem(
                        Code::Duplicate,
                        &place,
                        format!("“{word}” sounds like “{before}” already"),
                        "the second one",
                        "keep one of them",
                    );
                }
            }
        }
        all
    }
}
