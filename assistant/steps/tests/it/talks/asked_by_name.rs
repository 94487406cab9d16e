//! What may be said besides "next" and the questions about the step at hand.

use crate::talks::talking::Talk;
use steps::{Command, Question, Settings};

/// An invented hub.
const HUB: &str = r#"
format = 1
id = "hub"
title = "Hub"
vehicle = "ferry depot trailer"
values = "Invented."
minutes = 20

[[item]]
id = "shield"
name = "shield"
may_wait = true

[[fastener]]
id = "pinch"
name = "pinch bolt"
count = 1
drive = { shape = "hex", size = "18 mm" }
torque = "85 N·m"
once_only = true
threadlocker = "medium"
[[fastener]]
id = "nuts"
name = "wheel nut"
count = 5
drive = { shape = "hex", size = "19 mm" }
torque = "140 N·m"
lubrication = "dry"

[[step]]
id = "open"
action = "do"
text = "Open the flap."
[[step]]
id = "cut"
action = "do"
text = "Cut the clip."
warning = { signal = "caution", text = "It springs." }
[[step]]
id = "shield-off"
action = "remove"
item = "shield"
text = "Take the shield off."
helpers = ["shield-stuck"]
[[step]]
id = "nuts-off"
action = "loosen"
fastener = "nuts"
text = "Loosen the {fasteners}."
[[step]]
id = "nuts-on"
action = "tighten"
fastener = "nuts"
text = "Tighten the {fasteners} to {torque}."
[[step]]
id = "shield-on"
action = "refit"
item = "shield"
text = "Put the shield back."

[[make_safe]]
id = "close"
action = "do"
text = "Close the flap."

[[branch]]
id = "shield-stuck"
say = ["the shield won't come off"]
[[branch.step]]
id = "pry"
action = "do"
text = "Pry it at the tab."
"#;

fn talk() -> Talk {
    let mut talk = Talk::about("hub", HUB, Settings::default());
    while talk.job.step().is_none() {
        talk.say(Command::Next);
    }
    talk
}

fn place(talk: &Talk) -> &str {
    talk.job.step().map_or("", |step| step.id.as_str())
}

fn about(talk: &mut Talk, question: Question, fastener: &str) -> String {
    talk.say(Command::About {
        question,
        fastener: fastener.into(),
    })
}

#[test]
fn okay_moves_on_only_where_nothing_hangs_on_it() {
    let mut talk = talk();
    talk.say(Command::Okay);
    assert_eq!(place(&talk), "cut");
    assert_eq!(talk.say(Command::Okay), "Say next when it's done.");
    assert_eq!(place(&talk), "cut", "there is a warning");
    talk.say(Command::Next);
    talk.say(Command::Okay);
    talk.say(Command::Okay);
    assert_eq!(place(&talk), "nuts-on");
    talk.say(Command::Okay);
    assert_eq!(place(&talk), "nuts-on", "a torque is not nodded through");
    talk.say(Command::Next);
    talk.say(Command::Okay);
    assert_eq!(place(&talk), "shield-on", "nor that something is back");
    talk.say(Command::Next);
    assert_eq!(
        talk.say(Command::Okay),
        "All steps are done. Say finish to close the job."
    );
    assert!(talk.job.outcome().is_none(), "nor is the job closed by it");
}

#[test]
fn a_fastener_is_asked_about_by_name_wherever_it_is() {
    let mut talk = talk();
    assert_eq!(
        about(&mut talk, Question::Torque, "pinch"),
        "Pinch bolt: 85 N·m. Threadlocker: medium. Use a new one."
    );
    assert_eq!(
        about(&mut talk, Question::Size, "nuts"),
        "Wheel nuts: 19 mm hex."
    );
    assert_eq!(about(&mut talk, Question::Count, "nuts"), "5 wheel nuts.");
    assert_eq!(
        about(&mut talk, Question::Reuse, "pinch"),
        "Pinch bolt: Use a new one."
    );
    assert_eq!(place(&talk), "open", "a question moves nothing");
}

#[test]
fn at_a_fastener_threads_and_reuse_need_no_name() {
    let mut talk = talk();
    assert_eq!(
        talk.say(Command::Threads),
        "There's no fastener in this step."
    );
    while place(&talk) != "nuts-on" {
        talk.say(Command::Next);
    }
    assert_eq!(talk.say(Command::Threads), "Dry threads.");
    assert_eq!(
        talk.say(Command::Reuse),
        "The old wheel nuts can be reused if in good order."
    );
}

#[test]
fn trouble_leads_to_the_help_of_the_step() {
    let mut talk = talk();
    assert_eq!(talk.say(Command::Trouble), "I have no help for that here.");
    while place(&talk) != "shield-off" {
        talk.say(Command::Next);
    }
    assert_eq!(
        talk.say(Command::Trouble),
        "Is it this: the shield won't come off? Yes or no?"
    );
    talk.say(Command::No);
    assert_eq!(place(&talk), "shield-off");
    talk.say(Command::Trouble);
    talk.say(Command::Yes);
    assert_eq!(place(&talk), "pry");
}

#[test]
fn skipping_names_what_may_wait() {
    let mut talk = talk();
    assert_eq!(talk.say(Command::Skip), "You can't leave that for later.");
    while place(&talk) != "shield-on" {
        talk.say(Command::Next);
    }
    assert_eq!(
        talk.say(Command::Skip),
        "To leave it for later, say: defer the shield."
    );
    assert_eq!(place(&talk), "shield-on");
}
