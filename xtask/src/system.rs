//! Packages of the operating system, by apt on Debian and Ubuntu.

use std::process::{Command, Stdio};

use crate::Failure;
use crate::progress;
use crate::setup::{Amiss, Purpose};

/// Without these nothing of the workspace can be built.
const TO_BUILD: &[&str] = &[
    "clang",
    "libasound2-dev",
    "libclang-dev",
    "libspeechd-dev",
    "pkg-config",
];

/// Without these the program runs, but speaks nothing.
const TO_SPEAK: &[&str] = &["espeak-ng", "flite", "sox"];

/// What the tests need besides: a room without hardware, and tools that look at what the program made or disturb it.
const TO_TEST: &[&str] = &[
    "alsa-utils",
    // The pictures of the page that are kept were drawn with this typeface.
    "chromium",
    "fonts-dejavu-core",
    "fonts-dejavu-extra",
    "libasound2-plugins",
    // Changes the clock of a test's process.
    "libfaketime",
    "openssl",
    // Reads the reports' PDF back.
    "poppler-utils",
    "procps",
    "pulseaudio",
    "pulseaudio-utils",
    "speech-dispatcher",
    "speech-dispatcher-espeak-ng",
    // Kills a process at a chosen system call, or lets that call fail.
    "strace",
];

/// Who may install packages here.
enum Installer {
    Root,
    Sudo,
    Nobody,
}

fn wanted(purpose: Purpose) -> Vec<&'static str> {
    let to_test = match purpose {
        Purpose::Demonstration | Purpose::Licences => &[],
        Purpose::Tests | Purpose::Everything => TO_TEST,
    };
    [TO_BUILD, TO_SPEAK, to_test].concat()
}

/// Whether all packages for this purpose are installed.
pub fn are_there(purpose: Purpose) -> bool {
    missing(&wanted(purpose)).is_some_and(|missing| missing.is_empty())
}

/// Sees to it that the packages for this purpose are installed.
pub fn ensure(purpose: Purpose) -> Result<(), Amiss> {
    let wanted = wanted(purpose);
    let Some(missing) = missing(&wanted) else {
        return Err(Amiss::Incomplete(Failure::new(format!(
            "This isn't Debian or Ubuntu (no dpkg-query), so system packages can't be checked. Needed: {}. Install what your system calls these.",
            wanted.join(" ")
        ))));
    };
    if missing.is_empty() {
        return Ok(());
    }
    let apt: &[&str] = match installer() {
        Installer::Root => &["env"],
        Installer::Sudo => &["sudo", "-n", "env"],
        Installer::Nobody => return Err(amiss(&missing)),
    };
    progress::line(&missing.join(" "));
    // An apt run can fail once when another one runs.
    let done = install(apt, &missing) || {
        std::thread::sleep(std::time::Duration::from_secs(5));
        install(apt, &missing)
    };
    if done {
        Ok(())
    } else {
        Err(amiss(&self::missing(&wanted).unwrap_or(missing)))
    }
}

fn amiss(missing: &[&str]) -> Amiss {
    let command = format!(
        "sudo apt-get update && sudo apt-get install -y --no-install-recommends {}",
        missing.join(" ")
    );
    let told = |still: &str| {
        Failure::new(format!(
            "System packages are missing: {}.\n  {still}\n  Install them with:\n    {command}",
            missing.join(" ")
        ))
    };
    if missing.iter().any(|package| TO_BUILD.contains(package)) {
        Amiss::CannotBuild(told(
            "Without them the workspace can't be built; only this set-up works.",
        ))
    } else {
        Amiss::Incomplete(told(
            "Without them the program builds, but some of it can't speak or be tested.",
        ))
    }
}

/// Those of the wanted packages that aren't installed, or `None` where there is no dpkg.
fn missing(wanted: &[&'static str]) -> Option<Vec<&'static str>> {
    // dpkg-query fails when it knows nothing of one name, and still answers for the others.
    let answer = Command::new("dpkg-query")
        .args(["--show", "--showformat", "${db:Status-Status} ${Package}\n"])
        .args(wanted)
        .stderr(Stdio::null())
        .output()
        .ok()?;
    let answer = String::from_utf8_lossy(&answer.stdout).into_owned();
    Some(not_installed(&answer, wanted.iter().copied()))
}

fn not_installed<'a>(answer: &str, wanted: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let installed: Vec<&str> = answer
        .lines()
        .filter_map(|line| line.strip_prefix("installed "))
        .collect();
    wanted
        .filter(|package| !installed.contains(package))
        .collect()
}

fn installer() -> Installer {
    let quiet = |program: &str, arguments: &[&str]| {
        Command::new(program)
            .args(arguments)
            .stdin(Stdio::null())
            .stderr(Stdio::null())
            .output()
    };
    let is_root = quiet("id", &["-u"]).is_ok_and(|answer| answer.stdout.trim_ascii() == b"0");
    if is_root {
        Installer::Root
    } else if quiet("sudo", &["-n", "true"]).is_ok_and(|answer| answer.status.success()) {
        Installer::Sudo
    } else {
        Installer::Nobody
    }
}

/// Runs apt-get by the program `by` and its arguments; true when the packages are installed.
fn install(by: &[&str], packages: &[&str]) -> bool {
    let apt = |arguments: &[&str]| {
        let Some((program, before)) = by.split_first() else {
            return false;
        };
        let mut command = Command::new(program);
        command
            .args(before)
            .args(["DEBIAN_FRONTEND=noninteractive", "apt-get", "-y"]);
        if !progress::watched() {
            command.arg("-qq");
        }
        command.args(arguments).stdin(Stdio::null());
        command.status().is_ok_and(|status| status.success())
    };
    // An outdated list is no reason to stop: the packages may be known already.
    apt(&["update"]);
    let mut arguments = vec!["install", "--no-install-recommends"];
    if progress::watched() {
        arguments.extend(["-o", "Dpkg::Progress-Fancy=1"]);
    }
    arguments.extend(packages);
    apt(&arguments)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn removed_and_unknown_packages_are_missing() {
        let answer = "installed sox\nconfig-files flite\n";
        assert_eq!(
            not_installed(answer, ["sox", "flite", "clang"].into_iter()),
            ["flite", "clang"]
        );
    }
}
