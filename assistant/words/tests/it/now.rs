//! What may be said in a state, and that each of its phrases means what it should and nothing else.

use proptest::prelude::*;
use std::collections::HashSet;
use steps::{Colour, Command, Decimal, Id, Language, Listen, NumberWanted, PhraseFor, Readback};
use words::now::{CannotListen, NotUnderstood, Stake, StateGrammar, usual_words};

fn value(text: &str) -> Decimal {
    text.parse().unwrap()
}

fn readback() -> Readback {
    Readback {
        gate: Id::new("supported"),
        words: "all five nuts are tight at one hundred and forty and i'm clear".into(),
        alternatives: Vec::new(),
        colour: None,
        decoys: vec!["not yet".into(), "the nuts want tightening".into()],
    }
}

fn measured() -> NumberWanted {
    NumberWanted {
        least: value("15"),
        most: value("25"),
        places: 2,
        unit: "mm".into(),
    }
}

fn all_at_once() -> Listen {
    let phrase = |words: &str, command| PhraseFor {
        words: words.into(),
        command,
    };
    Listen {
        commands: Command::ALL_PLAIN.to_vec(),
        readback: Some(readback()),
        number: Some(measured()),
        phrases: vec![
            phrase(
                "front brakes",
                Command::Start {
                    procedure: Id::new("brakes"),
                },
            ),
            phrase(
                "left",
                Command::Choose {
                    variant: Id::new("side"),
                    option: Id::new("left"),
                },
            ),
            phrase(
                "it won't come off",
                Command::Helper {
                    branch: Id::new("stuck"),
                },
            ),
            phrase(
                "defer the splash shield",
                Command::Defer {
                    item: Id::new("shield"),
                },
            ),
        ],
        dictation: false,
        ..Listen::default()
    }
}

#[test]
fn every_phrase_means_its_own_command_however_it_is_said_or_written() {
    let now = StateGrammar::compile(&all_at_once()).unwrap();
    let mut words = HashSet::new();
    let mut numbers = 0;
    for sayable in now.phrases() {
        assert!(
            words.insert(sayable.words.clone()),
            "“{}” is there twice",
            sayable.words
        );
        assert_eq!(sayable.spoken[0], sayable.words);
        let nothing = matches!(sayable.command, None | Some(Command::NotSo));
        assert!(nothing || !sayable.decoy, "{}", sayable.words);
        assert!(sayable.decoy || sayable.command.is_some());
        numbers += usize::from(sayable.stake == Stake::Number);
        for said in [&sayable.words]
            .into_iter()
            .chain(&sayable.spoken)
            .chain(&sayable.written)
        {
            match &sayable.command {
                Some(command) => assert_eq!(now.parse(said).as_ref(), Ok(command), "{said}"),
                None => assert!(
                    matches!(now.parse(said), Err(NotUnderstood::NotTheReadback(_))),
                    "{said}"
                ),
            }
        }
    }
    assert_eq!(numbers, 1001);
}

#[test]
fn every_command_can_be_said_and_has_usual_words() {
    // As the job names them when asked "what are my options".
    let usual = [
        "next",
        "okay",
        "go back",
        "say again",
        "slower",
        "faster",
        "louder",
        "softer",
        "another voice",
        "short answers",
        "full answers",
        "my wrench is in newton metres",
        "my wrench is in newton centimetres",
        "my wrench is in foot pounds",
        "my wrench is in inch pounds",
        "my wrench is in kilogram metres",
        "my wrench is in kilogram centimetres",
        "listen to everything",
        "wait for your name",
        "wait for the key",
        "tell me more",
        "where am i",
        "what's next",
        "what size",
        "what torque",
        "in newton metres",
        "in newton centimetres",
        "in foot pounds",
        "in inch pounds",
        "in kilogram metres",
        "in kilogram centimetres",
        "what's my wrench set to",
        "with the adapter",
        "which pass",
        "what load",
        "how much longer",
        "how long is left",
        "how many",
        "what tool",
        "dry or oiled",
        "do i reuse it",
        "why",
        "read the warning",
        "what's off",
        "next one",
        "take a note",
        "yes",
        "no",
        "not yet",
        "it isn't",
        "no wait",
        "hold on",
        "carry on",
        "stop",
        "finish",
        "abandon",
        "help",
        "it won't budge",
        "skip it",
    ];
    for (command, usual) in Command::ALL_PLAIN.into_iter().zip(usual) {
        let now = StateGrammar::compile(&Listen {
            commands: vec![command.clone()],
            ..Listen::default()
        });
        let now = now.unwrap();
        assert!(now.phrases().len() >= 3, "{command:?}");
        assert_eq!(now.parse(usual), Ok(command.clone()));
        assert_eq!(
            now.parse(&usual_words(Language::English, &command).unwrap()),
            Ok(command)
        );
    }
}

#[test]
fn what_is_said_in_other_words_is_understood() {
    let now = StateGrammar::compile(&all_at_once()).unwrap();
    for (said, meant) in [
        ("That's done.", Command::Next),
        ("thats done", Command::Next),
        ("Hang on, not yet!", Command::NotYet),
        ("No, that’s wrong", Command::No),
        (
            "Start the front brakes.",
            Command::Start {
                procedure: Id::new("brakes"),
            },
        ),
        (
            "leave off the splash shield",
            Command::Defer {
                item: Id::new("shield"),
            },
        ),
        (
            "It won't come off!",
            Command::Helper {
                branch: Id::new("stuck"),
            },
        ),
        (
            "seventeen point five",
            Command::Reading {
                value: value("17.50"),
            },
        ),
        (
            "Reading 17.5 mm.",
            Command::Reading {
                value: value("17.50"),
            },
        ),
        (
            "17.5mm",
            Command::Reading {
                value: value("17.50"),
            },
        ),
        (
            "the reading is one seven point five millimetres",
            Command::Reading {
                value: value("17.5"),
            },
        ),
        (
            "seventeen and a half",
            Command::Reading {
                value: value("17.5"),
            },
        ),
        (
            "All 5 nuts are tight at 140, and I'm clear.",
            Command::Readback {
                gate: Id::new("supported"),
                colour: None,
            },
        ),
    ] {
        assert_eq!(now.parse(said), Ok(meant), "{said}");
    }
}

#[test]
fn a_size_in_a_name_is_said_in_words() {
    let item = Command::Defer {
        item: Id::new("bolts"),
    };
    let phrase = PhraseFor {
        words: "defer the M8 bolts".into(),
        command: item.clone(),
    };
    let now = StateGrammar::compile(&Listen {
        phrases: vec![phrase],
        ..Listen::default()
    });
    assert_eq!(now.unwrap().parse("defer the m eight bolts"), Ok(item));
}

#[test]
fn what_does_not_belong_is_told_apart() {
    let now = StateGrammar::compile(&all_at_once()).unwrap();
    assert_eq!(now.parse("  … "), Err(NotUnderstood::NoWords));
    assert_eq!(
        now.parse("pass me the hammer"),
        Err(NotUnderstood::Unknown("pass me the hammer".into()))
    );
    assert_eq!(
        now.parse("next next"),
        Err(NotUnderstood::Unknown("next next".into())),
        "all words count, not some"
    );
    assert!(matches!(
        now.parse("splash shield"),
        Err(NotUnderstood::Unknown(_))
    ));
    assert!(matches!(
        now.parse("thirty"),
        Err(NotUnderstood::OutOfRange { .. })
    ));
    assert!(matches!(
        now.parse("17.505"),
        Err(NotUnderstood::TooFine { .. })
    ));
    assert_eq!(
        now.parse("all five nuts are not tight at 140 and i'm clear"),
        Ok(Command::NotSo)
    );
    assert!(matches!(
        now.parse("all five nuts are tight at 140 and i'm clear i think"),
        Err(NotUnderstood::NotTheReadback(_))
    ));
    assert!(now.parse("all five nuts are tight").is_err());
    let only_stop = Listen {
        commands: vec![Command::Stop],
        ..Listen::default()
    };
    let only_stop = StateGrammar::compile(&only_stop).unwrap();
    assert_eq!(
        only_stop.parse("Next."),
        Err(NotUnderstood::NotNow {
            words: "next".into(),
            command: Command::Next
        })
    );
    assert!(matches!(
        only_stop.parse("seventeen"),
        Err(NotUnderstood::Unknown(_))
    ));
}

#[test]
fn a_readback_is_heard_at_its_own_gate_only() {
    let listen = Listen {
        readback: Some(readback()),
        ..Listen::default()
    };
    let now = StateGrammar::compile(&listen).unwrap();
    let gates = now
        .phrases()
        .iter()
        .filter(|phrase| phrase.stake == Stake::Gate);
    assert_eq!(gates.filter(|phrase| !phrase.decoy).count(), 1);
    assert!(now.phrases().len() > 20);
    let elsewhere = StateGrammar::compile(&Listen {
        commands: Command::ALL_PLAIN.to_vec(),
        ..Listen::default()
    });
    assert!(elsewhere.unwrap().parse(&readback().words).is_err());
}

#[test]
fn a_note_takes_whatever_is_said_and_still_hears_stop() {
    let listen = Listen {
        commands: vec![Command::Stop],
        dictation: true,
        ..Listen::default()
    };
    let now = StateGrammar::compile(&listen).unwrap();
    assert!(now.takes_dictation());
    assert_eq!(now.parse("Stop talking."), Ok(Command::Stop));
    assert_eq!(
        now.parse("Next: the boot is torn"),
        Ok(Command::Dictation {
            words: "Next: the boot is torn".into()
        })
    );
}

#[test]
fn faults_of_a_procedure_are_told() {
    let choose = |words: &str| Listen {
        commands: vec![Command::Stop],
        number: Some(measured()),
        phrases: vec![PhraseFor {
            words: words.into(),
            command: Command::Choose {
                variant: Id::new("side"),
                option: Id::new("left"),
            },
        }],
        ..Listen::default()
    };
    for clash in ["Stop!", "twenty", "the reading is 20"] {
        let error = StateGrammar::compile(&choose(clash)).unwrap_err();
        assert!(
            matches!(error, CannotListen::Clash { .. }),
            "{clash}: {error}"
        );
    }
    assert!(matches!(
        StateGrammar::compile(&choose("…")),
        Err(CannotListen::NoWords(_))
    ));
    let mut own = readback();
    own.decoys
        .push("All five nuts are tight at one hundred and forty, and I'm clear.".into());
    let listen = Listen {
        readback: Some(own),
        ..Listen::default()
    };
    assert!(matches!(
        StateGrammar::compile(&listen),
        Err(CannotListen::DecoyIsReadback(_))
    ));
    let wide = NumberWanted {
        most: value("60"),
        ..measured()
    };
    let error = StateGrammar::compile(&Listen {
        number: Some(wide),
        ..Listen::default()
    })
    .unwrap_err();
    assert_eq!(
        error.to_string(),
        "4501 numbers could be said between 15 and 60, and at most 1200 can be told apart: narrow the plausible range or give fewer decimal places"
    );
}

#[test]
fn a_gate_with_a_colour_takes_its_words_with_that_colour_only() {
    for asked in Colour::ALL {
        let readback = Readback {
            colour: Some(asked),
            ..readback()
        };
        let listen = Listen {
            commands: Command::ALL_PLAIN.to_vec(),
            readback: Some(readback.clone()),
            ..Listen::default()
        };
        let now = StateGrammar::compile(&listen).unwrap();
        for colour in Colour::ALL {
            let said = now.parse(&format!(
                "{}, {}.",
                readback.words,
                colour.word(Language::English)
            ));
            if colour == asked {
                let gate = readback.gate.clone();
                let opens = Command::Readback {
                    gate,
                    colour: Some(asked),
                };
                assert_eq!(said, Ok(opens));
            } else {
                assert!(matches!(said, Err(NotUnderstood::NotTheReadback(_))));
            }
        }
        assert!(now.parse(&readback.words).is_err());
        assert!(now.parse(&asked.word(Language::English)).is_err());
    }
}

/// A gate with two readbacks.
fn either() -> Readback {
    Readback {
        words: "both stands are pinned and nothing moved".into(),
        alternatives: vec!["it's on the stands and solid as a rock".into()],
        colour: Some(Colour::Brown),
        decoys: vec!["one stand is pinned and nothing moved".into()],
        ..readback()
    }
}

#[test]
fn any_readback_of_a_gate_opens_it_and_what_sounds_like_any_of_them_does_not() {
    let listen = Listen {
        commands: Command::ALL_PLAIN.to_vec(),
        readback: Some(either()),
        ..Listen::default()
    };
    let now = StateGrammar::compile(&listen).unwrap();
    let opens = Ok(Command::Readback {
        gate: either().gate,
        colour: Some(Colour::Brown),
    });
    for words in [&either().words, &either().alternatives[0]] {
        assert_eq!(now.parse(&format!("{words} brown")), opens);
        assert!(now.parse(words).is_err(), "{words}");
        assert!(now.parse(&format!("{words} silver")).is_err(), "{words}");
        let denials = words::decoys::decoys(Language::English, &format!("{words} brown"));
        for denial in denials {
            let phrase = now.phrases().iter().find(|it| it.words == denial);
            assert!(phrase.is_some_and(|it| it.decoy), "{denial}");
        }
    }
}

#[test]
fn a_report_that_it_is_not_so_is_understood_as_one_and_competes_as_a_decoy() {
    let listen = Listen {
        commands: vec![Command::NotSo, Command::No, Command::NotYet],
        readback: Some(either()),
        ..Listen::default()
    };
    let now = StateGrammar::compile(&listen).unwrap();
    for said in [
        "One stand is pinned and nothing moved.",
        "both stands aren't pinned",
        "both stands are not pinned",
        "both stands are pinned and something moved",
        "both stands are pinned and something moved brown",
        "it isn't on the stands",
    ] {
        assert_eq!(now.parse(said), Ok(Command::NotSo), "{said}");
        let phrase = now.phrases().iter().find(|it| it.words == plain(said));
        assert!(phrase.is_some_and(|it| it.decoy), "{said}");
    }
    for said in ["one's still loose", "it isn't right yet", "it's not"] {
        assert_eq!(now.parse(said), Ok(Command::NotSo), "{said}");
    }
    assert_eq!(now.parse("no"), Ok(Command::No));
    assert_eq!(now.parse("not yet"), Ok(Command::NotYet));
    // Whoever asks, or says half of it, reports nothing.
    for said in [
        "both stands are pinned and",
        "are both stands pinned and nothing moved brown",
        "both stands are pinned and nothing moved",
    ] {
        assert!(now.parse(said).is_err(), "{said}");
    }
}

fn plain(said: &str) -> String {
    said.to_lowercase().trim_end_matches('.').to_owned()
}

#[test]
fn alternatives_that_deny_each_other_cannot_be_listened_for() {
    let listen = Listen {
        readback: Some(Readback {
            alternatives: vec!["both stands aren't pinned and nothing moved".into()],
            ..either()
        }),
        ..Listen::default()
    };
    let compiled = StateGrammar::compile(&listen);
    assert!(matches!(compiled, Err(CannotListen::DenialIsReadback(_))));
}

#[test]
fn a_readback_cannot_be_a_decoy_of_its_gate() {
    let listen = |decoy: &str| Listen {
        readback: Some(Readback {
            decoys: vec![decoy.into()],
            ..either()
        }),
        ..Listen::default()
    };
    for own in [&either().words, &either().alternatives[0]] {
        let compiled = StateGrammar::compile(&listen(own));
        assert!(matches!(compiled, Err(CannotListen::DecoyIsReadback(_))));
    }
}

proptest! {
    #[test]
    fn no_words_make_it_panic_or_open_the_gate(text in any::<String>()) {
        let listen = Listen { readback: Some(readback()), number: Some(NumberWanted { most: value("16"), ..measured() }), ..Listen::default() };
        let now = StateGrammar::compile(&listen).unwrap();
        let opened = matches!(now.parse(&text), Ok(Command::Readback { .. }));
        prop_assert!(!opened);
    }

    #[test]
    fn no_range_makes_it_panic(
        least in -1_000_000i64..1_000_000, most in -1_000_000i64..1_000_000,
        places in 0u8..=6, wanted in 0u8..=12,
    ) {
        let wanted = NumberWanted {
            least: Decimal::new(least, places).unwrap(),
            most: Decimal::new(most, places).unwrap(),
            places: wanted,
            unit: "mm".into(),
        };
        if let Ok(now) = StateGrammar::compile(&Listen { number: Some(wanted.clone()), ..Listen::default() }) {
            for phrase in now.phrases() {
                let Some(Command::Reading { value }) = phrase.command else { panic!("{phrase:?}") };
                prop_assert!(wanted.least <= value && value <= wanted.most);
            }
        }
    }

    #[test]
    fn one_word_changed_never_opens_the_gate(at in 0usize..13, word in "[a-z]{2,9}") {
        let listen = Listen { readback: Some(readback()), commands: Command::ALL_PLAIN.to_vec(), ..Listen::default() };
        let now = StateGrammar::compile(&listen).unwrap();
        let mut words: Vec<&str> = listen.readback.as_ref().unwrap().words.split(' ').collect();
        prop_assume!(words[at % words.len()] != word);
        let at = at % words.len();
        words[at] = &word;
        let opened = matches!(now.parse(&words.join(" ")), Ok(Command::Readback { .. }));
        prop_assert!(!opened, "{}", words.join(" "));
    }
}

/// What a technician says off a gauge, with the value by hand: a thou is a thousandth of an inch, a sixteenth of an
/// inch 0.0625 in (definitions).
#[test]
fn readings_are_said_in_parts_of_their_unit() {
    let reads = |least: &str, most: &str, places, unit: &str, said: &str| {
        let wanted = NumberWanted {
            least: value(least),
            most: value(most),
            places,
            unit: unit.into(),
        };
        let listen = Listen {
            number: Some(wanted),
            ..Listen::default()
        };
        match StateGrammar::compile(&listen).unwrap().parse(said) {
            Ok(Command::Reading { value }) => Some(value.to_string()),
            Ok(_) | Err(_) => None,
        }
    };
    for (said, meant) in [
        ("two hundred thou", "0.200"),
        ("two hundred and five thou", "0.205"),
        ("200 thou", "0.200"),
        ("one thou", "0.001"),
        ("reading forty-five thousandths", "0.045"),
        (
            "three hundred and seventy five thousandths of an inch",
            "0.375",
        ),
        ("point two inches", "0.200"),
        ("zero point two zero five inches", "0.205"),
        ("three eighths of an inch", "0.375"),
        ("half an inch", "0.500"),
        ("a quarter of an inch", "0.250"),
        ("three eighths", "0.375"),
    ] {
        let read = reads("0.000", "0.999", 3, "in", said);
        assert_eq!(read.as_deref(), Some(meant), "{said}");
    }
    for (said, meant) in [
        ("one sixteenth of an inch", "0.0625"),
        ("two and a half thou", "0.0025"),
        ("five tenths of a thou", "0.0005"),
    ] {
        let read = reads("0.0000", "0.1000", 4, "in", said);
        assert_eq!(read.as_deref(), Some(meant), "{said}");
    }
    for (said, meant) in [
        ("four tenths", "0.40"),
        ("four tenths of a millimetre", "0.40"),
        ("4 tenths of a millimeter", "0.40"),
        ("one hundredth of a millimetre", "0.01"),
        ("five hundredths", "0.05"),
        ("twelve hundredths", "0.12"),
        ("twenty-one tenths", "2.10"),
        ("half a millimetre", "0.50"),
    ] {
        let read = reads("0.00", "5.00", 2, "mm", said);
        assert_eq!(read.as_deref(), Some(meant), "{said}");
    }
    // "Tenths" of an inch or of a thou: nobody knows which.
    assert_eq!(reads("0.000", "0.999", 3, "in", "four tenths"), None);
    assert_eq!(reads("0", "100", 0, "°C", "four tenths"), None);
}

/// Every way that is listed for a thou or a tenth reads back as its own value, and as no other's.
#[test]
fn every_value_in_parts_reads_back_as_itself() {
    for (least, most, places, unit) in [("0.000", "1.000", 3, "in"), ("0.00", "2.00", 2, "mm")] {
        let wanted = NumberWanted {
            least: value(least),
            most: value(most),
            places,
            unit: unit.into(),
        };
        let now = StateGrammar::compile(&Listen {
            number: Some(wanted),
            ..Listen::default()
        })
        .unwrap();
        let mut in_parts = 0;
        for sayable in now.phrases() {
            let ways = sayable.spoken.iter().chain(&sayable.written);
            for said in ways.filter(|said| said.contains("thou") || said.contains("ths")) {
                in_parts += 1;
                assert_eq!(now.parse(said).ok(), sayable.command, "{said}");
            }
        }
        assert!(in_parts > 100, "{in_parts}");
    }
}

/// A recogniser that hears words may not know a word of the trade, and listens for what it sounds like.
#[test]
fn a_strange_word_is_said_as_it_sounds_too_unless_that_means_something_else() {
    let gate = |like: &str, decoys: &[&str]| {
        let listen = Listen {
            commands: vec![Command::Next],
            readback: Some(Readback {
                gate: Id::new("chocked"),
                words: "all four wheels are chocked and stay put".into(),
                alternatives: Vec::new(),
                colour: None,
                decoys: decoys.iter().map(|it| (*it).to_owned()).collect(),
            }),
            sounds_like: [("chocked".to_owned(), like.to_owned())].into(),
            ..Listen::default()
        };
        StateGrammar::compile(&listen).unwrap()
    };
    let open = Ok(Command::Readback {
        gate: Id::new("chocked"),
        colour: None,
    });
    let now = gate("chock-ed", &["all four wheels are choked and stay put"]);
    let said = "all four wheels are chock ed and stay put";
    assert_eq!(
        now.phrases()
            .iter()
            .filter(|it| it.spoken.contains(&said.to_owned()))
            .count(),
        1
    );
    assert_eq!(now.parse(said), open);
    for sayable in now.phrases() {
        for said in &sayable.spoken {
            let command = now.parse(said).ok();
            assert_eq!(command, sayable.command, "{said}");
        }
    }
    // What it is said to sound like is what must not open the gate.
    let decoy = "all four wheels are choked and stay put";
    let now = gate("choked", &[decoy]);
    assert_eq!(now.parse(decoy), Ok(Command::NotSo));
    let readback = now
        .phrases()
        .iter()
        .find(|it| it.command == open.clone().ok());
    assert_eq!(readback.unwrap().spoken.len(), 1);
    // A decoy that sounds like the readback: neither is said so.
    let now = gate("chock-ed", &["all four wheels are chock-ed and stay put"]);
    assert_eq!(now.parse(said), Ok(Command::NotSo));
}

#[test]
fn which_one_is_meant_never_takes_a_commands_words() {
    let that_one = Command::ThatOne {
        fastener: Id::new("next-plug"),
    };
    let listen = Listen {
        commands: vec![Command::Next],
        phrases: vec![PhraseFor {
            words: "next".into(),
            command: that_one.clone(),
        }],
        ..Listen::default()
    };
    let now = StateGrammar::compile(&listen).unwrap();
    assert_eq!(now.parse("next"), Ok(Command::Next));
    assert_eq!(now.parse("the next one"), Ok(that_one));
}
