//! `hitchwright backup`: a whole copy of the shop's file while people work.

use std::{
    io::{self, Write},
    path::PathBuf,
    process::ExitCode,
};

use crate::{
    command::{block_on, refuse},
    storage::Store,
};

/// Copy the shop's file whole, while the server runs
///
/// The copy appears under its name only when it is complete and on disk.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// The copy to make
    file: PathBuf,
    /// The shop's database file
    #[arg(long, value_name = "FILE", env = "HITCHWRIGHT_DATABASE", default_value = "hitchwright.sqlite")]
    database: PathBuf,
    /// Replace an older copy of this name, once the new one is complete
    #[arg(long)]
    replace: bool,
}

pub fn run(args: Args) -> ExitCode {
    let made = block_on(async {
        let store = Store::open_to_read(&args.database).await.map_err(|fault| fault.to_string())?;
        let made = store.backup(&args.file, args.replace).await;
        store.close().await;
        made.map_err(|fault| match fault {
            crate::storage::BackupError::Exists(_) => format!("{fault} (--replace)"),
            other => other.to_string(),
        })
    });
    match made {
        Err(fault) | Ok(Err(fault)) => refuse(fault),
        Ok(Ok(())) => {
            let _ = writeln!(
                io::stdout(),
                "Copied {} to {}. Check it with: hitchwright verify {1}",
                args.database.display(),
                args.file.display()
            );
            ExitCode::SUCCESS
        }
    }
}
