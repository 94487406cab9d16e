//! The `sayback` program.

mod shell;

fn main() -> std::process::ExitCode {
    shell::run()
}
