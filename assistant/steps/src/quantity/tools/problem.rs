//! What is wrong with a tools file, and where.

use std::fmt;

/// One thing wrong with a tools file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}, {place}: {what}; {remedy}")]
pub struct ToolsProblem {
    /// Line, from 1.
    pub line: usize,
    /// Which entry and key, such as “torque_wrench 2 (“small click wrench”), scale”.
    pub place: String,
    /// What is wrong.
    pub what: String,
    /// What to do now.
    pub remedy: String,
}

/// All that is wrong with a tools file; never empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToolsProblems(pub Vec<ToolsProblem>);

impl fmt::Display for ToolsProblems {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, problem) in self.0.iter().enumerate() {
            let between = if place == 0 { "" } else { "\n" };
            write!(f, "{between}{problem}")?;
        }
        Ok(())
    }
}

impl std::error::Error for ToolsProblems {}
