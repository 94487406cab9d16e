//! The codes of findings: one table of what the checker can say.

use std::fmt;

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Severity {
    /// The procedure can't be used until it is put right.
    Mistake,
    /// It looks like a slip; the procedure can be used all the same.
    Doubt,
    /// It could be said better.
    Advice,
}

impl Severity {
    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Mistake => "mistake",
            Self::Doubt => "doubt",
            Self::Advice => "advice",
        }
    }
}

macro_rules! codes {
    ($($(#[$doc:meta])* $code:ident $name:literal $severity:ident)*) => {
        /// Which kind of finding it is.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[non_exhaustive]
        pub enum Code {
            $($(#[$doc])* $code,)*
        }

        impl Code {
            /// All of them, mistakes first.
            pub const ALL: &[Self] = &[$(Self::$code),*];

            /// The name that is printed, and typed to have it explained. It stays the same from version to version.
            pub fn name(self) -> &'static str {
                match self {
                    $(Self::$code => $name,)*
                }
            }

            /// How much it weighs.
            pub fn severity(self) -> Severity {
                match self {
                    $(Self::$code => Severity::$severity,)*
                }
            }
        }
    };
}

codes! {
    /// The file can't be read as text: missing, too large, not UTF-8.
    Unreadable "unreadable" Mistake
    /// Not TOML, keys that the format doesn't have, or hidden control characters.
    Format "format" Mistake
    /// A key that this place needs is left out.
    MissingKey "missing-key" Mistake
    /// A key stands where it can't be.
    StrayKey "stray-key" Mistake
    /// A name that isn't well formed.
    Name "name" Mistake
    /// A name or words given twice.
    Duplicate "given-twice" Mistake
    /// A name that nothing has.
    Unknown "unknown-name" Mistake
    /// Parts that include themselves, too many, or too deep, and texts that grow too long.
    Includes "includes" Mistake
    /// A part in another language than the procedure.
    Language "language" Mistake
    /// A number, quantity or count that can't be.
    Value "value" Mistake
    /// Something is tightened, and there is no torque for it.
    TorqueMissing "torque-missing" Mistake
    /// One torque in two units is two torques.
    TorqueDisagrees "torque-disagrees" Mistake
    /// Passes or a turn that don't lead to the torque.
    Passes "passes" Mistake
    /// Stands that don't hold what rests on them.
    Stands "stands-too-weak" Mistake
    /// A readback that can't serve: too short, too long, with digits, or its own decoy.
    ReadbackForm "readback-form" Mistake
    /// A danger that is only a check.
    GateWeight "gate-weight" Mistake
    /// Two gates with one readback.
    ReadbackShared "readback-shared" Mistake
    /// A fact that no gate, or more than one, makes true.
    FactGate "fact-gate" Mistake
    /// Gates that need each other.
    FactCircle "fact-circle" Mistake
    /// Something loosened or taken off that isn't refitted and tightened.
    NotRefitted "not-refitted" Mistake
    /// Something refitted that never came off.
    NeverOff "never-off" Mistake
    /// A wait that runs on and nobody waits for, or a wait for none.
    WaitUngathered "wait-ungathered" Mistake
    /// A branch that leads around for ever.
    BranchEndless "endless-branch" Mistake
    /// A vehicle sheet that isn't for the procedure, or lacks what the procedure takes from it.
    Sheet "vehicle-sheet" Mistake
    /// A proposal of an imported list that waits for its review.
    ReviewWaiting "review-waiting" Mistake
    /// Something in the job can't be listened for.
    CannotBeHeard "cannot-be-heard" Mistake
    /// An acceptance of what can't be accepted, or without a reason.
    AcceptedWrongly "accepted-wrongly" Mistake
    /// A torque that doesn't suit its thread.
    TorqueUnusual "torque-unusual" Doubt
    /// A thread or a strength mark by which nothing can be judged.
    ThreadOrClass "thread-or-class" Doubt
    /// A reason for a torque that isn't unusual.
    ReasonUnneeded "reason-unneeded" Doubt
    /// A step needs a fact that no hold point asks for before it.
    FactUnasked "fact-unasked" Doubt
    /// A fact that nothing needs.
    FactUnneeded "fact-unneeded" Doubt
    /// Two readbacks with nearly the same words.
    ReadbackNear "readback-near" Doubt
    /// A readback that sounds too much like something else.
    SoundsNear "sounds-near" Doubt
    /// A word to be heard that the recogniser doesn't know.
    WordUnknown "word-unknown" Doubt
    /// Giving up ends a fact while something may be off that came off under it.
    MakeSafeOff "make-safe-off" Doubt
    /// A text says to tighten, and there is no torque.
    TorqueUnsaid "torque-unsaid" Doubt
    /// A text says to measure, and there is no reading or no limit.
    LimitUnsaid "limit-unsaid" Doubt
    /// Something turned without a tool's size.
    SizeUnsaid "size-unsaid" Doubt
    /// A caution in the action's words.
    CautionInText "caution-in-text" Doubt
    /// More than one action in a step.
    TwoActions "two-actions" Doubt
    /// A text that doesn't begin with its verb.
    NoOrder "no-order" Doubt
    /// A question that isn't one.
    NoQuestion "no-question" Doubt
    /// A text that takes too long to be said.
    TooLong "too-long" Doubt
    /// A branch that nothing leads to.
    BranchUnreached "dead-branch" Doubt
    /// An acceptance of what isn't found.
    AcceptedStale "accepted-stale" Doubt
    /// A gate whose prompt is too long to be kept in mind.
    PromptLong "prompt-long" Doubt
    /// A readback with more or fewer words than people say in one go.
    ReadbackLength "readback-length" Advice
}

impl Code {
    /// Whether it is about hold points or checks: then nobody can accept it.
    pub fn is_at_gates(self) -> bool {
        matches!(
            self,
            Self::ReadbackForm
                | Self::GateWeight
                | Self::ReadbackShared
                | Self::ReadbackNear
                | Self::ReadbackLength
                | Self::PromptLong
                | Self::SoundsNear
                | Self::FactGate
                | Self::FactCircle
                | Self::FactUnasked
                | Self::FactUnneeded
        )
    }

    /// Whether its author can accept it with a reason. A word that isn't known is given what it sounds like instead.
    pub fn can_be_accepted(self) -> bool {
        self.severity() == Severity::Doubt && !self.is_at_gates() && self != Self::WordUnknown
    }

    /// The code of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|code| code.name() == name)
    }

    /// The codes whose names are like this, the likest first.
    pub fn near(name: &str) -> Vec<Self> {
        let parts: Vec<&str> = name.split('-').filter(|part| part.len() > 2).collect();
        let mut near: Vec<(usize, Self)> = Self::ALL
            .iter()
            .filter_map(|code| {
                let distance = super::names::distance(name, code.name());
                let shared = parts.iter().any(|part| code.name().contains(part));
                (shared || distance <= 3).then_some((distance, *code))
            })
            .collect();
        near.sort_unstable();
        if near.first().is_some_and(|(distance, _)| *distance <= 3) {
            near.retain(|(distance, _)| *distance <= 3);
        }
        near.into_iter().map(|(_, code)| code).collect()
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
