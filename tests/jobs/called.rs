//! Where people talk beside the vehicle, it listens only when it is called.

use sayback::work::attention::{Attention, Listening};
use sayback::work::hearing::Meaning;
use steps::Command;
use whole_jobs::in_a_workshop;

#[test]
fn what_isnt_said_to_it_is_no_concern_of_its_and_stop_is() {
    in_a_workshop("front-brakes", "espeak-us-man", |shop, _| {
        let name = "workshop foreman".to_owned();
        shop.set_attention(Listening::new(
            Attention::ByName(name.clone()),
            Some(name.clone()),
            false,
        ));
        let digest = shop.job().digest();
        for words in ["front", "where am i", "abandon", "go back"] {
            let meanings = shop.say(words);
            assert!(
                meanings.iter().all(|it| *it == Meaning::Ignored),
                "“{words}” was taken for {meanings:?}"
            );
        }
        assert_eq!(shop.say("stop"), [Meaning::Told(Command::Stop)]);
        assert_eq!(shop.say(&name), [Meaning::Called]);
        assert_eq!(shop.say("where am i"), [Meaning::Told(Command::WhereAmI)]);
        assert_eq!(shop.job().digest(), digest);
    });
}
