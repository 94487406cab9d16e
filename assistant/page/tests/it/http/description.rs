//! The description of the routes.

use super::harness::{Bay, Records};

fn description() -> serde_json::Value {
    serde_json::from_str(&page::description()).unwrap()
}

#[test]
fn the_description_is_as_it_was() {
    insta::assert_snapshot!("openapi", page::description());
}

#[test]
fn it_is_served_as_it_is_printed() {
    assert_eq!(Bay::new().get("/api/openapi.json").json(), description());
}

#[test]
fn every_route_that_is_described_is_there_and_no_other_way_in() {
    let records = Records::new();
    let bay = records.bay();
    let description = description();
    for (path, ways) in description["paths"].as_object().unwrap() {
        let asked = path
            .replace("{name}", records.job.as_str())
            .replace("{id}", "wash-van")
            .replace("{number}", "1");
        if asked.ends_with("/events") {
            // It has no end; following it has its own tests.
            continue;
        }
        for method in ["get", "post", "put", "patch", "delete", "options", "trace"] {
            let described = ways.get(method).is_some();
            let (origin, cookie) = (bay.origin(), bay.cookie());
            let headers = [("Origin", origin.as_str()), ("Cookie", &cookie)];
            let answer = bay.ask(&method.to_uppercase(), &asked, &headers, b"");
            let there = answer.status != 405;
            assert_eq!(there, described, "{method} {asked}: {}", answer.status);
            if described {
                assert_ne!(answer.status, 404, "{method} {asked}");
                let known = ways[method]["responses"].as_object().unwrap();
                let status = answer.status.to_string();
                let range = format!("{}XX", &status[..1]);
                assert!(
                    known.contains_key(&status) || known.contains_key(&range),
                    "{method} {asked}: {status}"
                );
            }
        }
    }
}

#[test]
fn only_two_routes_take_anything() {
    let description = description();
    let mut taking: Vec<&str> = description["paths"]
        .as_object()
        .unwrap()
        .iter()
        .filter(|(_, ways)| ways.as_object().unwrap().keys().any(|way| way != "get"))
        .map(|(path, _)| path.as_str())
        .collect();
    taking.sort_unstable();
    assert_eq!(taking, ["/api/do", "/api/jobs/{name}/notes/{number}/photo"]);
    let wishes = &description["components"]["schemas"]["ViewerAction"]["enum"];
    assert_eq!(*wishes, serde_json::json!(["repeat", "mute", "unmute"]));
}
