//! The book's examples are real: its procedures are loaded, rehearsed and imported, its commands are run, its settings
//! files are taken, its links lead somewhere, and it names every key of a procedure.
//!
//! That each of its command lines is one that the program takes is tested in `src/shell/book.rs`.

mod pages;

use crate::shell::harness::{Bay, run, sayback, text, typed_to_the_end};
use pages::Page;
use sayback::author::{self, Dictionary, Vocabulary};
use sayback::library::Shelf;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;
use steps::procedure::Severity;

/// The part for authors.
fn pages() -> Vec<Page> {
    pages::within("docs/src/writing")
}

/// The blocks of a page are one procedure; what they leave out is put round them.
fn procedure(page: &Page) -> Option<(String, String)> {
    let blocks = page.blocks.iter().filter(|(info, _)| info == "toml");
    let pieces: Vec<&str> = blocks.map(|(_, block)| block.as_str()).collect();
    let mut text = pieces.join("\n");
    if pieces.is_empty() {
        return None;
    }
    let mut id = page.name().to_owned();
    match text.lines().find_map(|line| line.strip_prefix("id = \"")) {
        Some(own) if text.contains("format = 1") => {
            own.split('"').next().unwrap().clone_into(&mut id)
        }
        _ => {
            text = format!(
                "format = 1\nid = \"{id}\"\ntitle = \"A page\"\nvehicle = \"a van\"\nvalues = \"Invented.\"\nminutes = 30\n{text}"
            );
        }
    }
    if !text.contains("[[make_safe]]") {
        text.push_str(
            "\n[[make_safe]]\nid = \"make-safe-tag\"\naction = \"do\"\ntext = \"Tag it.\"\n",
        );
    }
    Some((id, text))
}

/// A page's procedure and its parts, in a folder.
fn put(page: &Page, into: &Path) -> Option<String> {
    for (info, block) in &page.blocks {
        if let Some(name) = info.strip_prefix("toml part ") {
            let path = into.join(format!("{name}.toml"));
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, block).unwrap();
        }
    }
    let (id, text) = procedure(page)?;
    std::fs::write(into.join(format!("{id}.toml")), text).unwrap();
    Some(id)
}

#[test]
fn the_examples_of_every_page_are_a_procedure_without_mistakes_or_doubts() {
    let cache = voice::fixtures::cache_folder().unwrap();
    let mut vocabulary = Vocabulary {
        dictionary: Some(Dictionary::of_set_up(&cache).unwrap()),
        model: None,
    };
    let (mut seen, mut accepted) = (0, 0);
    for page in pages() {
        let folder = tempfile::tempdir().unwrap();
        let Some(id) = put(&page, folder.path()) else {
            continue;
        };
        let shelf = Shelf::Folder(folder.path().to_owned());
        let sheets = shelf.sheets().unwrap().into_iter().map(Some);
        for sheet in std::iter::once(None).chain(sheets) {
            let looked = author::look(&shelf, &id, sheet.as_deref(), &mut vocabulary).unwrap();
            // An accepted doubt stands in one page, to show how it is done.
            let (done, open): (Vec<_>, Vec<_>) = looked
                .examined
                .findings
                .into_iter()
                .filter(|it| it.code.severity() != Severity::Advice)
                .partition(|it| it.accepted.is_some());
            accepted += done.len();
            let open: Vec<_> = open.into_iter().map(miette::Report::new).collect();
            assert!(open.is_empty(), "{}: {open:?}", page.name());
        }
        seen += 1;
    }
    assert!(seen >= 10);
    assert_eq!(accepted, 1);
}

#[test]
fn every_block_of_the_book_is_of_a_kind_that_is_tested() {
    for page in pages::within("docs/src") {
        let of_authors = page.path.parent().unwrap().ends_with("writing");
        for (info, block) in &page.blocks {
            let known = match info.as_str() {
                "sh" | "sh,live" | "text" => true,
                "toml" | "rehearsal" | "list" => of_authors,
                other if other.starts_with("toml part ") => of_authors,
                "toml tools.toml" | "toml people.toml" | "toml shop.toml" => !of_authors,
                _ => false,
            };
            assert!(known, "{}: {info} {block}", page.path.display());
        }
    }
}

/// A home folder, and a folder to work in with what a page's commands speak of: its procedure, its list, the shipped
/// procedures, a photo, a job on record.
struct Desk {
    bay: Bay,
}

impl Desk {
    fn new(page: &Page) -> Self {
        let desk = Self { bay: Bay::new() };
        let work = desk.bay.path("work");
        std::fs::create_dir_all(&work).unwrap();
        std::fs::create_dir_all(desk.bay.path("home/.config/sayback")).unwrap();
        std::os::unix::fs::symlink(pages::top().join("procedures"), work.join("procedures"))
            .unwrap();
        if page.path.parent().unwrap().ends_with("writing") {
            put(page, &work);
        }
        for (info, block) in &page.blocks {
            if info == "list" {
                std::fs::write(work.join("belt-guard.md"), block).unwrap();
            } else if let Some(name) = info
                .strip_prefix("toml ")
                .filter(|it| it.ends_with(".toml"))
            {
                let settings = desk.bay.path("home/.config/sayback");
                std::fs::write(settings.join(name), block).unwrap();
            }
        }
        image::RgbImage::new(40, 30)
            .save(work.join("boot.jpg"))
            .unwrap();
        desk
    }

    /// What runs a script here, with this program as `sayback`.
    fn shell(&self, script: &str) -> Command {
        let program = Path::new(env!("CARGO_BIN_EXE_sayback")).parent().unwrap();
        let path = std::env::var("PATH").unwrap();
        let mut command = Command::new("sh");
        command
            .args(["-euc", script])
            .current_dir(self.bay.path("work"))
            .env("PATH", format!("{}:{path}", text(program)))
            .env("HOME", self.bay.path("home"))
            .env("SAYBACK_CACHE", voice::fixtures::cache_folder().unwrap());
        for name in ["XDG_CONFIG_HOME", "XDG_DATA_HOME", "SAYBACK_TOOLS"] {
            command.env_remove(name);
        }
        command
    }

    /// The name of a rehearsed job with a note.
    fn job(&self) -> String {
        let script = "procedures/rehearsals/front-half-shaft.txt";
        let rehearse = format!("sayback rehearse front-half-shaft --script {script}");
        run(&mut self.shell(&rehearse)).exits(0);
        let records = run(&mut self.shell("sayback records --json"))
            .exits(0)
            .json();
        records[0]["id"].as_str().unwrap().to_owned()
    }
}

#[test]
fn the_commands_of_the_pages_succeed() {
    let mut seen = 0;
    for page in pages::all() {
        let blocks = page.blocks.iter().filter(|(info, _)| info == "sh");
        let script: String = blocks.map(|(_, block)| block.as_str()).collect();
        if script.is_empty() {
            continue;
        }
        let desk = Desk::new(&page);
        let script = match script.contains("JOB") {
            true => script.replace("JOB", &desk.job()),
            false => script,
        };
        let ran = run(&mut desk.shell(&script));
        assert_eq!(
            ran.code,
            0,
            "{}\n{script}\n{}\n{}",
            page.path.display(),
            ran.out,
            ran.err
        );
        seen += script
            .lines()
            .filter(|it| it.starts_with("sayback "))
            .count();
    }
    assert!(seen > 25, "{seen}");
}

#[test]
fn the_settings_files_of_the_book_are_taken() {
    let page = Page::read(&pages::top().join("docs/src/using/tools-and-people.md"));
    let desk = Desk::new(&page);
    std::fs::write(
        desk.bay.path("work/script.txt"),
        typed_to_the_end("trailer-hub").join("\n"),
    )
    .unwrap();
    let by = |name: &str| {
        let words = format!("sayback rehearse trailer-hub --script script.txt --by {name}");
        run(&mut desk.shell(&words))
    };
    by("Mara").prints("half-inch click wrench");
    by("Nobody")
        .exits(1)
        .tells("isn't one of this bay's people");
}

#[test]
fn the_rehearsal_of_the_guide_comes_to_its_end() {
    let mut seen = 0;
    for page in pages() {
        for (_, script) in page.blocks.iter().filter(|(info, _)| info == "rehearsal") {
            let bay = Bay::new();
            let folder = tempfile::tempdir().unwrap();
            let id = put(&page, folder.path()).unwrap();
            let file = bay.file("script.txt", script);
            let ran = bay
                .sayback(&[
                    "rehearse",
                    &id,
                    "--procedures",
                    text(folder.path()),
                    "--script",
                    text(&file),
                ])
                .exits(0);
            assert!(ran.out.contains("closed: finished"), "{}", ran.out);
            assert!(
                ran.out.contains(" stays closed: "),
                "the hold point is tried in vain first"
            );
            seen += 1;
        }
    }
    assert!(seen > 0);
}

#[test]
fn the_list_of_the_guide_becomes_a_draft_and_every_row_is_understood() {
    let bay = Bay::new();
    let mut seen = 0;
    for (info, block) in pages().iter().flat_map(|page| &page.blocks) {
        if info != "list" {
            continue;
        }
        let list = bay.file("belt-guard.md", block);
        let out = bay.path("belt-guard.toml");
        let ran = sayback(["import", text(&list), "--out", text(&out)]).exits(0);
        assert!(!ran.out.contains("not understood"), "{}", ran.out);
        let draft = std::fs::read_to_string(&out).unwrap();
        let lines = draft.lines().filter(|line| !line.starts_with("review = "));
        std::fs::write(&out, lines.collect::<Vec<_>>().join("\n")).unwrap();
        sayback(["check", text(&out)]).exits(0);
        seen += 1;
    }
    assert_eq!(seen, 1);
}

#[test]
fn the_guide_names_every_key_and_every_value_of_the_format() {
    let schema =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures/procedure.schema.json");
    let schema: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(schema).unwrap()).unwrap();
    let mut wanted = BTreeSet::new();
    let mut all = vec![&schema];
    while let Some(it) = all.pop() {
        if let Some(properties) = it["properties"].as_object() {
            wanted.extend(properties.keys().cloned());
        }
        if let Some(value) = it["const"].as_str() {
            wanted.insert(value.to_owned());
        }
        match it {
            serde_json::Value::Object(fields) => all.extend(fields.values()),
            serde_json::Value::Array(items) => all.extend(items),
            _ => {}
        }
    }
    assert!(wanted.len() > 80, "{wanted:?}");
    let mut named = BTreeSet::new();
    for page in pages() {
        for code in page
            .code
            .iter()
            .chain(page.blocks.iter().map(|(_, block)| block))
        {
            let words = code.split(|it: char| !(it.is_alphanumeric() || it == '_' || it == '-'));
            named.extend(words.map(str::to_owned));
        }
    }
    let missing: Vec<&String> = wanted.difference(&named).collect();
    assert!(missing.is_empty(), "the guide doesn't name {missing:?}");
}

#[test]
fn the_table_of_contents_and_the_links_lead_to_what_is_there() {
    let contents = Page::read(&pages::top().join("docs/src/SUMMARY.md"));
    let folder = contents.path.parent().unwrap();
    let listed: BTreeSet<_> = contents
        .links
        .iter()
        .map(|link| folder.join(link))
        .collect();
    for page in pages::within("docs/src") {
        let known = page.path == contents.path || listed.contains(&page.path);
        assert!(known, "{} isn't in the contents", page.path.display());
    }
    for page in pages::all() {
        for link in page.links.iter().filter(|link| !link.starts_with("http")) {
            let (path, heading) = link.split_once('#').unwrap_or((link, ""));
            let to = match path.is_empty() {
                true => page.path.clone(),
                false => page.path.parent().unwrap().join(path),
            };
            assert!(to.exists(), "{}: {link}", page.path.display());
            if !heading.is_empty() {
                let there = Page::read(&to).headings;
                let found = there.iter().any(|it| anchor(it) == heading);
                assert!(found, "{}: {link}", page.path.display());
            }
        }
    }
}

/// What a heading is linked by.
fn anchor(heading: &str) -> String {
    let kept = |c: &char| c.is_alphanumeric() || " -_".contains(*c);
    let kept: String = heading.to_lowercase().chars().filter(kept).collect();
    kept.replace(' ', "-")
}
