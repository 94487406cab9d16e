//! A first procedure, made from a few answers and commented, so that its author sees where things go.

use std::fmt::Write;
use toml_edit::Value;

/// The answers.
#[derive(Debug, Clone)]
pub struct Draft {
    /// Its name, which is the file's.
    pub id: String,
    /// What the job is called.
    pub title: String,
    /// What it is for.
    pub vehicle: String,
    /// Where its values come from.
    pub values: String,
    /// How long it takes.
    pub minutes: u32,
    /// What must be true for it to be safe, if anything.
    pub hazard: Option<Hazard>,
    /// What is unscrewed, taken off, put back and tightened.
    pub cover: Cover,
    /// The work itself, an order.
    pub work: String,
}

/// A hold point.
#[derive(Debug, Clone)]
pub struct Hazard {
    /// What must be true, as a clause.
    pub means: String,
    /// What to do and look at.
    pub ask: String,
    /// The words that open it.
    pub readback: String,
}

/// What comes off and goes back, and what holds it.
#[derive(Debug, Clone)]
pub struct Cover {
    /// Its name, without an article.
    pub name: String,
    /// The name of one of its fasteners.
    pub fastener: String,
    /// How many.
    pub count: u16,
    /// Width across flats with its unit.
    pub size: String,
    /// Their torque with its unit.
    pub torque: String,
}

impl Draft {
    /// The file's text.
    pub fn text(&self) -> String {
        let mut text = String::new();
        // Writing into a string can't fail.
        let _ = self.write(&mut text);
        text
    }

    fn write(&self, to: &mut String) -> std::fmt::Result {
        let Cover {
            name,
            fastener,
            count,
            size,
            torque,
        } = &self.cover;
        let needs = match self.hazard {
            Some(_) => "needs = [\"safe\"]\n",
            None => "",
        };
        writeln!(
            to,
            "#:schema ./procedure.schema.json\n# {}. The maker's service information comes before anything here.\n\
             format = 1\nid = {}\ntitle = {}\nvehicle = {}\n# Said before the job starts.\nvalues = {}\nminutes = {}",
            self.title.replace('\n', " "),
            quoted(&self.id),
            quoted(&self.title),
            quoted(&self.vehicle),
            quoted(&self.values),
            self.minutes
        )?;
        writeln!(
            to,
            "\n[lay_out]\n# What to put on, and what to have at hand. New parts and what is used up are added.\n\
             protection = [\"safety glasses\"]\ntools = [{}, \"torque wrench\"]",
            quoted(&format!("{size} socket"))
        )?;
        if let Some(hazard) = &self.hazard {
            writeln!(
                to,
                "\n# ---- what must be true\n\n[[fact]]\nid = \"safe\"\nmeans = {}\n\n[[gate]]\nid = \"safe\"\n\
                 fact = \"safe\"\n# hold-point: what kills or maims, asks for a check word besides. check: what can still be put right later.\n\
                 weight = \"hold-point\"\n# notice, caution, warning or danger.\nsignal = \"warning\"\nask = {}\n# Nothing but these words, heard aloud, opens it.\nreadback = {}\n\
                 # Asked again after a longer pause.\ngood_for_minutes = 60\n\
                 # Add what sounds like it and must not open it: decoys = [\"…\"]",
                quoted(&hazard.means),
                quoted(&hazard.ask),
                quoted(&hazard.readback)
            )?;
        }
        writeln!(
            to,
            "\n# ---- what comes off and goes back\n\n[[item]]\nid = \"part\"\nname = {}\n\n[[fastener]]\n\
             id = \"fasteners\"\nname = {}\ncount = {count}\n# With thread and class the checker judges the torque: \
             thread = \"M8\", class = \"8.8\".\ndrive = {{ shape = \"hex\", size = {} }}\ntorque = {}",
            quoted(name),
            quoted(fastener),
            quoted(size),
            quoted(torque)
        )?;
        writeln!(to, "\n# ---- the job: one action a step, its verb first")?;
        if self.hazard.is_some() {
            writeln!(
                to,
                "\n[[step]]\nid = \"safe-hold\"\naction = \"hold\"\ngate = \"safe\""
            )?;
        }
        let steps = [
            (
                "fasteners-off",
                "action = \"remove\"\nfastener = \"fasteners\"",
                "Unscrew the {count} {fasteners}, {size}.".to_owned(),
            ),
            (
                "part-off",
                "action = \"remove\"\nitem = \"part\"",
                format!("Take the {name} off."),
            ),
            (
                "work",
                "# do, inspect, measure, wait, ask: see docs/src/writing/steps.md.\naction = \"do\"",
                self.work.clone(),
            ),
            (
                "part-on",
                "action = \"refit\"\nitem = \"part\"",
                format!("Put the {name} on."),
            ),
            (
                "fasteners-tight",
                "action = \"tighten\"\nfastener = \"fasteners\"",
                "Tighten the {count} {fasteners} to {torque}.".to_owned(),
            ),
        ];
        for (id, action, text) in steps {
            writeln!(
                to,
                "\n[[step]]\nid = \"{id}\"\n{action}\ntext = {}\n{needs}",
                quoted(&text)
            )?;
            // A step without needs ends in a blank line of its own, and so does one with them.
            to.truncate(to.trim_end().len());
            to.push('\n');
        }
        writeln!(
            to,
            "\n# ---- if the job is given up\n\n[[make_safe]]\nid = \"tag\"\naction = \"do\"\ntext = {}",
            quoted(&format!(
                "Tag the {}: job not finished, do not use.",
                self.vehicle
            ))
        )
    }
}

fn quoted(text: &str) -> String {
    Value::from(text).to_string()
}
