//! Talk beside the vehicle is no concern of the record's: neither its words nor its sound are kept.

use record::Shop;
use sayback::hearing::Meaning;
use whole_jobs::{Minutes, Workshop, shipped};

#[test]
fn what_is_said_in_the_room_is_not_kept() {
    let folder = tempfile::tempdir().unwrap();
    let minutes = Minutes::default();
    let mut show = |line: sayback::conversation::Line<'_>| minutes.take_down(line);
    let mut shop = Workshop::open(
        shipped("front-brakes"),
        folder.path(),
        "neural-man",
        &mut show,
    );
    let records = Shop::open(folder.path()).unwrap();
    let job = records.jobs().unwrap().remove(0).id;
    let entries = || records.verify(&job, None).unwrap().entries;
    let before = entries();
    for words in [
        "did you see the ferry come in late last night",
        "my sister has bought a house near the harbour",
        "they say it will rain until the weekend",
    ] {
        let meanings = shop.say(words);
        assert!(
            meanings.iter().all(|it| *it == Meaning::Ignored),
            "“{words}” was taken for {meanings:?}"
        );
    }
    assert_eq!(entries(), before);
    assert!(!folder.path().join("sounds").exists());
}
