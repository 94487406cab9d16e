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

/// Says "next" as far as this step.
fn go_to(talk: &mut Talk, step: &str) {
    while place(talk) != step {
        talk.say(Command::Next);
    }
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
    go_to(&mut talk, "nuts-on");
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
    go_to(&mut talk, "shield-off");
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
    go_to(&mut talk, "shield-on");
    assert_eq!(
        talk.say(Command::Skip),
        "To leave it for later, say: defer the shield."
    );
    assert_eq!(place(&talk), "shield-on");
}

/// An invented gearbox with two plugs of one name, and more to lay out than is told at once.
const GEARBOX: &str = r#"
format = 1
id = "gearbox"
title = "Gearbox oil"
vehicle = "ferry depot launch"
values = "Invented."
minutes = 20

[lay_out]
protection = ["gloves", "glasses"]
tools = ["drain pan", "funnel", "torque wrench", "14 mm hex bit", "rags on a stick", "oil pump"]

[[item]]
id = "cover"
name = "cover"
[[fastener]]
id = "low"
name = "lower oil plug"
count = 1
drive = { shape = "hex", size = "14 mm" }
torque = "30 N·m"
once_only = true
[[fastener]]
id = "high"
name = "upper oil plug"
count = 1
drive = { shape = "hex", size = "14 mm" }
torque = "25 N·m"

[[step]]
id = "cover-off"
action = "remove"
item = "cover"
text = "Take the cover off."
[[step]]
id = "drain"
action = "loosen"
fastener = "low"
text = "Loosen the {fastener}."
[[step]]
id = "look"
action = "inspect"
text = "Look at the oil for metal."
[[step]]
id = "low-tight"
action = "tighten"
fastener = "low"
text = "Tighten the {fastener}."
[[step]]
id = "cover-on"
action = "refit"
item = "cover"
text = "Put the cover back."

[[make_safe]]
id = "wipe"
action = "do"
text = "Wipe up the oil."
"#;

fn gearbox() -> Talk {
    let settings = Settings {
        in_fives: true,
        ..Settings::default()
    };
    Talk::about("gearbox", GEARBOX, settings)
}

fn plug() -> Command {
    Command::AboutAny {
        question: Question::Torque,
        name: "oil plug".to_owned(),
    }
}

#[test]
fn what_is_laid_out_comes_five_at_a_time_and_is_confirmed_once() {
    let mut talk = gearbox();
    let told = talk.say(Command::WhereAmI);
    assert!(
        told.ends_with("gloves; glasses; and more. Say go on, or it's all laid out."),
        "{told}"
    );
    let told = talk.say(Command::CarryOn);
    assert!(
        told.contains("rags on a stick; and more. Say go on."),
        "{told}"
    );
    let told = talk.say(Command::CarryOn);
    assert!(told.contains("oil pump; and more. Say go on."), "{told}");
    let told = talk.say(Command::CarryOn);
    assert!(told.contains("lower oil plug. Say next"), "{told}");
    assert_eq!(talk.say(Command::CarryOn), told, "there is no more");
    talk.say(Command::Back);
    talk.say(Command::Next);
    talk.say(Command::Next);
    assert_eq!(place(&talk), "cover-off");

    let mut talk = gearbox();
    assert_eq!(talk.say(Command::LaidOut), "Take the cover off.");
}

#[test]
fn a_record_from_before_still_lays_out_list_by_list() {
    let mut talk = Talk::about("gearbox", GEARBOX, Settings::default());
    let told = talk.say(Command::Next);
    assert!(
        told.contains("rags on a stick; oil pump. Say next"),
        "{told}"
    );
    talk.say(Command::Next);
    talk.say(Command::Next);
    assert_eq!(place(&talk), "cover-off");
}

#[test]
fn the_options_come_five_at_a_time_the_helpful_ones_first() {
    let mut talk = gearbox();
    talk.say(Command::LaidOut);
    let told = talk.say(Command::Help);
    assert!(told.starts_with("You can say: next; "), "{told}");
    assert!(told.ends_with("; and more. Say go on."), "{told}");
    assert_eq!(told.matches("; ").count(), 5, "{told}");
    let mut lists = 1;
    let last = loop {
        let told = talk.say(Command::CarryOn);
        lists += 1;
        if !told.ends_with("Say go on.") {
            break told;
        }
    };
    assert!(last.ends_with('.') && lists > 3, "{lists}: {last}");
    assert_eq!(talk.say(Command::CarryOn), "Take the cover off.");
    talk.say(Command::Help);
    talk.say(Command::WhatsNext);
    let told = talk.say(Command::CarryOn);
    assert_eq!(told, "Take the cover off.", "another answer ends a list");
}

#[test]
fn where_several_have_a_name_it_is_asked_which() {
    let mut talk = gearbox();
    talk.say(Command::LaidOut);
    let listen = talk.job.listen();
    assert!(listen.phrases.iter().any(|it| it.words == "oil plug"));
    assert_eq!(talk.say(plug()), "Which one: upper, lower?");
    let upper = talk.job.listen().phrases;
    let upper = upper.into_iter().find(|it| it.words == "upper");
    let upper = upper.expect("an answer is listened for").command;
    assert_eq!(talk.say(upper.clone()), "Upper oil plug: 25 N·m.");
    assert_eq!(talk.say(upper), "I haven't asked you anything.");
    assert_eq!(place(&talk), "cover-off", "a question moves nothing");
}

#[test]
fn steps_are_read_ahead_by_number_and_by_what_they_are_about() {
    let mut talk = gearbox();
    talk.say(Command::LaidOut);
    let read = |talk: &mut Talk, number| talk.say(Command::ReadStep { number });
    assert_eq!(read(&mut talk, 4), "Step 4: Tighten the lower oil plug.");
    assert_eq!(read(&mut talk, 9), "There is no step 9.");
    assert_eq!(read(&mut talk, 0), "There is no step 0.");
    let after = |talk: &mut Talk, thing: &str| {
        talk.say(Command::After {
            thing: thing.into(),
        })
    };
    assert_eq!(
        after(&mut talk, "low"),
        "After the lower oil plug: Look at the oil for metal."
    );
    assert_eq!(
        after(&mut talk, "cover"),
        "After the cover: Loosen the lower oil plug."
    );
    talk.say(Command::Next);
    assert_eq!(
        after(&mut talk, "cover"),
        "After the cover: closing the job.",
        "it goes back at the end"
    );
    assert_eq!(
        after(&mut talk, "high"),
        "No step here is about the upper oil plug."
    );
    assert_eq!(
        talk.say(Command::PartsLeft),
        "New parts still to go in: lower oil plug."
    );
    let told = talk.say(Command::WhereAmI);
    assert!(
        told.ends_with("Done last: Take the cover off. | Loosen the lower oil plug."),
        "{told}"
    );
    assert_eq!(place(&talk), "drain", "questions move nothing");
}

#[test]
fn without_room_for_the_torque_wrench_nothing_is_tightened_by_feel() {
    let mut talk = gearbox();
    talk.say(Command::LaidOut);
    go_to(&mut talk, "low-tight");
    assert!(talk.job.listen().commands.contains(&Command::NoRoom));
    let told = talk.say(Command::NoRoom);
    assert!(told.contains("don't tighten by feel"), "{told}");
    assert_eq!(place(&talk), "low-tight");
}
