//! Progress: a bar over bytes on a terminal, plain lines elsewhere, and what is left of a task.

use std::io::IsTerminal;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};

/// Whether somebody watches a terminal.
pub fn watched() -> bool {
    std::io::stderr().is_terminal()
}

/// Prints one line about work that begins.
pub fn line(text: &str) {
    eprintln!("{text}");
}

/// A bar over `bytes` bytes of work; a plain line when there is no terminal.
pub fn bytes(what: &str, bytes: u64) -> ProgressBar {
    if !watched() {
        line(&format!("{what} ({} MB)", bytes.div_ceil(1_000_000)));
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(bytes).with_message(what.to_owned());
    // The template is a constant of this file and is well formed.
    if let Ok(style) = ProgressStyle::with_template("{msg} {wide_bar} {bytes}/{total_bytes} {eta}")
    {
        bar.set_style(style);
    }
    bar
}

/// One step of a task.
pub struct Step {
    /// What it does, as a heading: "Build the program".
    pub what: String,
    /// About how long it takes on two cores.
    pub seconds: u32,
}

impl Step {
    /// A step that takes about so many seconds.
    pub fn new(what: impl Into<String>, seconds: u32) -> Self {
        Self {
            what: what.into(),
            seconds,
        }
    }
}

/// The steps of a task, for saying which one runs and how long the rest will take.
pub struct Steps {
    steps: Vec<Step>,
    begun: usize,
    began: Instant,
}

impl Steps {
    /// These steps, none of them begun.
    pub fn new(steps: Vec<Step>) -> Self {
        Self {
            steps,
            begun: 0,
            began: Instant::now(),
        }
    }

    /// Announces the next step and about how long this one and those after it will take.
    pub fn begin_next(&mut self) {
        if let Some(heading) = self.next_heading(self.began.elapsed()) {
            line(&heading);
        }
    }

    fn next_heading(&mut self, elapsed: Duration) -> Option<String> {
        let (done, left) = self.steps.split_at(self.begun);
        let step = left.first()?;
        let seconds = |steps: &[Step]| steps.iter().map(|it| f64::from(it.seconds)).sum::<f64>();
        // Finished steps tell how fast this machine and its network are; at first nothing is known yet.
        let expected = seconds(done);
        let pace = if expected < 10.0 {
            1.0
        } else {
            (elapsed.as_secs_f64() / expected).clamp(0.2, 5.0)
        };
        let left = about(pace * seconds(left));
        self.begun += 1;
        Some(format!(
            "[{}/{}] {} ({left} left)",
            self.begun,
            self.steps.len(),
            step.what
        ))
    }
}

fn about(seconds: f64) -> String {
    match (seconds / 60.0).round() as u32 {
        0 => "less than a minute".to_owned(),
        1 => "about a minute".to_owned(),
        minutes => format!("about {minutes} minutes"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_is_scaled_by_how_long_the_first_steps_took() {
        let mut steps = Steps::new(vec![
            Step::new("Fetch", 60),
            Step::new("Build", 120),
            Step::new("Play", 20),
        ]);
        let mut after = |seconds| steps.next_heading(Duration::from_secs(seconds));
        let heading = |text: &str| Some(text.to_owned());
        assert_eq!(after(0), heading("[1/3] Fetch (about 3 minutes left)"));
        assert_eq!(after(120), heading("[2/3] Build (about 5 minutes left)"));
        assert_eq!(after(240), heading("[3/3] Play (less than a minute left)"));
        assert_eq!(after(250), None);
    }
}
