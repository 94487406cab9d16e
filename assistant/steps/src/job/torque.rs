//! Torque: what to set, on which of the technician's wrenches, and what speaks against it.

use super::questions::capital;
use super::settling::Running;
use super::{Job, Out, state};
use crate::codes::{InWords, TorqueToSet};
use crate::lines::Lines;
use crate::procedure::FastenerGroup;
use crate::quantity::{
    Adapter, AdapterError, Choice, Date, NoWrench, Pass, PassEnd, Pattern, SettingError,
    SpokenTorque, Stretch, Tightening, Tools, TorqueSpec, TorqueUnit, TorqueValue, Unsuitable,
    Warning, clock_position, fit,
};
use crate::{Id, Tone};

/// The most adapters that are told of at once.
const MAX_ADAPTERS: usize = 3;

/// Which warnings are said with a torque.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Said {
    /// Those that may spoil the work.
    Grave,
    /// Those, and that nobody knows when the calibration falls due.
    All,
}

impl Job {
    /// The technician's tools, where there is a tools file.
    pub(super) fn tools(&self) -> Option<&Tools> {
        self.settings.tools.as_ref().map(|toolbox| toolbox.tools())
    }

    /// The torque wrench that suits; `None` where no wrench is known.
    pub(super) fn choice(
        &self,
        spec: TorqueSpec,
        adapter: Option<&Adapter>,
    ) -> Option<Result<Choice<'_>, NoWrench>> {
        let tools = self.tools().filter(|tools| !tools.wrenches.is_empty())?;
        Some(tools.wrench_for(spec, adapter, Date::on(self.now)?))
    }

    /// The wrench that suits, where one does.
    fn suits(&self, spec: TorqueSpec) -> Option<Choice<'_>> {
        self.choice(spec, None)?.ok()
    }

    /// What to set: on a mark of the wrench that suits, else in the technician's unit.
    pub(super) fn setting(&self, spec: TorqueSpec) -> SpokenTorque {
        match self.suits(spec) {
            Some(choice) => choice.setting,
            None => spec.target().on_a_scale_of(self.settings.unit),
        }
    }

    /// The torque as it is told: what is set first, then the source's where it differs, then the angle.
    pub(super) fn torque_of(&self, group: &FastenerGroup) -> Option<String> {
        Some(self.torque_to_set(group)?.words(self.procedure.language))
    }

    /// The same as data.
    pub(super) fn torque_to_set(&self, group: &FastenerGroup) -> Option<TorqueToSet> {
        let SpokenTorque { set, source } = self.setting(self.torque_spec(group)?);
        Some(TorqueToSet {
            set,
            source,
            still_to_add: self.name_still_to_add(group),
            angle: group.angle,
            to_yield: group.angle.is_some() && group.to_yield,
        })
    }

    /// The name of the wrench that suits.
    pub(super) fn wrench_of(&self, group: &FastenerGroup) -> Option<String> {
        let choice = self.suits(self.torque_spec(group)?)?;
        Some(choice.wrench.name.clone())
    }

    /// ", then a further 90°"; empty where no angle follows.
    fn further_turn(&self, group: &FastenerGroup) -> String {
        let lines = self.lines();
        let turn = group.angle.map(|angle| match group.to_yield {
            true => lines.further_turn_to_yield(angle),
            false => lines.further_turn(angle),
        });
        turn.map(|turn| format!(", {turn}")).unwrap_or_default()
    }

    /// "Pass 1 of 2, to 70 N·m."
    fn pass_of(&self, group: &FastenerGroup, pass: usize) -> String {
        let passes = group.passes.len();
        match self.pass_torque(group, pass, None) {
            Some(torque) => self.lines().pass_to(
                pass + 1,
                passes,
                format!("{torque}{}", self.still_to_add(group)),
            ),
            None => self.lines().pass_of(pass + 1, passes),
        }
    }

    fn passes(&self, group: &FastenerGroup) -> Vec<Pass> {
        let spec = self.source_torque(group);
        let stages = group.passes.clone();
        let Some(tightening) =
            spec.and_then(|spec| Tightening::new(spec, stages, Stretch::Elastic).ok())
        else {
            return Vec::new();
        };
        match self.running(group) {
            Running::Measured(running) => tightening
                .passes_with_running_torque(running)
                .unwrap_or_default(),
            Running::NotAdded | Running::Missing(_) => tightening.passes(),
        }
    }

    /// What a pass goes to, in the source's unit.
    fn pass_value(&self, group: &FastenerGroup, pass: usize) -> Option<TorqueValue> {
        match self.passes(group).get(pass)?.end {
            PassEnd::Torque(value) => Some(value),
            PassEnd::FullTorque(spec) => Some(spec.target()),
            PassEnd::Angle(_) => None,
        }
    }

    /// What to set for a pass: on the wrench that the full torque is set on, in `unit` where that was asked for.
    pub(super) fn pass_torque(
        &self,
        group: &FastenerGroup,
        pass: usize,
        unit: Option<TorqueUnit>,
    ) -> Option<TorqueValue> {
        let value = self.pass_value(group, pass)?;
        if let Some(unit) = unit {
            return Some(value.on_a_scale_of(unit).set);
        }
        Some(match self.suits(self.torque_spec(group)?) {
            // Where it has no mark for the pass, the torque in its unit.
            Some(choice) => mark_of_pass(value.on_wrench(choice.wrench))
                .unwrap_or_else(|| value.on_a_scale_of(choice.wrench.scale.unit()).set),
            None => value.on_a_scale_of(self.settings.unit).set,
        })
    }

    /// The pass that the group at hand is in, while its fasteners are called out and it isn't the last.
    fn pass_on_the_way(&self, group: &FastenerGroup) -> Option<usize> {
        let here = self.group_here().is_some_and(|here| here == group);
        let at = self.core.tightening.filter(|_| here)?;
        (at.pass + 1 < group.passes.len()).then_some(at.pass)
    }

    /// The next fastener of a pattern: "Pass 1 of 2, to 70 N·m: nut 3 of 5, at 5 o'clock."
    pub(super) fn call_out(&self, group: &FastenerGroup, at: state::Tightening) -> String {
        let order = group.pattern.unwrap_or(Pattern::InTurn).order(group.count);
        let number = order.get(usize::from(at.done)).copied().unwrap_or(1);
        let clock = clock_position(number, group.count);
        let at_clock = self
            .lines()
            .fastener_at(capital(&group.name), number, clock);
        match at.done {
            0 => format!("{} {at_clock}", self.pass_of(group, at.pass)),
            _ => at_clock,
        }
    }

    /// The group of the step at hand.
    pub(super) fn group_here(&self) -> Option<&FastenerGroup> {
        let id = self.step()?.fastener.as_ref()?;
        self.procedure.fasteners.get(id)
    }

    /// The group of the step at hand, where it has a torque.
    pub(super) fn torque_here(&self) -> Option<&Id> {
        let id = self.step()?.fastener.as_ref()?;
        let group = self.procedure.fasteners.get(id)?;
        self.torque_spec(group).and(Some(id))
    }

    /// The group whose torque a question like "in foot-pounds" is about: that of the step at hand, else the one
    /// that was told last.
    pub(super) fn torque_at_hand(&self) -> Option<&Id> {
        self.torque_here().or(self.transient.last_torque.as_ref())
    }

    /// The group whose torque is asked about, with its name before the answer where it isn't that of the step at
    /// hand; says that there is none.
    fn asked_about(&self, out: &mut Out) -> Option<(&FastenerGroup, TorqueSpec, String)> {
        let group = self
            .torque_at_hand()
            .and_then(|id| self.procedure.fasteners.get(id))
            .and_then(|group| Some((group, self.torque_spec(group)?)));
        let Some((group, spec)) = group else {
            out.say(Tone::Answer, self.lines().no_torque_yet());
            return None;
        };
        let name = if self.group_here() == Some(group) {
            String::new()
        } else {
            format!("{}: ", capital(group.named()))
        };
        Some((group, spec, name))
    }

    pub(super) fn what_torque(&self, group: &FastenerGroup, name: &str, out: &mut Out) {
        let Some(spec) = self.torque_spec(group) else {
            out.say(Tone::Answer, self.lines().no_torque(group.named()));
            return;
        };
        let lines = self.lines();
        let mut text = vec![format!(
            "{name}{}",
            self.torque_and_passes(group, spec, None)
        )];
        text.extend(self.added(group).map(|added| lines.with_added(added)));
        let (low, high) = (spec.low(), spec.high());
        if low != high {
            text.push(lines.allowed(low.value.to_string(), high.to_string()));
        }
        text.extend(group.pattern.map(|pattern| match pattern {
            Pattern::CrissCross => lines.criss_cross(),
            Pattern::Star => lines.in_a_star(),
            Pattern::InTurn => lines.one_after_the_other(),
        }));
        text.extend(self.threads_of(group));
        if group.once_only {
            text.push(lines.use_new(group.count));
        }
        out.say(Tone::Answer, text.join(" "));
        self.warn_of_wrench(spec, Said::Grave, out);
    }

    /// What goes on the threads.
    pub(super) fn threads_of(&self, group: &FastenerGroup) -> Vec<String> {
        let lines = self.lines();
        let threadlocker = group.threadlocker.as_deref();
        let lubrication = group.lubrication.as_deref();
        let told = [
            threadlocker.map(|what| lines.threadlocker(what)),
            lubrication.map(|what| lines.threads(what)),
        ];
        told.into_iter().flatten().collect()
    }

    /// "103 lbf·ft (140 N·m), half-inch wrench. In 2 passes: 52 lbf·ft, then 103 lbf·ft."
    fn torque_and_passes(
        &self,
        group: &FastenerGroup,
        spec: TorqueSpec,
        unit: Option<TorqueUnit>,
    ) -> String {
        let set = match unit {
            Some(unit) => spec.target().on_a_scale_of(unit),
            None => self.setting(spec),
        };
        let torque = format!(
            "{set}{}{}",
            self.still_to_add(group),
            self.further_turn(group)
        );
        let wrench = match unit {
            Some(_) => String::new(),
            None => self
                .suits(spec)
                .map(|choice| format!(", {}", choice.wrench.name))
                .unwrap_or_default(),
        };
        if let Some(pass) = self.pass_on_the_way(group)
            && let Some(pass) = self.pass_torque(group, pass, unit)
        {
            let add = self.still_to_add(group);
            return self
                .lines()
                .in_this_pass(format!("{pass}{add}"), format!("{torque}{wrench}"));
        }
        let passes: Vec<String> = (0..group.passes.len())
            .filter_map(|pass| self.pass_torque(group, pass, unit))
            .map(|torque| torque.to_string())
            .collect();
        if passes.len() > 1 {
            let then = format!(", {} ", self.lines().then());
            let told = self.lines().in_passes(passes.len(), passes.join(&then));
            format!("{torque}{wrench}. {told}")
        } else {
            format!("{torque}{wrench}.")
        }
    }

    /// What speaks against the wrench, or that none will do.
    fn warn_of_wrench(&self, spec: TorqueSpec, said: Said, out: &mut Out) {
        match self.choice(spec, None) {
            Some(Ok(choice)) => warn_of(&choice, said, self.lines(), out),
            Some(Err(none)) => out.say(
                Tone::Warning,
                self.lines()
                    .none_suits(spec.target().to_string(), reasons(&none, self.lines())),
            ),
            None => {}
        }
    }

    /// "In foot-pounds": the torque at hand in another unit.
    pub(super) fn in_unit(&self, unit: TorqueUnit, out: &mut Out) {
        let Some((group, spec, name)) = self.asked_about(out) else {
            return;
        };
        if spec.target().on_a_scale_of(unit).set.unit != unit {
            let lines = self.lines();
            out.say(
                Tone::Answer,
                lines.cannot_be_told_in(spec.target().to_string(), lines.unit(unit)),
            );
            return;
        }
        let told = self.torque_and_passes(group, spec, Some(unit));
        out.say(Tone::Answer, format!("{name}{told}"));
    }

    /// "What's my wrench set to": wrench and setting, for the pass where one is on.
    pub(super) fn wrench_setting(&self, out: &mut Out) {
        let Some((group, spec, name)) = self.asked_about(out) else {
            return;
        };
        let lines = self.lines();
        let wrench = self.suits(spec).map(|choice| choice.wrench.name.clone());
        let torque = format!(
            "{}{}{}",
            self.setting(spec),
            self.still_to_add(group),
            self.further_turn(group)
        );
        let pass = self
            .pass_on_the_way(group)
            .and_then(|pass| self.pass_value(group, pass));
        let pass = pass.map(|pass| self.setting_of_pass(group, spec, pass));
        let text = match (pass, wrench) {
            (Some(pass), Some(wrench)) => {
                format!("{pass} {}", lines.in_the_end_set_wrench(wrench, torque))
            }
            (Some(pass), None) => format!("{pass} {}", lines.in_the_end_set_your_wrench(torque)),
            (None, Some(wrench)) => lines.set_wrench(wrench, torque),
            (None, None) => lines.set_your_wrench(torque),
        };
        out.say(Tone::Answer, format!("{name}{text}"));
        self.warn_of_wrench(spec, Said::All, out);
    }

    /// What to set for a pass: on the wrench that the full torque is set on, else on another that has a mark for
    /// it; never a value that no mark stands at.
    fn setting_of_pass(
        &self,
        group: &FastenerGroup,
        spec: TorqueSpec,
        pass: TorqueValue,
    ) -> String {
        let (add, lines) = (self.still_to_add(group), self.lines());
        let Some(choice) = self.suits(spec) else {
            let set = pass.on_a_scale_of(self.settings.unit).set;
            return lines.set_your_wrench_for_pass(format!("{set}{add}"));
        };
        let name = choice.wrench.name.as_str();
        if let Some(mark) = mark_of_pass(pass.on_wrench(choice.wrench)) {
            return lines.set_wrench_for_pass(name, format!("{mark}{add}"));
        }
        match self.suits(TorqueSpec::from(pass)) {
            Some(other) => lines.take_wrench_for_pass(
                other.wrench.name.as_str(),
                format!("{}{add}", other.setting.set),
            ),
            None => lines.no_mark_for_pass(name, format!("{pass}{add}")),
        }
    }

    /// "Which pass": where a tightening in passes stands.
    pub(super) fn which_pass(&self, out: &mut Out) {
        let Some((group, spec, name)) = self.asked_about(out) else {
            return;
        };
        let (passes, lines) = (group.passes.len(), self.lines());
        let here = self.group_here() == Some(group);
        let text = match self.core.tightening.filter(|_| here) {
            Some(at) if at.pass < passes => format!(
                "{} {}",
                self.pass_of(group, at.pass),
                lines.done_of(at.done, group.counted())
            ),
            Some(_) => lines.had_final_torque(group.count),
            None if passes > 1 => self.torque_and_passes(group, spec, None),
            None => lines.one_pass(format!(
                "{}{}{}",
                self.setting(spec),
                self.still_to_add(group),
                self.further_turn(group)
            )),
        };
        out.say(Tone::Answer, format!("{name}{text}"));
    }

    /// "With the adapter": the setting after correction, and what the fastener gets.
    pub(super) fn with_adapter(&self, out: &mut Out) {
        let Some((group, spec, name)) = self.asked_about(out) else {
            return;
        };
        let Some(tools) = self.tools() else {
            out.say(Tone::Answer, self.lines().no_tools_known());
            return;
        };
        let goes_on = |adapter: &&Adapter| match (adapter.size, group.drive) {
            (Some(size), Some(drive)) => fit(size, drive.size, drive.shape).serves(),
            (Some(_), None) | (None, Some(_) | None) => true,
        };
        let fitting: Vec<&Adapter> = tools.adapters.iter().filter(goes_on).collect();
        if fitting.is_empty() {
            let why = match (tools.adapters.is_empty(), self.size_of(group)) {
                (false, Some(size)) => self.lines().no_adapter_fits(size),
                (true | false, _) => self.lines().no_adapter(),
            };
            out.say(Tone::Answer, format!("{name}{why}"));
            return;
        }
        for adapter in fitting.into_iter().take(MAX_ADAPTERS) {
            self.tell_adapter(adapter, group, spec, &name, out);
        }
    }

    fn tell_adapter(
        &self,
        adapter: &Adapter,
        group: &FastenerGroup,
        spec: TorqueSpec,
        name: &str,
        out: &mut Out,
    ) {
        let (with, lines) = (adapter.name.as_str(), self.lines());
        match self.choice(spec, Some(adapter)) {
            Some(Ok(choice)) => {
                let wrench = choice.wrench.name.as_str();
                let on_the_way = self
                    .pass_on_the_way(group)
                    .and_then(|pass| self.pass_value(group, pass))
                    .map(|pass| (pass, pass.on_wrench_with(choice.wrench, adapter)));
                let (setting, gets, in_pass) = match on_the_way {
                    Some((pass, set)) => match mark_of_pass(set) {
                        Some(mark) => (mark, pass, true),
                        None => {
                            out.say(
                                Tone::Warning,
                                format!(
                                    "{name}{}",
                                    lines.adapter_no_mark(with, wrench, pass.to_string())
                                ),
                            );
                            return;
                        }
                    },
                    None => (
                        choice.setting.set,
                        choice.setting.source.unwrap_or(spec.target()),
                        false,
                    ),
                };
                let (setting, fastener) = (setting.to_string(), group.name.as_str());
                let gets = format!(
                    "{gets}{}{}",
                    self.still_to_add(group),
                    self.further_turn(group)
                );
                let told = match in_pass {
                    true => lines.with_adapter_in_pass(with, wrench, setting, fastener, gets),
                    false => lines.with_adapter(with, wrench, setting, fastener, gets),
                };
                out.say(Tone::Answer, format!("{name}{told}"));
                warn_of(&choice, Said::Grave, lines, out);
            }
            Some(Err(none)) => out.say(
                Tone::Warning,
                format!(
                    "{name}{}",
                    lines.none_suits_adapter(with, reasons(&none, lines))
                ),
            ),
            None => out.say(Tone::Answer, lines.no_torque_wrench()),
        }
    }
}

/// The mark for a pass before the last, also one that is more than 1 % off but the nearest: an early pass only
/// draws the parts together evenly (common practice, no source).
fn mark_of_pass(set: Result<SpokenTorque, SettingError>) -> Option<TorqueValue> {
    match set {
        Ok(set) => Some(set.set),
        Err(SettingError::TooCoarse(nearest)) => Some(nearest),
        Err(
            SettingError::BelowScale(_)
            | SettingError::AboveScale(_)
            | SettingError::BetweenMarks(_)
            | SettingError::NoLength
            | SettingError::Adapter(_),
        ) => None,
    }
}

/// Why no wrench will do, each with its reason.
fn reasons(none: &NoWrench, lines: Lines) -> String {
    let why = |unsuitable: &Unsuitable| match unsuitable {
        Unsuitable::LowInRange(percent) => lines.reason_low_in_range(*percent),
        Unsuitable::Setting(error) => match error {
            SettingError::BelowScale(torque) => lines.reason_below_scale(torque.to_string()),
            SettingError::AboveScale(torque) => lines.reason_above_scale(torque.to_string()),
            SettingError::BetweenMarks(step) => lines.reason_between_marks(step.to_string()),
            SettingError::TooCoarse(mark) => lines.reason_too_coarse(mark.to_string()),
            SettingError::NoLength => lines.reason_no_length(),
            SettingError::Adapter(error) => match error {
                AdapterError::WrenchLength => lines.reason_wrench_length(),
                AdapterError::AdapterLength => lines.reason_adapter_length(),
                AdapterError::Angle => lines.reason_adapter_angle(),
                AdapterError::Factor(times) => lines.reason_adapter_factor(format!("{times:.2}")),
                AdapterError::Torque => lines.reason_adapter_torque(),
            },
        },
    };
    let reasons = none.reasons.iter();
    let told: Vec<String> = reasons
        .map(|(name, unsuitable)| format!("{name}: {}", why(unsuitable)))
        .collect();
    match told.is_empty() {
        true => lines.reason_no_wrench(),
        false => told.join("; "),
    }
}

fn warn_of(choice: &Choice<'_>, said: Said, lines: Lines, out: &mut Out) {
    let wrench = &choice.wrench.name;
    for warning in &choice.warnings {
        let said = match warning {
            Warning::CalibrationUnknown => said == Said::All,
            Warning::CalibrationOverdue { .. } | Warning::ToleranceNotHeld { .. } => true,
        };
        if said {
            out.say(Tone::Warning, warning_of_wrench(wrench, warning, lines));
        }
    }
}

/// What speaks against a wrench, in a sentence.
pub(super) fn warning_of_wrench(wrench: &str, warning: &Warning, lines: Lines) -> String {
    match warning {
        Warning::CalibrationOverdue { days, .. } => lines.calibration_overdue(wrench, *days),
        Warning::CalibrationUnknown => lines.calibration_unknown(wrench),
        Warning::ToleranceNotHeld { error, asked } => {
            // One place is what a certificate gives.
            let percent = (error * 1000.0).round() / 10.0;
            lines.tolerance_not_held(wrench, percent.to_string(), asked.to_string())
        }
    }
}
