//! The page for the customer: one page, in plain words.

use crate::harness::{Bay, Way};
use crate::pdf::{Printed, one_line};
use report::{Paper, Shop, TimeZone};
use steps::Mode;

fn shop() -> Shop {
    Shop {
        name: "Workshop of the Saltmarsh ferry depot".to_owned(),
        address: vec!["Slipway 2".to_owned(), "Saltmarsh".to_owned()],
        logo: None,
    }
}

#[test]
fn the_customer_gets_one_page_without_identifiers() {
    let bay = Bay::new();
    for way in [Way::Finished, Way::Deferred, Way::GivenUp] {
        let id = bay.work(
            Mode::Work,
            way,
            &["the grease has been thrown over the rim"],
        );
        let report = bay.report(&id);
        for paper in [Paper::A4, Paper::Letter] {
            let pdf = report
                .customer_pdf(&shop(), &[], paper, &TimeZone::UTC)
                .unwrap();
            let pages = Printed::new(&pdf).pages();
            let [page] = &pages[..] else {
                panic!("{} pages", pages.len());
            };
            let page = one_line(page);
            for told in [
                "Workshop of the Saltmarsh ferry depot",
                "Slipway 2, Saltmarsh",
                "What was measured",
                "1.4 mm",
            ] {
                assert!(page.contains(told), "{told}: {page}");
            }
            // What is for the file isn't for the customer.
            for hidden in [
                id.as_str(),
                "SHA",
                "UTC",
                "supported",
                "readback",
                "unchecked",
                &report.proof.head,
            ] {
                assert!(!page.contains(hidden), "{hidden}: {page}");
            }
        }
    }
}

#[test]
fn what_is_left_and_what_is_out_of_limits_is_told_plainly() {
    let bay = Bay::new();
    let id = bay.work(Mode::Work, Way::Deferred, &[]);
    let html = bay
        .report(&id)
        .customer_html(&shop(), &[], Paper::A4, &TimeZone::UTC);
    assert!(html.contains("Do what was left for later"), "{html}");
    let id = bay.work(Mode::Rehearsal, Way::GivenUp, &[]);
    let html = bay
        .report(&id)
        .customer_html(&Shop::default(), &[], Paper::A4, &TimeZone::UTC);
    assert!(html.contains("the work was broken off"), "{html}");
    assert!(html.contains("REHEARSAL: NO PROOF OF WORK"), "{html}");
    assert!(!html.contains("Shop"), "{html}");
}
