//! The project's pages of Markdown, read by `pulldown-cmark`: shared by the tests of the book and of its command lines.

use pulldown_cmark::{CodeBlockKind, Event, Options, Parser, Tag, TagEnd};
use std::path::{Path, PathBuf};

/// A page.
pub struct Page {
    /// The file.
    pub path: PathBuf,
    /// Code blocks, each with the words after its opening fence.
    pub blocks: Vec<(String, String)>,
    /// Code within the text.
    pub code: Vec<String>,
    /// Where links and pictures lead.
    pub links: Vec<String>,
    /// The headings.
    pub headings: Vec<String>,
}

impl Page {
    pub fn read(path: &Path) -> Self {
        let written = std::fs::read_to_string(path).unwrap();
        let mut page = Self {
            path: path.to_owned(),
            blocks: Vec::new(),
            code: Vec::new(),
            links: Vec::new(),
            headings: Vec::new(),
        };
        let mut block = None;
        let mut heading = None;
        for event in Parser::new_ext(&written, Options::ENABLE_TABLES) {
            match event {
                Event::Start(Tag::CodeBlock(CodeBlockKind::Fenced(info))) => {
                    block = Some((info.to_string(), String::new()));
                }
                Event::Start(Tag::Heading { .. }) => heading = Some(String::new()),
                Event::Text(words) => {
                    if let Some((_, block)) = &mut block {
                        block.push_str(&words);
                    }
                    if let Some(heading) = &mut heading {
                        heading.push_str(&words);
                    }
                }
                Event::End(TagEnd::CodeBlock) => page.blocks.extend(block.take()),
                Event::End(TagEnd::Heading(_)) => page.headings.extend(heading.take()),
                Event::Code(words) => {
                    if let Some(heading) = &mut heading {
                        heading.push_str(&words);
                    }
                    page.code.push(words.to_string());
                }
                Event::Start(Tag::Link { dest_url, .. } | Tag::Image { dest_url, .. }) => {
                    page.links.push(dest_url.to_string());
                }
                _ => {}
            }
        }
        page
    }

    /// The file's name without its ending.
    pub fn name(&self) -> &str {
        self.path.file_stem().unwrap().to_str().unwrap()
    }
}

/// The repository.
pub fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .canonicalize()
        .unwrap()
}

/// The pages in a folder of the repository, by name; of the folders in it, too.
pub fn within(folder: &str) -> Vec<Page> {
    let mut folders = vec![top().join(folder)];
    let mut paths = Vec::new();
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|it| it == "md") {
                paths.push(path);
            }
        }
    }
    paths.sort();
    paths.iter().map(|path| Page::read(path)).collect()
}

/// The book, what stands beside it in `docs`, and the pages that a newcomer meets outside.
pub fn all() -> Vec<Page> {
    let outside = [
        "README.md",
        "DEVELOPERS.md",
        "CHANGELOG.md",
        "procedures/README.md",
    ];
    let mut pages = within("docs");
    pages.extend(outside.map(|path| Page::read(&top().join(path))));
    pages
}
