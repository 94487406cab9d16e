//! Makes a new procedure, or a new vehicle sheet, by asking questions.

mod sheet;

use super::terminal;
use files::IfThere;
use miette::{IntoDiagnostic, miette};
use sayback::author::draft::{Cover, Draft, Hazard};
use sayback::library::Shelf;
use std::io::BufRead;
use std::path::Path;
use std::process::ExitCode;
use steps::procedure::{Finding, Library, ReadError, as_heard};
use steps::quantity::{Size, TorqueSpec};
use steps::{Id, Procedure};

/// Asks, and writes a new file; what is there is never written over.
pub fn new(file: &Path, values: Option<&Path>) -> miette::Result<ExitCode> {
    let (folder, id) = super::check::folder_and_name(file)?;
    if !Id::is_well_formed(&id) {
        return Err(miette!(
            "“{id}” can't be a procedure's name: use lower-case letters, digits and hyphens"
        ));
    }
    files::check_place(file, IfThere::Keep).into_diagnostic()?;
    let mut answers = std::io::stdin().lock();
    if let Some(procedures) = super::check::in_procedures(&folder) {
        return sheet::new(file, &id, Shelf::Folder(procedures), values, &mut answers);
    }
    if values.is_some() {
        return Err(miette!(
            "--values is for a vehicle sheet: its file lies in a folder `vehicles`"
        ));
    }
    let text = asked(&id, &mut answers)?.text();
    let library = Fresh {
        id: &id,
        text: &text,
        shelf: Shelf::Folder(folder),
    };
    let examined = Procedure::examine(&id, &library);
    for finding in &examined.findings {
        terminal::draw(&miette::Report::new(finding.clone()));
    }
    if examined.findings.iter().any(Finding::is_mistake) {
        return Err(miette!(
            "nothing was written: answer again with what is drawn above put right"
        ));
    }
    files::write(file, text.as_bytes(), IfThere::Keep).into_diagnostic()?;
    schema_beside(file);
    tell!(
        "{} is written. Open it in an editor, and check it with `sayback check {}`.",
        file.display(),
        file.display()
    );
    Ok(ExitCode::SUCCESS)
}

/// What an editor completes and explains keys by; the file's first line names it.
const SCHEMA: &str = include_str!("../../../../procedures/procedure.schema.json");

/// Puts the schema beside the new file, unless one is there.
fn schema_beside(file: &Path) {
    let schema = file.with_file_name("procedure.schema.json");
    // Without it an editor explains nothing; the procedure is the same.
    let _ = files::write(&schema, SCHEMA.as_bytes(), IfThere::Keep);
}

/// The new text beside what the folder has.
struct Fresh<'a> {
    id: &'a str,
    text: &'a str,
    shelf: Shelf,
}

impl Library for Fresh<'_> {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        match name == self.id {
            true => Ok(self.text.as_bytes().to_vec()),
            false => self.shelf.read(name),
        }
    }
}

fn asked(id: &str, answers: &mut impl BufRead) -> miette::Result<Draft> {
    let mut ask = |question: &str, wrong: fn(&str) -> Option<String>| ask(question, wrong, answers);
    Ok(Draft {
        id: id.to_owned(),
        title: ask("What is the job called?", needed)?,
        vehicle: ask("For which vehicle or machine?", needed)?,
        values: ask(
            "Where do the values come from? (said before the job)",
            needed,
        )?,
        minutes: number(&ask("How many minutes does it take?", minutes)?),
        hazard: {
            let means = ask(
                "What must be true for it to be safe, like “the pump can't start”? (empty: nothing)",
                |_| None,
            )?;
            match means.is_empty() {
                true => None,
                false => Some(Hazard {
                    means,
                    ask: ask("What is done and looked at to make it so?", needed)?,
                    readback: ask(
                        "Which words say that it was done and seen? (4 to 16 words)",
                        readback,
                    )?,
                }),
            }
        },
        cover: Cover {
            name: ask("What comes off and goes back, like “cover”?", needed)?,
            fastener: ask("What holds it, the name of one, like “cover bolt”?", needed)?,
            count: number(&ask("How many?", count)?),
            size: ask("Which size across flats, like “13 mm”?", size)?,
            torque: ask("Which torque, like “25 N·m”?", torque)?,
        },
        work: ask(
            "What is done while it is off, as an order, like “Renew the seal.”?",
            needed,
        )?,
    })
}

/// Asks until the answer will do.
fn ask(
    question: &str,
    wrong: impl Fn(&str) -> Option<String>,
    answers: &mut impl BufRead,
) -> miette::Result<String> {
    loop {
        tell!("{question}");
        let mut line = String::new();
        if answers.read_line(&mut line).into_diagnostic()? == 0 {
            return Err(miette!(
                "the answers end at “{question}”: nothing was written"
            ));
        }
        let answer = line.trim().to_owned();
        match wrong(&answer) {
            None => return Ok(answer),
            Some(why) => tell!("  {why}"),
        }
    }
}

fn needed(answer: &str) -> Option<String> {
    answer.is_empty().then(|| "This is needed.".to_owned())
}

/// A number that was looked at before.
fn number<T: std::str::FromStr + Default>(answer: &str) -> T {
    answer.parse().unwrap_or_default()
}

fn minutes(answer: &str) -> Option<String> {
    let fits = answer.parse::<u32>().is_ok_and(|it| it > 0);
    (!fits).then(|| "Give whole minutes.".to_owned())
}

fn count(answer: &str) -> Option<String> {
    let fits = answer.parse::<u16>().is_ok_and(|it| it > 0);
    (!fits).then(|| "Give a whole number, at least 1.".to_owned())
}

fn size(answer: &str) -> Option<String> {
    answer.parse::<Size>().err().map(|error| error.to_string())
}

fn torque(answer: &str) -> Option<String> {
    answer
        .parse::<TorqueSpec>()
        .err()
        .map(|error| error.to_string())
}

fn readback(answer: &str) -> Option<String> {
    let heard = as_heard(answer);
    let words = heard.split(' ').count();
    let fits = (4..=16).contains(&words) && !heard.chars().any(char::is_numeric);
    (!fits).then(|| "Give a sentence of 4 to 16 words, numbers spelt out.".to_owned())
}
