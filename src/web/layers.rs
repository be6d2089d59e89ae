//! What stands around all pages. From the outside in: request id, log, headers that every answer carries (refusals
//! too), error pages, panics, compression, who may enter, foreign forms, time limit, size limit.

use std::time::Duration;

use axum::{
    Router,
    body::Body,
    extract::{DefaultBodyLimit, MatchedPath, Request, State},
    http::{HeaderName, HeaderValue, Method, StatusCode, header},
    middleware::{self, Next},
    response::{IntoResponse, Response},
};
use tower::ServiceBuilder;
use tower_http::{
    catch_panic::CatchPanicLayer,
    compression::CompressionLayer,
    csrf::{CsrfLayer, ProtectionError},
    limit::RequestBodyLimitLayer,
    request_id::{MakeRequestUuid, PropagateRequestIdLayer, SetRequestIdLayer},
    set_header::SetResponseHeaderLayer,
    timeout::TimeoutLayer,
    trace::TraceLayer,
};

use crate::web::{
    AppState, Error,
    error::Shown,
    frame::Frame,
    gate::{self, Audience},
    language, pages, paths,
    session::Actor,
};

/// The largest form that is read.
const LARGEST_BODY_BYTES: usize = 1024 * 1024;

/// How long an answer may take. An unoptimised build computes about ten times as long, and tests measure no time.
const SLOWEST_ANSWER: Duration = Duration::from_secs(if cfg!(debug_assertions) { 300 } else { 30 });

/// Nothing but our own files: no inline script or style, nothing from elsewhere, no frame around us.
const CONTENT_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; \
     connect-src 'self'; font-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

/// What no page of ours asks a browser for.
const NO_FEATURES: &str = "accelerometer=(), camera=(), display-capture=(), geolocation=(), gyroscope=(), magnetometer=(), \
     microphone=(), midi=(), payment=(), publickey-credentials-get=(), serial=(), usb=()";

/// How pages are kept: by nobody but the visitor's browser, and asked for again.
const FRESH: &str = "private, no-cache";

/// Puts the site's layers around its pages.
pub(super) fn around(pages: Router<AppState>, state: &AppState) -> Router<AppState> {
    let csrf = CsrfLayer::new().with_rejection_response(|_: ProtectionError| Error::ForeignPage.into_response());
    let limits = ServiceBuilder::new()
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, SLOWEST_ANSWER))
        .layer(DefaultBodyLimit::disable())
        .layer(RequestBodyLimitLayer::new(LARGEST_BODY_BYTES));
    let headers = ServiceBuilder::new()
        .layer(SetRequestIdLayer::x_request_id(MakeRequestUuid))
        .layer(TraceLayer::new_for_http().make_span_with(span).on_failure(()))
        .layer(PropagateRequestIdLayer::x_request_id())
        .layer(header(header::CONTENT_SECURITY_POLICY, CONTENT_POLICY))
        .layer(header(header::REFERRER_POLICY, "same-origin"))
        .layer(header(header::X_CONTENT_TYPE_OPTIONS, "nosniff"))
        .layer(header(HeaderName::from_static("permissions-policy"), NO_FEATURES))
        .layer(header(HeaderName::from_static("x-robots-tag"), "noindex, nofollow"))
        .layer(header(HeaderName::from_static("cross-origin-opener-policy"), "same-origin"))
        .layer(header(HeaderName::from_static("cross-origin-resource-policy"), "same-origin"))
        // A page shows the state of this moment, so it is asked for again each time. Not "no-store": with that, going
        // back would lose what was typed.
        .layer(SetResponseHeaderLayer::if_not_present(header::CACHE_CONTROL, HeaderValue::from_static(FRESH)));
    // The last layer stands outermost.
    pages
        .layer(limits)
        .layer(csrf)
        .layer(middleware::from_fn_with_state(state.clone(), gate::admit))
        .layer(CompressionLayer::new())
        .layer(CatchPanicLayer::custom(panicked))
        .layer(middleware::from_fn_with_state(state.clone(), error_pages))
        .layer(headers)
}

fn header(name: HeaderName, value: &'static str) -> SetResponseHeaderLayer<HeaderValue> {
    SetResponseHeaderLayer::overriding(name, HeaderValue::from_static(value))
}

/// The log line of a request: never what was typed, never a secret. Of a path that holds a token, and of one that is no
/// page of ours (a link mistyped), only the kind is written.
fn span(request: &axum::http::Request<Body>) -> tracing::Span {
    let path = match request.extensions().get::<MatchedPath>().map(MatchedPath::as_str) {
        Some(pattern) if paths::is_secret(pattern) => pattern,
        Some(_) => request.uri().path(),
        None => "no page of ours",
    };
    let id = request.headers().get("x-request-id").and_then(|id| id.to_str().ok()).unwrap_or_default();
    tracing::info_span!("request", request.id = id, http.method = %request.method(), http.path = path)
}

/// A panic is our fault; its text is in the log by the panic hook and here.
fn panicked(cause: Box<dyn std::any::Any + Send + 'static>) -> Response {
    let text = match (cause.downcast_ref::<String>(), cause.downcast_ref::<&str>()) {
        (Some(text), _) => text.as_str(),
        (None, Some(text)) => text,
        (None, None) => "of unknown cause",
    };
    Error::internal(format!("panic: {text}")).into_response()
}

/// Renders every error, ours or a layer's, as our page. It alone does, so that a refusal looks the same wherever it
/// comes from. A customer reads it in their language.
async fn error_pages(State(state): State<AppState>, request: Request, next: Next) -> Response {
    let frame = Frame::of(None, request.headers());
    let token = paths::token_in(request.uri().path()).map(str::to_owned);
    let is_public = state.access.audience(request.uri(), request.headers()) == Audience::Public;
    let is_head = request.method() == Method::HEAD;
    let answer = next.run(request).await;
    let frame = frame.signed_in(answer.extensions().get::<Actor>().cloned());
    if answer.status().is_success() || is_a_page(&answer) {
        return answer;
    }
    let shown = answer.extensions().get::<Shown>().cloned().or_else(|| {
        if answer.status().is_server_error() {
            tracing::error!(http.status = answer.status().as_u16(), "a request was given up");
        }
        Error::of_status(answer.status()).map(|error| Shown::of(&error))
    });
    let Some(shown) = shown else { return answer };
    let is_customers = !frame.is_shop() && (is_public || token.is_some());
    let (frame, shown) = if is_customers {
        let words = language::of_reader(&state, token.as_deref(), &frame).await;
        (frame.speaking(words), shown.for_customer(words))
    } else {
        (frame, shown)
    };
    match pages::error::render(frame, answer.status(), shown) {
        Ok(page) => {
            let mut page = page;
            // What the refusal itself says about the connection stays, e.g. which methods are allowed.
            for name in [header::ALLOW, header::RETRY_AFTER] {
                if let Some(value) = answer.headers().get(&name) {
                    page.headers_mut().insert(name, value.clone());
                }
            }
            if is_head {
                *page.body_mut() = Body::empty();
            }
            page
        }
        Err(error) => {
            tracing::error!(%error, "the error page could not be rendered");
            answer
        }
    }
}

/// Whether an answer is already what a browser should show or a script should read: a form with its faults, a conflict.
fn is_a_page(answer: &Response) -> bool {
    let kind = answer.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok()).unwrap_or_default();
    kind.starts_with("text/html") || kind.starts_with("application/json")
}

#[cfg(test)]
mod tests {
    use axum::{body::to_bytes, routing::get};
    use tower::ServiceExt;

    use super::*;
    use crate::storage::Store;

    /// What a visitor reads when a handler breaks in this way.
    async fn answer_of(broken: Router<AppState>) -> (StatusCode, String, bool) {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&folder.path().join("shop.sqlite")).await.expect("a store").store;
        let state = AppState::new(store, None, Vec::new());
        let site = around(broken, &state).with_state(state);
        let request = Request::get(paths::HEALTH).header("host", "localhost").body(Body::empty()).expect("a request");
        let answer = site.oneshot(request).await.expect("an answer");
        let (status, guarded) = (answer.status(), answer.headers().contains_key(header::CONTENT_SECURITY_POLICY));
        let body = to_bytes(answer.into_body(), usize::MAX).await.expect("a body");
        (status, String::from_utf8_lossy(&body).into_owned(), guarded)
    }

    #[tokio::test]
    async fn our_own_faults_show_a_fixed_page_and_never_their_cause() {
        async fn panics() -> Response {
            panic!("the secret cause")
        }
        async fn fails() -> crate::web::Result<Response> {
            Err(Error::internal("the secret cause"))
        }
        async fn bare() -> StatusCode {
            StatusCode::BAD_GATEWAY
        }
        for (broken, expected) in [
            (Router::new().route(paths::HEALTH, get(panics)), StatusCode::INTERNAL_SERVER_ERROR),
            (Router::new().route(paths::HEALTH, get(fails)), StatusCode::INTERNAL_SERVER_ERROR),
            (Router::new().route(paths::HEALTH, get(bare)), StatusCode::BAD_GATEWAY),
        ] {
            let (status, page, guarded) = answer_of(broken).await;
            assert_eq!(status, expected);
            assert!(guarded && page.contains("<h1>Our fault</h1>"), "{page}");
            assert!(!page.contains("secret"), "{page}");
        }
    }
}
