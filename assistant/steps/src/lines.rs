//! What the job says by itself, in the language of its procedure.
//!
//! Each line is a message of `grammars/CODE/sentences.ftl` (Project Fluent), and here a function of the same name with
//! a parameter for each of its placeholders, so that a line can't be misspelt or lack a value. The tests hold every
//! language's file to this list.
//!
//! # Why Project Fluent?
//!
//! A sentence needs its own plurals in each language (“falta 1 paso”, “faltan 3 pasos”), and `format!` has none.
//! `fluent-bundle` reads text that a translator can write, is pure, and brings in nine small crates. Each placeholder
//! is a parameter of the line's function, so a misspelt or unused line doesn't compile. What only the record says
//! stays English and is in `codes/words.rs`. Values are put in as the procedure writes them, so no sentence may depend
//! on the gender of a name.

use crate::procedure::Signal;
use crate::quantity::{DriveShape, TorqueUnit};
use crate::{Colour, Language};
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use std::sync::LazyLock;
use unic_langid::LanguageIdentifier;

/// The lines of one language.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Lines(pub Language);

type Bundle = FluentBundle<FluentResource>;

impl Lines {
    fn text(self, name: &str, values: Vec<(&'static str, FluentValue<'_>)>) -> String {
        let bundle = bundle(self.0);
        let pattern = bundle.get_message(name).and_then(|message| message.value());
        let args: FluentArgs<'_> = values.into_iter().collect();
        // The files are built in; the tests ask each for every line with all of its values.
        let pattern = pattern.expect("each language has every line");
        let mut errors = Vec::new();
        let text = bundle.format_pattern(pattern, Some(&args), &mut errors);
        debug_assert!(errors.is_empty(), "{name}: {errors:?}");
        text.into_owned()
    }
}

impl Language {
    /// Said before every job.
    pub fn usual_caution(self) -> String {
        Lines(self).usual_caution()
    }

    /// The same as paper says it, which doesn't speak of itself.
    pub fn usual_caution_on_paper(self) -> String {
        Lines(self).usual_caution_on_paper()
    }

    /// A hazard's signal word.
    pub fn signal(self, signal: Signal) -> String {
        let lines = Lines(self);
        match signal {
            Signal::Notice => lines.notice(),
            Signal::Caution => lines.caution(),
            Signal::Warning => lines.warning(),
            Signal::Danger => lines.danger(),
        }
    }

    /// Stands behind a readback that a check word is to follow.
    pub fn then_the_check_word(self) -> String {
        Lines(self).then_the_check_word()
    }
}

impl Lines {
    pub(crate) fn colour(self, colour: Colour) -> String {
        match colour {
            Colour::Orange => self.orange(),
            Colour::Brown => self.brown(),
            Colour::Yellow => self.yellow(),
            Colour::Silver => self.silver(),
            Colour::Black => self.black(),
            Colour::Magenta => self.magenta(),
        }
    }

    /// A unit of torque as the shop calls it.
    pub(crate) fn unit(self, unit: TorqueUnit) -> String {
        match unit {
            TorqueUnit::NewtonMetre => self.newton_metres(),
            TorqueUnit::NewtonCentimetre => self.newton_centimetres(),
            TorqueUnit::PoundFoot => self.foot_pounds(),
            TorqueUnit::PoundInch => self.inch_pounds(),
            TorqueUnit::KilogramForceMetre => self.kilogram_metres(),
            TorqueUnit::KilogramForceCentimetre => self.kilogram_centimetres(),
        }
    }

    pub(crate) fn shape(self, shape: DriveShape) -> String {
        match shape {
            DriveShape::Hex => self.hex(),
            DriveShape::HexSocket => self.hex_key(),
            DriveShape::TwelvePoint => self.twelve_point(),
            DriveShape::SixLobe => self.six_lobe(),
            DriveShape::Slotted => self.slotted(),
        }
    }
}

fn bundle(language: Language) -> &'static Bundle {
    static ENGLISH: LazyLock<Bundle> = LazyLock::new(|| read(Language::English));
    static SPANISH: LazyLock<Bundle> = LazyLock::new(|| read(Language::Spanish));
    match language {
        Language::English => &ENGLISH,
        Language::Spanish => &SPANISH,
    }
}

/// The file of a language, as it is built in.
fn file(language: Language) -> &'static str {
    match language {
        Language::English => include_str!("../../../grammars/en/sentences.ftl"),
        Language::Spanish => include_str!("../../../grammars/es/sentences.ftl"),
    }
}

fn read(language: Language) -> Bundle {
    let id: LanguageIdentifier = language.code().parse().unwrap_or_default();
    let mut bundle = Bundle::new_concurrent(vec![id]);
    // Values are read aloud: no marks of direction round them.
    bundle.set_use_isolating(false);
    // The files are built in, and the tests read each.
    let resource = FluentResource::try_new(file(language).to_owned())
        .map_err(|(_, errors)| errors)
        .expect("the file of sentences is sound");
    bundle
        .add_resource(resource)
        .expect("no line stands twice in a file");
    bundle
}

/// The value of a placeholder.
pub(crate) trait Value {
    fn value(self) -> FluentValue<'static>;
}

impl Value for &str {
    fn value(self) -> FluentValue<'static> {
        self.to_owned().into()
    }
}

macro_rules! values {
    ($($kind:ty),*) => {
        $(
            impl Value for $kind {
                fn value(self) -> FluentValue<'static> {
                    self.into()
                }
            }
        )*
    };
}

// Plurals go by numbers, so these are no text.
values!(String, i32, u8, u16, u32, u64, usize);

/// What the program says about itself while a job is worked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SystemNotice {
    /// The record can't be written.
    CannotRecord,
    /// A readback opened its gate, where no short sound can tell it.
    Heard,
    /// The recogniser failed at what was said.
    CouldNotHear,
    /// One of two recognisers failed permanently; the job goes on with the other.
    OneEarLeft,
    OpensNoGate,
    /// The microphone is gone.
    CannotHear,
    /// It is back.
    HearsAgain,
    /// Somebody goes on talking, so that no readback can be heard.
    TalkGoesOn,
    /// The procedure was changed since the job was begun.
    ProcedureChanged,
    /// It speaks with another voice.
    AnotherVoice,
    /// It has none.
    NoOtherVoice,
    /// It listens to all that is said.
    ListensToAll,
    /// It listens after its name, which follows.
    CallFirst,
    /// It was given none.
    HasNoName,
    /// It listens after a key.
    PressFirst,
    /// There is none.
    HasNoKey,
}

impl SystemNotice {
    /// All of them.
    pub const ALL: [Self; 16] = [
        Self::CannotRecord,
        Self::Heard,
        Self::CouldNotHear,
        Self::OneEarLeft,
        Self::OpensNoGate,
        Self::CannotHear,
        Self::HearsAgain,
        Self::TalkGoesOn,
        Self::ProcedureChanged,
        Self::AnotherVoice,
        Self::NoOtherVoice,
        Self::ListensToAll,
        Self::CallFirst,
        Self::HasNoName,
        Self::PressFirst,
        Self::HasNoKey,
    ];

    /// The sentence.
    pub fn told_in(self, language: Language) -> String {
        let lines = Lines(language);
        match self {
            Self::CannotRecord => lines.cannot_record(),
            Self::Heard => lines.heard(),
            Self::CouldNotHear => lines.could_not_hear(),
            Self::OneEarLeft => lines.one_ear_left(),
            Self::OpensNoGate => lines.opens_no_gate(),
            Self::CannotHear => lines.cannot_hear(),
            Self::HearsAgain => lines.hears_again(),
            Self::TalkGoesOn => lines.talk_goes_on(),
            Self::ProcedureChanged => lines.procedure_changed(),
            Self::AnotherVoice => lines.another_voice(),
            Self::NoOtherVoice => lines.no_other_voice(),
            Self::ListensToAll => lines.listens_to_all(),
            Self::CallFirst => lines.call_first(),
            Self::HasNoName => lines.has_no_name(),
            Self::PressFirst => lines.press_first(),
            Self::HasNoKey => lines.has_no_key(),
        }
    }
}

macro_rules! lines {
    ($($name:ident($($value:ident),*);)*) => {
        impl Lines {
            $(
                pub(crate) fn $name(self, $($value: impl Value),*) -> String {
                    self.text(stringify!($name), vec![$((stringify!($value), $value.value())),*])
                }
            )*
        }

        /// Every line with its placeholders.
        #[cfg(test)]
        const ALL: &[(&str, &[&str])] = &[$((stringify!($name), &[$(stringify!($value)),*])),*];
    };
}

lines! {
    // Beginning and laying out.
    usual_caution();
    usual_caution_on_paper();
    then_the_check_word();
    rehearsal();
    recordings();
    no_source(what);
    without_source(values);
    without_source_and_more(values, count);
    put_on();
    tools_to_lay_out();
    parts_to_lay_out();
    consumables_to_lay_out();
    lay_out(heading, list);
    lay_out_first(heading, list);
    lay_out_and_more(heading, list);
    and_more(list);
    go_on_for_more();
    notice();
    caution();
    warning();
    danger();
    orange();
    brown();
    yellow();
    silver();
    black();
    magenta();
    // Coming back.
    taking_up_again(title);
    was_taken_up_again();
    clock_was_set_back();
    was_long_pause();
    asking_again(why);
    no_longer_true(facts);
    // What was heard.
    did_not_get_that();
    did_you_say(words);
    not_sure_yes_or_no();
    say_it_again();
    already_open();
    holding_on();
    go_ahead_with_note();
    say_note_first();
    noted();
    waiting();
    no_question_open();
    // Hold points.
    no_hold_point();
    not_the_words();
    words_of_another();
    not_the_colour();
    spoken_words_only();
    not_sure_of_words();
    yes_or_no_is_not_enough();
    not_going_on();
    waiting_for_the_words();
    not_right_yet();
    heard_and_recorded();
    taken_back();
    nothing_to_take_back();
    hold_point(ask, words);
    check(ask, words);
    words_to_say(words);
    words_and_check_word(colour, words);
    certain_first(means);
    // Where we are.
    place(title, phase, number, all, inside);
    all_steps_done();
    job_is_closed();
    first_step();
    after_this(what);
    after_the(name, what);
    step_is(number, what);
    no_such_step(number);
    not_in_this_job(name);
    done_last(what);
    which_one(list);
    parts_left(list);
    no_parts_left();
    try_an_adapter();
    or_defer(how);
    never_by_feel();
    hold_point_ahead(means);
    check_ahead(means);
    back_to_where_we_were();
    closing_the_job();
    work_comes_next();
    no_reason();
    no_warning_here(caution);
    you_can_say(list);
    number_in(unit);
    defer_it(name);
    how_many_of(names);
    takes_over(person);
    signed(person);
    // Moving on.
    nothing_to_choose();
    not_an_answer();
    answer_first();
    reading_first(name);
    yes_or_no(question);
    count_stands(done, count);
    next_as_you_go();
    no_help_here();
    is_it_this(words);
    next_when_done();
    nothing_tightened_here();
    all_had_final_torque(count);
    // How it speaks.
    slower_now();
    faster_now();
    louder_now();
    softer_now();
    shorter_now();
    fuller_now();
    torques_in(unit);
    // What isn't in place.
    loose();
    hand_tight();
    off();
    not_done();
    left(name, how);
    how_deferred(how);
    not_measured(name);
    not_in_place(things);
    not_in_place_recorded(things);
    still_to_come(things);
    still_to_do(things);
    still_to_do_tag(things);
    everything_in_place();
    cannot_be_left();
    to_leave_it(how);
    stays(name, how);
    deferred();
    // Closing and giving up.
    not_begun();
    make_safe_first();
    undeferred(things);
    steps_left(count);
    not_finished(what);
    go_on_or_defer(name);
    go_back_or_abandon();
    finished();
    closed_with_deferred(things);
    give_up();
    giving_up_already();
    given_up(left);
    nothing_left_off();
    // A part is missing.
    will_wait();
    will_wait_for(part);
    waits();
    waits_for(part);
    no_part_missing();
    // After a pause.
    why_pause();
    // People.
    nobody_is_named();
    has_the_job(person);
    is_taking_over(person);
    say_name_again();
    everything_done();
    done_but_deferred(things);
    and_your_name();
    to_sign(done, person);
    not_all_done();
    signature_is_spoken();
    not_sure_of_name();
    signed_by(person);
    unknown_name();
    // Readings.
    no_reading_here();
    cannot_be(value, unit, name, least, most);
    read_back(reading);
    say_reading_again(name);
    reading_no_longer_asked();
    recorded();
    recorded_within(limits);
    recorded_out(limits);
    recorded_unusable();
    limits_between(min, max, unit);
    at_least(min, unit);
    at_most(max, unit);
    // Fasteners and sizes.
    no_fastener_at_hold();
    no_fastener_here();
    eyes_and_hands();
    no_tool();
    torque_wrench();
    size(size, shape);
    hex();
    hex_key();
    twelve_point();
    six_lobe();
    slotted();
    no_size(name);
    deep();
    set_lacks_it();
    stands_in(size, tools);
    have_it(tools);
    have_it_not_deep(tools);
    drive_socket(drive);
    deep_drive_socket(drive);
    key();
    spanner();
    too_wide(size);
    too_small(size);
    does_not_fit(size);
    // Stands.
    no_load_here();
    load_on_each(load, mass, by);
    rated_each(mass, by, allowed);
    rated_pair(mass, by, allowed);
    stands_hold();
    stands_too_weak();
    lifting_points();
    by_procedure();
    by_technician();
    by_plate();
    // Torque.
    newton_metres();
    newton_centimetres();
    foot_pounds();
    inch_pounds();
    kilogram_metres();
    kilogram_centimetres();
    no_torque_yet();
    no_torque(name);
    plus_the(name);
    running_torque_added(torque);
    running_torque_too_high(running, target);
    running_torque_unusable();
    with_added(added);
    group_gets(names, torque, added);
    further_turn(angle);
    further_turn_to_yield(angle);
    allowed(low, high);
    criss_cross();
    in_a_star();
    one_after_the_other();
    threadlocker(what);
    threads(what);
    use_new(count);
    used_again(name);
    no_threads(name);
    in_this_pass(pass, torque);
    in_passes(count, list);
    then();
    pass_of(pass, passes);
    pass_to(pass, passes, torque);
    fastener_at(name, number, clock);
    done_of(done, things);
    had_final_torque(count);
    one_pass(torque);
    comes_again(names, after);
    tighten_again_after(names, after, torque);
    cannot_be_told_in(torque, unit);
    set_wrench(wrench, torque);
    set_your_wrench(torque);
    in_the_end_set_wrench(wrench, torque);
    in_the_end_set_your_wrench(torque);
    set_wrench_for_pass(wrench, torque);
    set_your_wrench_for_pass(torque);
    take_wrench_for_pass(wrench, torque);
    no_mark_for_pass(wrench, torque);
    none_suits(torque, reasons);
    none_suits_adapter(adapter, reasons);
    no_tools_known();
    no_adapter();
    no_adapter_fits(size);
    no_torque_wrench();
    with_adapter(adapter, wrench, setting, fastener, torque);
    with_adapter_in_pass(adapter, wrench, setting, fastener, torque);
    adapter_no_mark(adapter, wrench, torque);
    calibration_overdue(wrench, days);
    calibration_unknown(wrench);
    tolerance_not_held(wrench, percent, torque);
    reason_no_wrench();
    reason_low_in_range(percent);
    reason_below_scale(torque);
    reason_above_scale(torque);
    reason_between_marks(torque);
    reason_too_coarse(torque);
    reason_no_length();
    reason_wrench_length();
    reason_adapter_length();
    reason_adapter_angle();
    reason_adapter_factor(times);
    reason_adapter_torque();
    // Waits.
    seconds(count);
    minutes(count);
    hours(count);
    hours_and_minutes(hours, minutes);
    miles(count);
    time_left(time);
    over();
    wait_runs_on(time);
    cut_it_short(time);
    go_on_without_wait(why);
    temperature_not_read();
    no_time_for(asked, coldest, hottest);
    takes_at(temperature, time);
    tighten_again(name);
    time_is_up();
    wait_is_over(what);
    has_settled(what);
    no_wait();
    wait_goes_on();
    only_making_safe();
    only_closing();
    minutes_left(left, whole);
    // What the program tells about itself.
    cannot_record();
    heard();
    could_not_hear();
    one_ear_left();
    opens_no_gate();
    cannot_hear();
    hears_again();
    talk_goes_on();
    procedure_changed();
    another_voice();
    no_other_voice();
    listens_to_all();
    call_first();
    has_no_name();
    press_first();
    has_no_key();
    // Commands as "what are my options" names them.
    say_next();
    say_back();
    say_again();
    say_slower();
    say_faster();
    say_louder();
    say_softer();
    say_another_voice();
    say_shorter();
    say_fuller();
    say_to_everything();
    say_by_name();
    say_on_press();
    say_tell_me_more();
    say_where_am_i();
    say_whats_next();
    say_what_size();
    say_what_torque();
    say_in_newton_metres();
    say_in_foot_pounds();
    say_wrench_setting();
    say_with_adapter();
    say_which_pass();
    say_what_load();
    say_waits_left();
    say_how_long_left();
    say_how_many();
    say_what_tool();
    say_threads();
    say_reuse();
    say_why();
    say_read_the_warning();
    say_whats_off();
    say_next_fastener();
    say_note();
    say_yes();
    say_no();
    say_take_back();
    say_not_yet();
    say_hold_on();
    say_carry_on();
    say_stop();
    say_finish();
    say_abandon();
    say_help();
    say_trouble();
    say_skip();
    say_parts_left();
    say_part_missing();
    say_part_here();
    say_needed_part();
    say_needed_tool();
    say_needed_help();
    say_took_break();
    say_other_job();
    say_no_room();
    say_laid_out();
}

#[cfg(test)]
mod tests {
    use super::*;
    use fluent_bundle::FluentResource;
    use std::collections::{BTreeMap, BTreeSet};

    /// Each line of a file with the placeholders in it, told from the text of the file.
    fn written(language: Language) -> BTreeMap<String, BTreeSet<String>> {
        let mut lines: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        let mut last = String::new();
        for line in file(language).lines().filter(|it| !it.starts_with('#')) {
            if line.starts_with(|c: char| c.is_ascii_lowercase()) {
                let (name, _) = line.split_once(" = ").expect("a line is NAME = TEXT");
                name.clone_into(&mut last);
                assert!(
                    lines.insert(last.clone(), BTreeSet::new()).is_none(),
                    "{name} twice"
                );
            }
            let mut names = line.split('$').skip(1);
            let name = |rest: &str| {
                let end = rest.find(|c: char| !(c.is_alphanumeric() || c == '_'));
                rest[..end.unwrap_or(rest.len())].to_owned()
            };
            if let Some(values) = lines.get_mut(&last) {
                values.extend(names.by_ref().map(name));
            }
        }
        lines
    }

    #[test]
    fn every_language_has_every_line_with_the_same_values() {
        let wanted: BTreeMap<String, BTreeSet<String>> = ALL
            .iter()
            .map(|(name, values)| {
                let values = values.iter().map(|value| (*value).to_owned());
                ((*name).to_owned(), values.collect())
            })
            .collect();
        assert_eq!(wanted.len(), ALL.len());
        for language in Language::ALL {
            let written = written(language);
            for (name, values) in &wanted {
                let found = written.get(name);
                assert_eq!(Some(values), found, "{}: {name}", language.code());
            }
            for name in written.keys() {
                assert!(
                    wanted.contains_key(name),
                    "{}: {name} isn't used",
                    language.code()
                );
            }
        }
    }

    #[test]
    fn every_line_can_be_told_and_tells_its_values() {
        for language in Language::ALL {
            FluentResource::try_new(file(language).to_owned()).expect("sound");
            for (name, values) in ALL {
                for number in [0, 1, 2, 21] {
                    let values = values.iter().map(|value| (*value, number.into()));
                    let text = Lines(language).text(name, values.collect());
                    assert!(!text.trim().is_empty(), "{name}");
                    assert!(
                        !text.contains(['{', '}', '$', '\u{2068}']),
                        "{name}: {text}"
                    );
                }
            }
        }
    }

    #[test]
    fn nothing_is_left_in_english() {
        // Short words that are the same in Spanish.
        let alike = ["magenta", "say_no"];
        for (name, values) in ALL {
            let told = |language| {
                let values = values.iter().map(|value| (*value, "…".into()));
                Lines(language).text(name, values.collect())
            };
            let same = told(Language::English) == told(Language::Spanish);
            assert_eq!(same, alike.contains(name), "{name}");
        }
    }

    #[test]
    fn the_cautions_that_others_quote_are_those_of_the_file() {
        let lines = Lines(Language::English);
        assert_eq!(lines.rehearsal(), crate::job::REHEARSAL);
        for colour in Colour::ALL {
            assert_eq!(lines.colour(colour), format!("{colour:?}").to_lowercase());
        }
    }

    #[test]
    fn spanish_has_its_plurals() {
        let lines = Lines(Language::Spanish);
        assert_eq!(lines.steps_left(1), "falta 1 paso");
        assert_eq!(lines.steps_left(3), "faltan 3 pasos");
    }
}
