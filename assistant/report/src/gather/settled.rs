//! What became of what was found, and what belongs together.

use super::Gathered;
use crate::model::{Finding, FindingKind, Photo};
use record::Report;
use record::time::iso;
use steps::Id;
use steps::codes::InWords;

impl Gathered {
    /// What was found about something is settled by a later entry.
    pub(super) fn put_right(&mut self, about: &Id, kind: FindingKind) {
        for (place, finding) in self.findings.iter_mut().enumerate() {
            if finding.kind == kind && self.about.get(&place) == Some(about) {
                finding.put_right = true;
            }
        }
    }

    pub(super) fn reason(&mut self, item: &Id, words: String) {
        let last = self.about.iter().rev().find(|(place, about)| {
            *about == item
                && self
                    .findings
                    .get(**place)
                    .is_some_and(|finding| finding.kind == FindingKind::Deferred)
        });
        if let Some(finding) = last.and_then(|(place, _)| self.findings.get_mut(*place)) {
            finding.reason = Some(words);
        }
    }

    pub(super) fn photos(&mut self, record: &Report) {
        for (place, photo) in record.photos.iter().enumerate() {
            let number = place + 1;
            let note = photo
                .note
                .and_then(|seq| self.note_seqs.iter().position(|it| *it == seq));
            if let Some(note) = note.and_then(|place| self.notes.get_mut(place)) {
                note.photos.push(number);
            }
            self.photos.push(Photo {
                number,
                at: iso(photo.at),
                given: photo.photo.given.clone(),
                given_sha256: photo.photo.given_sha256.clone(),
                path: photo.photo.path.clone(),
                note: note.map(|place| place + 1),
            });
        }
    }

    /// What was not in place at the end: what was deferred and is in place by now is no finding any more.
    pub(super) fn end(&mut self, record: &Report) {
        for (place, finding) in self.findings.iter_mut().enumerate() {
            if finding.kind == FindingKind::Deferred
                && record.outcome.is_some()
                && let Some(item) = self.about.get(&place)
            {
                let mut outstanding = record.outstanding.iter();
                finding.put_right |= !outstanding.any(|it| it.is_still(item, &finding.what));
            }
        }
        let again = record.again.iter();
        let again = again.map(|it| (FindingKind::TightenAgain, it.words(record.language)));
        let outstanding = record.outstanding.iter().filter(|it| !it.is_deferred());
        let outstanding =
            outstanding.map(|it| (FindingKind::Outstanding, it.words(record.language)));
        for (kind, what) in again.chain(outstanding) {
            self.findings.push(Finding {
                at: iso(record.last),
                kind,
                what,
                reason: None,
                put_right: false,
            });
        }
    }
}
