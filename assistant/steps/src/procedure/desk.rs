//! Where findings are collected while a procedure is read and checked.

use super::code::{Code, Severity};
use super::finding::Finding;
use super::sheet::ResolvedValue;
use miette::NamedSource;
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;

/// How many mistakes, and how many doubts, are told at once.
const MAX_FINDINGS: usize = 50;

/// A place in one of the files.
#[derive(Debug, Clone)]
pub(super) struct Place {
    pub source: usize,
    pub span: Range<usize>,
}

/// Collects what is wrong.
#[derive(Debug, Default)]
pub(super) struct Desk {
    sources: Vec<NamedSource<Arc<str>>>,
    pub problems: Vec<Finding>,
    pub doubts: Vec<Finding>,
    /// Where things were defined, for checks that run on the finished procedure.
    pub places: BTreeMap<String, Place>,
    /// Values that took the place of a name in braces: where they are written, and whether they have no source. By
    /// file and by where the name in braces begins.
    written_at: BTreeMap<(usize, usize), (Place, bool)>,
}

impl Desk {
    pub fn open(&mut self, name: &str, text: &str) -> usize {
        self.sources
            .push(NamedSource::new(format!("{name}.toml"), Arc::from(text)));
        self.sources.len() - 1
    }

    /// Notes which values took the place of names in braces, and where in a file.
    pub fn filled(
        &mut self,
        source: usize,
        filled: Vec<(usize, String)>,
        taken: &BTreeMap<String, ResolvedValue>,
    ) {
        for (start, name) in filled {
            if let Some(value) = taken.get(&name) {
                let home = (value.place.clone(), value.unsourced);
                self.written_at.insert((source, start), home);
            }
        }
    }

    /// Whether the value at a place is from a sheet that gives no source for it.
    pub fn is_unsourced(&self, place: &Place) -> bool {
        let value = self.written_at.get(&(place.source, place.span.start));
        value.is_some_and(|(_, unsourced)| *unsourced)
    }

    /// Where what is found at a place is drawn: a value that took the place of a name is drawn where it is written.
    fn drawn_at<'a>(&'a self, place: &'a Place) -> &'a Place {
        let value = self.written_at.get(&(place.source, place.span.start));
        value.map_or(place, |(written, _)| written)
    }

    /// Notes a mistake at a place.
    pub fn problem(
        &mut self,
        code: Code,
        place: &Place,
        message: impl Into<String>,
        label: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        if self.problems.len() < MAX_FINDINGS {
            self.mistake(code, place, message, label, remedy);
        }
    }

    /// Notes that a proposal waits for its review, however many do: each has to be gone through.
    pub fn review(
        &mut self,
        place: &Place,
        message: impl Into<String>,
        label: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        self.mistake(Code::ReviewWaiting, place, message, label, remedy);
    }

    fn mistake(
        &mut self,
        code: Code,
        place: &Place,
        message: impl Into<String>,
        label: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        debug_assert_eq!(code.severity(), Severity::Mistake, "{code}");
        let place = self.drawn_at(place).clone();
        // `open` gave every place its source.
        let Some(file) = self.sources.get(place.source) else {
            return;
        };
        self.problems.push(Finding {
            code,
            message: message.into(),
            file: file.clone(),
            place: place.span.clone().into(),
            label: label.into(),
            remedy: remedy.into(),
            about: Vec::new(),
            accepted: None,
        });
    }

    /// Notes what looks like a slip, or could be said better, at a place, in the step or thing of this name. A part that
    /// is included twice is drawn once.
    pub fn doubt(
        &mut self,
        code: Code,
        about: &str,
        place: &Place,
        message: impl Into<String>,
        label: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        debug_assert_ne!(code.severity(), Severity::Mistake, "{code}");
        let place = self.drawn_at(place).clone();
        // `open` gave every place its source.
        let Some(file) = self.sources.get(place.source) else {
            return;
        };
        let span = place.span.clone().into();
        let same = |it: &&mut Finding| {
            it.code == code && it.place == span && it.file.name() == file.name()
        };
        if let Some(drawn) = self.doubts.iter_mut().find(same) {
            if !drawn.about.iter().any(|name| name == about) {
                drawn.about.push(about.to_owned());
            }
            return;
        }
        if self.doubts.len() >= MAX_FINDINGS {
            return;
        }
        self.doubts.push(Finding {
            code,
            message: message.into(),
            file: file.clone(),
            place: span,
            label: label.into(),
            remedy: remedy.into(),
            about: vec![about.to_owned()],
            accepted: None,
        });
    }

    /// Mistakes, then doubts.
    pub fn all(&self) -> Vec<Finding> {
        self.problems.iter().chain(&self.doubts).cloned().collect()
    }

    /// Where a thing of the finished procedure was defined, such as `step park`.
    pub fn place(&self, what: &str) -> Place {
        self.places.get(what).cloned().unwrap_or(Place {
            source: 0,
            span: 0..0,
        })
    }
}
