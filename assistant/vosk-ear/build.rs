//! Tells the linker where libvosk is, and the program to look for it in its own folder first.

fn main() {
    println!("cargo:rerun-if-env-changed=VOSK_LIB_DIR");
    // Without it the linker looks in the system's folders. Checking and clippy need no library at all.
    if let Ok(folder) = std::env::var("VOSK_LIB_DIR") {
        println!("cargo:rustc-link-search=native={folder}");
    }
    println!("cargo:rustc-link-arg-bins=-Wl,-rpath,$ORIGIN");
}
