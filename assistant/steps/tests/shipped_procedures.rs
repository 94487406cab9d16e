//! The shipped procedures can be used as they are.

use std::path::Path;
use steps::Procedure;
use steps::procedure::{Library, ReadError};

struct Folder;

impl Library for Folder {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
        std::fs::read(folder.join(format!("{name}.toml")))
            .map_err(|error| ReadError::Failed(error.to_string()))
    }
}

#[test]
fn every_shipped_procedure_loads_and_checks() {
    for name in ["front-half-shaft", "front-brakes", "trailer-hub"] {
        match Procedure::load(name, &Folder) {
            Ok(procedure) => {
                println!(
                    "{name}: {} steps, {} gates",
                    procedure.steps.len(),
                    procedure.gates.len()
                );
                assert!(
                    (25..=60).contains(&procedure.steps.len()),
                    "{name} has {} steps",
                    procedure.steps.len()
                );
            }
            Err(problems) => panic!("{:?}", miette::Report::new(problems)),
        }
    }
}
