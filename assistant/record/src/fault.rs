//! What can be wrong with an entry of a record.

use std::fmt;

/// Why an entry isn't as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// The journal can't be read from here on.
    Unreadable(String),
    /// It isn't there, though later ones are.
    Missing,
    /// Its words don't match its own hash.
    Changed,
    /// It doesn't follow from the entry before: that one was changed, or another put in its place.
    Unchained,
    /// It is whole, but makes no sense at its place.
    Senseless(String),
    /// Replaying the inputs with the procedure leads elsewhere.
    Differs,
    /// It is the last one, and not the one that was kept as the last.
    Cut,
    /// It is a signature that isn't of the key that it names, or is over something else.
    Signature,
    /// It is the last one, and none up to it has the hash that was kept elsewhere.
    OtherHead,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unreadable(what) => write!(f, "can't be read ({what})"),
            Self::Missing => f.write_str("is missing"),
            Self::Changed => f.write_str("was changed: it doesn't match its hash"),
            Self::Unchained => f.write_str(
                "doesn't follow from the one before it: that one was changed, or entries were taken out or put in",
            ),
            Self::Senseless(what) => write!(f, "makes no sense ({what})"),
            Self::Differs => f.write_str("leads elsewhere when it is replayed"),
            Self::Cut => f.write_str(
                "is the last one, and not the one that was kept as the last: entries were cut off the end or added",
            ),
            Self::Signature => f.write_str("is a signature that doesn't fit"),
            Self::OtherHead => f.write_str(
                "is the last one, and no entry up to it has the hash that was kept elsewhere: entries were cut off the end or changed, or that hash is another job's",
            ),
        }
    }
}
