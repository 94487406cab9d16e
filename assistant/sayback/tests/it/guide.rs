//! Every example of the authors' guide is loaded, rehearsed or imported, and the guide names every key of the format.
//! The pages are read by `pulldown-cmark`.

use crate::shell::support::{Bay, sayback, text};
use pulldown_cmark::{CodeBlockKind, Event, Options, Parser, Tag, TagEnd};
use sayback::author::{self, Dictionary, Vocabulary};
use sayback::library::Shelf;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures/guide/src")
}

/// A page: its code blocks with what stands behind their fence, its code words, the pages it leads to.
struct Page {
    name: String,
    blocks: Vec<(String, String)>,
    code: Vec<String>,
    links: Vec<String>,
}

fn page(path: &Path) -> Page {
    let written = std::fs::read_to_string(path).unwrap();
    let mut page = Page {
        name: path.file_stem().unwrap().to_str().unwrap().to_owned(),
        blocks: Vec::new(),
        code: Vec::new(),
        links: Vec::new(),
    };
    let mut open = None;
    for event in Parser::new_ext(&written, Options::ENABLE_TABLES) {
        match event {
            Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) => {
                open = Some((info.to_string(), String::new()));
            }
            Event::Text(words) => {
                if let Some((_, block)) = &mut open {
                    block.push_str(&words);
                }
            }
            Event::End(TagEnd::CodeBlock) => page.blocks.extend(open.take()),
            Event::Code(words) => page.code.push(words.to_string()),
            Event::Start(Tag::Link { dest_url, .. }) => page.links.push(dest_url.to_string()),
            _ => {}
        }
    }
    page
}

fn pages() -> Vec<Page> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.sort();
    paths.iter().map(|path| page(path)).collect()
}

/// The blocks of a page are one procedure; what they leave out is put round them.
fn procedure(page: &Page) -> Option<(String, String)> {
    let blocks = page.blocks.iter().filter(|(info, _)| info == "toml");
    let pieces: Vec<&str> = blocks.map(|(_, block)| block.as_str()).collect();
    let mut text = pieces.join("\n");
    if pieces.is_empty() {
        return None;
    }
    let mut id = page.name.clone();
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
    let vocabulary = Vocabulary {
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
        let looked = author::look(&shelf, &id, &vocabulary).examined;
        // An accepted doubt stands in one page, to show how it is done.
        let (done, open): (Vec<_>, Vec<_>) = looked
            .findings
            .into_iter()
            .partition(|it| it.accepted.is_some());
        accepted += done.len();
        let open: Vec<_> = open.into_iter().map(miette::Report::new).collect();
        assert!(open.is_empty(), "{}: {open:?}", page.name);
        seen += 1;
    }
    assert!(seen >= 10);
    assert_eq!(accepted, 1);
}

#[test]
fn every_block_of_the_guide_is_of_a_kind_that_is_tested() {
    for page in pages() {
        for (info, block) in &page.blocks {
            let known = ["toml", "rehearsal", "list"].contains(&info.as_str())
                || info.starts_with("toml part ");
            // Without a kind: what is typed into a shell, whose commands exist.
            let typed = || {
                let lines = block.lines().filter(|line| !line.is_empty());
                lines.clone().count() > 0
                    && lines.map(|line| line.split(' ')).all(|mut words| {
                        words.next() == Some("sayback")
                            && words
                                .next()
                                .is_some_and(|it| sayback([it, "--help"]).code == 0)
                    })
            };
            assert!(
                known || (info.is_empty() && typed()),
                "{}: {info} {block}",
                page.name
            );
        }
    }
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
                ran.out.contains("Hold point, "),
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
fn the_table_of_contents_and_the_links_lead_to_pages_that_are_there() {
    let pages = pages();
    let names: BTreeMap<String, &Page> = pages
        .iter()
        .map(|page| (format!("{}.md", page.name), page))
        .collect();
    let contents = names["SUMMARY.md"];
    let listed: BTreeSet<&String> = contents.links.iter().collect();
    for (name, page) in &names {
        assert!(
            name == "SUMMARY.md" || listed.contains(name),
            "{name} isn't in the contents"
        );
        for link in page.links.iter().filter(|link| !link.starts_with("http")) {
            assert!(names.contains_key(link), "{name}: {link}");
        }
    }
}
