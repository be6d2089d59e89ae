//! Applies `migrations/` to a scratch database in `OUT_DIR`, so that every `sqlx::query!` is checked against the real
//! schema while compiling: a fresh clone needs no cache folder and no extra tool.

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
    println!("cargo:rustc-env=DATABASE_URL=sqlite://{}", file.display());
    Ok(())
}
