//! Where the log goes: standard error, so that standard output stays free for what a command prints.

use std::io::{self, IsTerminal};

use tracing_subscriber::EnvFilter;

/// Writes whole addresses, in which a link's token stands: never heard, whatever is asked for.
const SILENT: &str = "tower_http::csrf=off";

/// Starts the log. `HITCHWRIGHT_LOG` chooses what is written, e.g. `debug` or `hitchwright=debug,tower_http=debug`.
pub fn start() {
    let filter = EnvFilter::try_from_env("HITCHWRIGHT_LOG").unwrap_or_else(|_| EnvFilter::new("warn,hitchwright=info"));
    let filter = SILENT.parse().map_or_else(|_| EnvFilter::new("off"), |silent| filter.add_directive(silent));
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_writer(io::stderr)
        .with_ansi(io::stderr().is_terminal())
        .with_target(false)
        .init();
}
