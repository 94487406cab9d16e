//! Answers to what is asked in the middle of a step.

use super::laying_out::AT_ONCE;
use super::questions::capital;
use super::sizes::drive_size;
use super::state::{List, Pending, Phase};
use super::{Job, Out, Wording};
use crate::codes::{InWords, StepText};
use crate::lines::Lines;
use crate::procedure::{Action, FastenerGroup, Step, fill};
use crate::{Command, Effect, Id, Manner, Question, Sentence, Tone};
use std::collections::BTreeMap;

impl Job {
    /// Tells where we are: the question, the gate, the step with its warning before it.
    pub(super) fn tell_place(&self, out: &mut Out) {
        if let Some(gate) = self.gate_that_holds() {
            self.tell_gate(gate, out);
            return;
        }
        match self.step() {
            Some(step) => self.tell_step(step, out),
            None => out.say(Tone::Question, self.place_without_step()),
        }
    }

    fn tell_step(&self, step: &Step, out: &mut Out) {
        if let Some(warning) = &step.warning {
            let text = self.filled(&warning.text, step.fastener.as_ref());
            out.say(
                Tone::Warning,
                format!("{}. {text}", self.signal(warning.signal)),
            );
        }
        let words = match (self.settings.wording, &step.short) {
            (Wording::Short, Some(short)) => short,
            (Wording::Short | Wording::Long, _) => &step.text,
        };
        let text = self.filled(words, step.fastener.as_ref());
        let tone = match step.action {
            Action::Ask { .. } | Action::Measure(_) => Tone::Question,
            Action::Do
            | Action::Loosen(_)
            | Action::Remove(_)
            | Action::Refit(_)
            | Action::Tighten(_)
            | Action::Wait(_)
            | Action::Inspect
            | Action::Hold(_) => Tone::Step,
        };
        out.say(tone, text);
    }

    /// Says at the beginning which values of the vehicle's sheet have no source.
    pub(super) fn tell_all_unsourced(&self, out: &mut Out) {
        let sheet = self.procedure.sheet.as_ref();
        let values = sheet.into_iter().flat_map(|sheet| sheet.values.values());
        let unsourced: Vec<&str> = values
            .filter(|it| it.source.is_none())
            .map(|it| it.means.as_str())
            .collect();
        if unsourced.is_empty() {
            return;
        }
        let lines = self.lines();
        let named = unsourced
            .iter()
            .take(AT_ONCE)
            .copied()
            .collect::<Vec<_>>()
            .join("; ");
        out.say(
            Tone::Warning,
            match unsourced.len().saturating_sub(AT_ONCE) {
                0 => lines.without_source(named),
                more => lines.without_source_and_more(named, more),
            },
        );
    }

    /// Says once of each thing, when its step is first reached, that a value of it is from a sheet without a source.
    pub(super) fn tell_unsourced(&mut self, out: &mut Out) {
        let Some(step) = self.step() else {
            return;
        };
        let group = step.fastener.as_ref();
        let group = group.and_then(|id| Some((id, self.procedure.fasteners.get(id)?)));
        let (id, name) = match (group, &step.action) {
            (Some((id, group)), _) if group.unsourced => (id, group.named()),
            (None, Action::Measure(id)) => match self.procedure.readings.get(id) {
                Some(reading) if reading.unsourced => (id, reading.name.as_str()),
                Some(_) | None => return,
            },
            (Some(_) | None, _) => return,
        };
        if !self.transient.told_unsourced.contains(id) {
            out.say(Tone::Warning, self.lines().no_source(capital(name)));
            let id = id.clone();
            self.transient.told_unsourced.insert(id);
        }
    }

    pub(super) fn place_without_step(&self) -> String {
        match self.core.phase {
            Phase::Choosing(number) => self
                .procedure
                .variants
                .get(number)
                .map(|it| it.ask.clone())
                .unwrap_or_default(),
            Phase::LayingOut(page) => self.page_to_lay_out(page),
            Phase::Working | Phase::MakingSafe => self.lines().all_steps_done(),
            Phase::Waiting => self.waits_for(),
            Phase::Closed(_) => self.lines().job_is_closed(),
        }
    }

    /// The words of a chosen variant.
    pub(super) fn words_of(&self, variant: &Id) -> String {
        let option = self.core.chosen.get(variant);
        let variants = self
            .procedure
            .variants
            .iter()
            .filter(|it| it.id == *variant);
        variants
            .flat_map(|it| &it.options)
            .find(|(id, _)| Some(id) == option)
            .map(|(_, words)| capital(words))
            .unwrap_or_default()
    }

    /// A text with its `{names}` filled in.
    pub(super) fn filled(&self, text: &str, fastener: Option<&Id>) -> String {
        self.step_text(text, fastener)
            .words(self.procedure.language)
    }

    /// The same, with what has words of the program in it as data.
    pub(super) fn step_text(&self, text: &str, fastener: Option<&Id>) -> StepText {
        if !text.contains('{') {
            return StepText::Whole(text.to_owned());
        }
        let mut with: BTreeMap<String, String> = BTreeMap::new();
        for variant in &self.procedure.variants {
            if let Some(option) = self.core.chosen.get(&variant.id)
                && let Some((_, words)) = variant.options.iter().find(|(id, _)| id == option)
            {
                with.insert(variant.id.to_string(), words.clone());
            }
        }
        let group = fastener.and_then(|id| self.procedure.fasteners.get(id));
        if let Some(group) = group {
            with.insert("count".to_owned(), group.count.to_string());
            with.insert("fastener".to_owned(), group.name.clone());
            with.insert("fasteners".to_owned(), group.named().to_owned());
        }
        let text = fill(text, &with);
        let (torque, size) = (text.contains("{torque}"), text.contains("{size}"));
        match group {
            Some(group) if torque || size => StepText::Open {
                text,
                torque: self.torque_to_set(group).filter(|_| torque),
                size: drive_size(group).filter(|_| size),
            },
            Some(_) | None => StepText::Whole(text),
        }
    }

    pub(super) fn count_complete(&self, id: &Id) -> bool {
        let passes = self
            .procedure
            .fasteners
            .get(id)
            .map_or(0, |group| group.passes.len());
        self.core.tightening.is_some_and(|at| at.pass >= passes)
    }

    /// Fasteners done in this pass, and of how many; the one called out last isn't done yet.
    pub(super) fn count_in_pass(&self, id: &Id) -> (u16, u16) {
        let count = self
            .procedure
            .fasteners
            .get(id)
            .map_or(0, |group| group.count);
        (self.core.tightening.map_or(0, |at| at.done), count)
    }

    /// A question about the fastener of the step at hand.
    pub(super) fn about_this(&self, question: Question, out: &mut Out) {
        match self.group_here() {
            Some(group) => self.about_group(question, group, "", out),
            None => self.no_fastener(out),
        }
    }

    /// The same about one that is named, wherever it is.
    pub(super) fn about(&self, question: Question, fastener: &Id, out: &mut Out) {
        let Some(group) = self.procedure.fasteners.get(fastener) else {
            self.no_fastener(out);
            return;
        };
        // A misheard name is noticed.
        let name = format!("{}: ", capital(group.named()));
        self.about_group(question, group, &name, out);
    }

    /// `name` stands before the answer.
    fn about_group(&self, question: Question, group: &FastenerGroup, name: &str, out: &mut Out) {
        match question {
            Question::Size => self.what_size(group, name, out),
            Question::Torque => self.what_torque(group, name, out),
            Question::Count => {
                out.say(Tone::Answer, format!("{} {}.", group.count, group.named()));
            }
            Question::Reuse => {
                let told = match group.once_only {
                    true => self.lines().use_new(group.count),
                    false => self.lines().used_again(group.named()),
                };
                out.say(Tone::Answer, format!("{name}{told}"));
            }
        }
    }

    /// "Dry or oiled?"
    pub(super) fn threads(&self, out: &mut Out) {
        let Some(group) = self.group_here() else {
            self.no_fastener(out);
            return;
        };
        let told = self.threads_of(group);
        match told.is_empty() {
            true => out.say(Tone::Answer, self.lines().no_threads(group.named())),
            false => out.say(Tone::Answer, told.join(" ")),
        }
    }

    pub(super) fn no_fastener(&self, out: &mut Out) {
        let why = match self.gate_that_holds() {
            Some(_) => self.lines().no_fastener_at_hold(),
            None => self.lines().no_fastener_here(),
        };
        out.say(Tone::Answer, why);
    }

    /// "It won't budge": asks whether it is what the step has help for.
    pub(super) fn trouble(&mut self, out: &mut Out) {
        let offered = self.step().map(|step| step.helpers.clone());
        let offered = offered.unwrap_or_default();
        let helped = offered.iter().filter_map(|id| {
            let words = self.procedure.branches.get(id)?.say.first()?;
            Some((id.clone(), words.clone()))
        });
        let helped: Vec<(Id, String)> = helped.collect();
        match &helped[..] {
            [] => out.say(Tone::Answer, self.lines().no_help_here()),
            [(branch, words)] => {
                out.say(Tone::Question, self.lines().is_it_this(words.as_str()));
                self.core.pending = Some(Pending::Doubt {
                    command: Command::Helper {
                        branch: branch.clone(),
                    },
                    words: words.clone(),
                });
            }
            several => {
                let words: Vec<&str> = several.iter().map(|(_, words)| words.as_str()).collect();
                out.say(Tone::Answer, self.lines().you_can_say(words.join("; ")));
            }
        }
    }

    /// "Skip it": what of this may be left for later.
    pub(super) fn skip(&self, out: &mut Out) {
        let names = self.may_defer();
        let names = names
            .iter()
            .map(|id| self.lines().defer_it(self.name_of(id)));
        let names: Vec<String> = names.collect();
        match names.is_empty() {
            true => out.say(Tone::Answer, self.lines().cannot_be_left()),
            false => out.say(Tone::Answer, self.lines().to_leave_it(names.join("; "))),
        }
    }

    /// "No room for the torque wrench": what is left, none of which is tightening by feel.
    pub(super) fn no_room(&self, out: &mut Out) {
        let mut told = vec![self.lines().try_an_adapter()];
        let deferred = self.may_defer();
        told.push(match deferred.first() {
            Some(id) => self
                .lines()
                .or_defer(self.lines().defer_it(self.name_of(id))),
            None => self.lines().never_by_feel(),
        });
        out.say(Tone::Answer, told.join(" "));
    }

    pub(super) fn what_tool(&self, out: &mut Out) {
        let Some(step) = self.step() else {
            out.say(Tone::Answer, self.lines().eyes_and_hands());
            return;
        };
        let mut tools = step.tools.clone();
        let torque_wrench = self.lines().torque_wrench();
        let group = step
            .action
            .fastener()
            .and_then(|id| self.procedure.fasteners.get(id));
        if let Some(size) = group.and_then(|group| self.size_of(group)) {
            tools.push(size);
        }
        if matches!(step.action, Action::Tighten(_)) {
            match group.and_then(|group| self.wrench_of(group)) {
                Some(own) => {
                    tools.retain(|it| *it != torque_wrench && *it != own);
                    tools.push(own);
                }
                None if !tools.iter().any(|it| it.contains(&torque_wrench)) => {
                    tools.push(torque_wrench);
                }
                None => {}
            }
        }
        match tools.is_empty() {
            true => out.say(Tone::Answer, self.lines().no_tool()),
            false => out.say(Tone::Answer, format!("{}.", capital(&tools.join(", ")))),
        }
    }

    pub(super) fn why(&self, out: &mut Out) {
        if let Some(gate) = self
            .gate_that_holds()
            .and_then(|id| self.procedure.gates.get(id))
        {
            let means = self
                .procedure
                .facts
                .get(&gate.fact)
                .map_or("", |fact| &fact.means);
            out.say(Tone::Answer, self.lines().certain_first(means));
            return;
        }
        match self
            .step()
            .and_then(|step| step.why.as_ref().map(|why| (step, why)))
        {
            Some((step, why)) => out.say(Tone::Answer, self.filled(why, step.fastener.as_ref())),
            None => out.say(Tone::Answer, self.lines().no_reason()),
        }
    }

    pub(super) fn read_the_warning(&self, out: &mut Out) {
        if let Some(gate) = self.gate_that_holds() {
            self.tell_gate(gate, out);
            return;
        }
        match self
            .step()
            .and_then(|step| step.warning.as_ref().map(|warning| (step, warning)))
        {
            Some((step, warning)) => {
                let text = self.filled(&warning.text, step.fastener.as_ref());
                out.say(
                    Tone::Warning,
                    format!("{}. {text}", self.signal(warning.signal)),
                );
            }
            None => out.say(
                Tone::Answer,
                self.lines().no_warning_here(self.lines().usual_caution()),
            ),
        }
    }

    pub(super) fn tell_more(&self, out: &mut Out) {
        if let Some(id) = self.gate_that_holds() {
            let gate = self.procedure.gates.get(id);
            match gate.and_then(|gate| Some((gate, gate.more.as_ref()?))) {
                Some((gate, more)) => {
                    out.say(Tone::Answer, self.filled(more, None));
                    out.say(Tone::Hold, self.words_asked(gate));
                }
                None => self.tell_gate(id, out),
            }
            return;
        }
        match self.step() {
            Some(step) => {
                let text = step.more.as_ref().unwrap_or(&step.text);
                out.say(Tone::Answer, self.filled(text, step.fastener.as_ref()));
            }
            None => out.say(Tone::Answer, self.place_without_step()),
        }
    }

    /// Number of the step among those of the procedure that apply, and how many there are.
    pub(super) fn number(&self) -> Option<(usize, usize)> {
        let frame = self.core.frames.first()?;
        let list = self.list(&frame.list);
        let all = list.iter().filter(|step| self.is_chosen(step)).count();
        let before = list.iter().take(frame.at);
        let before = before.filter(|step| self.is_chosen(step)).count();
        Some(((before + 1).min(all), all))
    }

    pub(super) fn where_am_i(&self, out: &mut Out) {
        if let Some((number, all)) = self.number() {
            let doing = match self.core.phase {
                Phase::MakingSafe => "making-safe",
                Phase::Choosing(_)
                | Phase::LayingOut(_)
                | Phase::Working
                | Phase::Waiting
                | Phase::Closed(_) => "working",
            };
            let inside = match self.core.frames.last().map(|frame| &frame.list) {
                Some(List::Branch(_)) => "branch",
                Some(List::Main | List::MakeSafe) | None => "list",
            };
            out.say(
                Tone::Answer,
                self.lines()
                    .place(self.procedure.title.as_str(), doing, number, all, inside),
            );
        }
        let off = self.outstanding();
        if !off.is_empty() {
            out.list(Tone::Answer, self.lines(), off, Lines::not_in_place);
        }
        self.tell_last_done(out);
        self.tell_place(out);
    }

    /// Tells the step that was done last, while it is known.
    pub(super) fn tell_last_done(&self, out: &mut Out) {
        let branches = self.procedure.branches.values();
        let branches = branches.flat_map(|branch| &branch.steps);
        let steps = self.procedure.steps.iter().chain(&self.procedure.make_safe);
        let last = self.transient.last_done.as_ref();
        let done = steps.chain(branches).find(|step| Some(&step.id) == last);
        if let Some(step) = done {
            out.say(Tone::Answer, self.lines().done_last(self.ahead(step)));
        }
    }

    pub(super) fn whats_next(&self, out: &mut Out) {
        let Some(frame) = self.core.frames.last() else {
            out.say(Tone::Answer, self.lines().work_comes_next());
            return;
        };
        // At a gate that was opened by a need the step itself comes next.
        let holds_here = self.gate_that_holds().is_some()
            && !self
                .current()
                .is_some_and(|step| matches!(step.action, Action::Hold(_)));
        let from = if holds_here { frame.at } else { frame.at + 1 };
        let next = self
            .list(&frame.list)
            .iter()
            .skip(from)
            .find(|step| self.applies(step));
        let text = match next {
            Some(step) => self.ahead(step),
            None if self.core.frames.len() > 1 => self.lines().back_to_where_we_were(),
            None => self.lines().closing_the_job(),
        };
        out.say(Tone::Answer, self.lines().after_this(text));
    }

    pub(super) fn whats_off(&self, out: &mut Out) {
        let off = self.outstanding();
        match off.is_empty() {
            true => out.say(Tone::Answer, self.lines().everything_in_place()),
            false => out.list(Tone::Answer, self.lines(), off, Lines::not_in_place),
        }
        let again = self.to_tighten_again();
        if !again.is_empty() {
            out.list(Tone::Answer, self.lines(), again, Lines::still_to_come);
        }
    }

    /// Says the last answer again, and an open question with it. Of a gate only the words, until it is to be said slowly.
    pub(super) fn repeat(&self, slowly: bool, out: &mut Out) {
        out.repeated = true;
        if self.transient.last_answer.is_empty() {
            self.tell_place(out);
        }
        let gate = self.gate_that_holds();
        let gate = gate.and_then(|id| self.procedure.gates.get(id));
        for (tone, text) in &self.transient.last_answer {
            let text = match (tone, gate) {
                (Tone::Hold, Some(gate)) if !slowly => self.words_asked(gate),
                _ => text.clone(),
            };
            out.effects.push(Effect::Say(Sentence {
                tone: *tone,
                text,
                slowly,
            }));
        }
    }

    /// Speaks or listens otherwise from now on. Whoever lends the ears and the voice keeps it for other jobs.
    pub(super) fn speak(&mut self, manner: Manner, out: &mut Out) {
        out.effects.push(Effect::Manner(manner));
        let lines = self.lines();
        let told = match manner {
            // Whether that can be is known by whoever lends the ears.
            Manner::AnotherVoice | Manner::ToEverything | Manner::ByName | Manner::OnPress => {
                return;
            }
            Manner::Slower => lines.slower_now(),
            Manner::Faster => lines.faster_now(),
            Manner::Louder => lines.louder_now(),
            Manner::Softer => lines.softer_now(),
            Manner::Shorter => {
                self.settings.wording = Wording::Short;
                lines.shorter_now()
            }
            Manner::Fuller => {
                self.settings.wording = Wording::Long;
                lines.fuller_now()
            }
            Manner::Unit(unit) => {
                self.settings.unit = unit;
                lines.torques_in(lines.unit(unit))
            }
        };
        // It is no answer that anybody would want again.
        out.repeated = true;
        out.say(Tone::Answer, told);
    }

    pub(super) fn help(&self, out: &mut Out) {
        let can = self.can_say();
        out.list(Tone::Answer, self.lines(), can, Lines::you_can_say);
    }

    /// Whether a question of the assistant's own is open.
    pub(super) fn question_open(&self) -> bool {
        self.core.pending.as_ref().is_some_and(|pending| {
            !matches!(
                pending,
                Pending::Dictation
                    | Pending::PauseReason
                    | Pending::Unsure { .. }
                    | Pending::Which { .. }
            )
        })
    }
}
