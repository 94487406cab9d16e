//! The ledger: nothing that was loosened, unplugged or taken off is forgotten.

use super::Job;
use super::state::{Standing, key};
use crate::Id;
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

    /// What isn't in place, in words: "splash shield off".
    pub(super) fn outstanding(&self) -> Vec<String> {
        let things = self.core.ledger.iter().map(|((_, id), standing)| {
            let how = self.standing_deferred(id, *standing);
            self.lines().left(self.name_of(id), how)
        });
        let readings = &self.procedure.readings;
        let unmeasured = self
            .core
            .deferred
            .iter()
            .filter(|id| readings.contains_key(*id));
        things
            .chain(unmeasured.map(|id| self.lines().not_measured(self.name_of(id))))
            .collect()
    }

    /// What isn't in place and wasn't deferred either.
    pub(super) fn undeferred(&self) -> Vec<Id> {
        let ids = self.core.ledger.keys().map(|(_, id)| id);
        ids.filter(|id| !self.core.deferred.contains(*id))
            .cloned()
            .collect()
    }

    pub(super) fn standing(&self, id: &Id, standing: Standing) -> String {
        match standing {
            Standing::Loose => self.lines().loose(),
            Standing::HandTight => self.lines().hand_tight(),
            Standing::Off => self
                .procedure
                .items
                .get(id)
                .map_or_else(|| self.lines().off(), |item| item.off.clone()),
        }
    }

    /// The same, and that it was deferred where it was.
    pub(super) fn standing_deferred(&self, id: &Id, standing: Standing) -> String {
        let how = self.standing(id, standing);
        match self.core.deferred.contains(id) {
            true => self.lines().how_deferred(how),
            false => how,
        }
    }

    /// The name of something that isn't in place, and how it is left.
    pub(super) fn left(&self, id: &Id) -> String {
        self.lines().left(self.name_of(id), self.how_left(id))
    }

    /// How something that isn't in place is left, in words.
    pub(super) fn how_left(&self, id: &Id) -> String {
        let standing = self.core.ledger.iter().find(|((_, thing), _)| thing == id);
        standing.map_or_else(
            || self.lines().not_done(),
            |(_, standing)| self.standing(id, *standing),
        )
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
