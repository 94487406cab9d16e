//! A procedure's steps as they stand before a job is begun.

use super::{Gate, Procedure, Step, fill};
use std::collections::BTreeMap;

impl Procedure {
    /// The gate at which a step holds.
    pub fn gate_of(&self, step: &Step) -> Option<&Gate> {
        self.gates.get(step.action.holds_at()?)
    }

    /// A step's action, every option of the variants named: "Tighten the 5 wheel nuts to 100 N·m or 120 N·m."; empty
    /// for a hold point, whose gate has the words.
    pub fn action_of(&self, step: &Step) -> String {
        self.with_every_option(step, &step.text)
    }

    /// The same for any text of a step.
    pub fn with_every_option(&self, step: &Step, text: &str) -> String {
        let mut with: BTreeMap<String, String> = self
            .variants
            .iter()
            .map(|variant| {
                let options: Vec<&str> = variant
                    .options
                    .iter()
                    .map(|(_, say)| say.as_str())
                    .collect();
                (variant.id.to_string(), options.join(" or "))
            })
            .collect();
        if let Some(group) = step.fastener.as_ref().and_then(|id| self.fasteners.get(id)) {
            let torques: Vec<String> = group
                .torque
                .iter()
                .flat_map(|torque| torque.all())
                .map(ToString::to_string)
                .collect();
            let size = group
                .drive
                .map(|it| format!("{} {}", it.size, it.shape.name()));
            with.insert("count".to_owned(), group.count.to_string());
            with.insert("fastener".to_owned(), group.name.clone());
            with.insert("fasteners".to_owned(), group.named().to_owned());
            with.insert("torque".to_owned(), torques.join(" or "));
            with.insert("size".to_owned(), size.unwrap_or_default());
        }
        fill(text, &with)
    }
}
