//! Who works: the names that may be said, and whose hands the job is in at first.

use crate::procedure::as_heard;
use serde::{Deserialize, Serialize};

/// The most names of a bay: each is listened for all the time.
pub const MAX_PEOPLE: usize = 12;

/// The longest name, in characters.
pub const LONGEST_NAME: usize = 40;

/// The people of a bay. A job that knows nobody records nobody, and closes without a signature.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct People {
    /// Who begins the job.
    by: Option<String>,
    /// Who may take it over or sign it off.
    known: Vec<String>,
}

/// Why names can't be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NameProblem {
    /// Not a name.
    #[error(
        "“{0}” can't be a name that is said: write 1 to {LONGEST_NAME} letters, as it is spoken"
    )]
    NotAName(String),
    /// Two that sound the same.
    #[error("“{0}” is there twice: add something that tells the two apart when it is said")]
    Twice(String),
    /// Too many.
    #[error("there are {0} names: at most {MAX_PEOPLE} can be told apart in a bay")]
    TooMany(usize),
    /// A name that isn't one of those known.
    #[error("“{name}” isn't one of this bay's people: {known}")]
    Unknown {
        name: String,
        /// Those that are.
        known: String,
    },
}

impl People {
    /// The people of a bay, and who of them begins; `by` alone when no others are known.
    ///
    /// # Errors
    /// When a name can't be said or listened for, or `by` isn't among those known.
    pub fn new(known: Vec<String>, by: Option<String>) -> Result<Self, NameProblem> {
        let mut heard = Vec::new();
        for name in known.iter().chain(&by) {
            let fits = name.chars().count() <= LONGEST_NAME
                && name.chars().any(char::is_alphabetic)
                && name
                    .chars()
                    .all(|c| c.is_alphabetic() || " '-.’".contains(c));
            if !fits {
                return Err(NameProblem::NotAName(name.clone()));
            }
        }
        for name in &known {
            // An apostrophe isn't heard.
            let sound = as_heard(name).replace('\'', "");
            if heard.contains(&sound) {
                return Err(NameProblem::Twice(name.clone()));
            }
            heard.push(sound);
        }
        if known.len() > MAX_PEOPLE {
            return Err(NameProblem::TooMany(known.len()));
        }
        let by = match by {
            Some(name) if known.is_empty() => Some(name),
            Some(name) => {
                let same = known.iter().find(|it| as_heard(it) == as_heard(&name));
                Some(same.cloned().ok_or_else(|| NameProblem::Unknown {
                    name,
                    known: known.join(", "),
                })?)
            }
            // Where only one works there is nothing to ask.
            None if known.len() == 1 => known.first().cloned(),
            None => None,
        };
        Ok(Self { by, known })
    }

    /// Who begins.
    pub fn by(&self) -> Option<&str> {
        self.by.as_deref()
    }

    /// All who may take the job over or sign it off.
    pub fn everybody(&self) -> &[String] {
        if self.known.is_empty() {
            self.by.as_slice()
        } else {
            &self.known
        }
    }

    /// Whether nobody is known.
    pub fn is_nobody(&self) -> bool {
        self.everybody().is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(known: &[&str], by: Option<&str>) -> Result<People, NameProblem> {
        People::new(
            known.iter().map(|it| it.to_string()).collect(),
            by.map(str::to_owned),
        )
    }

    #[test]
    fn who_begins_is_one_of_the_bay() {
        let bay = ["Mara", "Jo-Ann"];
        assert_eq!(of(&bay, None).unwrap().by(), None);
        assert_eq!(of(&bay, Some("jo ann")).unwrap().by(), Some("Jo-Ann"));
        assert_eq!(of(&["Mara"], None).unwrap().by(), Some("Mara"));
        assert_eq!(of(&[], Some("Mara")).unwrap().everybody(), ["Mara"]);
        assert!(of(&[], None).unwrap().is_nobody());
        assert!(matches!(
            of(&bay, Some("Tove")),
            Err(NameProblem::Unknown { .. })
        ));
    }

    #[test]
    fn names_that_cant_be_told_apart_or_said_are_refused() {
        let same = of(&["O'Neil", "ONeil"], None);
        assert_eq!(same, Err(NameProblem::Twice("ONeil".into())));
        assert_eq!(
            of(&["Mara", "mara"], None),
            Err(NameProblem::Twice("mara".into()))
        );
        for name in ["", " ", "R2", "{x}", &"a".repeat(41)] {
            assert_eq!(of(&[name], None), Err(NameProblem::NotAName(name.into())));
        }
        let many: Vec<String> = (0..13)
            .map(|n| format!("{}a", char::from(b'a' + n)))
            .collect();
        assert_eq!(People::new(many, None), Err(NameProblem::TooMany(13)));
    }
}
