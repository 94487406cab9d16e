//! The options that select jobs on record.

use clap::{Args, ValueEnum};
use miette::miette;
use record::{Ended, Wanted, time};
use steps::{Id, Moment};

/// A day in milliseconds.
const DAY: u64 = 86_400_000;

/// When jobs were opened.
#[derive(Debug, Args)]
pub struct PeriodOptions {
    /// Only jobs opened on or after this day (YYYY-MM-DD, UTC)
    #[arg(long, value_name = "DAY", value_parser = day)]
    from: Option<Moment>,
    /// Only jobs opened on or before this day (YYYY-MM-DD, UTC)
    #[arg(long, value_name = "DAY", value_parser = day)]
    to: Option<Moment>,
}

impl PeriodOptions {
    /// What a job must be.
    pub fn wanted(&self) -> miette::Result<Wanted> {
        if let (Some(from), Some(to)) = (self.from, self.to)
            && from > to
        {
            return Err(miette!(
                "no day is from {} to {}: put the earlier day after --from",
                time::day(from),
                time::day(to)
            ));
        }
        Ok(Wanted {
            from: self.from,
            before: self.to.map(|to| Moment(to.0.saturating_add(DAY))),
            ..Wanted::default()
        })
    }
}

/// Which jobs to list.
#[derive(Debug, Args)]
pub struct SearchOptions {
    #[command(flatten)]
    period: PeriodOptions,
    /// Only jobs of this procedure
    #[arg(long, value_name = "NAME")]
    procedure: Option<String>,
    /// Only jobs that this person worked on or signed
    #[arg(long, value_name = "NAME")]
    person: Option<String>,
    /// Only jobs on a vehicle with these words in its name
    #[arg(long, value_name = "WORDS")]
    vehicle: Option<String>,
    /// Only jobs with this outcome
    #[arg(long, value_enum)]
    outcome: Option<HowEnded>,
    /// Only jobs that wait for a part
    #[arg(long)]
    waiting: bool,
    /// Only jobs with these words in their name, their title or their record
    #[arg(long, value_name = "WORDS")]
    text: Option<String>,
}

impl SearchOptions {
    /// What a job must be.
    pub fn wanted(&self) -> miette::Result<Wanted> {
        Ok(Wanted {
            procedure: self.procedure.as_deref().map(Id::new),
            person: self.person.clone(),
            vehicle: self.vehicle.clone(),
            ended: self.outcome.map(Ended::from),
            waiting: self.waiting,
            text: self.text.clone(),
            ..self.period.wanted()?
        })
    }
}

/// How a job stands, as it is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum HowEnded {
    /// Not closed yet
    Open,
    /// Closed with all done
    Finished,
    /// Closed before all was done
    GivenUp,
}

impl From<HowEnded> for Ended {
    fn from(how: HowEnded) -> Self {
        match how {
            HowEnded::Open => Self::Open,
            HowEnded::Finished => Self::Finished,
            HowEnded::GivenUp => Self::GivenUp,
        }
    }
}

fn day(text: &str) -> Result<Moment, String> {
    time::beginning_of(text)
        .ok_or_else(|| "it is no day of the calendar. Write it like 2026-03-02".to_owned())
}
