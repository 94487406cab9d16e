//! The assistant never hears itself: all that it says on the straight way through three jobs comes back into the microphone,
//! as loud as the technician and less loud, through the echo canceller, the end-pointer and the ear.

mod bay;

use bay::{Bay, Caused, JOBS, Prompt, prompts};

/// How loud the loudspeaker comes back, against the technician, in decibels.
const LEVELS: [f32; 3] = [0.0, -6.0, -12.0];

/// So many prompts of a level may silence the assistant, since a doubtful stop stops; none may cause more.
const SILENCED: usize = 1;

#[test]
fn no_prompt_of_three_jobs_causes_a_command_or_opens_a_gate() {
    for level in [6.0].into_iter().chain(LEVELS) {
        // One after the other, as at the bench: the canceller knows the room after the first sentence.
        let mut bay = Bay::new(level);
        let (mut count, mut silenced) = (0, 0);
        for job in JOBS {
            for prompt in prompts(job) {
                count += 1;
                for caused in bay.hears(prompt, None) {
                    let said = prompt.said.join(" ");
                    println!("{level} dB, {job}, “{said}” caused {caused:?}");
                    assert_eq!(caused, Caused::Silence);
                    silenced += 1;
                }
            }
        }
        println!(
            "{level} dB: {count} prompts, {:.0} s, {} stretches judged, {silenced} silenced it",
            bay.seconds(),
            bay.judged()
        );
        assert!(count > 150, "the jobs have {count} prompts");
        assert!(silenced <= SILENCED, "{silenced} of {count} at {level} dB");
    }
}

/// What the technician says over it, and how.
const SAID: [(&str, &str); 8] = [
    ("espeak-us-man", "stop"),
    ("flite-man-fast", "stop"),
    ("neural-man", "stop"),
    ("espeak-us-man", "where am i"),
    ("flite-man-fast", "say again"),
    ("neural-man", "hold on"),
    ("espeak-us-man", "next"),
    ("flite-man-fast", "next step"),
];

/// So many commands of a level may be taken for another one that only asks. None may that moves the job on.
const MISTAKEN: usize = 2;

#[test]
fn a_command_is_heard_over_it() {
    let prompts: Vec<&Prompt> = prompts("front-half-shaft")
        .iter()
        .filter(|prompt| prompt.listens_for(&SAID.map(|(_, words)| words)))
        .collect();
    for (level, most) in LEVELS.into_iter().zip([4, 6, 10]) {
        let mut bay = Bay::new(level);
        // The room is learnt before.
        bay.hears(prompts[0], None);
        let (mut count, mut silenced, mut missed, mut mistaken) = (0, 0, 0, 0);
        for (prompt, (voice, words)) in prompts.iter().skip(1).zip(SAID.iter().cycle()) {
            count += 1;
            let meant = Caused::by(prompt.means(words));
            let caused = bay.hears(prompt, Some((voice, words)));
            for other in caused.iter().filter(|it| !it.is(&meant)) {
                assert!(
                    other.is_harmless(),
                    "{level} dB: “{words}” by {voice} caused {other:?}"
                );
                if *other != Caused::Silence {
                    mistaken += 1;
                    println!("{level} dB: “{words}” by {voice} caused {other:?}");
                }
            }
            if !caused.iter().any(|it| it.is(&meant)) {
                let silence = caused.contains(&Caused::Silence);
                silenced += usize::from(silence);
                missed += usize::from(!silence);
                println!("{level} dB: “{words}” by {voice} caused {caused:?}");
            }
        }
        println!(
            "{level} dB: of {count} commands over speech {silenced} only silenced it, {missed} were missed, {mistaken} mistaken"
        );
        assert!(count >= 60);
        assert!(mistaken <= MISTAKEN, "{mistaken} of {count} at {level} dB");
        assert!(missed <= count / most, "{missed} of {count} at {level} dB");
    }
}
