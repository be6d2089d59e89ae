//! Applies `migrations/` to a scratch database in `OUT_DIR`, so that every `sqlx::query!` is checked against the real
//! schema while compiling: a fresh clone needs no cache folder and no extra tool. Lists the files of `seed-data/words/`, so that a
//! language is added by adding its file.

use std::{env, error::Error, path::PathBuf};

use sqlx::{ConnectOptions, migrate::Migrator, sqlite::SqliteConnectOptions};

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=migrations");
    let file = PathBuf::from(env::var("OUT_DIR")?).join("schema.sqlite");
    let _ = std::fs::remove_file(&file);
    tokio::runtime::Builder::new_current_thread().enable_all().build()?.block_on(async {
        let migrator = Migrator::new(PathBuf::from("migrations")).await?;
        let mut connection = SqliteConnectOptions::new().filename(&file).create_if_missing(true).connect().await?;
        migrator.run(&mut connection).await?;
        Ok::<_, Box<dyn Error>>(())
    })?;
    list_words()?;
    println!("cargo:rustc-env=DATABASE_URL=sqlite://{}", file.display());
    Ok(())
}

/// `words.rs`: tag and text of every file of words.
fn list_words() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=seed-data/words");
    let folder = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?).join("seed-data/words");
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(&folder)?.map(|entry| Ok(entry?.path())).collect::<std::io::Result<_>>()?;
    files.retain(|file| file.extension().is_some_and(|end| end == "ftl"));
    files.sort();
    let mut list = String::from("static FILES: &[(&str, &str)] = &[");
    for file in &files {
        let tag = file.file_stem().and_then(|stem| stem.to_str()).unwrap_or_default();
        list.push_str(&format!("({tag:?}, include_str!({:?})),", file.display().to_string()));
    }
    list.push_str("];");
    std::fs::write(PathBuf::from(env::var("OUT_DIR")?).join("words.rs"), list)?;
    Ok(())
}
