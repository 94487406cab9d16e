//! The structure of the PDF, for those who have it read out, as poppler's `pdfinfo` finds it; compared with the HTML, as
//! html5ever finds that.

use crate::harness::{Bay, HOSTILE, Way, png};
use crate::pdf::{Printed, one_line};
use report::{Logo, Paper, Shop, StepSheet, TimeZone};
use scraper::{ElementRef, Html, Selector};
use steps::{Mode, Moment};

/// An element of the structure, with the words in it and below it.
#[derive(Debug)]
struct Element {
    role: String,
    depth: usize,
    words: String,
}

/// All elements in the order in which they are read. `pdfinfo` indents each by two blanks more than what it is part of,
/// and puts content in quotation marks.
fn elements(printed: &Printed) -> Vec<Element> {
    let told = printed.asked("pdfinfo", &["-struct-text"], &[]);
    let mut all: Vec<Element> = Vec::new();
    for line in told.lines().filter(|line| !line.trim().is_empty()) {
        let depth = (line.len() - line.trim_start().len()) / 2;
        let line = line.trim_start();
        match line.strip_prefix('"') {
            Some(words) => {
                let words = words.strip_suffix('"').unwrap_or(words);
                let mut within = depth;
                for element in all.iter_mut().rev() {
                    if element.depth < within {
                        element.words.push_str(words);
                        within = element.depth;
                    }
                }
            }
            None => {
                let role = line.split([' ', ':']).next().unwrap_or_default();
                all.push(Element {
                    role: role.to_owned(),
                    depth,
                    words: String::new(),
                });
            }
        }
    }
    all
}

fn words_of(all: &[Element], role: &str) -> Vec<String> {
    let found = all.iter().filter(|it| it.role == role);
    found.map(|it| one_line(&it.words)).collect()
}

fn in_html(page: &Html, what: &str) -> Vec<String> {
    let selector = Selector::parse(what).unwrap();
    let text = |it: ElementRef<'_>| one_line(&it.text().collect::<String>());
    page.select(&selector).map(text).collect()
}

/// How many rows each table has, and how many cells each of its rows.
fn tables(all: &[Element]) -> Vec<Vec<usize>> {
    let mut tables: Vec<Vec<usize>> = Vec::new();
    for element in all {
        match element.role.as_str() {
            "Table" => tables.push(Vec::new()),
            "TR" => tables.last_mut().unwrap().push(0),
            "TH" | "TD" => *tables.last_mut().unwrap().last_mut().unwrap() += 1,
            _other => {}
        }
    }
    tables
}

fn tables_in_html(page: &Html) -> Vec<Vec<usize>> {
    let [table, row, cell] = ["table", "tr", "th, td"].map(|it| Selector::parse(it).unwrap());
    let rows = |it: ElementRef<'_>| it.select(&row).map(|it| it.select(&cell).count()).collect();
    page.select(&table).map(rows).collect()
}

/// ISO 14289-1, 5: the document says in its metadata that it keeps to the standard; 7.1: it is tagged, and shows its title.
fn keeps_to_the_standard(printed: &Printed) {
    assert_eq!(printed.fact("Tagged"), "yes");
    let metadata = printed.asked("pdfinfo", &["-meta"], &[]);
    assert!(metadata.contains("pdfuaid:part"), "{metadata}");
}

fn shop() -> Shop {
    let name = "Workshop of the Saltmarsh ferry depot".to_owned();
    Shop {
        logo: Some(Logo::read(png(), &name).unwrap()),
        name,
        address: Vec::new(),
    }
}

#[test]
fn the_report_reads_as_its_html_does() {
    let bay = Bay::new();
    let long = "the grease has been thrown over the whole inside of the rim ".repeat(120);
    for (mode, way) in [(Mode::Work, Way::Deferred), (Mode::Rehearsal, Way::GivenUp)] {
        let id = bay.work(mode, way, &[&long, "two", "three"]);
        bay.archive
            .attach(&id, Some(1), "boot.png", &png(), Moment(1_772_442_900_000))
            .unwrap();
        let (report, pictures) = (bay.report(&id), bay.pictures(&id));
        let (shop, zone) = (shop(), TimeZone::UTC);
        let pdf = report.pdf(&shop, &pictures, Paper::A4, &zone).unwrap();
        let html = report.html(&shop, &pictures, Paper::A4, &zone);
        let (printed, page) = (Printed::new(&pdf), Html::parse_document(&html));
        keeps_to_the_standard(&printed);
        let all = elements(&printed);
        assert_eq!(words_of(&all, "H1"), in_html(&page, "h1"));
        assert_eq!(words_of(&all, "H2"), in_html(&page, "h2"));
        // Heads that are repeated on the next page are read once.
        assert_eq!(tables(&all), tables_in_html(&page));
        assert_eq!(words_of(&all, "TH"), in_html(&page, "th"));
        let drawn = "img, svg";
        assert_eq!(
            words_of(&all, "Figure").len(),
            in_html(&page, drawn).len(),
            "{:?}",
            words_of(&all, "Figure")
        );
        // Words stay apart where a line ends.
        let note = words_of(&all, "TD")
            .into_iter()
            .find(|it| it.contains("thrown"));
        assert_eq!(
            note.unwrap(),
            format!("“{}” (photo 1)", one_line(&long)).replacen("“t", "“T", 1)
        );
        let names = words_of(&all, "Lbl");
        for name in in_html(&page, "dt") {
            assert!(names.contains(&name), "{name}: {names:?}");
        }
    }
}

#[test]
fn the_customer_s_page_and_the_step_sheet_are_tagged_too() {
    let bay = Bay::new();
    let id = bay.work(Mode::Work, Way::Finished, &[]);
    let report = bay.report(&id);
    let (shop, zone) = (shop(), TimeZone::UTC);
    let pdf = report.customer_pdf(&shop, &[], Paper::A4, &zone).unwrap();
    let html = report.customer_html(&shop, &[], Paper::A4, &zone);
    let printed = Printed::new(&pdf);
    keeps_to_the_standard(&printed);
    let (all, page) = (elements(&printed), Html::parse_document(&html));
    assert_eq!(words_of(&all, "H2"), in_html(&page, "h2"));
    assert_eq!(tables(&all), tables_in_html(&page));
    let sheet = StepSheet::of(
        &crate::small_job::procedure(crate::small_job::TEXT),
        Paper::A4,
    );
    let printed = Printed::new(&sheet.pdf().unwrap());
    keeps_to_the_standard(&printed);
    let (all, page) = (elements(&printed), Html::parse_document(&sheet.html()));
    assert_eq!(words_of(&all, "H1"), in_html(&page, "h1"));
    assert_eq!(words_of(&all, "H2"), in_html(&page, "h2"));
    assert_eq!(
        all.iter().filter(|it| it.role == "LI").count(),
        in_html(&page, "li").len() - in_html(&page, ".values li").len()
            + in_html(&page, "dt").len()
    );
}

#[test]
fn what_people_said_never_keeps_a_report_from_being_written() {
    let bay = Bay::new();
    let strange = "\u{fffe} \u{feff} \u{e000} \u{1f527} 漢字 \u{0}";
    let id = bay.work(Mode::Work, Way::Finished, &[HOSTILE, strange]);
    let pdf = bay
        .report(&id)
        .pdf(&Shop::default(), &[], Paper::A4, &TimeZone::UTC);
    assert_eq!(Printed::new(&pdf.unwrap()).fact("Tagged"), "yes");
}

const SVG: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="120" height="40"><rect width="120" height="40" fill="#123c8c"/></svg>"##;

#[test]
fn a_logo_is_a_png_or_an_svg_of_some_size() {
    for (bytes, why) in [
        (b"GIF89a".to_vec(), "neither a PNG nor an SVG"),
        (png()[..40].to_vec(), "the PNG can't be read"),
        (b"<svg".to_vec(), "the SVG can't be read"),
        (vec![b' '; 1_000_001], "at most 1000000"),
        (
            SVG.replace("\"120\" height", "\"5000\" height")
                .into_bytes(),
            "5000 by 40",
        ),
        (
            SVG.replace("height=\"40\"><", "height=\"2\"><")
                .into_bytes(),
            "120 by 2",
        ),
    ] {
        let error = Logo::read(bytes, "").unwrap_err().to_string();
        assert!(error.contains(why), "{error}");
    }
    let logo = Logo::read(SVG.as_bytes().to_vec(), "the depot").unwrap();
    let shop = Shop {
        logo: Some(logo),
        ..Shop::default()
    };
    let bay = Bay::new();
    let report = bay.report(&bay.work(Mode::Work, Way::Finished, &[]));
    let html = report.html(&shop, &[], Paper::A4, &TimeZone::UTC);
    let page = Html::parse_document(&html);
    let image = Selector::parse("header img.logo").unwrap();
    let image = page.select(&image).next().unwrap();
    assert_eq!(image.attr("alt"), Some("Logo of the depot"));
    assert!(
        image
            .attr("src")
            .unwrap()
            .starts_with("data:image/svg+xml;base64,")
    );
    let plain = report
        .pdf(&Shop::default(), &[], Paper::A4, &TimeZone::UTC)
        .unwrap();
    let drawn = report.pdf(&shop, &[], Paper::A4, &TimeZone::UTC).unwrap();
    let figures = |pdf: &[u8]| words_of(&elements(&Printed::new(pdf)), "Figure").len();
    assert_eq!(figures(&drawn), figures(&plain) + 1);
}
