//! Makes a new vehicle sheet: asks for each value that its procedures take, and looks at each as it is entered.

use super::{ask, needed, terminal};
use files::IfThere;
use miette::{IntoDiagnostic, WrapErr, miette};
use sayback::author::tidy::tidy;
use sayback::library::Shelf;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::io::BufRead;
use std::path::Path;
use std::process::ExitCode;
use steps::Procedure;
use steps::procedure::{
    Code, DeclaredValue, Finding, Library, ReadError, Severity, SheetInputs, as_heard,
};

/// What an editor completes and explains keys by; the sheet's first line names it.
const SCHEMA: &str = include_str!("../../../../../procedures/vehicles/vehicle.schema.json");

/// Asks, and writes a new sheet; what is there is never written over.
pub fn new(
    file: &Path,
    id: &str,
    shelf: Shelf,
    table: Option<&Path>,
    answers: &mut impl BufRead,
) -> miette::Result<ExitCode> {
    let table = table.map(Table::read).transpose()?.unwrap_or_default();
    let mut draft = head(id, &shelf, answers)?;
    let inputs = inputs_of(&shelf, &draft.fits)?;
    draft.options = options(&inputs, answers)?;
    let wanted = all_wanted(&inputs, &draft.options);
    let (mut page, mut left_out) = (String::new(), Vec::new());
    for (number, it) in wanted.iter().enumerate() {
        tell!("{} of {}", number + 1, wanted.len());
        let row = table.row(it);
        match value(it, row, &draft, &wanted, &shelf, answers)? {
            Some(literal) => {
                if let Some(of_row) = row.map(|row| &row.page).filter(|it| !it.is_empty()) {
                    page.clone_from(of_row);
                }
                let before = match page.is_empty() {
                    true => "the page, or empty".to_owned(),
                    false => format!("empty: {page}"),
                };
                let given = ask(&format!("On which page? ({before})"), |_| None, answers)?;
                if !given.is_empty() {
                    page = given;
                }
                draft.values.push((it.name.clone(), literal, page.clone()));
            }
            None => left_out.push(it.means.as_str()),
        }
    }
    std::fs::create_dir_all(file.parent().unwrap_or(Path::new(""))).into_diagnostic()?;
    let text = tidy(&draft.text()).into_diagnostic()?;
    files::write(file, text.as_bytes(), IfThere::Keep).into_diagnostic()?;
    // Without it an editor explains nothing; the sheet is the same.
    let schema = file.with_file_name("vehicle.schema.json");
    let _ = files::write(&schema, SCHEMA.as_bytes(), IfThere::Keep);
    for row in table.unused(&wanted) {
        tell!("Not used: line {} of the table, “{}”.", row.line, row.what);
    }
    if !left_out.is_empty() {
        tell!("Still to be looked up: {}.", left_out.join("; "));
    }
    tell!(
        "{} is written. Have somebody else compare it with the document, and check it with `sayback check {}`.",
        file.display(),
        file.display()
    );
    Ok(ExitCode::SUCCESS)
}

/// A sheet as far as it was told.
#[derive(Clone)]
struct Draft {
    id: String,
    names: Vec<String>,
    vehicle: String,
    values_from: String,
    fits: Vec<String>,
    entered_by: String,
    document: String,
    edition: String,
    options: BTreeMap<String, String>,
    /// Name, value as TOML writes it, page.
    values: Vec<(String, String, String)>,
}

impl Draft {
    fn text(&self) -> String {
        let quoted = |text: &str| toml::Value::from(text).to_string();
        let list = |all: &[String]| {
            let all: Vec<String> = all.iter().map(|it| quoted(it)).collect();
            format!("[{}]", all.join(", "))
        };
        let mut text = format!(
            "#:schema ./vehicle.schema.json\nformat = 1\nid = {}\nnames = {}\nvehicle = {}\nvalues = {}\nfits = {}\nentered_by = {}\nentered_on = {}\n",
            quoted(&self.id),
            list(&self.names),
            quoted(&self.vehicle),
            quoted(&self.values_from),
            list(&self.fits),
            quoted(&self.entered_by),
            quoted(&jiff::ZonedDateTime::now().date().to_string()),
        );
        if !self.options.is_empty() {
            text.push_str("\n[options]\n");
        }
        for (variant, option) in &self.options {
            // Writing to a string can't fail.
            let _ = writeln!(text, "{variant} = {}", quoted(option));
        }
        let _ = write!(
            text,
            "\n[document.data]\ntitle = {}\n",
            quoted(&self.document)
        );
        if !self.edition.is_empty() {
            let _ = writeln!(text, "edition = {}", quoted(&self.edition));
        }
        text.push_str("\n[value]\n");
        for (name, value, page) in &self.values {
            let page = match page.is_empty() {
                true => String::new(),
                false => format!(", page = {}", quoted(page)),
            };
            let _ = writeln!(text, "{name} = {{ is = {value}, from = \"data\"{page} }}");
        }
        text
    }
}

fn head(id: &str, shelf: &Shelf, answers: &mut impl BufRead) -> miette::Result<Draft> {
    // Those of the program serve a shop's own vehicle as well as the folder's own do.
    let mut with_values = super::super::work::names(shelf)?;
    with_values.extend(super::super::work::names(&Shelf::Shipped)?);
    with_values.sort();
    with_values.dedup();
    // What can't be read is told by `sayback check`.
    with_values.retain(|name| SheetInputs::of(name, shelf).is_ok_and(|it| !it.values.is_empty()));
    if with_values.is_empty() {
        return Err(miette!("no procedure takes a value from a vehicle's sheet"));
    }
    let listed = |answer: &str| {
        let all = answer.split(',').map(str::trim);
        all.filter(|it| !it.is_empty())
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    let names = ask(
        "What is the vehicle called, in words, like “van four”? (several names separated by commas)",
        |answer| {
            let wrong = |name: &String| as_heard(name).chars().any(char::is_numeric);
            let all = listed(answer);
            (all.is_empty() || all.iter().any(wrong))
                .then(|| "Give a name in words, without digits.".to_owned())
        },
        answers,
    )?;
    let vehicle = ask(
        "Which vehicle is it, in a line for the record?",
        needed,
        answers,
    )?;
    let values_from = ask(
        "Where do the values come from? (said before the job)",
        needed,
        answers,
    )?;
    let which = format!(
        "Which procedures is it for, separated by commas? There are: {}",
        with_values.join(", ")
    );
    let fits = ask(
        &which,
        |answer| {
            let all = listed(answer);
            let unknown = all.iter().find(|it| !with_values.contains(it));
            match unknown {
                Some(unknown) => Some(format!(
                    "There is no “{unknown}” that takes values from a sheet."
                )),
                None => needed(&all.join("")),
            }
        },
        answers,
    )?;
    Ok(Draft {
        id: id.to_owned(),
        names: listed(&names),
        vehicle,
        values_from,
        fits: listed(&fits),
        document: ask(
            "Which document are you reading from? Its title:",
            needed,
            answers,
        )?,
        edition: ask("Its edition or number? (optional)", |_| None, answers)?,
        entered_by: ask("Who is entering the values?", needed, answers)?,
        options: BTreeMap::new(),
        values: Vec::new(),
    })
}

fn inputs_of(shelf: &Shelf, fits: &[String]) -> miette::Result<Vec<SheetInputs>> {
    fits.iter()
        .map(|name| SheetInputs::of(name, shelf).wrap_err_with(|| format!("{name} can't be used")))
        .collect()
}

/// Asks what the vehicle decides.
fn options(
    inputs: &[SheetInputs],
    answers: &mut impl BufRead,
) -> miette::Result<BTreeMap<String, String>> {
    let mut variants = BTreeMap::new();
    for it in inputs.iter().flat_map(|it| &it.variants) {
        variants.entry(&it.name).or_insert((&it.ask, &it.options));
    }
    let mut settled = BTreeMap::new();
    for (name, (question, options)) in variants {
        let question = format!(
            "{question} {} (leave empty to be asked before each job)",
            options.join(", ")
        );
        let answer = ask(
            &question,
            |answer| {
                let fits = answer.is_empty() || options.iter().any(|it| it == answer);
                (!fits).then(|| format!("Choose one of: {}.", options.join(", ")))
            },
            answers,
        )?;
        if !answer.is_empty() {
            settled.insert(name.clone(), answer);
        }
    }
    Ok(settled)
}

/// Each value once, without those that only other options need.
fn all_wanted(inputs: &[SheetInputs], options: &BTreeMap<String, String>) -> Vec<DeclaredValue> {
    let mut all: Vec<DeclaredValue> = Vec::new();
    for it in inputs.iter().flat_map(|it| &it.values) {
        let other = |(variant, option): (&String, &String)| {
            options.get(variant).is_some_and(|chosen| chosen != option)
        };
        if !it.when.iter().any(other) && !all.iter().any(|known| known.name == it.name) {
            all.push(it.clone());
        }
    }
    all
}

/// Asks for a value, until nothing speaks against it or it is entered a second time; `None` where it is left out.
fn value(
    it: &DeclaredValue,
    row: Option<&Row>,
    draft: &Draft,
    wanted: &[DeclaredValue],
    shelf: &Shelf,
    answers: &mut impl BufRead,
) -> miette::Result<Option<String>> {
    let question = match (row, &it.practice) {
        (Some(row), _) => format!(
            "The {}? (empty: {}, from line {} of the table; -: later)",
            it.means, row.value, row.line
        ),
        (None, Some(practice)) => format!("The {}, like {practice}? (empty: later)", it.means),
        (None, None) => format!("The {}? (empty: later)", it.means),
    };
    let mut before = String::new();
    loop {
        let answer = match (ask(&question, |_| None, answers)?, row) {
            (answer, Some(row)) if answer.is_empty() => row.value.clone(),
            (answer, _) => answer,
        };
        if answer.is_empty() || answer == "-" {
            return Ok(None);
        }
        let (literal, findings) = judged(it, &answer, draft, wanted, shelf);
        for finding in &findings {
            terminal::draw(&miette::Report::new(finding.clone()));
        }
        let mistaken = findings.iter().any(Finding::is_mistake);
        if findings.is_empty() || (!mistaken && answer == before) {
            return Ok(Some(literal));
        }
        match mistaken {
            true => tell!("  That value can't be right. Enter it again."),
            false => tell!(
                "  Check the document. Enter the correct value, or repeat this one to keep it."
            ),
        }
        before = answer;
    }
}

/// The value as TOML writes it, and what speaks against it: a whole number or a list only where the place takes one.
fn judged(
    it: &DeclaredValue,
    answer: &str,
    draft: &Draft,
    wanted: &[DeclaredValue],
    shelf: &Shelf,
) -> (String, Vec<Finding>) {
    let number = |text: &str| text.parse::<f64>().is_ok_and(f64::is_finite);
    let parts: Vec<&str> = answer.split(',').map(str::trim).collect();
    let mut literals = Vec::new();
    if number(answer) {
        literals.push(answer.to_owned());
    }
    if parts.len() > 1 && parts.iter().all(|it| number(it)) {
        literals.push(format!("[{}]", parts.join(", ")));
    }
    literals.push(toml::Value::from(answer).to_string());
    // What is found just as well with the value for practice isn't due to this one.
    let before = match &it.practice {
        Some(practice) => found(it, practice, draft, wanted, shelf),
        None => Vec::new(),
    };
    let known = |finding: &Finding| before.iter().any(|it| it.message == finding.message);
    let mut judged = (String::new(), Vec::new());
    for literal in literals {
        let mut findings = found(it, &literal, draft, wanted, shelf);
        findings.retain(|finding| !known(finding));
        let fits = !findings.iter().any(|it| it.code == Code::Format);
        judged = (literal, findings);
        if fits {
            break;
        }
    }
    judged
}

/// What the checker finds in the sheet's procedures with this value, but for what it finds at values that aren't entered
/// yet: those are as in practice.
fn found(
    it: &DeclaredValue,
    literal: &str,
    draft: &Draft,
    wanted: &[DeclaredValue],
    shelf: &Shelf,
) -> Vec<Finding> {
    let mut with = draft.clone();
    with.values
        .push((it.name.clone(), literal.to_owned(), String::new()));
    let entered: Vec<String> = with.values.iter().map(|(name, ..)| name.clone()).collect();
    for other in wanted {
        if let Some(practice) = &other.practice
            && !entered.contains(&other.name)
        {
            with.values
                .push((other.name.clone(), practice.clone(), String::new()));
        }
    }
    let text = with.text();
    let library = Fresh {
        name: format!("vehicles/{}", draft.id),
        text: &text,
        shelf,
    };
    let mut all: Vec<Finding> = Vec::new();
    for name in &draft.fits {
        let examined = Procedure::examine_with(name, Some(&draft.id), &library);
        for finding in examined.findings {
            let in_sheet = finding.file.name() == format!("{}.toml", library.name);
            let before = text.get(..finding.place.offset()).filter(|_| in_sheet);
            let line = before
                .and_then(|it| it.rsplit('\n').next())
                .unwrap_or_default();
            let of_entered = entered
                .iter()
                .any(|it| line.starts_with(&format!("{it} = ")));
            let told = all.iter().any(|it| it.message == finding.message);
            let open = finding.accepted.is_none() && finding.code.severity() != Severity::Advice;
            if open && !told && finding.code != Code::Sheet && (!in_sheet || of_entered) {
                all.push(finding);
            }
        }
    }
    all
}

/// The largest table that is read, in bytes.
const MAX_BYTES: u64 = 1_000_000;

/// A table of values, each offered where it is asked for.
#[derive(Default)]
struct Table {
    rows: Vec<Row>,
}

/// A row: what it is, value, page.
struct Row {
    line: u64,
    what: String,
    value: String,
    page: String,
}

impl Table {
    fn read(path: &Path) -> miette::Result<Self> {
        let text = files::read_text(path, MAX_BYTES).into_diagnostic()?;
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record
                .into_diagnostic()
                .wrap_err_with(|| format!("{} can't be read as a table (.csv)", path.display()))?;
            let column = |at: usize| record.get(at).unwrap_or_default().to_owned();
            rows.push(Row {
                line: record.position().map_or(0, csv::Position::line),
                what: column(0),
                value: column(1),
                page: column(2),
            });
        }
        rows.retain(|row| !row.what.is_empty() && !row.value.is_empty());
        // A heading holds no digit and isn't the only row.
        let heading =
            |row: &Row| row.line == 1 && !row.value.contains(|it: char| it.is_ascii_digit());
        if rows.len() > 1 && rows.first().is_some_and(heading) {
            rows.remove(0);
        }
        Ok(Self { rows })
    }

    /// The row of a value, which names it or says what it is.
    fn row(&self, wanted: &DeclaredValue) -> Option<&Row> {
        self.rows.iter().find(|row| row.is_of(wanted))
    }

    /// Rows that no value was asked for.
    fn unused<'a>(&'a self, wanted: &[DeclaredValue]) -> impl Iterator<Item = &'a Row> {
        self.rows
            .iter()
            .filter(|row| !wanted.iter().any(|it| row.is_of(it)))
    }
}

impl Row {
    fn is_of(&self, wanted: &DeclaredValue) -> bool {
        self.what == wanted.name || as_heard(&self.what) == as_heard(&wanted.means)
    }
}

/// The new sheet beside what the folder has.
struct Fresh<'a> {
    name: String,
    text: &'a str,
    shelf: &'a Shelf,
}

impl Library for Fresh<'_> {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        match name == self.name {
            true => Ok(self.text.as_bytes().to_vec()),
            false => self.shelf.read(name),
        }
    }
}
