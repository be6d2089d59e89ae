//! `hitchwright serve`: the shop's pages on loopback, the customers' copies behind a reverse proxy.

use std::{
    future::{Future, IntoFuture},
    io::{self, Write},
    net::SocketAddr,
    process::ExitCode,
    sync::Arc,
    time::Duration,
};

use jiff::SignedDuration;
use tokio::{net::TcpListener, sync::watch};

pub use crate::config::ServeArgs as Args;
use crate::{
    command::refuse,
    demo::{self, FillError},
    domain::nesting::Budget,
    storage::{By, OpenError, Opened, Serving, Store},
    web::{
        self, AppState, clock,
        nightly::{self, Nightly},
    },
};

/// How long requests under way may take to finish once a stop was asked for.
const STOP_WITHIN: Duration = Duration::from_secs(5);

/// Why the server cannot start or go on; each is one line that says what would do.
#[derive(Debug, thiserror::Error)]
enum Refusal {
    #[error(
        "will not listen on {0}: without TLS passwords would be read on the way, so the shop's pages answer on this machine \
         only; use 127.0.0.1 or [::1], and a reverse proxy with --public-address for the customers' copies"
    )]
    NotLoopback(SocketAddr),
    #[error("cannot listen on {0}: another program uses this port; stop it or choose another with --listen")]
    Busy(SocketAddr),
    #[error("cannot listen on {0}: {1}")]
    Listen(SocketAddr, io::Error),
    #[error(transparent)]
    Open(#[from] OpenError),
    #[error("cannot start: {0}")]
    Start(io::Error),
    #[error("cannot read the shop's settings: {0}")]
    Books(crate::storage::Error),
    #[error("cannot fill the new file {0}: {1}; delete it and start again")]
    Fill(String, FillError),
    #[error("the server stopped: {0}")]
    Served(io::Error),
}

pub fn run(args: Args) -> ExitCode {
    let done = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(Refusal::Start)
        .and_then(|runtime| runtime.block_on(serve(args)));
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(refusal) => refuse(refusal),
    }
}

async fn serve(args: Args) -> Result<(), Refusal> {
    if !args.listen.ip().is_loopback() {
        return Err(Refusal::NotLoopback(args.listen));
    }
    let listener = TcpListener::bind(args.listen).await.map_err(|error| match error.kind() {
        io::ErrorKind::AddrInUse => Refusal::Busy(args.listen),
        _ => Refusal::Listen(args.listen, error),
    })?;
    let address = listener.local_addr().map_err(|error| Refusal::Listen(args.listen, error))?;
    let stop = stop_asked().map_err(Refusal::Start)?;
    let _serving = Serving::claim(&args.database)?;
    let Opened { store, is_new } = Store::open(&args.database).await?;
    if is_new {
        start_shop(&store, &args).await?;
    }
    if let Some(kept) = store.shop_book(clock::today()).await.map_err(Refusal::Books)? {
        clock::keep_zone(&kept.book.time_zone);
    }
    tokio::spawn(lapse_daily(store.clone()));
    if args.public_address.is_some() && args.trusted_proxy.is_empty() {
        tracing::warn!("no proxy is trusted to tell visitors apart (--trusted-proxy), so their pace is not limited");
    }
    let mut state = AppState::new(store.clone(), args.public_address, args.trusted_proxy);
    state.issue_budget = Budget::of_units(args.planning_work.saturating_mul(1_000_000));
    state.nightly = Arc::new(Nightly::into_folder(args.backups));
    tokio::spawn(nightly::every_night(state.clone()));
    let app = web::router(state);

    // Whoever started us may have closed our standard output: that is no reason not to serve.
    let _ = writeln!(io::stdout(), "Hitchwright is open at http://{address}/ (stop with Ctrl-C)");
    invite_owner(&store, address).await;
    let (stopping, mut stopped) = watch::channel(false);
    let service = app.into_make_service_with_connect_info::<SocketAddr>();
    let serving = axum::serve(listener, service).with_graceful_shutdown(async move {
        stop.await;
        let _ = stopping.send(true);
    });
    let served = tokio::select! {
        served = serving.into_future() => served.map_err(Refusal::Served),
        () = async {
            let _ = stopped.wait_for(|stopping| *stopping).await;
            tokio::time::sleep(STOP_WITHIN).await;
        } => Ok(()),
    };
    // What was acknowledged is on disk already; this only folds the log of writes into the file.
    let _ = tokio::time::timeout(STOP_WITHIN, store.close()).await;
    served
}

/// What a new file starts with.
async fn start_shop(store: &Store, args: &Args) -> Result<(), Refusal> {
    let (now, today) = (clock::now(), clock::today());
    let filled = if args.no_demo {
        demo::start_empty(store, now, today).await
    } else {
        let _ = writeln!(io::stdout(), "Filling a new file with the demo shop …");
        demo::fill(store, now, today).await
    };
    filled.map_err(|fault| Refusal::Fill(args.database.display().to_string(), fault))
}

/// How long the console's link stays open; the next start prints a fresh one.
const INVITATION_LASTS: SignedDuration = SignedDuration::from_hours(24);

/// While nobody can sign in as owner, each start prints a link that makes one.
async fn invite_owner(store: &Store, address: SocketAddr) {
    let now = clock::now();
    let made = async {
        if store.has_owner().await? {
            return Ok(None);
        }
        let until = now.checked_add(INVITATION_LASTS).unwrap_or(now);
        store.make_set_up_link(None, until, By { who: "first start", at: now }).await
    };
    match made.await {
        Ok(None) => {}
        Ok(Some(token)) => {
            let path = web::paths::set_up(&token);
            let _ = writeln!(
                io::stdout(),
                "The shop has no owner yet. Open http://{address}{path} to become it (once, within 24 hours; a new start prints a new link)"
            );
        }
        Err(fault) => tracing::error!(%fault, "no set-up link could be made for the owner: start again"),
    }
}

/// Quotes whose last day is over lapse: at the start, then every hour, so that a new day is noticed.
async fn lapse_daily(store: Store) {
    let mut hours = tokio::time::interval(Duration::from_secs(3600));
    loop {
        hours.tick().await;
        let by = By { who: "the calendar", at: clock::now() };
        if let Err(fault) = store.lapse_overdue(clock::today(), by).await {
            tracing::error!(%fault, "overdue quotes could not lapse");
        }
    }
}

/// Ends when the user (Ctrl-C) or the system (SIGTERM) asks us to stop.
#[cfg(unix)]
fn stop_asked() -> io::Result<impl Future<Output = ()>> {
    use tokio::signal::unix::{SignalKind, signal};
    let (mut interrupt, mut terminate) = (signal(SignalKind::interrupt())?, signal(SignalKind::terminate())?);
    Ok(async move {
        tokio::select! {
            _ = interrupt.recv() => {}
            _ = terminate.recv() => {}
        }
    })
}

#[cfg(not(unix))]
fn stop_asked() -> io::Result<impl Future<Output = ()>> {
    Ok(async {
        let _ = tokio::signal::ctrl_c().await;
    })
}
