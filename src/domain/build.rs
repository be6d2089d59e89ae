//! Lists the files of `seed-data/words/`, so that a language is added by adding its file.

use std::{env, error::Error, path::PathBuf};

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?).join("../../seed-data/words");
    println!("cargo:rerun-if-changed={}", folder.display());
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(&folder)?.map(|entry| Ok(entry?.path())).collect::<std::io::Result<_>>()?;
    files.retain(|file| file.extension().is_some_and(|end| end == "ftl"));
    files.sort();
    // Tag and text of every file.
    let mut list = String::from("static FILES: &[(&str, &str)] = &[");
    for file in &files {
        let tag = file.file_stem().and_then(|stem| stem.to_str()).unwrap_or_default();
        list.push_str(&format!("({tag:?}, include_str!({:?})),", file.display().to_string()));
    }
    list.push_str("];");
    std::fs::write(PathBuf::from(env::var("OUT_DIR")?).join("words.rs"), list)?;
    Ok(())
}
