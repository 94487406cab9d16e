//! What the checker found, for programs to read: as JSON, and as SARIF for editors and build servers.

mod sarif;

pub use sarif::sarif;

use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use steps::procedure::{Finding, Severity};

/// A finding and the path of the file that it is in, as the user would name it.
#[derive(Debug, Clone)]
pub struct Found {
    /// The file's path; of a part that comes with the program only its name.
    pub path: PathBuf,
    /// What was found.
    pub finding: Finding,
}

impl Found {
    /// What was found in a procedure of this folder.
    pub fn in_folder(folder: &Path, finding: Finding) -> Self {
        let beside = folder.join(finding.file.name());
        let path = match beside.is_file() {
            true => beside,
            false => PathBuf::from(finding.file.name()),
        };
        Self { path, finding }
    }

    /// Where it is.
    pub fn region(&self) -> Region {
        let text = self.finding.file.inner();
        let start = self.finding.place.offset();
        let (line, column) = place(text, start);
        let (end_line, end_column) = place(text, start + self.finding.place.len());
        Region {
            line,
            column,
            end_line,
            end_column,
        }
    }
}

/// Lines and columns from 1, columns in characters; the end is behind the last one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Region {
    /// First line.
    pub line: usize,
    /// First column.
    pub column: usize,
    /// Last line.
    pub end_line: usize,
    /// The column after the last.
    pub end_column: usize,
}

fn place(text: &str, offset: usize) -> (usize, usize) {
    let before = text.get(..offset).unwrap_or(text);
    let line = before.matches('\n').count() + 1;
    let begun = before.rfind('\n').map_or(0, |end| end + 1);
    (line, before[begun..].chars().count() + 1)
}

/// A list of findings, one object each.
pub fn json(all: &[Found]) -> Value {
    let one = |it: &Found| {
        let at = it.region();
        let finding = &it.finding;
        json!({
            "code": finding.code.name(),
            "severity": finding.code.severity().name(),
            "file": it.path,
            "line": at.line,
            "column": at.column,
            "end_line": at.end_line,
            "end_column": at.end_column,
            "message": finding.message,
            "label": finding.label,
            "remedy": finding.remedy,
            "about": finding.about,
            "accepted": finding.accepted,
        })
    };
    all.iter().map(one).collect()
}

/// How many weigh what.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// To put right.
    pub mistakes: usize,
    /// To look at again.
    pub doubts: usize,
    /// Doubts with a reason.
    pub accepted: usize,
    /// What could be said better.
    pub advice: usize,
}

impl Tally {
    /// Counts.
    pub fn of<'a>(findings: impl IntoIterator<Item = &'a Finding>) -> Self {
        let mut tally = Self::default();
        for finding in findings {
            match (finding.code.severity(), &finding.accepted) {
                (Severity::Mistake, _) => tally.mistakes += 1,
                (Severity::Doubt, None) => tally.doubts += 1,
                (Severity::Doubt, Some(_)) => tally.accepted += 1,
                (Severity::Advice, _) => tally.advice += 1,
            }
        }
        tally
    }
}

#[cfg(test)]
mod tests {
    use super::place;

    #[test]
    fn columns_count_characters_from_one() {
        let text = "a = 1\ntorque = \"25 N·m\" # x\n";
        assert_eq!(place(text, 0), (1, 1));
        assert_eq!(place(text, 6), (2, 1));
        let behind = text.find(" # x").unwrap();
        assert_eq!(place(text, behind), (2, 18));
        assert_eq!(place(text, text.len()), (3, 1));
    }
}
