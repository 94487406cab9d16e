//! The grammar reader, from outside: what it takes, what it refuses and where it points, and that no text
//! makes it panic.

use proptest::prelude::*;
use words::jsgf::{ExpandError, Grammar, Problem};

fn grammar(rules: &str) -> Grammar {
    Grammar::parse("test.jsgf", &format!("#JSGF V1.0;\ngrammar test;\n{rules}")).unwrap()
}

/// The problem, and the text that it points at.
fn refused(rules: &str) -> (Problem, String) {
    let text = format!("#JSGF V1.0;\ngrammar test;\n{rules}");
    let error = *Grammar::parse("test.jsgf", &text).expect_err("it should be refused");
    (error.problem, text[error.span].to_owned())
}

fn all(grammar: &Grammar, rule: &str) -> Vec<String> {
    let phrases = grammar.expand(rule, 1000).unwrap();
    phrases
        .iter()
        .map(|p| format!("{} {:?}", p.words.join(" "), p.tags))
        .collect()
}

// The example grammar of section 5.1, "A simple grammar", of the W3C Note (imports and politeness left out).
#[test]
fn the_notes_own_example_is_read() {
    let commands = grammar(
        "public <basicCmd> = <command>;
         <command> = <action> <object>; // for example: open a window
         <action> = (open | close | delete | move) {action};
         <object> = [the | a] (window | file | menu) {object};",
    );
    assert_eq!(
        commands.parse_words("basicCmd", &["open", "a", "window"]),
        Some(vec!["action".to_owned(), "object".to_owned()])
    );
    assert!(
        commands
            .parse_words("basicCmd", &["delete", "menu"])
            .is_some()
    );
    assert!(commands.parse_words("basicCmd", &["open", "a"]).is_none());
    assert_eq!(commands.expand("basicCmd", 1000).unwrap().len(), 4 * 3 * 3);
}

#[test]
fn tags_belong_to_what_stands_before_them() {
    let g = grammar("<a> = one {1} two | (three [four {4}]) {34};");
    assert_eq!(
        all(&g, "a"),
        [
            r#"one two ["1"]"#,
            r#"three four ["4", "34"]"#,
            r#"three ["34"]"#
        ]
    );
}

#[test]
fn a_header_may_name_encoding_and_locale() {
    assert!(Grammar::parse("x", "#JSGF V1.0 UTF-8 en;grammar a.b;<a>=b;").is_ok());
    for wrong in [
        "",
        "#JSGF V2.0; grammar a;",
        "#JSGF V1.0 a b c; grammar a;",
        "#JSGF V1.0ü; ",
    ] {
        let error = Grammar::parse("x", wrong).unwrap_err();
        assert_eq!(error.problem, Problem::NoHeader, "{wrong}");
    }
}

#[test]
fn errors_point_at_what_is_wrong() {
    let nothing = Problem::Empty;
    for (text, problem, at) in [
        ("<a> = b | ;", nothing.clone(), ";"),
        ("<a> = b | | c;", nothing.clone(), "|"),
        ("<a> = [];", nothing.clone(), "]"),
        ("<a> = ;", nothing, ";"),
        ("<a> = (b;", Problem::Unterminated('('), "("),
        ("<a> = [b);", Problem::Unterminated('['), "["),
        ("<a> = b {t;", Problem::Unterminated('{'), "{"),
        ("<a> = b; /* so", Problem::Unterminated('/'), "/*"),
        ("<a> = b);", Problem::ClosesNothing(')'), ")"),
        ("<a> = {t} b;", Problem::TagAlone, "{t}"),
        ("<a> = b; <a> = c;", Problem::Duplicate("a".into()), "<a>"),
        ("<a = b;", Problem::BadRuleName, "<a"),
        (
            "<a> = b",
            Problem::NoSemicolon {
                after: "the rule <a>".into(),
            },
            "b",
        ),
        (
            "<a> = b <c> = d;",
            Problem::NoSemicolon {
                after: "the rule before".into(),
            },
            "b",
        ),
        (
            "<start> = <finsh>; <finish> = done;",
            Problem::UnknownRule {
                name: "finsh".into(),
                nearest: Some("finish".into()),
            },
            "<finsh>",
        ),
        (
            "<a> = b <c>; <c> = d | <a>;",
            Problem::Recursion {
                name: "a".into(),
                path: "<a> → <c> → <a>".into(),
            },
            "<a>",
        ),
        (
            "next = b;",
            Problem::NotARule {
                found: "`next`".into(),
            },
            "next",
        ),
    ] {
        assert_eq!(refused(text), (problem, at.to_owned()), "{text}");
    }
    for (text, at) in [
        ("<a> = /10/ b;", "/"),
        ("<a> = b*;", "*"),
        ("<a> = \"b c\";", "\""),
        ("import <other.*>;", "import"),
        ("<a> = <NULL>;", "<NULL>"),
    ] {
        let (problem, place) = refused(text);
        assert!(
            matches!(problem, Problem::NotTaken { .. }),
            "{text}: {problem}"
        );
        assert_eq!(place, at);
    }
}

#[test]
fn a_report_shows_the_place_and_the_remedy() {
    let error = Grammar::parse("c.jsgf", "#JSGF V1.0;\ngrammar c;\n<a> = (b;\n").unwrap_err();
    let printed = format!("{:?}", miette::Report::new(*error));
    assert!(
        printed.contains("never closed") && printed.contains("close it with `)`"),
        "{printed}"
    );
}

#[test]
fn what_would_take_for_ever_is_refused() {
    let deep = format!("<a> = {}b{};", "(".repeat(100), ")".repeat(100));
    assert!(matches!(refused(&deep).0, Problem::TooDeep(_)));
    let mut chain: String = (0..200)
        .map(|n| format!("<r{n}> = <r{}>;", n + 1))
        .collect();
    chain.push_str("<r200> = end;");
    assert!(matches!(refused(&chain).0, Problem::TooDeep(_)));
    let mut doubling: String = (0..30)
        .map(|n| format!("<r{n}> = <r{m}> | <r{m}>;", m = n + 1))
        .collect();
    doubling.push_str("<r30> = end;");
    assert!(matches!(refused(&doubling).0, Problem::TooLarge { .. }));
    let wide = grammar("<a> = <d> <d> <d> <d> <d>; <d> = 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9;");
    assert_eq!(
        wide.expand("a", 1000),
        Err(ExpandError::TooMany {
            rule: "a".into(),
            limit: 1000
        })
    );
    assert!(wide.parse_words("a", &["1", "2", "3", "4", "5"]).is_some());
}

/// Texts that are nearly grammars: pieces of the format in any order.
fn nearly() -> impl Strategy<Value = String> {
    let pieces = prop::sample::select(vec![
        "<a>", "<b>", " = ", ";", "|", "(", ")", "[", "]", "{t}", "{", "}", "word ", "public ",
        "// c\n", "/*", "*/", "/", "\\", "é", "<", ">", "\n", "import ", "\"",
    ]);
    prop::collection::vec(pieces, 0..40)
        .prop_map(|pieces| format!("#JSGF V1.0;grammar g;{}", pieces.concat()))
}

/// Random expansions without references, as text.
fn expansion() -> impl Strategy<Value = String> {
    let word = prop::sample::select(vec!["a", "b", "c", "d {t}"]).prop_map(str::to_owned);
    word.prop_recursive(4, 12, 3, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 1..3).prop_map(|p| format!("({})", p.join(" | "))),
            prop::collection::vec(inner.clone(), 1..3).prop_map(|p| p.join(" ")),
            inner.prop_map(|p| format!("[{p}]")),
        ]
    })
}

proptest! {
    #[test]
    fn no_text_makes_it_panic(text in any::<String>()) {
        let _ = Grammar::parse("x", &text);
        let _ = Grammar::parse("x", &format!("#JSGF V1.0;grammar g;<a>={text};"));
    }

    #[test]
    fn no_broken_grammar_makes_it_panic_and_spans_stay_inside(text in nearly()) {
        match Grammar::parse("x", &text) {
            Ok(grammar) => for rule in grammar.rules() {
                let _ = grammar.expand(&rule.name, 100);
            },
            Err(error) => prop_assert!(text.get(error.span.clone()).is_some(), "{:?}", error.span),
        }
    }

    #[test]
    fn all_that_is_listed_is_understood(text in expansion()) {
        let grammar = grammar(&format!("<a> = {text};"));
        for phrase in grammar.expand("a", 100_000).unwrap() {
            let words: Vec<_> = phrase.words.iter().map(String::as_str).collect();
            prop_assert!(grammar.parse_words("a", &words).is_some(), "{words:?}");
            let mut longer = words.clone();
            longer.push("zzz");
            prop_assert!(grammar.parse_words("a", &longer).is_none());
        }
    }
}
