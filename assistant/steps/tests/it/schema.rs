//! The JSON Schema beside the procedures is the one that the types give.

use std::path::Path;

/// `UPDATE_SCHEMA=1 cargo test -p steps --test it schema` writes them anew.
#[test]
fn the_schemas_on_disk_are_those_of_the_types() {
    let (procedure, sheet) = (
        schemars::schema_for!(steps::procedure::File),
        schemars::schema_for!(steps::procedure::SheetFile),
    );
    for (name, schema) in [
        ("procedure.schema.json", procedure),
        ("vehicles/vehicle.schema.json", sheet),
    ] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("../../procedures")
            .join(name);
        let fresh = serde_json::to_string_pretty(&schema).unwrap() + "\n";
        if std::env::var_os("UPDATE_SCHEMA").is_some() {
            std::fs::write(&path, &fresh).unwrap();
        }
        let on_disk = std::fs::read_to_string(&path).unwrap_or_default();
        assert!(
            on_disk == fresh,
            "procedures/{name} isn't up to date: run the test with UPDATE_SCHEMA=1"
        );
    }
}

#[test]
fn every_procedure_names_the_schema_in_its_first_line() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
    for (folder, line) in [
        (folder.clone(), "#:schema ./procedure.schema.json"),
        (folder.join("parts"), "#:schema ../procedure.schema.json"),
        (folder.join("vehicles"), "#:schema ./vehicle.schema.json"),
    ] {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|it| it == "toml") {
                let text = std::fs::read_to_string(&path).unwrap();
                assert_eq!(text.lines().next(), Some(line), "{}", path.display());
            }
        }
    }
}
