//! What differs between two versions of a procedure, in the trade's words.

use super::{
    Action, Drive, FastenerGroup, Gate, Item, Procedure, RatedFor, ReadingOf, StandsUnder, Step,
    Wait, WaitTime,
};
use crate::Id;
use crate::quantity::{Depth, Pattern, Stage};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::{self, Display};
use std::time::Duration;

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// Whether it is at a hold point, or at what a step needs or voids: whoever knows the old words must hear of it.
    pub at_gate: bool,
    /// What differs: “front pad bolt: torque 35 N·m → 38 N·m”.
    pub told: String,
}

impl Display for Difference {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.told)
    }
}

/// What differs, hold points first.
pub fn differences(old: &Procedure, new: &Procedure) -> Vec<Difference> {
    let mut found = Found::default();
    found.head(old, new);
    found.things(
        "hold point",
        &old.gates,
        &new.gates,
        true,
        |it: &Gate| it.readback_written.clone(),
        gate,
    );
    found.facts(old, new);
    found.sounds(old, new);
    found.things(
        "fastener group",
        &old.fasteners,
        &new.fasteners,
        false,
        |it: &FastenerGroup| it.counted(),
        fastener,
    );
    found.things(
        "part that comes off",
        &old.items,
        &new.items,
        false,
        |it: &Item| it.name.clone(),
        item,
    );
    found.things(
        "reading",
        &old.readings,
        &new.readings,
        false,
        |it: &ReadingOf| it.name.clone(),
        reading,
    );
    found.steps("", &old.steps, &new.steps);
    for id in old
        .branches
        .keys()
        .chain(new.branches.keys())
        .collect::<BTreeSet<_>>()
    {
        match (old.branches.get(id), new.branches.get(id)) {
            (Some(before), Some(after)) => {
                found.field(
                    &format!("trouble “{id}”"),
                    "said",
                    &before.say.join("; "),
                    &after.say.join("; "),
                );
                found.steps(&format!("trouble “{id}”, "), &before.steps, &after.steps);
            }
            (Some(_), None) => found.tell(format!("trouble “{id}” taken out")),
            (None, Some(_)) => found.tell(format!("trouble “{id}” added")),
            (None, None) => {}
        }
    }
    found.steps("giving up, ", &old.make_safe, &new.make_safe);
    let mut all = found.0;
    all.sort_by_key(|it| !it.at_gate);
    all
}

#[derive(Default)]
struct Found(Vec<Difference>);

impl Found {
    fn tell(&mut self, told: String) {
        self.0.push(Difference {
            at_gate: false,
            told,
        });
    }

    fn tell_gate(&mut self, told: String) {
        self.0.push(Difference {
            at_gate: true,
            told,
        });
    }

    fn field(&mut self, of: &str, what: &str, before: &str, after: &str) {
        if before != after {
            self.tell(changed(of, what, before, after));
        }
    }

    fn head(&mut self, old: &Procedure, new: &Procedure) {
        let language = |it: &Procedure| it.language.name();
        self.field("job", "language", language(old), language(new));
        self.field("job", "title", &old.title, &new.title);
        self.field("job", "vehicle", &old.vehicle, &new.vehicle);
        self.field("job", "source of the values", &old.values, &new.values);
        let minutes = |it: &Procedure| format!("{} minutes", it.usual_time.as_secs() / 60);
        self.field("job", "usual time", &minutes(old), &minutes(new));
        self.listed("caution", &old.cautions, &new.cautions);
        self.listed(
            "protection",
            &old.lay_out.protection,
            &new.lay_out.protection,
        );
        self.listed("tool", &old.lay_out.tools, &new.lay_out.tools);
        self.listed("part", &old.lay_out.parts, &new.lay_out.parts);
        self.listed(
            "consumable",
            &old.lay_out.consumables,
            &new.lay_out.consumables,
        );
        let phases = |it: &Procedure| -> Vec<String> {
            let minutes = |it: Duration| format!(", {} minutes", it.as_secs() / 60);
            let phases = it.phases.iter();
            let phases = phases.map(|it| {
                let estimate = it.estimate.map(minutes).unwrap_or_default();
                format!("{} from “{}”{estimate}", it.name, it.from)
            });
            phases.collect()
        };
        self.listed("phase", &phases(old), &phases(new));
        let asked = |it: &Procedure| -> Vec<String> {
            let options = |options: &[(Id, String)]| {
                let all: Vec<&str> = options.iter().map(|(_, say)| say.as_str()).collect();
                all.join(" or ")
            };
            it.variants
                .iter()
                .map(|it| format!("{} ({})", it.ask, options(&it.options)))
                .collect()
        };
        self.listed("question at the start", &asked(old), &asked(new));
    }

    /// What strange words sound like: it is heard by recognisers, and said by the voice.
    fn sounds(&mut self, old: &Procedure, new: &Procedure) {
        let (old, new) = (&old.sounds_like, &new.sounds_like);
        for word in old.keys().chain(new.keys()).collect::<BTreeSet<_>>() {
            let like = |it: &BTreeMap<String, String>| optional(&it.get(word));
            self.field(
                &format!("the word “{word}”"),
                "sounds like",
                &like(old),
                &like(new),
            );
        }
    }

    fn listed(&mut self, what: &str, old: &[String], new: &[String]) {
        for gone in old.iter().filter(|it| !new.contains(it)) {
            self.tell(format!("{what} taken out: {gone}"));
        }
        for added in new.iter().filter(|it| !old.contains(it)) {
            self.tell(format!("{what} added: {added}"));
        }
    }

    fn facts(&mut self, old: &Procedure, new: &Procedure) {
        for (id, fact) in &new.facts {
            if let Some(before) = old.facts.get(id).filter(|before| *before != fact) {
                let told = changed(
                    &format!("fact “{id}”"),
                    "meaning",
                    &before.means,
                    &fact.means,
                );
                self.tell_gate(told);
            }
        }
    }

    /// Things by name: which were added, taken out, changed.
    fn things<T>(
        &mut self,
        kind: &str,
        old: &BTreeMap<Id, T>,
        new: &BTreeMap<Id, T>,
        at_gate: bool,
        name: fn(&T) -> String,
        fields: fn(&T) -> Vec<(&'static str, String)>,
    ) {
        let mut tell = |told| self.0.push(Difference { at_gate, told });
        for (id, it) in old {
            let Some(after) = new.get(id) else {
                tell(format!("{kind} “{id}” taken out: {}", name(it)));
                continue;
            };
            for ((what, before), (_, after)) in fields(it).into_iter().zip(fields(after)) {
                if before != after {
                    tell(changed(&format!("{kind} “{id}”"), what, &before, &after));
                }
            }
        }
        for (id, it) in new.iter().filter(|(id, _)| !old.contains_key(*id)) {
            tell(format!("{kind} “{id}” added: {}", name(it)));
        }
    }

    fn steps(&mut self, within: &str, old: &[Step], new: &[Step]) {
        let before: BTreeMap<&Id, &Step> = old.iter().map(|step| (&step.id, step)).collect();
        let after: BTreeMap<&Id, &Step> = new.iter().map(|step| (&step.id, step)).collect();
        for step in old.iter().filter(|step| !after.contains_key(&step.id)) {
            self.a_step(
                step,
                format!("{within}step “{}” taken out{}", step.id, said(step)),
            );
        }
        for step in new.iter().filter(|step| !before.contains_key(&step.id)) {
            self.a_step(
                step,
                format!("{within}step “{}” added{}", step.id, said(step)),
            );
        }
        let kept = |steps: &[Step], there: &BTreeMap<&Id, &Step>| -> Vec<Id> {
            let kept = steps.iter().filter(|step| there.contains_key(&step.id));
            kept.map(|step| step.id.clone()).collect()
        };
        let (was, is) = (kept(old, &after), kept(new, &before));
        let in_place = in_common(&was, &is);
        for (at, id) in is
            .iter()
            .enumerate()
            .filter(|(_, id)| !in_place.contains(id))
        {
            let Some(step) = after.get(id) else { continue };
            let behind = match at.checked_sub(1).and_then(|at| is.get(at)) {
                Some(behind) => format!("now after “{behind}”"),
                None => "now the first".to_owned(),
            };
            self.a_step(step, format!("{within}step “{id}” moved: {behind}"));
        }
        for step in new {
            if let Some(was) = before.get(&step.id) {
                self.one_step(within, was, step);
            }
        }
    }

    /// A step that is a hold is a hold point's difference.
    fn a_step(&mut self, step: &Step, told: String) {
        let at_gate = matches!(step.action, Action::Hold(_));
        self.0.push(Difference { at_gate, told });
    }

    fn one_step(&mut self, within: &str, was: &Step, is: &Step) {
        let of = format!("{within}step “{}”", is.id);
        for ((what, before), (_, after)) in safety(was).into_iter().zip(safety(is)) {
            if before != after {
                self.tell_gate(changed(&of, what, &before, &after));
            }
        }
        for ((what, before), (_, after)) in words(was).into_iter().zip(words(is)) {
            self.field(&of, what, &before, &after);
        }
    }
}

fn changed(of: &str, what: &str, before: &str, after: &str) -> String {
    let shown = |text: &str| match text {
        "" => "none".to_owned(),
        text => text.to_owned(),
    };
    format!("{of}: {what} {} → {}", shown(before), shown(after))
}

fn said(step: &Step) -> String {
    match step.text.as_str() {
        "" => String::new(),
        text => format!(": {text}"),
    }
}

fn names(ids: &[Id]) -> String {
    let ids: Vec<&str> = ids.iter().map(Id::as_str).collect();
    ids.join(", ")
}

fn yes(it: bool) -> String {
    match it {
        true => "yes".to_owned(),
        false => "no".to_owned(),
    }
}

fn optional<T: Display>(it: &Option<T>) -> String {
    it.as_ref().map(ToString::to_string).unwrap_or_default()
}

fn gate(it: &Gate) -> Vec<(&'static str, String)> {
    vec![
        ("readback", format!("“{}”", it.readback_written)),
        ("other readbacks", it.alternatives.join("; ")),
        ("signal word", it.signal.word().to_owned()),
        ("what to look at", it.ask.clone()),
        ("more", optional(&it.more)),
        ("weight", it.weight.name().to_owned()),
        ("fact", it.fact.to_string()),
        ("needs", names(&it.needs)),
        (
            "good for",
            format!("{} minutes", it.good_for.as_secs() / 60),
        ),
        ("sentences that must not open it", it.decoys.join("; ")),
        ("load", it.load.map(load).unwrap_or_default()),
    ]
}

fn load(it: StandsUnder) -> String {
    let (rated, rating, _) = it.rating;
    let each = match rated {
        RatedFor::Each => "each",
        RatedFor::Pair => "a pair",
    };
    format!(
        "{}, {} % on the axle, {} stands for {rating} {each}, {} % of it usable",
        it.mass.0, it.axle_share, it.stands, it.usable
    )
}

fn fastener(it: &FastenerGroup) -> Vec<(&'static str, String)> {
    let torque = it
        .torque
        .iter()
        .flat_map(|it| it.all())
        .map(ToString::to_string);
    let pass = |it: &Stage| match it {
        Stage::Percent(percent) => format!("{percent} %"),
        Stage::Torque(torque) => torque.to_string(),
        Stage::Angle(angle) => format!("{angle}°"),
    };
    let passes: Vec<String> = it.passes.iter().map(pass).collect();
    let drive = |it: Drive| {
        let depth = match it.depth {
            Some(Depth::Deep) => ", deep",
            Some(Depth::Standard) => ", standard depth",
            None => "",
        };
        format!("{} {}{depth}", it.size, it.shape.name())
    };
    let order = it.pattern.map(|it| match it {
        Pattern::CrissCross => "crosswise",
        Pattern::Star => "in a star",
        Pattern::InTurn => "in turn",
    });
    vec![
        ("torque", torque.collect::<Vec<_>>().join(" or ")),
        ("count", it.count.to_string()),
        ("size", it.drive.map(drive).unwrap_or_default()),
        (
            "further turn",
            it.angle.map(|it| format!("{it}°")).unwrap_or_default(),
        ),
        ("passes", passes.join(", ")),
        ("order", order.unwrap_or_default().to_owned()),
        ("turned beyond its yield", yes(it.to_yield)),
        ("running torque", optional(&it.running)),
        ("tightened again", optional(&it.again_after)),
        ("thread", optional(&it.thread)),
        ("strength", optional(&it.class)),
        ("threadlocker", optional(&it.threadlocker)),
        ("lubrication", optional(&it.lubrication)),
        ("new each time", yes(it.once_only)),
        ("part number", optional(&it.part_number)),
        ("may wait", yes(it.may_wait)),
        ("name", it.name.clone()),
        ("name of several", it.names.clone()),
    ]
}

fn item(it: &Item) -> Vec<(&'static str, String)> {
    vec![
        ("name", it.name.clone()),
        ("while it isn't in place", it.off.clone()),
        ("new each time", yes(it.once_only)),
        ("part number", optional(&it.part_number)),
        ("quantity", it.quantity.to_string()),
        ("core return", yes(it.core_return)),
        ("may wait", yes(it.may_wait)),
    ]
}

fn reading(it: &ReadingOf) -> Vec<(&'static str, String)> {
    vec![
        ("limits", it.limits().unwrap_or_default()),
        ("name", it.name.clone()),
        ("unit", it.unit.clone()),
        ("range", format!("{} to {}", it.least, it.most)),
        ("out of limits leads to", optional(&it.out)),
        ("may wait", yes(it.may_wait)),
    ]
}

/// What of a step the hold points hang on.
fn safety(it: &Step) -> Vec<(&'static str, String)> {
    let hold = match &it.action {
        Action::Hold(gate) => gate.to_string(),
        Action::Do
        | Action::Loosen(_)
        | Action::Remove(_)
        | Action::Refit(_)
        | Action::Tighten(_)
        | Action::Measure(_)
        | Action::Wait(_)
        | Action::Inspect
        | Action::Ask { .. } => String::new(),
    };
    vec![
        ("needs", names(&it.needs)),
        ("makes untrue", names(&it.voids)),
        ("hold point", hold),
    ]
}

fn words(it: &Step) -> Vec<(&'static str, String)> {
    let warning = it.warning.as_ref();
    let when: Vec<String> = it
        .when
        .iter()
        .map(|(variant, option)| format!("{variant} {option}"))
        .collect();
    let uses: Vec<String> = it
        .consumables
        .iter()
        .map(|it| format!("{} {}", it.amount, it.what))
        .collect();
    let takes = it.takes.map(|it| format!("{} minutes", it.as_secs() / 60));
    vec![
        ("words", it.text.clone()),
        (
            "warning",
            warning
                .map(|it| format!("{}: {}", it.signal.word(), it.text))
                .unwrap_or_default(),
        ),
        ("action", action(&it.action)),
        ("short words", optional(&it.short)),
        ("reason", optional(&it.why)),
        ("more", optional(&it.more)),
        ("tools", it.tools.join(", ")),
        ("consumables", uses.join(", ")),
        ("takes", takes.unwrap_or_default()),
        ("only for", when.join(", ")),
        ("only while off", optional(&it.when_off)),
        ("help offered", names(&it.helpers)),
        ("second tightening", yes(it.again)),
        ("fastener group", optional(&it.fastener)),
    ]
}

fn action(it: &Action) -> String {
    match it {
        Action::Do => "do".to_owned(),
        Action::Loosen(id) => format!("loosen {id}"),
        Action::Remove(thing) => format!("remove {}", thing.id()),
        Action::Refit(thing) => format!("refit {}", thing.id()),
        Action::Tighten(id) => format!("tighten {id}"),
        Action::Measure(id) => format!("measure {id}"),
        Action::Wait(it) => wait(it),
        Action::Inspect => "inspect".to_owned(),
        Action::Ask { yes, no } => format!("ask, yes {}, no {}", optional(yes), optional(no)),
        Action::Hold(id) => format!("hold {id}"),
    }
}

fn wait(it: &Wait) -> String {
    let time = match &it.time {
        WaitTime::Fixed(time) => format!("{} minutes", time.as_secs() / 60),
        WaitTime::ByTemperature { reading, rows } => {
            let rows: Vec<String> = rows
                .iter()
                .map(|(at, minutes)| format!("{at} {minutes} minutes"))
                .collect();
            format!("by {reading}: {}", rows.join(", "))
        }
        WaitTime::Until(id) => format!("until {id} is over"),
    };
    match it.runs_on {
        true => format!("wait {time}, work goes on"),
        false => format!("wait {time}"),
    }
}

/// The longest list of names that stand in both in this order. Both lists have at most 300.
fn in_common(a: &[Id], b: &[Id]) -> BTreeSet<Id> {
    let mut longest = vec![vec![0_usize; b.len() + 1]; a.len() + 1];
    for i in (0..a.len()).rev() {
        for j in (0..b.len()).rev() {
            longest[i][j] = match a[i] == b[j] {
                true => longest[i + 1][j + 1] + 1,
                false => longest[i + 1][j].max(longest[i][j + 1]),
            };
        }
    }
    let (mut i, mut j) = (0, 0);
    let mut common = BTreeSet::new();
    while i < a.len() && j < b.len() {
        if a[i] == b[j] {
            common.insert(a[i].clone());
            i += 1;
            j += 1;
        } else if longest[i + 1][j] >= longest[i][j + 1] {
            i += 1;
        } else {
            j += 1;
        }
    }
    common
}
