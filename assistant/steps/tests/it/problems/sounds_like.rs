//! Words with what they sound like.

use super::{Files, SOUND, points_at, problems};
use steps::Procedure;
use steps::procedure::Code;

fn with(lines: &str) -> Files {
    Files::job(format!("{SOUND}\n[sounds_like]\n{lines}\n"))
}

#[test]
fn words_and_what_they_sound_like_are_read_of_all_files() {
    let include = "\n[[step]]\ninclude = \"parts/tray\"\n";
    let part = "format = 1\nid = \"tray\"\n\n[sounds_like]\n\"hub's\" = \"hubs\"\nundertray = \"under-tray\"\n";
    let job = format!("{SOUND}{include}\n[sounds_like]\nundertray = \"under-tray\"\n");
    let files = Files::job(job).with("parts/tray", part);
    let it = Procedure::load("job", &files).unwrap();
    let all: Vec<(&str, &str)> = it
        .sounds_like
        .iter()
        .map(|(word, like)| (word.as_str(), like.as_str()))
        .collect();
    assert_eq!(all, [("hub's", "hubs"), ("undertray", "under-tray")]);
    let other = part.replace("under-tray", "under-try");
    let job = SOUND.to_owned() + include + "\n[sounds_like]\nundertray = \"under-tray\"\n";
    let twice = problems(&Files::job(job).with("parts/tray", other)).problems;
    assert_eq!(twice.len(), 1);
    assert_eq!(twice[0].code, Code::Duplicate);
}

#[test]
fn what_tells_no_sound_is_refused() {
    for (line, words) in [
        ("Undertray = \"under-tray\"", "\"under-tray\""),
        ("\"under tray\" = \"undertray\"", "\"undertray\""),
        ("m8 = \"em eight\"", "\"em eight\""),
        ("undertray = \"\"", "\"\""),
        ("undertray = \"?\"", "\"?\""),
        ("undertray = \"undertray\"", "\"undertray\""),
        ("undertray = \"under 3\"", "\"under 3\""),
    ] {
        points_at(&with(line), Code::Value, words);
    }
}
