//! Phones as features, and what it costs to take one for another.
//!
//! Features, their values and their weights are those of G. Kondrak, “A New Algorithm for the Alignment of Phonetic
//! Sequences”, NAACL 2000, tables 1 to 4. How ARPAbet's phones map onto them is common practice.

/// A consonant or a vowel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Segment {
    Consonant {
        place: f64,
        manner: f64,
        voice: f64,
        nasal: f64,
        lateral: f64,
    },
    Vowel {
        high: f64,
        back: f64,
        round: f64,
        retroflex: f64,
    },
}

/// What a phone is worth that is left out or put in (Kondrak's C_skip), and one that is the same (C_sub); what a vowel
/// counts less (C_vwl).
const SKIP: f64 = 10.0;
const SAME: f64 = 35.0;
const VOWEL: f64 = 10.0;

impl Segment {
    /// How much a phone agrees with itself.
    pub fn weight(self) -> f64 {
        match self {
            Self::Consonant { .. } => SAME,
            Self::Vowel { .. } => SAME - 2.0 * VOWEL,
        }
    }

    /// What it costs to leave it out.
    pub fn left_out(self) -> f64 {
        self.weight() / 2.0 + SKIP
    }

    /// What it costs to take it for another; none where no alignment puts the two side by side.
    pub fn taken_for(self, other: Self) -> Option<f64> {
        match (self, other) {
            (
                Self::Consonant {
                    place,
                    manner,
                    voice,
                    nasal,
                    lateral,
                },
                Self::Consonant {
                    place: other_place,
                    manner: other_manner,
                    voice: other_voice,
                    nasal: other_nasal,
                    lateral: other_lateral,
                },
            ) => Some(
                40.0 * (place - other_place).abs()
                    + 50.0 * (manner - other_manner).abs()
                    + 10.0 * (voice - other_voice).abs()
                    + 10.0 * (nasal - other_nasal).abs()
                    + 10.0 * (lateral - other_lateral).abs(),
            ),
            (
                Self::Vowel {
                    high,
                    back,
                    round,
                    retroflex,
                },
                Self::Vowel {
                    high: other_high,
                    back: other_back,
                    round: other_round,
                    retroflex: other_retroflex,
                },
            ) => Some(
                5.0 * (high - other_high).abs()
                    + 5.0 * (back - other_back).abs()
                    + 5.0 * (round - other_round).abs()
                    + 10.0 * (retroflex - other_retroflex).abs(),
            ),
            (Self::Consonant { .. }, Self::Vowel { .. })
            | (Self::Vowel { .. }, Self::Consonant { .. }) => None,
        }
    }
}

/// The segments of a pronunciation in ARPAbet; a mark of stress behind a vowel is passed over. None where a phone isn't
/// English.
pub(super) fn segments(phones: &str) -> Option<Vec<Segment>> {
    let mut all = Vec::new();
    for phone in phones.split_whitespace() {
        let phone = phone.trim_end_matches(|it: char| it.is_ascii_digit());
        match (vowels(phone), consonant(phone)) {
            (Some(vowels), _) => all.extend_from_slice(vowels),
            (None, Some(consonant)) => all.push(consonant),
            (None, None) => return None,
        }
    }
    (!all.is_empty()).then_some(all)
}

const BILABIAL: f64 = 1.0;
const LABIODENTAL: f64 = 0.95;
const DENTAL: f64 = 0.9;
const ALVEOLAR: f64 = 0.85;
const PALATO_ALVEOLAR: f64 = 0.75;
const PALATAL: f64 = 0.7;
const VELAR: f64 = 0.6;
const GLOTTAL: f64 = 0.1;

const STOP: f64 = 1.0;
const AFFRICATE: f64 = 0.9;
const FRICATIVE: f64 = 0.8;
const APPROXIMANT: f64 = 0.6;

fn consonant(phone: &str) -> Option<Segment> {
    let (place, manner, voice) = match phone {
        "P" => (BILABIAL, STOP, 0.0),
        "B" | "M" => (BILABIAL, STOP, 1.0),
        "T" => (ALVEOLAR, STOP, 0.0),
        "D" | "N" => (ALVEOLAR, STOP, 1.0),
        "K" => (VELAR, STOP, 0.0),
        "G" | "NG" => (VELAR, STOP, 1.0),
        "CH" => (PALATO_ALVEOLAR, AFFRICATE, 0.0),
        "JH" => (PALATO_ALVEOLAR, AFFRICATE, 1.0),
        "F" => (LABIODENTAL, FRICATIVE, 0.0),
        "V" => (LABIODENTAL, FRICATIVE, 1.0),
        "TH" => (DENTAL, FRICATIVE, 0.0),
        "DH" => (DENTAL, FRICATIVE, 1.0),
        "S" => (ALVEOLAR, FRICATIVE, 0.0),
        "Z" => (ALVEOLAR, FRICATIVE, 1.0),
        "SH" => (PALATO_ALVEOLAR, FRICATIVE, 0.0),
        "ZH" => (PALATO_ALVEOLAR, FRICATIVE, 1.0),
        "HH" => (GLOTTAL, FRICATIVE, 0.0),
        "L" | "R" => (ALVEOLAR, APPROXIMANT, 1.0),
        "W" => (BILABIAL, APPROXIMANT, 1.0),
        "Y" => (PALATAL, APPROXIMANT, 1.0),
        _ => return None,
    };
    Some(Segment::Consonant {
        place,
        manner,
        voice,
        nasal: f64::from(u8::from(matches!(phone, "M" | "N" | "NG"))),
        lateral: f64::from(u8::from(phone == "L")),
    })
}

const fn vowel(high: f64, back: f64, round: f64) -> Segment {
    Segment::Vowel {
        high,
        back,
        round,
        retroflex: 0.0,
    }
}

const HIGH_FRONT: Segment = vowel(1.0, 1.0, 0.0);
const MID_FRONT: Segment = vowel(0.5, 1.0, 0.0);
const LOW_FRONT: Segment = vowel(0.0, 1.0, 0.0);
const MID_CENTRAL: Segment = vowel(0.5, 0.5, 0.0);
const LOW_BACK: Segment = vowel(0.0, 0.0, 0.0);
const MID_BACK: Segment = vowel(0.5, 0.0, 1.0);
const HIGH_BACK: Segment = vowel(1.0, 0.0, 1.0);
const MID_RETROFLEX: Segment = Segment::Vowel {
    high: 0.5,
    back: 0.5,
    round: 0.0,
    retroflex: 1.0,
};

/// A vowel, or the two of a diphthong. EY and OW are taken as one: in many accents they are.
fn vowels(phone: &str) -> Option<&'static [Segment]> {
    Some(match phone {
        "IY" | "IH" => &[HIGH_FRONT],
        "EY" | "EH" => &[MID_FRONT],
        "AE" => &[LOW_FRONT],
        "AH" => &[MID_CENTRAL],
        "AA" => &[LOW_BACK],
        "AO" | "OW" => &[MID_BACK],
        "UH" | "UW" => &[HIGH_BACK],
        "ER" => &[MID_RETROFLEX],
        "AY" => &[LOW_FRONT, HIGH_FRONT],
        "AW" => &[LOW_FRONT, HIGH_BACK],
        "OY" => &[MID_BACK, HIGH_FRONT],
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cost(one: &str, other: &str) -> f64 {
        let segment = |phone| segments(phone).unwrap()[0];
        segment(one).taken_for(segment(other)).unwrap()
    }

    /// `delta` of NLTK 3.10.4's `nltk.metrics.aline`, a port of Kondrak's program, with the weights of the paper.
    #[test]
    fn consonants_are_as_far_apart_as_another_program_says() {
        for (one, other, expected) in [
            ("P", "B", 10.0),
            ("T", "D", 10.0),
            ("T", "K", 10.0),
            ("S", "Z", 10.0),
            ("S", "SH", 4.0),
            ("F", "TH", 2.0),
            ("M", "N", 6.0),
            ("N", "NG", 10.0),
            ("L", "R", 10.0),
            ("W", "R", 6.0),
            ("Y", "R", 6.0),
            ("HH", "F", 34.0),
            ("N", "F", 34.0),
            ("T", "SH", 14.0),
            ("N", "L", 40.0),
            ("M", "S", 36.0),
            ("M", "L", 46.0),
        ] {
            let told = cost(one, other);
            assert!((told - expected).abs() < 1e-9, "{one} {other}: {told}");
            assert!((cost(other, one) - told).abs() < 1e-9);
        }
    }

    /// The same for vowels, with the height (5 from low to high) that the port leaves out.
    #[test]
    fn vowels_are_as_far_apart_as_another_program_says() {
        for (one, other, port, height) in [
            ("IY", "EY", 0.0, 0.5),
            ("AA", "AO", 5.0, 0.5),
            ("AE", "AA", 5.0, 0.0),
            ("AH", "IY", 2.5, 0.5),
            ("AE", "EY", 0.0, 0.5),
            ("UW", "OW", 0.0, 0.5),
        ] {
            let told = cost(one, other);
            let expected = port + 5.0 * height;
            assert!((told - expected).abs() < 1e-9, "{one} {other}: {told}");
        }
    }

    #[test]
    fn what_is_no_phone_has_no_sound() {
        assert_eq!(segments("K AE1 P"), segments("K AE P"));
        assert_eq!(segments("K XX P"), None);
        assert_eq!(segments(" "), None);
    }
}
