//! What a server shows besides the job at hand, and what its viewers may do.

use crate::{Board, Limits};
use crossbeam_channel::Sender;
use record::{Archive, KeptPhoto, RecordError};
use report::Shop;
use serde::{Deserialize, Serialize};
use std::sync::Arc;
use steps::Procedure;
use utoipa::ToSchema;

/// What a viewer may do. None of it is an input of the job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ViewerAction {
    /// Say the last sentence again.
    Repeat,
    /// Let the voice be silent; what it would say is shown.
    Mute,
    /// Let the voice speak.
    Unmute,
}

/// A photo that a viewer gave for a note of the job at hand. It goes onto the record, and is no input of the job.
#[derive(Debug)]
pub struct Attaching {
    /// The photo.
    pub kept: KeptPhoto,
    /// Told when it is on the record, or why not.
    pub done: Sender<Result<(), RecordError>>,
}

/// How the bay is set up.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, ToSchema)]
pub struct BaySettings {
    /// The unit that torques are told in.
    pub unit: Option<String>,
    /// The voice that speaks.
    pub voice: Option<String>,
    /// "work" or "rehearsal".
    pub mode: Option<String>,
    /// The microphone that was asked for; none for the system's usual one.
    pub microphone: Option<String>,
    /// Where the answers are written to, where they aren't spoken.
    pub answers: Option<String>,
    /// What listens.
    pub ears: Vec<String>,
    /// This program's version.
    pub version: String,
}

/// Where the procedures come from, asked at most once.
pub(crate) type Procedures = dyn Fn() -> Vec<Arc<Procedure>> + Send + Sync;

/// All that a server shows.
pub struct Room {
    pub(crate) board: Board,
    pub(crate) settings: BaySettings,
    pub(crate) limits: Limits,
    pub(crate) records: Option<Archive>,
    pub(crate) procedures: Box<Procedures>,
    pub(crate) shop: Shop,
    pub(crate) actions: Option<Sender<ViewerAction>>,
    pub(crate) attaching: Option<Sender<Attaching>>,
}

impl Room {
    /// A room with nothing but a board.
    pub fn new(board: Board) -> Self {
        Self {
            board,
            settings: BaySettings::default(),
            limits: Limits::default(),
            records: None,
            procedures: Box::new(Vec::new),
            shop: Shop::default(),
            actions: None,
            attaching: None,
        }
    }

    /// With these records to read, and to attach photos to.
    pub fn with_records(mut self, records: Archive) -> Self {
        self.records = Some(records);
        self
    }

    /// With these procedures to read.
    pub fn with_procedures(
        mut self,
        procedures: impl Fn() -> Vec<Arc<Procedure>> + Send + Sync + 'static,
    ) -> Self {
        self.procedures = Box::new(procedures);
        self
    }

    /// With the shop whose name stands on the reports.
    pub fn with_shop(mut self, shop: Shop) -> Self {
        self.shop = shop;
        self
    }

    /// With these settings of the bay to read.
    pub fn with_settings(mut self, settings: BaySettings) -> Self {
        self.settings = settings;
        self
    }

    /// With somebody who does what viewers may ask for.
    pub fn with_actions(mut self, actions: Sender<ViewerAction>) -> Self {
        self.actions = Some(actions);
        self
    }

    /// With somebody who works the job on the board, and puts photos for its notes on its record.
    pub fn with_attaching(mut self, attaching: Sender<Attaching>) -> Self {
        self.attaching = Some(attaching);
        self
    }

    /// Whether the job of this name is the one on the board, and photos for it are taken.
    pub(crate) fn works(&self, name: &str) -> bool {
        let at_hand = self.board.newest().job;
        self.attaching.is_some() && at_hand.is_some_and(|job| job.name == name)
    }

    /// With other limits.
    pub fn with_limits(mut self, limits: Limits) -> Self {
        self.limits = limits;
        self
    }
}
