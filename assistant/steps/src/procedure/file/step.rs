//! A step as its author writes it.

use super::{Signal, Text};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;

/// A warning, said before the action.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(in crate::procedure) struct WarningFile {
    pub(in crate::procedure) signal: Signal,
    #[schemars(with = "String")]
    pub(in crate::procedure) text: Text,
}

/// What a step does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(in crate::procedure) enum ActionFile {
    /// Anything without a mark in the ledger.
    Do,
    /// Loosen a fastener group.
    Loosen,
    /// Take off an item or a fastener group.
    Remove,
    /// Put an item back, or run a fastener group in by hand.
    Refit,
    /// Tighten a fastener group to its torque.
    Tighten,
    /// Take a reading.
    Measure,
    /// Let time pass.
    Wait,
    /// Look at something.
    Inspect,
    /// A question answered by yes or no.
    Ask,
    /// A gate.
    Hold,
}

/// A row of a table of waiting times.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(in crate::procedure) struct RowFile {
    /// Temperature: `20 °C`.
    #[schemars(with = "String")]
    pub(in crate::procedure) at: Text,
    /// How long at that temperature.
    pub(in crate::procedure) minutes: u32,
}

/// Something used up in a step.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(in crate::procedure) struct UseFile {
    /// Its name, the same in every step that uses it.
    #[schemars(with = "String")]
    pub(in crate::procedure) what: Text,
    /// How much, with its unit: `250 ml`, `1 US qt`, `5 g`; or how many: `2`.
    #[schemars(with = "String")]
    pub(in crate::procedure) amount: Text,
}

/// A step, or the place where a part is included.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(in crate::procedure) struct StepFile {
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) id: Option<Text>,
    #[schemars(with = "Option<ActionFile>")]
    pub(in crate::procedure) action: Option<Spanned<ActionFile>>,
    /// The action in the imperative, one verb.
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) text: Option<Text>,
    /// The same for someone who knows the job.
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) short: Option<Text>,
    /// Answer to "tell me more".
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) more: Option<Text>,
    /// Answer to "why".
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) why: Option<Text>,
    pub(in crate::procedure) warning: Option<WarningFile>,
    /// How long it usually takes. A wait has its `minutes`; what has neither shares what is left of the procedure's.
    #[schemars(with = "Option<u32>")]
    pub(in crate::procedure) takes_minutes: Option<Spanned<u32>>,
    /// What it uses up; the sum is laid out before the job.
    // Called `uses` before 0.2.
    #[serde(default, alias = "uses")]
    pub(in crate::procedure) consumables: Vec<UseFile>,
    /// Answer to "what tool", besides the fastener's drive.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub(in crate::procedure) tools: Vec<Text>,
    /// Facts that must be true.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub(in crate::procedure) needs: Vec<Text>,
    /// Facts that are true no longer once it is begun.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub(in crate::procedure) voids: Vec<Text>,
    /// Only for these options of variants.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, String>")]
    pub(in crate::procedure) when: BTreeMap<String, Text>,
    /// Only while this item or fastener group isn't in place.
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) when_off: Option<Text>,
    /// Helper branches offered here.
    #[serde(default)]
    #[schemars(with = "Vec<String>")]
    pub(in crate::procedure) helpers: Vec<Text>,
    /// For loosen, remove, refit, tighten.
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) fastener: Option<Text>,
    /// For remove, refit.
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) item: Option<Text>,
    /// For measure.
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) reading: Option<Text>,
    /// For hold.
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) gate: Option<Text>,
    /// For tighten: the second tightening after settling.
    #[serde(default)]
    pub(in crate::procedure) again: bool,
    /// For wait.
    #[schemars(with = "Option<u32>")]
    pub(in crate::procedure) minutes: Option<Spanned<u32>>,
    /// For wait, instead of minutes: the source's times by temperature, the coldest first.
    #[serde(default)]
    pub(in crate::procedure) table: Vec<RowFile>,
    /// For wait by a table: the reading of the temperature.
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) temperature: Option<Text>,
    /// For wait, instead of minutes: until the wait of this earlier step is over.
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) until: Option<Text>,
    /// For wait: work goes on while it runs, and a later wait is `until` it.
    #[serde(default)]
    pub(in crate::procedure) runs_on: bool,
    /// For ask: the branch that follows "yes".
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) yes: Option<Text>,
    /// For ask: the branch that follows "no".
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) no: Option<Text>,
    /// The part whose steps stand here, for example `parts/raise-and-support`.
    #[schemars(with = "Option<String>")]
    pub(in crate::procedure) include: Option<Text>,
    /// With include: what the part's `{names}` become.
    #[serde(default)]
    #[schemars(with = "BTreeMap<String, String>")]
    pub(in crate::procedure) with: BTreeMap<String, Text>,
}
