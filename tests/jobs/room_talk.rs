//! Talk beside the vehicle is no concern of the record's: neither its words nor its sound are kept.

use hearing_bench::join::with_pauses;
use record::Archive;
use sayback::view::heard::{clips, judge, lay_out, said};
use sayback::work::conversation::Line;
use sayback::work::hearing::Meaning;
use sayback::work::technician::Talk;
use whole_jobs::{Minutes, Workshop, in_a_workshop, shipped};

const TALK: [&str; 3] = [
    "did you see the ferry come in late last night",
    "my sister has bought a house near the harbour",
    "they say it will rain until the weekend",
];

#[test]
fn what_is_said_in_the_room_is_not_kept() {
    in_a_workshop("front-brakes", "neural-man", |shop, folder| {
        let records = Archive::open(folder).unwrap();
        let job = records.jobs().unwrap().remove(0).id;
        let entries = || records.verify(&job, None).unwrap().entries;
        let before = entries();
        for words in TALK {
            let meanings = shop.say(words);
            assert!(
                meanings.iter().all(|it| *it == Meaning::Ignored),
                "“{words}” was taken for {meanings:?}"
            );
        }
        assert_eq!(entries(), before);
        assert!(!folder.join("sounds").exists());
    });
}

#[test]
fn where_it_is_allowed_what_is_said_to_it_is_kept_and_can_be_judged() {
    in_a_workshop("front-brakes", "neural-man", |shop, folder| {
        let records = Archive::open(folder).unwrap();
        shop.say("say again");
        assert!(clips(&records, None).unwrap().is_empty());
        shop.keeps_what_is_heard();
        for words in TALK {
            shop.say(words);
        }
        assert!(clips(&records, None).unwrap().is_empty(), "talk isn't kept");
        shop.say("where am i");
        shop.say("say again");
        let job = records.jobs().unwrap().remove(0).id;
        assert!(records.verify(&job, None).unwrap().is_whole());

        let kept = clips(&records, Some(&job)).unwrap();
        let nearest: Vec<&str> = kept.iter().map(|clip| clip.nearest()).collect();
        assert_eq!(nearest, ["where am i", "say again"]);
        let out = folder.join("out");
        lay_out(&kept, folder, &out).unwrap();
        for clip in &kept {
            let copy = ears::sound::file::read(&out.join("clips").join(clip.name())).unwrap();
            assert!(copy.samples.iter().any(|sample| sample.abs() > 0.05));
        }
        let list = std::fs::read_to_string(out.join("said.tsv")).unwrap();
        assert!(said(&list).is_empty(), "nobody has listened yet");
        // Somebody listened, and says that the second was something else.
        let corrected = list
            .replace("#clips", "clips")
            .replace("say again", "play again");
        let judged = judge(&kept, &said(&corrected));
        let [(_, tally)] = judged.stakes[..] else {
            panic!("{judged:?}")
        };
        assert_eq!((tally.rightly_taken, tally.wrongly_taken), (1, 1));
        // What was corrected isn't written over.
        assert!(lay_out(&kept, folder, &out).is_err());
    });
}

/// Somebody beside the vehicle goes on talking at a hold point.
#[test]
fn talk_that_goes_on_at_a_hold_point_is_answered_with_what_is_waited_for() {
    let folder = tempfile::tempdir().unwrap();
    let minutes = Minutes::default();
    let mut show = |line: Line<'_>| minutes.take_down(line);
    let mut shop = Workshop::open(
        shipped("front-brakes"),
        folder.path(),
        "neural-man",
        &mut show,
    );
    let mut talk = Talk::default();
    for _ in 0..40 {
        if shop.job().holding().is_some() {
            break;
        }
        let words = talk.says(shop.job()).unwrap();
        shop.say(&words);
    }
    let gate = shop.job().holding().cloned();
    assert!(gate.is_some(), "the job comes to a hold point");
    let clips: Vec<Vec<f32>> = TALK.iter().map(|words| shop.clip(words)).collect();
    let of_seconds = |seconds: usize| -> Vec<f32> {
        let all = with_pauses(&clips, 0.1);
        all.iter().copied().cycle().take(seconds * 16_000).collect()
    };
    let asks_for_quiet = || {
        let said = minutes.said.borrow();
        said.iter().any(|it| it.contains("second of quiet"))
    };
    shop.play(of_seconds(8));
    assert!(!asks_for_quiet(), "after a few sentences");
    shop.play(of_seconds(40));
    assert!(asks_for_quiet(), "{:?}", minutes.said.borrow());
    assert_eq!(shop.job().holding().cloned(), gate, "it stays shut");
}
