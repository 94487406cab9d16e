//! Closed-set scoring with the tiny English Whisper weights.
