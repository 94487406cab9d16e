//! Who works, who takes over, who signs.

use super::harness::{Bay, text, typed_to_the_end};

#[test]
fn the_record_says_who_worked_who_took_over_and_who_signed() {
    let bay = Bay::new();
    let people = bay.file("people.toml", "names = [\"Mara\", \"Tobias\"]\n");
    let mut lines = typed_to_the_end("front-brakes");
    // While things are laid out, and again at the end; what follows is what leads on anyway.
    lines.splice(1..1, ["tobias takes over".to_owned(), "yes".to_owned()]);
    lines.extend(["signed tobias".to_owned(), "yes".to_owned()]);
    let script = bay.file("script.txt", lines.join("\n"));
    let words = ["rehearse", "front-brakes", "--script", text(&script)];
    bay.sayback(&[&words[..], &["--people", text(&people), "--by", "mara"]].concat())
        .exits(0)
        .prints("To sign it off say: signed, Tobias.");
    let job = bay.jobs().remove(0);
    bay.sayback(&["record", &job, "--verify"]).exits(0);
    bay.sayback(&["record", &job])
        .exits(0)
        .prints("worked by Mara")
        .prints("taken over from Mara by Tobias")
        .prints("signed off by Tobias");
}

#[test]
fn names_that_cant_be_used_are_named_with_what_to_do() {
    let bay = Bay::new();
    let people = bay.file("people.toml", "names = [\"Mara\", \"mara\"]\n");
    let words = ["rehearse", "front-brakes", "--people"];
    bay.sayback(&[&words[..], &[text(&people)]].concat())
        .exits(1)
        .tells("“mara” is there twice");
    let people = bay.file("people.toml", "names = [\"Mara\", \"Jo\"]\n");
    bay.sayback(&[&words[..], &[text(&people), "--by", "Tobias"]].concat())
        .exits(1)
        .tells("“Tobias” isn't one of this bay's people: Mara, Jo");
    let people = bay.file("people.toml", "people = [\"Mara\"]\n");
    bay.sayback(&[&words[..], &[text(&people)]].concat())
        .exits(1)
        .tells("unknown field `people`");
    bay.sayback(&[&words[..], &["no-such.toml"]].concat())
        .exits(1)
        .tells("there is no file no-such.toml: look at its name")
        .tells("it should be your people file");
}
