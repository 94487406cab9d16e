//! The ledger: nothing that was loosened, unplugged or taken off is forgotten.

use super::Job;
use super::state::{Standing, key};
use crate::Id;
use crate::codes::{HowLeft, InWords, Outstanding};
use crate::procedure::{Action, Step, Thing};

impl Job {
    /// What a step that was done changes in the ledger.
    pub(super) fn enter_in_ledger(&mut self, step: &Step) {
        if let Some(id) = step.action.fastener()
            && !matches!(step.action, Action::Tighten(_))
        {
            self.settles_no_longer(id);
        }
        match &step.action {
            Action::Loosen(id) => self.stands(&Thing::Fastener(id.clone()), Standing::Loose),
            Action::Remove(thing) => self.stands(thing, Standing::Off),
            Action::Refit(Thing::Fastener(id)) if self.has_torque(id) => {
                self.stands(&Thing::Fastener(id.clone()), Standing::HandTight);
            }
            Action::Refit(thing) => self.in_place(thing),
            Action::Tighten(id) => self.in_place(&Thing::Fastener(id.clone())),
            Action::Do
            | Action::Measure(_)
            | Action::Wait(_)
            | Action::Inspect
            | Action::Ask { .. }
            | Action::Hold(_) => {}
        }
    }

    fn has_torque(&self, id: &Id) -> bool {
        self.procedure
            .fasteners
            .get(id)
            .is_some_and(|group| group.torque.is_some())
    }

    fn stands(&mut self, thing: &Thing, standing: Standing) {
        self.core.ledger.insert(key(thing), standing);
    }

    fn in_place(&mut self, thing: &Thing) {
        self.core.ledger.remove(&key(thing));
        self.core.deferred.remove(thing.id());
    }

    /// Whether this item or group isn't in place.
    pub(super) fn is_off(&self, id: &Id) -> bool {
        self.core.ledger.keys().any(|(_, thing)| thing == id)
    }

    /// What isn't in place or was deferred without being measured.
    pub(super) fn all_outstanding(&self) -> impl Iterator<Item = Outstanding> {
        let ledger = self.core.ledger.iter();
        let things = ledger.map(|((_, id), standing)| (id, self.how(id, *standing)));
        let readings = &self.procedure.readings;
        let deferred = self.core.deferred.iter();
        let unmeasured = deferred
            .filter(|id| readings.contains_key(*id))
            .map(|id| (id, HowLeft::NotMeasured));
        things.chain(unmeasured).map(|(id, how)| Outstanding {
            item: id.clone(),
            name: self.name_of(id),
            how,
            deferred: self.core.deferred.contains(id),
        })
    }

    /// The same in words: "splash shield off".
    pub(super) fn outstanding(&self) -> Vec<String> {
        self.all_outstanding()
            .map(|it| it.words(self.procedure.language))
            .collect()
    }

    /// What isn't in place and wasn't deferred either.
    pub(super) fn undeferred(&self) -> Vec<Id> {
        let ids = self.core.ledger.keys().map(|(_, id)| id);
        ids.filter(|id| !self.core.deferred.contains(*id))
            .cloned()
            .collect()
    }

    fn how(&self, id: &Id, standing: Standing) -> HowLeft {
        let own = |id| self.procedure.items.get(id).filter(|item| item.own_off);
        match standing {
            Standing::Loose => HowLeft::Loose,
            Standing::HandTight => HowLeft::HandTight,
            Standing::Off => own(id).map_or(HowLeft::Off, |item| HowLeft::As(item.off.clone())),
        }
    }

    /// How something stands, in words, and that it was deferred where it was.
    pub(super) fn standing_deferred(&self, id: &Id, standing: Standing) -> String {
        let how = self.how(id, standing).words(self.procedure.language);
        match self.core.deferred.contains(id) {
            true => self.lines().how_deferred(how),
            false => how,
        }
    }

    /// Something that is left for later, before it is deferred.
    pub(super) fn as_left(&self, id: &Id) -> Outstanding {
        let mut ledger = self.core.ledger.iter();
        let standing = ledger.find(|((_, thing), _)| thing == id);
        Outstanding {
            item: id.clone(),
            name: self.name_of(id),
            how: standing.map_or(HowLeft::NotMeasured, |(_, it)| self.how(id, *it)),
            deferred: false,
        }
    }

    /// The same in words: its name, and how it is left.
    pub(super) fn left(&self, id: &Id) -> String {
        self.as_left(id).words(self.procedure.language)
    }

    /// How something that isn't in place is left, in words.
    pub(super) fn how_left(&self, id: &Id) -> String {
        self.as_left(id).how.words(self.procedure.language)
    }

    /// The name of an item, a fastener group or a reading.
    pub(super) fn name_of(&self, id: &Id) -> String {
        let items = &self.procedure.items;
        let groups = &self.procedure.fasteners;
        let readings = &self.procedure.readings;
        items
            .get(id)
            .map(|item| item.name.clone())
            .or_else(|| groups.get(id).map(|group| group.named().to_owned()))
            .or_else(|| readings.get(id).map(|reading| reading.name.clone()))
            .unwrap_or_else(|| id.to_string())
    }
}
