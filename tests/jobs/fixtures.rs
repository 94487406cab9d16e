//! The fixtures' script says what the procedures ask for.

use sayback::library::Shelf;
use std::collections::BTreeSet;
use std::path::Path;
use voice::fixtures::{Script, cache_folder};
use whole_jobs::shipped;

#[test]
fn every_shipped_readback_is_among_the_fixtures() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../audio-fixtures");
    let script = Script::open(&cache_folder().unwrap(), &folder).unwrap();
    let groups = script.groups();
    let spoken: BTreeSet<&str> = groups
        .iter()
        .filter(|group| group.name == "readbacks")
        .flat_map(|group| group.phrases.iter().map(String::as_str))
        .collect();
    let mut asked = BTreeSet::new();
    for name in Shelf::Shipped.names().unwrap() {
        let gates = shipped(&name).gates.into_values();
        asked
            .extend(gates.flat_map(|gate| gate.readbacks().map(str::to_owned).collect::<Vec<_>>()));
    }
    assert_eq!(spoken, asked.iter().map(String::as_str).collect());
}
