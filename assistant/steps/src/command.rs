//! What a technician can tell the assistant.

use crate::quantity::TorqueUnit;
use crate::{Colour, Decimal, Id, Manner, PauseReason};
use serde::{Deserialize, Serialize};

/// One thing told, its meaning already taken from the words.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(tag = "command", rename_all = "kebab-case")]
pub enum Command {
    /// Begin the procedure of this name (said where a job is chosen).
    Start {
        /// The procedure's name.
        procedure: Id,
    },
    /// Answer to "which side?" and the like, asked when a job starts.
    Choose {
        /// What was asked.
        variant: Id,
        /// The answer.
        option: Id,
    },
    /// This is done; the next step.
    Next,
    /// "Okay": as good as "next" where nothing hangs on it.
    Okay,
    /// Back one step.
    Back,
    /// Repeat the last answer.
    SayAgain,
    /// Repeat it slowly, digit by digit, and speak slower from now on.
    Slower,
    /// Speak otherwise from now on.
    Manner {
        /// How.
        manner: Manner,
    },
    /// The long wording.
    TellMeMore,
    /// Where in the job are we?
    WhereAmI,
    /// What comes after this step?
    WhatsNext,
    /// What size of socket or spanner?
    WhatSize,
    /// To what torque?
    WhatTorque,
    /// The torque told last, in this unit.
    InUnit { unit: TorqueUnit },
    /// What to set on the wrench, and on which?
    WrenchSetting,
    /// What to set with an adapter on the wrench?
    WithAdapter,
    /// Which pass of the tightening is on?
    WhichPass,
    /// What load is on each stand?
    WhatLoad,
    /// How much longer do the waits take?
    WaitsLeft,
    /// How long does the job still take?
    HowLongLeft,
    /// How many fasteners?
    HowMany,
    /// What tool?
    WhatTool,
    /// Dry threads or oiled, and with a threadlocker?
    Threads,
    /// Is the old one used again?
    Reuse,
    /// A value of a fastener that is named, wherever in the job it is.
    About {
        /// What is asked.
        question: Question,
        /// The group of fasteners.
        fastener: Id,
    },
    /// The same of fasteners by a name that several may share: "the oil plug".
    AboutAny {
        /// What is asked.
        question: Question,
        /// The short name, as it is said.
        name: String,
    },
    /// Which of several is meant: "the upper one".
    ThatOne {
        /// The group of fasteners.
        fastener: Id,
    },
    /// What comes after this item or fastener?
    After {
        /// The item or group of fasteners.
        thing: Id,
    },
    /// How does the step of this number go?
    ReadStep {
        /// Counted from one, as "where am I" does.
        number: usize,
    },
    /// Which new parts are still to come?
    PartsLeft,
    /// A part is missing: the job is to wait for it.
    PartMissing {
        /// The item or group of fasteners, where it is named.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        thing: Option<Id>,
    },
    /// The part that was missing is here.
    PartHere,
    /// Why the job was put down for a while.
    PauseReason { reason: PauseReason },
    /// What if the torque wrench can't be got to it?
    NoRoom,
    /// Why this step?
    Why,
    /// Read the step's warning.
    ReadTheWarning,
    /// What is still loose, unplugged or off the vehicle?
    WhatsOff,
    /// This fastener is done, which one now (in a tightening pattern)?
    NextFastener,
    /// All that was to be laid out is there.
    LaidOut,
    /// A note follows.
    Note,
    /// The words of the note, as far as they were understood.
    Dictation {
        /// The free transcription; empty when there was none.
        words: String,
    },
    /// Yes, to an open question.
    Yes,
    /// No, to an open question.
    No,
    /// Not done yet; stay here.
    NotYet,
    /// What the gate asks for isn't so: "the hose is tight".
    NotSo,
    /// What I just said isn't so: undo it.
    TakeBack,
    /// Listen to nothing but "carry on" and "stop".
    HoldOn,
    /// Listen again.
    CarryOn,
    /// Stop talking, at once.
    Stop,
    /// Close the job.
    Finish,
    /// Give the job up, leaving the vehicle safe.
    Abandon,
    /// What can I say?
    Help,
    /// A measured value.
    Reading {
        /// The number, in the unit that the reading has in the procedure.
        value: Decimal,
    },
    /// The readback of a gate.
    Readback {
        /// The gate whose words were said.
        gate: Id,
        /// The colour that was said after them.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        colour: Option<Colour>,
    },
    /// The trouble that a helper branch is for ("it won't come off").
    Helper { branch: Id },
    /// It won't budge, it snapped: what help is there?
    Trouble,
    /// What of this may be left for later?
    Skip,
    /// Leave something for later, on the record.
    Defer {
        /// The item or fastener group that stays off or loose.
        item: Id,
    },
    /// Somebody else works from here on.
    TakeOver {
        /// Who.
        person: String,
    },
    /// Answer for the finished job.
    SignOff {
        /// Who.
        person: String,
    },
}

/// What is asked about a fastener that is named.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Question {
    Size,
    Torque,
    Count,
    Reuse,
}

impl Question {
    /// Every question.
    pub const ALL: [Self; 4] = [Self::Size, Self::Torque, Self::Count, Self::Reuse];
}

// `ALL_PLAIN` names them one by one.
const _: () = assert!(Manner::SAID.len() == 15);

impl Command {
    /// Whether it only asks or repeats something, so that the job stands where it stood.
    pub fn is_question(&self) -> bool {
        match self {
            Self::SayAgain
            | Self::Slower
            | Self::Manner { .. }
            | Self::TellMeMore
            | Self::WhereAmI
            | Self::WhatsNext
            | Self::WhatSize
            | Self::WhatTorque
            | Self::InUnit { .. }
            | Self::WrenchSetting
            | Self::WithAdapter
            | Self::WhichPass
            | Self::WhatLoad
            | Self::WaitsLeft
            | Self::HowLongLeft
            | Self::HowMany
            | Self::WhatTool
            | Self::Threads
            | Self::Reuse
            | Self::About { .. }
            | Self::AboutAny { .. }
            | Self::ThatOne { .. }
            | Self::After { .. }
            | Self::ReadStep { .. }
            | Self::PartsLeft
            | Self::NoRoom
            | Self::Skip
            | Self::Why
            | Self::ReadTheWarning
            | Self::WhatsOff
            | Self::Help => true,
            Self::Start { .. }
            | Self::Choose { .. }
            | Self::Next
            | Self::Okay
            | Self::Back
            | Self::LaidOut
            | Self::PartMissing { .. }
            | Self::PartHere
            | Self::PauseReason { .. }
            | Self::NextFastener
            | Self::Note
            | Self::Dictation { .. }
            | Self::Yes
            | Self::No
            | Self::NotYet
            | Self::NotSo
            | Self::TakeBack
            | Self::HoldOn
            | Self::CarryOn
            | Self::Stop
            | Self::Finish
            | Self::Abandon
            | Self::Reading { .. }
            | Self::Readback { .. }
            | Self::Helper { .. }
            | Self::Trouble
            | Self::Defer { .. }
            | Self::TakeOver { .. }
            | Self::SignOff { .. } => false,
        }
    }

    /// Every command whose words the procedure has no part in, in the order above.
    pub const ALL_PLAIN: [Self; 69] = [
        Self::Next,
        Self::Okay,
        Self::Back,
        Self::SayAgain,
        Self::Slower,
        Self::Manner {
            manner: Manner::SAID[0],
        },
        Self::Manner {
            manner: Manner::SAID[1],
        },
        Self::Manner {
            manner: Manner::SAID[2],
        },
        Self::Manner {
            manner: Manner::SAID[3],
        },
        Self::Manner {
            manner: Manner::SAID[4],
        },
        Self::Manner {
            manner: Manner::SAID[5],
        },
        Self::Manner {
            manner: Manner::SAID[6],
        },
        Self::Manner {
            manner: Manner::SAID[7],
        },
        Self::Manner {
            manner: Manner::SAID[8],
        },
        Self::Manner {
            manner: Manner::SAID[9],
        },
        Self::Manner {
            manner: Manner::SAID[10],
        },
        Self::Manner {
            manner: Manner::SAID[11],
        },
        Self::Manner {
            manner: Manner::SAID[12],
        },
        Self::Manner {
            manner: Manner::SAID[13],
        },
        Self::Manner {
            manner: Manner::SAID[14],
        },
        Self::TellMeMore,
        Self::WhereAmI,
        Self::WhatsNext,
        Self::WhatSize,
        Self::WhatTorque,
        Self::InUnit {
            unit: TorqueUnit::NewtonMetre,
        },
        Self::InUnit {
            unit: TorqueUnit::NewtonCentimetre,
        },
        Self::InUnit {
            unit: TorqueUnit::PoundFoot,
        },
        Self::InUnit {
            unit: TorqueUnit::PoundInch,
        },
        Self::InUnit {
            unit: TorqueUnit::KilogramForceMetre,
        },
        Self::InUnit {
            unit: TorqueUnit::KilogramForceCentimetre,
        },
        Self::WrenchSetting,
        Self::WithAdapter,
        Self::WhichPass,
        Self::WhatLoad,
        Self::WaitsLeft,
        Self::HowLongLeft,
        Self::HowMany,
        Self::WhatTool,
        Self::Threads,
        Self::Reuse,
        Self::Why,
        Self::ReadTheWarning,
        Self::WhatsOff,
        Self::NextFastener,
        Self::Note,
        Self::Yes,
        Self::No,
        Self::NotYet,
        Self::NotSo,
        Self::TakeBack,
        Self::HoldOn,
        Self::CarryOn,
        Self::Stop,
        Self::Finish,
        Self::Abandon,
        Self::Help,
        Self::Trouble,
        Self::Skip,
        Self::PartsLeft,
        Self::NoRoom,
        Self::LaidOut,
        Self::PartMissing { thing: None },
        Self::PartHere,
        Self::PauseReason {
            reason: PauseReason::Part,
        },
        Self::PauseReason {
            reason: PauseReason::Tool,
        },
        Self::PauseReason {
            reason: PauseReason::Help,
        },
        Self::PauseReason {
            reason: PauseReason::Break,
        },
        Self::PauseReason {
            reason: PauseReason::AnotherJob,
        },
    ];
}
