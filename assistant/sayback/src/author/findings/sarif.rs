//! Findings as SARIF 2.1.0 (OASIS Standard, 27 March 2020).

use super::Found;
use serde_json::{Value, json};
use std::path::Path;
use steps::procedure::{Code, Severity};

/// A log of one run, with all rules described.
pub fn sarif(all: &[Found]) -> Value {
    let rules: Vec<Value> = Code::ALL.iter().map(|code| rule(*code)).collect();
    let results: Vec<Value> = all.iter().map(result).collect();
    json!({
        "$schema": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
        "version": "2.1.0",
        "runs": [{
            "tool": { "driver": {
                "name": "sayback check",
                "semanticVersion": env!("CARGO_PKG_VERSION"),
                "rules": rules,
            }},
            "columnKind": "unicodeCodePoints",
            "results": results,
        }],
    })
}

fn rule(code: Code) -> Value {
    let it = code.explanation();
    json!({
        "id": code.name(),
        "shortDescription": { "text": it.means },
        "fullDescription": { "text": format!("{} {}", it.means, it.matters) },
        "help": { "text": format!("{}\n\n{}", it.remedy, it.example) },
        "defaultConfiguration": { "level": level(code) },
    })
}

fn level(code: Code) -> &'static str {
    match code.severity() {
        Severity::Mistake => "error",
        Severity::Doubt => "warning",
        Severity::Advice => "note",
    }
}

fn result(it: &Found) -> Value {
    let finding = &it.finding;
    let at = it.region();
    let index = Code::ALL.iter().position(|code| *code == finding.code);
    let mut result = json!({
        "ruleId": finding.code.name(),
        "level": level(finding.code),
        "message": { "text": format!("{} What to do: {}.", sentence(&finding.message), finding.remedy.trim_end_matches('.')) },
        "locations": [{ "physicalLocation": {
            "artifactLocation": { "uri": uri(&it.path) },
            "region": {
                "startLine": at.line, "startColumn": at.column,
                "endLine": at.end_line, "endColumn": at.end_column,
            },
        }}],
    });
    if let Some(index) = index {
        result["ruleIndex"] = json!(index);
    }
    if let Some(reason) = &finding.accepted {
        result["suppressions"] =
            json!([{ "kind": "inSource", "status": "accepted", "justification": reason }]);
    }
    result
}

/// A message with a full stop, since what to do follows it.
fn sentence(message: &str) -> String {
    match message.ends_with(['.', '?', '!']) {
        true => message.to_owned(),
        false => format!("{message}."),
    }
}

/// A relative reference, or a file URI (RFC 3986): what isn't unreserved is percent-encoded.
fn uri(path: &Path) -> String {
    let mut uri = String::new();
    if path.is_absolute() {
        uri.push_str("file://");
    }
    for byte in path.to_string_lossy().replace('\\', "/").bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => {
                uri.push(char::from(byte));
            }
            _ => uri.push_str(&format!("%{byte:02X}")),
        }
    }
    uri
}
