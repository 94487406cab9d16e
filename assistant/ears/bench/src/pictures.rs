//! Pictures of the figures: accuracy against noise, trade-off of errors, calibration.

use super::fit::Class;
use super::kept::Heard;
use super::material::Set;
use super::measure::{Figure, Tenth, judged};
use plotters::prelude::*;
use std::error::Error;
use std::path::Path;

type Failure = Box<dyn Error + Send + Sync>;

const SIZE: (u32, u32) = (760, 520);

const COLOURS: [RGBColor; 6] = [
    RGBColor(0, 90, 160),
    RGBColor(200, 80, 0),
    RGBColor(0, 130, 90),
    RGBColor(150, 40, 120),
    RGBColor(90, 90, 90),
    RGBColor(180, 150, 0),
];

fn failed(error: impl std::fmt::Display) -> Failure {
    error.to_string().into()
}

/// The share of commands and readbacks that were heard, against the noise.
///
/// # Errors
/// When the picture can't be written.
pub fn against_noise(figures: &[Figure], path: &Path) -> Result<(), Failure> {
    let root = SVGBackend::new(path, SIZE).into_drawing_area();
    root.fill(&WHITE).map_err(failed)?;
    let mut chart = ChartBuilder::on(&root)
        .caption("Heard by the ear, by speech to noise", ("sans-serif", 18))
        .margin(12)
        .x_label_area_size(40)
        .y_label_area_size(50)
        .build_cartesian_2d(0f32..21f32, 0f64..1.01f64)
        .map_err(failed)?;
    chart
        .configure_mesh()
        .x_desc("active speech to noise, dB")
        .y_desc("share taken or asked about, with 95 % bounds")
        .draw()
        .map_err(failed)?;
    let mut colours = COLOURS.iter().cycle();
    for set in ["commands", "readbacks"] {
        for noise in ["white", "babble", "shop"] {
            let colour = colours.next().unwrap_or(&BLACK);
            let mut points: Vec<(f32, &Figure)> = figures
                .iter()
                .filter(|it| {
                    it.system == "ear" && it.set == set && it.noise == noise && it.metric == "right"
                })
                .filter_map(|it| it.snr_db.map(|snr| (snr, it)))
                .collect();
            points.sort_by(|one, other| one.0.total_cmp(&other.0));
            let line = points.iter().map(|(snr, it)| (*snr, it.value));
            chart
                .draw_series(LineSeries::new(line, colour.stroke_width(2)))
                .map_err(failed)?
                .label(format!("{set}, {noise}"))
                .legend(|(x, y)| PathElement::new([(x, y), (x + 18, y)], colour.stroke_width(2)));
            let bounds = points.iter().map(|(snr, it)| {
                PathElement::new([(*snr, it.low95), (*snr, it.high95)], colour.mix(0.6))
            });
            chart.draw_series(bounds).map_err(failed)?;
        }
    }
    chart
        .configure_series_labels()
        .position(SeriesLabelPosition::LowerRight)
        .border_style(BLACK.mix(0.3))
        .background_style(WHITE)
        .draw()
        .map_err(failed)?;
    root.present().map_err(failed)
}

/// Readbacks not accepted against gates opened falsely, as the bar on the probability moves.
///
/// # Errors
/// When the picture can't be written.
pub fn trade_off(heard: &[Heard], path: &Path) -> Result<(), Failure> {
    let best = |one: &Heard| {
        let own = one.answers.iter().filter(|answer| {
            answer
                .meaning
                .as_deref()
                .is_some_and(|meaning| meaning.starts_with("Readback"))
        });
        own.filter_map(|answer| judged(answer.hypothesis.as_ref()?).evidence.probability)
            .fold(0.0f32, f32::max)
    };
    let of = |set: Set| -> Vec<f32> {
        let side = heard
            .iter()
            .filter(|one| !one.take.development && one.take.set == set);
        side.map(best).collect()
    };
    let (meant, others) = (of(Set::Readbacks), of(Set::NearMisses));
    let share = |all: &[f32], hit: &dyn Fn(f32) -> bool| {
        all.iter().filter(|value| hit(**value)).count() as f64 / all.len().max(1) as f64
    };
    let least = 0.5 / others.len().max(1) as f64;
    let curve: Vec<(f64, f64)> = (-60..=100)
        .map(|step| 1.0 / (1.0 + (-step as f32 / 10.0).exp()))
        .map(|bar| {
            (
                share(&others, &|p| p >= bar).max(least),
                share(&meant, &|p| p < bar),
            )
        })
        .collect();
    let root = SVGBackend::new(path, SIZE).into_drawing_area();
    root.fill(&WHITE).map_err(failed)?;
    let mut chart = ChartBuilder::on(&root)
        .caption(
            "Gates: what a bar on the probability alone would cost",
            ("sans-serif", 18),
        )
        .margin(12)
        .x_label_area_size(40)
        .y_label_area_size(50)
        .build_cartesian_2d((least..1.0).log_scale(), 0f64..1f64)
        .map_err(failed)?;
    chart
        .configure_mesh()
        .x_desc("near-misses that would open the gate (the left edge is none)")
        .y_desc("readbacks not accepted, all noises together")
        .draw()
        .map_err(failed)?;
    chart
        .draw_series(LineSeries::new(curve, COLOURS[0].stroke_width(2)))
        .map_err(failed)?;
    root.present().map_err(failed)
}

/// What was told as probable against what was true.
///
/// # Errors
/// When the picture can't be written.
pub fn calibration(classes: &[(Class, Vec<Tenth>)], path: &Path) -> Result<(), Failure> {
    let root = SVGBackend::new(path, SIZE).into_drawing_area();
    root.fill(&WHITE).map_err(failed)?;
    let mut chart = ChartBuilder::on(&root)
        .caption("Do probabilities mean what they say?", ("sans-serif", 18))
        .margin(12)
        .x_label_area_size(40)
        .y_label_area_size(50)
        .build_cartesian_2d(0f64..1f64, 0f64..1f64)
        .map_err(failed)?;
    chart
        .configure_mesh()
        .x_desc("probability that was told")
        .y_desc("share that had been said")
        .draw()
        .map_err(failed)?;
    chart
        .draw_series(LineSeries::new([(0.0, 0.0), (1.0, 1.0)], BLACK.mix(0.3)))
        .map_err(failed)?;
    for ((class, tenths), colour) in classes.iter().zip(&COLOURS) {
        let name = match class {
            Class::Command => "commands",
            Class::Number => "numbers",
            Class::Gate => "readbacks",
        };
        let points: Vec<(f64, f64)> = tenths
            .iter()
            .filter(|tenth| tenth.count >= 5)
            .map(|tenth| {
                (
                    tenth.sum / tenth.count as f64,
                    tenth.true_ones as f64 / tenth.count as f64,
                )
            })
            .collect();
        chart
            .draw_series(LineSeries::new(
                points.iter().copied(),
                colour.stroke_width(2),
            ))
            .map_err(failed)?
            .label(name)
            .legend(|(x, y)| PathElement::new([(x, y), (x + 18, y)], colour.stroke_width(2)));
        chart
            .draw_series(points.iter().map(|at| Circle::new(*at, 3, colour.filled())))
            .map_err(failed)?;
    }
    chart
        .configure_series_labels()
        .position(SeriesLabelPosition::UpperLeft)
        .border_style(BLACK.mix(0.3))
        .background_style(WHITE)
        .draw()
        .map_err(failed)?;
    root.present().map_err(failed)
}
