//! From files to a checked procedure: reads the file and the parts it includes.

use super::code::{Code, Severity};
use super::desk::{Desk, Place};
use super::file::{File, StepFile, Text};
use super::finding::{At, Finding, Problems};
use super::names::fill;
use super::sheet::{self, FromSheetFile, Replacement, ResolvedValue, Sheet, SheetValue};
use super::strings::{MAX_FILLED, Strings};
use super::{Procedure, accepted, check, read, reviews};
use crate::Id;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use toml::Spanned;

/// The largest file that is read, in bytes. A procedure of sixty steps has about 30 000.
pub const MAX_BYTES: usize = 1_000_000;

/// How deep parts may include parts.
const DEEPEST: usize = 8;

/// How many includes a procedure may have in all, those of its parts counted too.
const MAX_INCLUDES: usize = 64;

/// Where procedures, their parts and vehicle sheets come from: a folder, the program itself, a test. `name` is without
/// `.toml` and uses `/`: `front-half-shaft`, `parts/raise-and-support`, `vehicles/van-four`.
pub trait Library {
    /// The bytes of one file. A file over [`MAX_BYTES`] may be cut short after that many.
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError>;
}

/// Why a library has no such file.
#[derive(Debug, Clone, thiserror::Error)]
pub enum ReadError {
    /// There is none of that name.
    #[error("there is no file of that name")]
    Missing,
    /// It's there and can't be read.
    #[error("{0}")]
    Failed(String),
}

impl<S: AsRef<str>> Library for BTreeMap<S, S>
where
    S: Ord + std::borrow::Borrow<str>,
{
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        self.get(name)
            .map(|text| text.as_ref().as_bytes().to_vec())
            .ok_or(ReadError::Missing)
    }
}

/// A procedure as its author looks at it.
#[derive(Debug)]
pub struct Examined {
    /// The procedure, unless there is a mistake in it.
    pub procedure: Option<Procedure>,
    /// Mistakes and doubts; accepted doubts too.
    pub findings: Vec<Finding>,
    desk: Desk,
}

impl Examined {
    /// Notes what was found about something of the procedure by other means than its text. With a mistake in it the
    /// procedure can't be used any more.
    pub fn add(
        &mut self,
        code: Code,
        about: &str,
        at: &At,
        message: impl Into<String>,
        label: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        let place = self.desk.place(&at.to_string());
        match code.severity() {
            Severity::Mistake => {
                self.desk.problem(code, &place, message, label, remedy);
                self.procedure = None;
            }
            Severity::Doubt | Severity::Advice => {
                self.desk.doubt(code, about, &place, message, label, remedy)
            }
        }
        self.findings = self.desk.all();
    }
}

impl Procedure {
    /// Reads and checks a procedure with all that it includes.
    ///
    /// # Errors
    /// All problems that were found, each with its place in its file.
    pub fn load(name: &str, library: &dyn Library) -> Result<Self, Problems> {
        Self::load_with(name, None, library)
    }

    /// The same with the values of a vehicle's sheet.
    ///
    /// # Errors
    /// All problems that were found, each with its place in its file; what the sheet lacks is one.
    pub fn load_with(
        name: &str,
        sheet: Option<&str>,
        library: &dyn Library,
    ) -> Result<Self, Problems> {
        loaded(name, Self::examine_with(name, sheet, library)).map(|(procedure, _)| procedure)
    }

    /// The same, and what its author should look at again: not certainly a mistake, but it looks like a slip.
    ///
    /// # Errors
    /// All problems that were found, each with its place in its file.
    pub fn load_for_its_author(
        name: &str,
        library: &dyn Library,
    ) -> Result<(Self, Vec<Finding>), Problems> {
        loaded(name, Self::examine(name, library))
    }

    /// The same, mistakes and doubts together.
    pub fn examine(name: &str, library: &dyn Library) -> Examined {
        Self::examine_with(name, None, library)
    }

    /// The same with the values of a vehicle's sheet.
    pub fn examine_with(name: &str, sheet: Option<&str>, library: &dyn Library) -> Examined {
        let mut desk = Desk::default();
        let procedure = load(name, sheet, library, &mut desk);
        let sound = desk.problems.is_empty();
        Examined {
            procedure: procedure.filter(|_| sound),
            findings: desk.all(),
            desk,
        }
    }
}

fn loaded(name: &str, examined: Examined) -> Result<(Procedure, Vec<Finding>), Problems> {
    let Examined {
        procedure,
        mut findings,
        desk: _,
    } = examined;
    match procedure {
        Some(procedure) => Ok((procedure, findings)),
        None => {
            findings.retain(Finding::is_mistake);
            Err(Problems {
                procedure: name.to_owned(),
                problems: findings,
            })
        }
    }
}

fn load(
    name: &str,
    sheet: Option<&str>,
    library: &dyn Library,
    desk: &mut Desk,
) -> Option<Procedure> {
    let mut gathered = Gathered::default();
    let nowhere = Place {
        source: desk.open(name, ""),
        span: 0..0,
    };
    if let Some(sheet) = sheet {
        let sheet = sheet::read(sheet, library, desk)?;
        if sheet.names.is_empty() {
            desk.problem(
                Code::Sheet,
                &sheet.place,
                format!("“{}” is a type of vehicle and no vehicle", sheet.id),
                "without `names`",
                "name a vehicle of this type",
            );
        }
        if !sheet.fits.contains(name) {
            desk.problem(
                Code::Sheet,
                &sheet.place,
                format!("the sheet “{}” isn't for “{name}”", sheet.id),
                "this sheet",
                format!("once every value has been looked up, add “{name}” to its `fits`"),
            );
        }
        gathered.texts.clone_from(&sheet.texts);
        gathered.sheet = Some(sheet);
    }
    gather(
        name,
        BTreeMap::new(),
        library,
        desk,
        &mut gathered,
        &mut Vec::new(),
        &nowhere,
    );
    if !desk.problems.is_empty() {
        return None;
    }
    // A text of one file may be filled in with what another one has.
    let longest = gathered.strings.iter().map(|it| it.longest).max();
    let filled = gathered
        .strings
        .iter()
        .map(|it| it.filled(longest.unwrap_or_default()))
        .fold(0, usize::saturating_add);
    if filled > MAX_FILLED {
        too_long(desk, &nowhere);
        return None;
    }
    let mut sha = Sha256::new();
    for (name, text) in &gathered.texts {
        sha.update(name.as_bytes());
        sha.update([0]);
        sha.update(text.as_bytes());
        sha.update([0]);
    }
    let accepted = accepted::written(&gathered, desk);
    let procedure = read::procedure(gathered, desk, format!("{:x}", sha.finalize()))?;
    if desk.problems.is_empty() {
        check::check(&procedure, desk);
    }
    if desk.problems.is_empty() {
        accepted::apply(&accepted, &procedure, desk);
    }
    Some(procedure)
}

/// One file with the words that its `{names}` become.
pub(super) struct Loaded {
    pub source: usize,
    pub file: File,
    pub with: BTreeMap<String, String>,
}

/// A step, and which of the loaded files it is in.
pub(super) struct StepIn {
    pub loaded: usize,
    pub step: StepFile,
}

/// All files of one procedure, their steps put in line.
#[derive(Default)]
pub(super) struct Gathered {
    /// The first is the procedure itself.
    pub files: Vec<Loaded>,
    pub steps: Vec<StepIn>,
    strings: Vec<Strings>,
    /// Whether too many includes were met.
    too_many_includes: bool,
    pub texts: BTreeMap<String, String>,
    /// The sheet of the vehicle.
    pub sheet: Option<Sheet>,
    /// The variants that it settles: option and its words.
    pub settled: BTreeMap<String, (String, String)>,
    /// What is taken from it.
    pub taken: BTreeMap<String, SheetValue>,
    /// Whether values for practice stand in it.
    pub is_practice: bool,
}

fn gather(
    name: &str,
    mut with: BTreeMap<String, String>,
    library: &dyn Library,
    desk: &mut Desk,
    gathered: &mut Gathered,
    within: &mut Vec<String>,
    asked_at: &Place,
) {
    if within.iter().any(|outer| outer == name) {
        let way = within
            .iter()
            .map(String::as_str)
            .chain([name])
            .collect::<Vec<_>>()
            .join(" → ");
        desk.problem(
            Code::Includes,
            asked_at,
            format!("“{name}” includes itself: {way}"),
            "this closes the loop",
            "take one of these includes out",
        );
        return;
    }
    if gathered.files.len() > MAX_INCLUDES {
        // Told once: each further include would only say it again.
        if gathered.too_many_includes {
            return;
        }
        gathered.too_many_includes = true;
        desk.problem(
            Code::Includes,
            asked_at,
            format!("more than {MAX_INCLUDES} includes"),
            "one too many",
            "a part that includes another several times may be to blame",
        );
        return;
    }
    if within.len() >= DEEPEST {
        desk.problem(
            Code::Includes,
            asked_at,
            format!("parts may include parts only {DEEPEST} deep"),
            "one too deep",
            "put the steps of the innermost part where they are included",
        );
        return;
    }
    let Some((source, text)) = text_of(name, library, desk, asked_at) else {
        return;
    };
    let declared = sheet::declared(&text);
    let before = desk.problems.len();
    let taken = take(&declared, &with, source, desk, gathered);
    let lacking = desk.problems.len() > before;
    let (read, filled) = match taken.is_empty() {
        true => (toml::from_str(&text), Vec::new()),
        false => sheet::filled(&text, &taken),
    };
    desk.filled(source, filled, &taken);
    let file: File = match read {
        Ok(file) => file,
        // What is lacking was told already, and the name that still stands there instead is no further mistake.
        Err(_) if lacking => return,
        // No procedure has the key, so a file with reviews always comes here; all of them are told, not the first.
        Err(_) if reviews::tell(&text, source, desk) => return,
        Err(error) => {
            let span = error.span().unwrap_or(0..0);
            desk.problem(
                Code::Format,
                &Place { source, span },
                error.message().to_owned(),
                "here",
                "the format is described by procedures/procedure.schema.json",
            );
            return;
        }
    };
    if gathered.files.is_empty() {
        settle(&file, desk, gathered);
    }
    let settled = gathered.settled.iter();
    let words = taken.iter().map(|(name, it)| (name, it.given.words()));
    for (name, words) in words.chain(settled.map(|(name, (_, say))| (name, say.clone()))) {
        with.entry(name.clone()).or_insert(words);
    }
    let strings = Strings::of(&text, &with);
    if strings.tell_hidden(source, desk) {
        return;
    }
    let given = with.values().map(String::len).max().unwrap_or_default();
    if strings.filled(given) > MAX_FILLED {
        too_long(desk, asked_at);
        return;
    }
    if !is_known(&file.format, source, desk) {
        return;
    }
    if name.rsplit('/').next() != Some(file.id.as_ref()) {
        desk.problem(
            Code::Name,
            &Place {
                source,
                span: file.id.span(),
            },
            format!("the file “{name}.toml” calls itself “{}”", file.id.as_ref()),
            "not the file's name",
            "make `id` the file's name without .toml",
        );
    }
    gathered.texts.insert(name.to_owned(), text);
    let loaded = gathered.files.len();
    gathered.files.push(Loaded { source, file, with });
    gathered.strings.push(strings);
    within.push(name.to_owned());
    let steps = std::mem::take(&mut gathered.files[loaded].file.step);
    for step in steps {
        let Some(part) = &step.include else {
            gathered.steps.push(StepIn { loaded, step });
            continue;
        };
        let place = Place {
            source,
            span: part.span(),
        };
        if !stands_alone(&step) {
            desk.problem(
                Code::StrayKey,
                &place,
                "an include stands alone",
                "this entry has other keys than `include` and `with`",
                "make the step an entry of its own",
            );
        }
        let part = part.as_ref().clone();
        let outer = &gathered.files[loaded].with;
        let with = step
            .with
            .iter()
            .map(|(name, words)| (name.clone(), fill(words.as_ref(), outer)))
            .collect();
        gather(&part, with, library, desk, gathered, within, &place);
    }
    within.pop();
}

/// What a file takes from the sheet of the vehicle or, where there is none, has for practice.
fn take(
    declared: &[FromSheetFile],
    with: &BTreeMap<String, String>,
    source: usize,
    desk: &mut Desk,
    gathered: &mut Gathered,
) -> BTreeMap<String, ResolvedValue> {
    let mut all = BTreeMap::new();
    for it in declared {
        let name = it.name.as_ref();
        let place = Place {
            source,
            span: it.name.span(),
        };
        if !Id::is_well_formed(name) {
            desk.problem(
                Code::Name,
                &place,
                format!("“{name}” can't be a name"),
                "not a name",
                "use lower-case letters, digits and hyphens, beginning with a letter",
            );
        }
        if with.contains_key(name)
            || all.contains_key(name)
            || read::FROM_FASTENER.contains(&name.as_str())
        {
            desk.problem(
                Code::Duplicate,
                &place,
                format!("the name “{name}” is taken"),
                "declared twice, given by the include, or a name such as {torque}",
                "give it another name",
            );
        }
        let practised = it.practice.as_ref().and_then(|written| {
            let place = Place {
                source,
                span: written.span(),
            };
            sheet::not_too_long(written.as_ref(), &place, desk).then(|| ResolvedValue {
                given: Replacement::from(written.as_ref()),
                place,
                unsourced: false,
            })
        });
        let (found, lacking) = match &gathered.sheet {
            Some(sheet) => {
                let other = |(variant, option): (&String, &Text)| {
                    let settled = sheet.options.get(variant);
                    settled.is_some_and(|(chosen, _)| chosen != option.as_ref())
                };
                match sheet.values.get(name) {
                    // Of another option: nothing may use it, so its name stays where it stands.
                    _ if it.when.iter().any(other) => (None, None),
                    Some(fitted) => {
                        gathered.taken.insert(name.clone(), fitted.told(&it.means));
                        let taken = ResolvedValue {
                            given: fitted.given.clone(),
                            place: fitted.place.clone(),
                            unsourced: !fitted.is_sourced(),
                        };
                        (Some(taken), None)
                    }
                    None => (
                        practised,
                        Some(format!(
                            "the sheet “{}” has no “{name}” ({})",
                            sheet.id, it.means
                        )),
                    ),
                }
            }
            None if practised.is_some() => {
                gathered.is_practice = true;
                (practised, None)
            }
            None => (
                None,
                Some(format!(
                    "“{name}” ({}) comes from a vehicle's sheet, and no vehicle was named",
                    it.means
                )),
            ),
        };
        if let Some(lacking) = lacking {
            desk.problem(
                Code::Sheet,
                &place,
                lacking,
                "taken from the sheet",
                match gathered.sheet {
                    Some(_) => format!(
                        "look it up and add it to the sheet, under [value]: {name} = {{ is = \"…\", from = \"…\" }}"
                    ),
                    None => "name a vehicle, or give a value for practice: `practice = …`".to_owned(),
                },
            );
        }
        all.extend(found.map(|found| (name.clone(), found)));
    }
    all
}

/// Notes the variants that the sheet settles.
fn settle(file: &File, desk: &mut Desk, gathered: &mut Gathered) {
    let Some(sheet) = &gathered.sheet else {
        return;
    };
    for variant in &file.variant {
        let name = variant.id.as_ref();
        let Some((chosen, place)) = sheet.options.get(name) else {
            continue;
        };
        let options = variant.options.as_ref();
        match options.iter().find(|it| it.id.as_ref() == chosen) {
            Some(option) => {
                let settled = (chosen.clone(), option.say.as_ref().clone());
                gathered.settled.insert(name.clone(), settled);
            }
            None => {
                let known: Vec<&str> = options.iter().map(|it| it.id.as_ref().as_str()).collect();
                desk.problem(
                    Code::Sheet,
                    place,
                    format!(
                        "“{}” has no option “{chosen}” for “{name}”",
                        file.id.as_ref()
                    ),
                    "unknown option",
                    format!("it has {}", known.join(", ")),
                );
            }
        }
    }
}

/// Returns true if this program reads the format; reports it otherwise.
pub(super) fn is_known(format: &Spanned<u32>, source: usize, desk: &mut Desk) -> bool {
    let known = *format.as_ref() == 1;
    if !known {
        desk.problem(
            Code::Format,
            &Place {
                source,
                span: format.span(),
            },
            format!("format {} is not known", format.as_ref()),
            "this program reads format 1",
            "use a newer program, or write `format = 1`",
        );
    }
    known
}

/// The text of one file of the library, and its number on the desk.
pub(super) fn text_of(
    name: &str,
    library: &dyn Library,
    desk: &mut Desk,
    asked_at: &Place,
) -> Option<(usize, String)> {
    let bytes = match library.read(name) {
        Ok(bytes) => bytes,
        Err(error) => {
            desk.problem(
                Code::Unreadable,
                asked_at,
                format!("“{name}.toml” can't be read: {error}"),
                "asked for here",
                "look at the spelling, and that the file lies in the procedures folder",
            );
            return None;
        }
    };
    if bytes.len() > MAX_BYTES {
        desk.problem(
            Code::Unreadable,
            asked_at,
            format!("“{name}.toml” is larger than {MAX_BYTES} bytes"),
            "asked for here",
            "a procedure is text of some ten thousand bytes; is this the right file?",
        );
        return None;
    }
    let text = match String::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let good = error.utf8_error().valid_up_to();
            // What can't be read is drawn as a replacement character, three bytes long.
            let text = String::from_utf8_lossy(error.as_bytes());
            let line = 1 + text[..good].matches('\n').count();
            let source = desk.open(name, &text);
            desk.problem(
                Code::Unreadable,
                &Place {
                    source,
                    span: good..good + char::REPLACEMENT_CHARACTER.len_utf8(),
                },
                format!("“{name}.toml” is not UTF-8: byte {good}, in line {line}, is no letter"),
                "no letter in UTF-8",
                "save the file as UTF-8",
            );
            return None;
        }
    };
    let source = desk.open(name, &text);
    Some((source, text))
}

fn too_long(desk: &mut Desk, place: &Place) {
    desk.problem(
        Code::Includes,
        place,
        format!("its texts come to more than {MAX_FILLED} bytes once their names in braces are filled in"),
        "too long",
        "give shorter words in `with` and in the options of variants, or name them less often",
    );
}

/// Whether an include has no other key than `include` and `with`.
fn stands_alone(step: &StepFile) -> bool {
    let StepFile {
        id,
        action,
        text,
        short,
        more,
        why,
        warning,
        takes_minutes,
        consumables,
        tools,
        needs,
        voids,
        when,
        when_off,
        helpers,
        fastener,
        item,
        reading,
        gate,
        again,
        minutes,
        table,
        temperature,
        until,
        runs_on,
        yes,
        no,
        include: _,
        with: _,
    } = step;
    let texts = [
        id,
        text,
        short,
        more,
        why,
        when_off,
        fastener,
        item,
        reading,
        gate,
        yes,
        no,
        temperature,
        until,
    ];
    let lists = [tools, needs, voids, helpers];
    texts.iter().all(|text| text.is_none())
        && lists.iter().all(|list| list.is_empty())
        && action.is_none()
        && warning.is_none()
        && takes_minutes.is_none()
        && consumables.is_empty()
        && when.is_empty()
        && minutes.is_none()
        && table.is_empty()
        && !again
        && !runs_on
}
