//! Where procedures and vehicle sheets come from: the program itself, or a folder.

use files::FileError;
use std::path::{Path, PathBuf};
use steps::Procedure;
use steps::procedure::{
    Code, Examined, Finding, Library, MAX_BYTES, Problems, ReadError, Vehicle, sheet_named,
};

macro_rules! shipped {
    ($($name:literal),* $(,)?) => {
        &[$(($name, include_str!(concat!("../../../procedures/", $name, ".toml")))),*]
    };
}

/// Procedures in other languages that come with the program, by the name that they are called by, and their parts.
const TRANSLATED: &[(&str, &str)] = &[
    (
        "starter-battery-es",
        include_str!("../../../procedures/es/starter-battery-es.toml"),
    ),
    (
        "es/parts/battery-off",
        include_str!("../../../procedures/es/parts/battery-off.toml"),
    ),
    (
        "es/parts/battery-on",
        include_str!("../../../procedures/es/parts/battery-on.toml"),
    ),
    (
        "es/parts/engine-clear",
        include_str!("../../../procedures/es/parts/engine-clear.toml"),
    ),
    (
        "es/parts/park-and-chock",
        include_str!("../../../procedures/es/parts/park-and-chock.toml"),
    ),
];

/// The procedures and parts that come with the program, in English.
const SHIPPED: &[(&str, &str)] = shipped![
    "control-arm",
    "coolant-change",
    "damper-spring",
    "drive-belt",
    "flanged-half-shaft",
    "front-brakes",
    "front-half-shaft",
    "outboard-gear-oil",
    "rear-brakes",
    "slipway-winch",
    "standby-generator",
    "starter-battery",
    "trailer-hub",
    "wheel-bearing",
    "parts/battery-off",
    "parts/battery-on",
    "parts/brake-corner",
    "parts/brake-trouble",
    "parts/caliper-aside",
    "parts/caliper-back",
    "parts/cooled",
    "parts/drum-corner",
    "parts/drum-trouble",
    "parts/engine-clear",
    "parts/lock-away",
    "parts/lock-out",
    "parts/lower",
    "parts/park-and-chock",
    "parts/pedal",
    "parts/prove-dead",
    "parts/raise-and-support",
    "parts/recheck",
    "parts/road-test",
    "parts/wheel-loosen",
    "parts/wheel-off",
    "parts/wheel-on",
    "parts/wheel-tighten",
    "parts/wheel-trouble",
    "parts/wheels-tight",
];

/// The sheets of the invented vehicles that come with the program.
const VEHICLES: &[(&str, &str)] = shipped![
    "vehicles/blue-trailer",
    "vehicles/depot-van",
    "vehicles/van-four",
    "vehicles/van-seven",
    "vehicles/van-two",
    "vehicles/work-boat",
];

/// Where procedures and vehicle sheets are read from.
#[derive(Debug, Clone)]
pub enum Shelf {
    /// Those that come with the program.
    Shipped,
    /// A folder of `*.toml`, parts in folders below it, vehicle sheets in its folder `vehicles`. What it lacks is taken
    /// from the program, so that one's own procedures may include the shipped parts.
    Folder(PathBuf),
}

impl Shelf {
    /// The names of those procedures that come with the program in other languages than English, which the default
    /// ear can't hear; a folder's are among its [`names`](Self::names).
    pub fn translations(&self) -> Vec<String> {
        match self {
            Self::Shipped => {
                let names = TRANSLATED.iter().map(|(name, _)| (*name).to_owned());
                names.filter(|name| !name.contains('/')).collect()
            }
            Self::Folder(_) => Vec::new(),
        }
    }

    /// The names of the procedures (not the parts), sorted; of those that come with the program the English ones. A folder
    /// has those of the program, too, that one of its vehicle sheets is for.
    ///
    /// # Errors
    /// When the folder can't be read.
    pub fn names(&self) -> Result<Vec<String>, std::io::Error> {
        let mut names: Vec<String> = match self {
            Self::Shipped => {
                let names = SHIPPED.iter().map(|(name, _)| (*name).to_owned());
                names.filter(|name| !name.contains('/')).collect()
            }
            Self::Folder(folder) => {
                let mut names = toml_files(folder)?;
                let sheets = self.sheets()?.into_iter();
                let fits = sheets
                    .filter_map(|sheet| Vehicle::load(&sheet, self).ok())
                    .flat_map(|vehicle| vehicle.fits);
                names.extend(fits.filter(|name| shipped(name).is_ok()));
                names
            }
        };
        names.sort();
        names.dedup();
        Ok(names)
    }

    /// The names of the vehicle sheets, sorted, those of types among them; of a folder only its own.
    ///
    /// # Errors
    /// When the folder can't be read.
    pub fn sheets(&self) -> Result<Vec<String>, std::io::Error> {
        let mut names: Vec<String> = match self {
            Self::Shipped => {
                let names = VEHICLES.iter().filter_map(|(name, _)| sheet_named(name));
                names.map(str::to_owned).collect()
            }
            Self::Folder(folder) => match toml_files(&folder.join("vehicles")) {
                Err(error) if error.kind() == std::io::ErrorKind::NotFound => Vec::new(),
                files => files?,
            },
        };
        names.sort();
        Ok(names)
    }

    /// The vehicles, and what is wrong with sheets that can't be used.
    ///
    /// # Errors
    /// When the folder can't be read.
    pub fn vehicles(&self) -> Result<(Vec<Vehicle>, Vec<Problems>), std::io::Error> {
        let (mut vehicles, mut faulty) = (Vec::new(), Vec::new());
        for sheet in self.sheets()? {
            match Vehicle::load(&sheet, self) {
                Ok(vehicle) => vehicles.push(vehicle),
                Err(problems) => faulty.push(problems),
            }
        }
        Ok((vehicles, faulty))
    }

    /// The vehicles that can be named, and whose sheets are for a procedure; none of those with a faulty sheet.
    ///
    /// # Errors
    /// When the folder can't be read.
    pub fn vehicles_for(&self, procedure: &str) -> Result<Vec<Vehicle>, std::io::Error> {
        let (mut vehicles, _) = self.vehicles()?;
        vehicles.retain(|it| !it.names.is_empty() && it.fits.contains(procedure));
        Ok(vehicles)
    }

    /// A procedure to be listed: by itself, or with the first vehicle that it fits where it needs one.
    ///
    /// # Errors
    /// All that is wrong with it, drawn at its place.
    pub fn load_to_list(&self, name: &str) -> Result<Procedure, Box<Problems>> {
        self.load(name).or_else(|problems| {
            let needs_one = problems.problems.iter().all(|it| it.code == Code::Sheet);
            let vehicles = self.vehicles_for(name).unwrap_or_default();
            match vehicles.first().filter(|_| needs_one) {
                Some(vehicle) => self.load_with(name, Some(vehicle.id.as_str())),
                None => Err(problems),
            }
        })
    }

    /// Reads and checks one procedure.
    ///
    /// # Errors
    /// All that is wrong with it, drawn at its place.
    pub fn load(&self, name: &str) -> Result<Procedure, Box<Problems>> {
        self.load_with(name, None)
    }

    /// The same with the values of a vehicle's sheet.
    ///
    /// # Errors
    /// All that is wrong with it, drawn at its place; what the sheet lacks is wrong, too.
    pub fn load_with(&self, name: &str, sheet: Option<&str>) -> Result<Procedure, Box<Problems>> {
        Procedure::load_with(name, sheet, self).map_err(Box::new)
    }

    /// The same, and what looks like a slip of its author.
    ///
    /// # Errors
    /// All that is wrong with it, drawn at its place.
    pub fn load_for_its_author(
        &self,
        name: &str,
    ) -> Result<(Procedure, Vec<Finding>), Box<Problems>> {
        Procedure::load_for_its_author(name, self).map_err(Box::new)
    }
}

impl Shelf {
    /// Reads and checks one procedure, mistakes and doubts together; with the values of a vehicle's sheet where one is
    /// named.
    pub fn examine_with(&self, name: &str, sheet: Option<&str>) -> Examined {
        Procedure::examine_with(name, sheet, self)
    }
}

impl Library for Shelf {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        match self {
            Self::Shipped => shipped(name),
            Self::Folder(folder) => match from_folder(folder, name) {
                Err(ReadError::Missing) => shipped(name),
                read => read,
            },
        }
    }
}

/// The names of the `*.toml` files in a folder.
fn toml_files(folder: &Path) -> Result<Vec<String>, std::io::Error> {
    let files = std::fs::read_dir(folder)?.filter_map(|entry| {
        let path = entry.ok()?.path();
        let is_toml = path
            .extension()
            .is_some_and(|extension| extension == "toml");
        let name = path.file_stem()?.to_str()?.to_owned();
        (is_toml && path.is_file()).then_some(name)
    });
    Ok(files.collect())
}

fn shipped(name: &str) -> Result<Vec<u8>, ReadError> {
    let mut all = SHIPPED.iter().chain(TRANSLATED).chain(VEHICLES);
    let found = all.find(|(known, _)| *known == name);
    found
        .map(|(_, text)| text.as_bytes().to_vec())
        .ok_or(ReadError::Missing)
}

fn from_folder(folder: &Path, name: &str) -> Result<Vec<u8>, ReadError> {
    // An include names a file below the folder, never one beside it.
    let plain =
        |part: &str| !part.is_empty() && part != "." && part != ".." && !part.contains('\\');
    if !name.split('/').all(plain) {
        return Err(ReadError::Failed(
            "a name may not lead out of the procedures folder".into(),
        ));
    }
    let file = PathBuf::from(format!("{name}.toml"));
    files::read_below(folder, &file, MAX_BYTES as u64).map_err(|error| match error {
        FileError::Missing(_) => ReadError::Missing,
        // Whoever tells of it names the file.
        FileError::System { source, .. } => ReadError::Failed(source.to_string()),
        error => ReadError::Failed(error.to_string()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_files_of_the_procedures_folder_are_in_the_program() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
        let mut on_disk = Vec::new();
        for (below, prefix) in [
            (folder.clone(), ""),
            (folder.join("es"), ""),
            (folder.join("parts"), "parts/"),
            (folder.join("es/parts"), "es/parts/"),
            (folder.join("vehicles"), "vehicles/"),
        ] {
            for entry in std::fs::read_dir(below).unwrap() {
                let path = entry.unwrap().path();
                if path
                    .extension()
                    .is_some_and(|extension| extension == "toml")
                {
                    on_disk.push(format!(
                        "{prefix}{}",
                        path.file_stem().unwrap().to_str().unwrap()
                    ));
                }
            }
        }
        on_disk.sort();
        let all = SHIPPED.iter().chain(TRANSLATED).chain(VEHICLES);
        let mut shipped: Vec<&str> = all.map(|(name, _)| *name).collect();
        shipped.sort_unstable();
        assert_eq!(shipped, on_disk);
    }

    #[test]
    fn nothing_outside_the_folder_is_read() {
        let shelf = Shelf::Folder(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures"));
        for name in [
            "../Cargo",
            "parts/../../Cargo",
            "/etc/passwd",
            "",
            "parts//lower",
        ] {
            assert!(
                matches!(shelf.read(name), Err(ReadError::Failed(_))),
                "{name}"
            );
        }
        assert!(shelf.read("parts/lower").is_ok());
    }
}
