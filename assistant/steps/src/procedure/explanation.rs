//! What each finding means, why it matters to the technician, and what to do.

use super::code::Code;
use std::fmt;

/// A finding explained.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Explanation {
    /// What was found.
    pub means: &'static str,
    /// What could happen to whoever works by the procedure.
    pub matters: &'static str,
    /// What the author does.
    pub remedy: &'static str,
    /// How it looks, and how it is right. Values are invented.
    pub example: &'static str,
}

impl fmt::Display for Explanation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let example = self.example.replace('\n', "\n    ");
        write!(
            f,
            "{}\n\nWhy it matters: {}\n\nWhat to do: {}\n\nExample:\n\n    {example}",
            self.means, self.matters, self.remedy
        )
    }
}

impl Code {
    /// What it means, why it matters, what to do.
    pub fn explanation(self) -> Explanation {
        let (means, matters, remedy, example) = match self {
            Self::Unreadable => (
                "A file can't be read as text: it is missing, larger than a million bytes, or not UTF-8.",
                "Nothing of it is known, so no job can be worked by it.",
                "Look at the spelling of the name and at the folder. Save the file as UTF-8.",
                "include = \"parts/lower\"     # needs the file parts/lower.toml",
            ),
            Self::Format => (
                "The file isn't TOML, has a key that the format doesn't have or a hidden control character, or is of another \
                 version.",
                "A key with a slip in its name would be passed over, and with it a warning or a torque.",
                "Correct the name of the key. An editor that knows TOML offers the right ones: the first line of the \
                 file names the schema.",
                "torq = \"25 N·m\"      # no such key\ntorque = \"25 N·m\"    # right",
            ),
            Self::MissingKey => (
                "Something that this place needs is left out.",
                "The technician would hear a step without its words, or be led nowhere.",
                "Add the key that is named.",
                "[[step]]\nid = \"gap\"\naction = \"measure\"\nreading = \"gap\"     # what to measure: not without it",
            ),
            Self::StrayKey => (
                "A key stands where it has no meaning, or says a second time what another key says.",
                "The author meant something by it, and the technician would never hear it.",
                "Take the key out, change the action, or make a second step of it.",
                "[[step]]\naction = \"inspect\"\nminutes = 5     # only a wait has minutes",
            ),
            Self::Name => (
                "A name isn't made of lower-case letters, digits and hyphens, or isn't the file's.",
                "Names stand in records and are typed and compared there.",
                "Use lower-case letters, digits and hyphens, beginning with a letter.",
                "id = \"Axle nut\"     # no\nid = \"axle-nut\"     # right",
            ),
            Self::Duplicate => (
                "Two things have one name, or the same words lead to two places.",
                "What is meant by the name, or by the words said, could be either.",
                "Give one of them another name or other words. A part that is included twice takes part of its names \
                 from `with`.",
                "with = { wheel = \"left-wheel\" }     # and in the part: id = \"{wheel}-off\"",
            ),
            Self::Unknown => (
                "A name is used that nothing has.",
                "A step would ask for a fact that nobody can make true, or tell a torque of nothing.",
                "Correct the spelling, or define what is meant.",
                "needs = [\"suported\"]      # no\nneeds = [\"supported\"]     # right",
            ),
            Self::Includes => (
                "A part includes itself, parts lie too deep in each other, there are too many, or their texts grow too long.",
                "The steps would never end, or fill the memory.",
                "Take one of the includes out, or write its steps where they are needed.",
                "parts/a.toml: include = \"parts/b\"\nparts/b.toml: include = \"parts/a\"     # a circle",
            ),
            Self::Language => (
                "A part is in another language than the procedure that includes it.",
                "A warning would be told in words that nobody there understands.",
                "Include a part that is translated; it says its language as the procedure does.",
                "language = \"es\"\ninclude = \"parts/lower\"     # that part is in English",
            ),
            Self::Value => (
                "A number, a quantity or a count can't be what it says.",
                "A wrong figure is worked to, or a reading can't be told apart by ear.",
                "Write number and unit as the source gives them.",
                "torque = \"25\"         # of what?\ntorque = \"25 N·m\"     # right",
            ),
            Self::TorqueMissing => (
                "A group is tightened, and its torque isn't given, or not for every option.",
                "The technician would tighten by feel.",
                "Give the group a `torque`. Use `action = \"refit\"` for what is only run in by hand.",
                "[[fastener]]\nid = \"cover-bolts\"\ntorque = \"25 N·m\"",
            ),
            Self::TorqueDisagrees => (
                "`torque` and `torque_also` should be one torque in two units, and are two.",
                "One of them is wrong, and nobody can tell which.",
                "Look at the source again.",
                "torque = \"140 N·m\"\ntorque_also = \"103 lbf·ft\"     # the same; 140 lbf·ft would not be",
            ),
            Self::Passes => (
                "The passes or the further turn don't lead to the torque.",
                "The fastener would be left short of its torque, or turned twice by its angle.",
                "Let the passes rise and end in 100.",
                "passes = [50, 100]",
            ),
            Self::Stands => (
                "The stands don't hold what rests on them by the figures given.",
                "The vehicle can come down on the technician.",
                "Name stands that hold, and lay them out. Correct a figure only by its plate or source.",
                "[gate.load]\nmass = \"2100 kg\"\naxle_share = \"55 %\"\nrating = \"3 t each\"",
            ),
            Self::ReadbackForm => (
                "A readback is too short, too long, written with digits, or is its own decoy.",
                "A short one is said by habit or by chance, and then a gate opens over a hazard.",
                "Use a sentence of 4 to 16 words that says what was done and seen, numbers spelt out.",
                "readback = \"Yes, go on.\"     # no\nreadback = \"Stands carry it and shoving moved nothing.\"",
            ),
            Self::GateWeight => (
                "A gate whose signal word is danger is only a check.",
                "A check states no danger and asks for no check word: its readback could be said out of habit.",
                "Make it a hold point. If nothing here kills or maims, choose another signal word.",
                "signal = \"danger\"\nweight = \"hold-point\"",
            ),
            Self::ReadbackShared => (
                "Two gates have the same readback.",
                "The words for one hazard would open the gate before another.",
                "Give each gate words of its own, about what is seen there.",
                "readback = \"Both pins stick out and the ramp is down.\"     # at one gate only",
            ),
            Self::FactGate => (
                "No gate makes a fact true, or more than one does.",
                "A step that needs the fact would never be reached, or by the wrong words.",
                "Give each fact one gate.",
                "[[fact]]\nid = \"supported\"\n\n[[gate]]\nid = \"supported\"\nfact = \"supported\"",
            ),
            Self::FactCircle => (
                "Gates need each other, so none of them can ever be passed.",
                "The technician stands at a gate that nothing opens.",
                "Take one of the `needs` out.",
                "gate a needs the fact of b, gate b needs the fact of a",
            ),
            Self::NotRefitted => (
                "On some way through the job, something that was loosened, unplugged or taken off stays so.",
                "The vehicle would leave with it loose.",
                "Add the step that refits it; where it has a torque, the step that tightens it.",
                "[[step]]\nid = \"cover-tighten\"\naction = \"tighten\"\nfastener = \"cover-bolts\"",
            ),
            Self::NeverOff => (
                "A step refits what no step before it takes off.",
                "A step is missing, or two are in the wrong order.",
                "Add the step that takes it off, or make this one `action = \"do\"`.",
                "action = \"remove\"     # first\naction = \"refit\"      # then",
            ),
            Self::WaitUngathered => (
                "A wait runs on and no later step waits until it is over, or a step waits for a wait that isn't there.",
                "Sealant would be loaded before it has cured.",
                "Let a later step wait `until` it.",
                "action = \"wait\"\nuntil = \"sealant\"     # an earlier wait with runs_on = true",
            ),
            Self::AcceptedWrongly => (
                "An [[accepted]] entry accepts a mistake, something at a hold point, or gives no reason.",
                "Nothing may make a hold point weaker, and without a reason nobody can judge it later.",
                "Mend what was found, or write the reason in a sentence.",
                "[[accepted]]\ncode = \"torque-unusual\"\nat = \"axle-nut\"\nreason = \"The bearing sets this torque.\"",
            ),
            Self::TorqueUnusual => (
                "By its thread and strength the torque clamps far less or far more than is usual.",
                "A unit may have been mixed up: the bolt breaks, or works loose.",
                "Look at the source again. Where the value is right, say why with `unusual_because`.",
                "thread = \"M6\"\nclass = \"8.8\"\ntorque = \"89 lbf·ft\"     # inch-pounds were meant",
            ),
            Self::ThreadOrClass => (
                "The thread or the strength mark is none that is known, or they don't go together.",
                "Whether the torque suits it can't be judged.",
                "Look at the source, and at the mark on the head.",
                "thread = \"M8x12.5\"     # no such pitch\nthread = \"M8x1.25\"     # right",
            ),
            Self::ReasonUnneeded => (
                "`unusual_because` explains a torque that is usual.",
                "It would hide the next slip in that torque.",
                "Take it out.",
                "unusual_because = \"The bearing sets it.\"     # beside a torque that suits its thread",
            ),
            Self::Sheet => (
                "The sheet of the vehicle isn't for this procedure, lacks a value that the procedure takes from it, or names \
                 an option that the procedure doesn't have; or no vehicle was named. Or a value has changed since it was \
                 approved, or was approved by whoever entered it.",
                "The job would be worked with a value of another vehicle, or with none.",
                "Look the value up in the maker's document, and enter it in the sheet with its source. Name the vehicle with \
                 `--vehicle`. Have values approved with `sayback approve`.",
                "# vehicles/van-four.toml\n[value]\nwheel-nut-torque = { is = \"140 N·m\", from = \"data\", page = \"12\" }",
            ),
            Self::ReviewWaiting => (
                "A proposal that was made from an imported list has its line `review` still.",
                "Nobody has compared it with its source: a count, a size or a torque may be misread.",
                "Compare it with the source, put right what is wrong, then delete the line. Nothing else lets the file \
                 be used.",
                "[[fastener]]\ntorque = \"140 N·m\"\nreview = \"Compare count, size, torque and order …\"     # delete it last",
            ),
            Self::CannotBeHeard => (
                "On the straight way through the job something can't be listened for: its words would mean two things, or \
                 there are none.",
                "What is said there would do something else, or nothing.",
                "Reword the procedure's own phrase.",
                "[[branch]]\nsay = [\"go on\"]              # no: that is a command\nsay = [\"it won't go on\"]     # right",
            ),
            Self::SoundsNear => (
                "By the pronouncing dictionary a readback sounds nearly like another one, like something else that may be \
                 said in the job, or differs from what denies it by one short sound. Compared are phones by their features.",
                "The ear, or whoever listens, takes one for the other, and a gate opens over a hazard.",
                "Say what is seen in other words. It can't be accepted.",
                "readback = \"The engine is cold.\"     # sounds like: called\nreadback = \"I held the upper hose and it is cool.\"",
            ),
            Self::WordUnknown => (
                "A word that is to be heard isn't in the recogniser's dictionary, or not in the model named by `--vosk`.",
                "A recogniser that hears words leaves the whole phrase out, and its sound can't be compared.",
                "Give plain words that sound like it, or say it otherwise. It can't be accepted.",
                "[sounds_like]\nundertray = \"under-tray\"",
            ),
            Self::MakeSafeOff => (
                "A step of [[make_safe]] ends a fact under which something came off, and no step before it puts that back.",
                "The vehicle would be let down with a wheel off, or a machine handed back with its guard off.",
                "Put it back first, or leave the fact as it is. Steps for what is off have `when_off`. Where it may stay off, \
                 accept it with the reason; the job names what is off when it is given up, and the record keeps it.",
                "[[make_safe]]\nid = \"safe-wheel\"\naction = \"refit\"\nitem = \"wheel\"\nwhen_off = \"wheel\"     # before it is lowered",
            ),
            Self::PromptLong => (
                "What a gate asks for takes too many words: its text and its readback together may have 25 at a hold point and 15 at \
                 a check.",
                "Nobody with full hands keeps it in mind, and by the fifth gate nobody listens.",
                "Name the danger in one clause, then what to look at. What is to be done is a step of its own.",
                "ask = \"The van can fall. Look at both stands, then shove it.\"",
            ),
            Self::ReadbackLength => (
                "A readback has fewer than four words or more than nine.",
                "A short one is said by chance; a long one is recited, not meant.",
                "Use what a mechanic would say about what he sees.",
                "readback = \"Both stands are pinned and nothing moved.\"",
            ),
            Self::BranchEndless => (
                "A branch has a question whose answers both lead back around.",
                "The technician stands under the vehicle and never gets on with the job.",
                "Leave out `yes` or `no` where the answer means that the trouble is over.",
                "[[branch.step]]\nid = \"quiet-now\"\naction = \"ask\"\nno = \"noisy\"     # and yes leads on",
            ),
            Self::FactUnasked => (
                "On some choice of options a step needs a fact, and no hold point before it asks for that; in [[make_safe]], \
                 where nothing is sure at the beginning, none of its own. A fact that was voided since is asked for again in \
                 any case: the job holds at every step whose facts aren't true, and each fact has one gate that can be \
                 passed (`fact-gate`, `fact-circle`).",
                "The gate is asked all the same, but as a surprise, in the middle of other work.",
                "Add a hold where the fact is made true. It can't be accepted.",
                "[[step]]\nid = \"supported-hold\"\naction = \"hold\"\ngate = \"supported\"",
            ),
            Self::FactUnneeded => (
                "Nothing needs a fact: its gate guards nothing.",
                "A gate without a hazard teaches to say words without looking.",
                "Name the fact in the `needs` of what it makes safe, or take it out. It can't be accepted.",
                "needs = [\"supported\"]     # in the steps under the vehicle",
            ),
            Self::ReadbackNear => (
                "Two readbacks have fewer than three words that the other lacks.",
                "The words for one hazard could be heard as those for another.",
                "Say what is seen at this gate and nowhere else. It can't be accepted.",
                "readback = \"Both pins stick out and the ramp is down.\"",
            ),
            Self::TorqueUnsaid => (
                "A text tells to tighten something, and its step has no group with a torque.",
                "The technician would tighten by feel, and “what torque” would find none.",
                "Use `action = \"tighten\"` with a group that has a torque. What is tightened by hand says “by hand”.",
                "action = \"tighten\"\nfastener = \"cover-bolts\"\ntext = \"Tighten the {fasteners} to {torque}.\"",
            ),
            Self::LimitUnsaid => (
                "A text tells to measure and takes no reading, or the reading has no limit.",
                "A value is read off and nobody can say whether it will do.",
                "Use `action = \"measure\"` with a reading that has `min` or `max`.",
                "[[reading]]\nid = \"gap\"\nunit = \"mm\"\nmax = \"2.0\"",
            ),
            Self::SizeUnsaid => (
                "A group is loosened, unscrewed or tightened, and no tool's size is given.",
                "“What size” would find none, with both hands at the nut.",
                "Add the group's `drive`.",
                "drive = { shape = \"hex\", size = \"13 mm\" }",
            ),
            Self::CautionInText => (
                "The words of an action hold a caution.",
                "It is heard with the action or after it, when the hand is there already (DOE-STD-1029: cautions come \
                 before the action).",
                "Put it into [step.warning].",
                "[step.warning]\nsignal = \"caution\"\ntext = \"The arm springs up. Keep fingers out of the gap.\"",
            ),
            Self::TwoActions => (
                "A step tells to do more than one thing.",
                "The second one is forgotten, and the record can't say which was done.",
                "Make a step of each. What explains goes into `more` or `why`.",
                "text = \"Loosen the nut and then pull the bolt.\"     # two steps",
            ),
            Self::NoOrder => (
                "The words of an action don't begin with a verb in the imperative.",
                "What to do is heard last, and a wish sounds like a remark.",
                "Begin with the verb.",
                "text = \"The cover is lifted off.\"     # no\ntext = \"Lift the cover off.\"          # right",
            ),
            Self::NoQuestion => (
                "A step that asks has no question mark at its end.",
                "“Yes” to a remark means nothing.",
                "Word it so that “yes” or “no” answers it.",
                "text = \"Is the boot whole?\"",
            ),
            Self::TooLong => (
                "The words of an action take more than eight seconds to be said, by a rate measured from the voice.",
                "Its beginning is forgotten before its end is heard.",
                "Say the action alone, and put the rest into `more`.",
                "text = \"Hook the caliper up.\"\nmore = \"With the wire, from the spring, so that its hose hangs free.\"",
            ),
            Self::BranchUnreached => (
                "No step, question or reading leads to a branch.",
                "Help that was written can't be had.",
                "Name it in a step's `helpers`, a question's `yes` or `no`, or a reading's `out`.",
                "helpers = [\"wont-come-off\"]",
            ),
            Self::AcceptedStale => (
                "An [[accepted]] entry accepts what isn't found there any more.",
                "It would hide the next slip at that place.",
                "Take the entry out, or correct its `at`.",
                "[[accepted]]\ncode = \"torque-unusual\"\nat = \"cover-bolts\"     # whose torque was corrected since",
            ),
        };
        Explanation {
            means,
            matters,
            remedy,
            example,
        }
    }
}
