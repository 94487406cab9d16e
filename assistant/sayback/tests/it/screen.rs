//! The glance in a terminal: all that the page shows is there, at each step of the shipped jobs.

use page::Glance;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use sayback::library::Shelf;
use sayback::view::glance::{Last, glance};
use sayback::work::screen::draw;
use sayback::work::technician::Talk;
use std::sync::Arc;
use steps::{Certainty, Heard, Input, Job, Moment, Settings};
use words::now::StateGrammar;

const NOW: Moment = Moment(1_700_000_000_000);

/// What a terminal of this size shows, its lines joined.
fn shown(glance: &Glance, width: u16, height: u16) -> String {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal
        .draw(|frame| draw(frame, glance, None, NOW.0))
        .unwrap();
    let buffer = terminal.backend().buffer().clone();
    let lines = buffer.content.chunks(usize::from(width)).map(|row| {
        let line: String = row.iter().map(|cell| cell.symbol()).collect();
        line.trim_matches([' ', '│', '║']).to_owned()
    });
    one_line(&lines.collect::<Vec<_>>().join(" "))
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_terminal_of_usual_size_shows_the_step_the_size_the_torque_and_the_gate() {
    let (mut gates, mut torques) = (0, 0);
    for name in Shelf::Shipped.names().unwrap() {
        let procedure = Arc::new(Shelf::Shipped.load(&name).unwrap());
        let settings = Settings {
            colours: true,
            ..Settings::default()
        };
        let mut job = Job::new(procedure, settings);
        job.take(Input::Begin, NOW);
        let mut talk = Talk::default();
        while let Some(words) = talk.says(&job) {
            let glance = glance(&job, &name, &Last::default(), NOW);
            let seen = shown(&glance, 100, 30);
            let shows = |text: &str| {
                assert!(seen.contains(&one_line(text)), "{name}: “{text}” in {seen}");
            };
            match (&glance.gate, &glance.step) {
                (Some(gate), _) => {
                    gates += 1;
                    shows(if gate.check { "CHECK" } else { "HOLD POINT" });
                    shows(&gate.ask);
                    let colour = gate.varying_word.as_deref().unwrap_or_default();
                    shows(&format!("{} {}", gate.readback, colour.to_uppercase()));
                }
                (None, Some(step)) if glance.question.is_none() => shows(&step.text),
                (None, Some(_) | None) => {}
            }
            if let Some(torque) = &glance.torque {
                torques += 1;
                shows(&torque.newton_metre);
                shows(&torque.foot_pound);
            }
            if let (Some(size), None) = (&glance.size, &glance.gate) {
                shows(&size.label);
            }
            let command = StateGrammar::compile(&job.listen()).unwrap().parse(&words);
            let heard = Heard {
                words,
                certainty: Certainty::Sure,
                evidence: None,
                sound: None,
            };
            let command = command.unwrap();
            job.take(Input::Said { command, heard }, NOW);
        }
    }
    assert!(
        gates >= 60 && torques >= 30,
        "{gates} gates, {torques} torques"
    );
}

#[test]
fn a_terminal_of_any_size_is_drawn() {
    let procedure = Arc::new(Shelf::Shipped.load("front-brakes").unwrap());
    let mut job = Job::new(procedure, Settings::default());
    job.take(Input::Begin, NOW);
    let glance = glance(&job, "job", &Last::default(), NOW);
    for (width, height) in [(1, 1), (3, 200), (300, 2), (20, 5)] {
        shown(&glance, width, height);
    }
}

#[test]
fn without_a_job_it_says_so() {
    let seen = shown(&Glance::default(), 80, 24);
    assert!(seen.contains("No job is being worked."), "{seen}");
}

#[test]
fn what_a_terminal_would_obey_is_not_drawn() {
    let mut procedure = Shelf::Shipped.load("trailer-hub").unwrap();
    procedure.title = "Hub\u{1b}]0;owned\u{7}\u{9b}2J\u{202e}\u{2066}\u{7f} service".to_owned();
    let mut job = Job::new(Arc::new(procedure), Settings::default());
    job.take(Input::Begin, NOW);
    let mut glance = glance(&job, "job", &Last::default(), NOW);
    glance.say_now = vec!["front\u{202e}\u{1b}[2J".to_owned()];
    let seen = shown(&glance, 100, 30);
    assert!(seen.contains("service") && seen.contains("front"), "{seen}");
    assert!(!seen.contains(steps::is_hidden_control), "{seen:?}");
}
