//! The glance in a terminal: the same that the page shows, for those without a browser.
//!
//! Keys do nothing here but Ctrl+C, which puts the job down: what moves it is said aloud.

use page::glance::{
    GateShown, HeardShown, OutcomeShown, PatternShown, SignalShown, TorqueShown, VerdictShown,
};
use page::{Board, Glance, Level};
use ratatui::Frame;
use ratatui::crossterm::event::{self, Event, KeyCode, KeyModifiers};
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::{Modifier, Style};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Block, BorderType, Padding, Paragraph, Wrap};
use std::io::{IsTerminal, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::Duration;

/// How often it is looked whether something changed.
const TICK: Duration = Duration::from_millis(100);

/// The status of a program that Ctrl+C ended, by custom of shells.
const ENDED_BY_KEY: i32 = 130;

/// A terminal that shows a board, until it is dropped.
#[derive(Debug)]
pub struct Screen {
    over: Arc<AtomicBool>,
    drawing: Option<JoinHandle<()>>,
}

impl Screen {
    /// Fills the terminal with what a board shows; `None` where the output is no terminal.
    ///
    /// # Errors
    /// When the terminal can't be taken.
    pub fn open(board: &Board) -> std::io::Result<Option<Self>> {
        if !std::io::stdout().is_terminal() {
            return Ok(None);
        }
        let mut terminal = ratatui::try_init()?;
        let (board, over) = (board.clone(), Arc::new(AtomicBool::new(false)));
        let until = Arc::clone(&over);
        let drawing = std::thread::spawn(move || {
            while !until.load(Ordering::Relaxed) {
                let (glance, level) = (board.newest(), board.newest_level());
                let now = crate::work::conversation::now().0;
                // A terminal that is gone shows nothing; the job goes on by voice.
                let _ = terminal.draw(|frame| draw(frame, &glance, level.as_ref(), now));
                if ends(TICK) {
                    ratatui::restore();
                    // Where nobody reads standard error any more, that is no reason to fail.
                    let _ = writeln!(
                        std::io::stderr(),
                        "The job is open: see `sayback records`, and resume it with `sayback resume`."
                    );
                    // Everything that happened is on disk already.
                    std::process::exit(ENDED_BY_KEY);
                }
            }
        });
        Ok(Some(Self {
            over,
            drawing: Some(drawing),
        }))
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        self.over.store(true, Ordering::Relaxed);
        if let Some(drawing) = self.drawing.take() {
            let _ = drawing.join();
        }
        ratatui::restore();
    }
}

/// Waits for a key; whether it was Ctrl+C.
fn ends(wait: Duration) -> bool {
    match event::poll(wait).and_then(|some| {
        if some {
            event::read().map(Some)
        } else {
            Ok(None)
        }
    }) {
        Ok(Some(Event::Key(key))) => {
            key.code == KeyCode::Char('c') && key.modifiers.contains(KeyModifiers::CONTROL)
        }
        Ok(Some(_) | None) => false,
        Err(_) => {
            std::thread::sleep(wait);
            false
        }
    }
}

/// Draws a glance at the time `now_ms`.
pub fn draw(frame: &mut Frame<'_>, glance: &Glance, level: Option<&Level>, now_ms: u64) {
    let [head, main, foot] = Layout::vertical([
        Constraint::Length(2),
        Constraint::Min(6),
        Constraint::Length(5),
    ])
    .areas(frame.area());
    frame.render_widget(Paragraph::new(heading(glance)), head);
    match &glance.gate {
        // A gate takes all there is.
        Some(gate) => hold(frame, main, gate),
        None => step(frame, main, glance, now_ms),
    }
    frame.render_widget(
        Paragraph::new(footing(glance, level)).wrap(Wrap { trim: true }),
        foot,
    );
}

fn strong(text: impl Into<String>) -> Span<'static> {
    Span::styled(text.into(), Style::new().add_modifier(Modifier::BOLD))
}

fn heading(glance: &Glance) -> Vec<Line<'static>> {
    let Some(job) = &glance.job else {
        return vec![Line::from("No job is being worked.")];
    };
    let mut first = vec![
        strong(job.title.clone()),
        Span::from(format!(", {}", job.vehicle)),
    ];
    if job.rehearsal {
        first.push(strong("  REHEARSAL"));
    }
    if job.recordings {
        first.push(strong("  FROM RECORDINGS"));
    }
    let mut second = Vec::new();
    if let Some((number, of)) = glance.step.as_ref().and_then(|it| it.number.zip(it.of)) {
        second.push(strong(format!("Step {number} of {of}")));
    }
    match job.outcome {
        Some(OutcomeShown::Finished) => second.push(strong("  FINISHED")),
        Some(OutcomeShown::Abandoned) => second.push(strong("  GIVEN UP")),
        None => {}
    }
    if glance.held {
        second.push(strong("  HOLDING ON: say “carry on”"));
    }
    if glance.muted {
        second.push(strong("  VOICE MUTED"));
    }
    vec![Line::from(first), Line::from(second)]
}

fn signal(signal: SignalShown) -> &'static str {
    match signal {
        SignalShown::Danger => "DANGER",
        SignalShown::Warning => "WARNING",
        SignalShown::Caution => "CAUTION",
        SignalShown::Notice => "NOTICE",
    }
}

fn hold(frame: &mut Frame<'_>, area: Rect, gate: &GateShown) {
    let title = match gate.signal {
        _ if gate.check => " CHECK ".to_owned(),
        Some(word) => format!(" HOLD POINT: {} ", signal(word)),
        None => " HOLD POINT ".to_owned(),
    };
    let mut lines = vec![
        Line::from(gate.ask.clone()),
        Line::default(),
        Line::from("When it is so, say aloud:"),
        Line::default(),
        Line::from(strong(gate.readback.clone())),
    ];
    if let Some(word) = &gate.varying_word {
        lines.push(Line::from(strong(word.to_uppercase())));
    }
    let block = Block::bordered()
        .border_type(BorderType::Double)
        .padding(Padding::uniform(1))
        .title(strong(title));
    frame.render_widget(
        Paragraph::new(lines).wrap(Wrap { trim: true }).block(block),
        area,
    );
}

fn step(frame: &mut Frame<'_>, area: Rect, glance: &Glance, now_ms: u64) {
    let mut lines = Vec::new();
    if let Some(warning) = &glance.warning {
        let said = format!("{}: {}", signal(warning.signal), warning.text);
        lines.extend([Line::from(strong(said)), Line::default()]);
    }
    if let Some(question) = &glance.question {
        lines.push(Line::from(strong(question.text.clone())));
        let answers = question
            .number
            .clone()
            .into_iter()
            .chain(question.answers.clone());
        let answers: Vec<String> = answers.collect();
        lines.extend([Line::from(answers.join("  /  ")), Line::default()]);
    } else if let Some(step) = &glance.step {
        lines.extend([Line::from(strong(step.text.clone())), Line::default()]);
    }
    if let Some(size) = &glance.size {
        let also = size.also.iter().map(|it| format!(", {it}"));
        let also: String = also.collect();
        lines.push(Line::from(vec![
            Span::from("Size    "),
            strong(format!("{} {}", size.label, size.shape_name)),
            Span::from(also),
        ]));
    }
    if let Some(torque) = &glance.torque {
        lines.extend(torque_lines(torque));
    }
    if let Some(pattern) = &glance.pattern {
        lines.push(order(pattern));
    }
    for timer in &glance.timers {
        let left = timer.ends_at_ms.saturating_sub(now_ms).div_ceil(1000);
        let clock = format!("{}:{:02}", left / 60, left % 60);
        lines.push(Line::from(vec![
            Span::from("Wait    "),
            strong(clock),
            Span::from(format!("  {}", timer.what)),
        ]));
    }
    if !glance.off.is_empty() {
        let off = glance
            .off
            .iter()
            .map(|it| format!("{} {}", it.what, it.state));
        let off: Vec<String> = off.collect();
        lines.push(Line::from(format!("Not in place: {}", off.join("; "))));
    }
    let block = Block::bordered().padding(Padding::uniform(1));
    frame.render_widget(
        Paragraph::new(lines).wrap(Wrap { trim: true }).block(block),
        area,
    );
}

fn torque_lines(torque: &TorqueShown) -> Vec<Line<'static>> {
    let mut told = vec![
        Span::from("Torque  "),
        strong(format!("{}  =  {}", torque.newton_metre, torque.foot_pound)),
    ];
    let more = [
        torque.limits.as_ref().map(|it| format!("limits {it}")),
        torque.added.clone(),
        torque.angle.as_ref().map(|it| format!("then {it}")),
    ];
    let more = more
        .into_iter()
        .flatten()
        .map(|it| Span::from(format!("  {it}")));
    told.extend(more);
    let mut lines = vec![Line::from(told)];
    if !torque.passes.is_empty() {
        let on = torque.pass.map(|pass| format!("  (pass {pass} now)"));
        let passes = torque.passes.join(", then ");
        lines.push(Line::from(format!(
            "Passes  {passes}{}",
            on.unwrap_or_default()
        )));
    }
    if let Some(wrench) = &torque.wrench {
        let said = format!(
            "Wrench  {}: set {} {} on its scale of {} to {}",
            wrench.name, wrench.setting, wrench.unit, wrench.least, wrench.most
        );
        lines.push(Line::from(said));
        let warning = wrench.warning.iter();
        lines.extend(warning.map(|it| Line::from(strong(format!("        {it}")))));
    }
    let none = torque.no_wrench.iter();
    lines.extend(none.map(|it| Line::from(strong(it.clone()))));
    lines
}

/// The order, with the next one in brackets.
fn order(pattern: &PatternShown) -> Line<'static> {
    let mut spans = vec![Span::from("Order  ")];
    for number in &pattern.order {
        spans.push(match pattern.next == Some(*number) {
            true => strong(format!(" [{number}]")),
            false => Span::from(format!("  {number} ")),
        });
    }
    Line::from(spans)
}

fn footing(glance: &Glance, level: Option<&Level>) -> Vec<Line<'static>> {
    let heard = glance.heard.as_ref().map_or_else(String::new, heard);
    let said = glance.said.as_ref().map_or("", |said| said.text.as_str());
    vec![
        Line::from(meter(level)),
        Line::from(heard),
        Line::from(said.to_owned()),
        Line::from(format!("You can say: {}", glance.say_now.join("; "))),
    ]
}

fn heard(heard: &HeardShown) -> String {
    let words = &heard.words;
    match heard.verdict {
        VerdictShown::Understood => format!("Heard: “{words}”"),
        VerdictShown::Asked => format!("Not sure: “{words}”?"),
        VerdictShown::NotUnderstood => format!("Not understood: “{words}”"),
        VerdictShown::Ignored => "Talk that was not for me.".to_owned(),
    }
}

/// A bar from −60 to 0 dB of full scale.
fn meter(level: Option<&Level>) -> String {
    let Some(level) = level else {
        return String::new();
    };
    if level.microphone.is_none() {
        return "The microphone is gone.".to_owned();
    }
    let full = ((level.rms_db + 60.0) / 3.0).clamp(0.0, 20.0) as usize;
    let speech = if level.speech { "  speech" } else { "" };
    format!(
        "[{}{}] {:.0} dB{speech}",
        "#".repeat(full),
        "-".repeat(20 - full),
        level.rms_db
    )
}
