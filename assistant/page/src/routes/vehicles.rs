//! The vehicles that jobs on record are about.

use super::particulars::Particulars;
use super::records::{JobListed, of_record};
use super::{Answer, Desk};
use crate::problem::Problem;
use axum::extract::rejection::QueryRejection;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use record::{JobSummary, WholeRecord};
use report::VehicleHistory;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use utoipa::{IntoParams, ToSchema};

/// Jobs of a vehicle in one answer.
const MOST: usize = 200;

/// The most characters of a vehicle's name.
const MOST_NAME: usize = 500;

/// A vehicle in the list.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct VehicleListed {
    /// The vehicle, as its records name it.
    name: String,
    /// How many jobs on it are on record.
    jobs: usize,
    /// How many of them are open.
    open: usize,
    /// When the newest of them was opened, in milliseconds since 1970-01-01T00:00:00Z.
    last_ms: u64,
}

/// Which vehicle.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct Which {
    /// The vehicle, as its records name it.
    #[param(max_length = 500)]
    name: String,
}

/// What is on record of a vehicle.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct VehicleShown {
    /// The vehicle, as its records name it.
    name: String,
    /// Its newest jobs, the newest first; at most 200.
    jobs: Vec<JobListed>,
    /// How many older ones are left out.
    older: usize,
    /// The last value of each reading in these jobs, the newest first.
    measured: Vec<MeasuredShown>,
    /// What these jobs left to be done, as far as no later one settled it.
    due: Vec<DueShown>,
}

/// The last value of a reading.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct MeasuredShown {
    /// What was measured.
    name: String,
    /// The value with its unit.
    value: String,
    /// The limits in words; none where there are none.
    limits: Option<String>,
    /// Whether it is within them.
    within: bool,
    /// When, in milliseconds since 1970-01-01T00:00:00Z.
    at_ms: u64,
    /// The name of the job in which it was measured.
    job: String,
}

/// Something that is still to be done.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DueShown {
    /// What, in words.
    what: String,
    /// Since when, in milliseconds since 1970-01-01T00:00:00Z.
    since_ms: u64,
    /// The name of the job that left it.
    job: String,
}

/// All jobs on record by their vehicle, those of one the newest first. Records that don't name one are left out.
fn by_vehicle(desk: &Desk) -> Result<BTreeMap<String, Vec<(JobSummary, Particulars)>>, Problem> {
    let records = desk.records()?;
    let jobs = records.jobs().map_err(|error| of_record(&error))?;
    let mut vehicles: BTreeMap<String, Vec<_>> = BTreeMap::new();
    for job in jobs {
        let who = desk.particulars.of(records, &job);
        if let Some(vehicle) = who.vehicle.clone() {
            vehicles.entry(vehicle).or_default().push((job, who));
        }
    }
    Ok(vehicles)
}

/// The vehicles that jobs on record are about, the one with the newest job first.
#[utoipa::path(get, path = "/api/vehicles", responses(
    (status = 200, description = "The vehicles.", body = Vec<VehicleListed>),
    (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
    (status = "5XX", description = "The records can't be read.", body = Problem, content_type = "application/problem+json"),
))]
pub(crate) async fn list(State(desk): State<Desk>) -> Result<Answer<Vec<VehicleListed>>, Problem> {
    // It reads every record that it doesn't know yet: one at a time.
    let permit = desk.search_permit.clone().acquire_owned().await.ok();
    desk.aside(move |desk| {
        let _held = permit;
        let vehicles = by_vehicle(desk)?.into_iter();
        let vehicles = vehicles.map(|(name, jobs)| VehicleListed {
            name,
            jobs: jobs.len(),
            open: jobs.iter().filter(|(job, _)| job.outcome.is_none()).count(),
            last_ms: jobs.first().map_or(0, |(job, _)| job.started.0),
        });
        let mut vehicles: Vec<VehicleListed> = vehicles.collect();
        vehicles.sort_by_key(|it| std::cmp::Reverse(it.last_ms));
        Ok(Answer(vehicles))
    })
    .await
}

/// What is on record of one vehicle: its jobs, what was measured last, what is due.
#[utoipa::path(get, path = "/api/vehicle", params(Which), responses(
    (status = 200, description = "The vehicle.", body = VehicleShown),
    (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
    (status = "5XX", description = "The records can't be read.", body = Problem, content_type = "application/problem+json"),
))]
pub(crate) async fn one(
    State(desk): State<Desk>,
    which: Result<Query<Which>, QueryRejection>,
) -> Result<Answer<VehicleShown>, Problem> {
    let Ok(Query(Which { name })) = which else {
        return Err(Problem::new(
            StatusCode::BAD_REQUEST,
            "Say which vehicle, once: `name`.",
        ));
    };
    if name.chars().count() > MOST_NAME {
        return Err(Problem::new(
            StatusCode::BAD_REQUEST,
            format!("`name` has at most {MOST_NAME} characters."),
        ));
    }
    let permit = desk.search_permit.clone().acquire_owned().await.ok();
    desk.aside(move |desk| {
        let _held = permit;
        let mut vehicles = by_vehicle(desk)?;
        let Some(mut jobs) = vehicles.remove(&name) else {
            return Err(Problem::not_found("vehicle"));
        };
        let older = jobs.len().saturating_sub(MOST);
        jobs.truncate(MOST);
        let records = desk.records()?;
        // One that isn't whole tells nothing that could be relied on; it stays in the list.
        let whole = jobs
            .iter()
            .filter_map(|(job, _)| records.whole(&job.id).ok());
        let whole: Vec<WholeRecord> = whole.collect();
        let VehicleHistory { measured, due } = VehicleHistory::of(&whole);
        Ok(Answer(VehicleShown {
            name,
            jobs: jobs
                .into_iter()
                .map(|(job, who)| JobListed::of(job, who))
                .collect(),
            older,
            measured: measured
                .into_iter()
                .map(|it| MeasuredShown {
                    name: it.name,
                    value: it.value,
                    limits: it.limits,
                    within: it.within,
                    at_ms: it.at.0,
                    job: it.job.to_string(),
                })
                .collect(),
            due: due
                .into_iter()
                .map(|it| DueShown {
                    what: it.what,
                    since_ms: it.since.0,
                    job: it.job.to_string(),
                })
                .collect(),
        }))
    })
    .await
}
