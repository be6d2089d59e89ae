//! Who may see what.
//!
//! The server listens on loopback. The shop's pages answer to someone on this machine who is signed in and whose role the
//! table of [`rights`] names; the name that the browser asked for must be a loopback name (else a foreign page could point
//! its own name at 127.0.0.1). A reverse proxy on this machine also comes from loopback: whatever carries a proxy's mark or
//! asks for the public address gets customers' copies and nothing else.

use std::net::{IpAddr, SocketAddr};

use axum::{
    extract::{ConnectInfo, MatchedPath, Request, State},
    http::{Extensions, HeaderMap, Method, Uri, header, request::Parts, uri::Authority},
    middleware::Next,
    response::{IntoResponse, Redirect, Response},
};

use crate::{
    config::PublicAddress,
    domain::people::Role,
    web::{
        AppState, Error, paths,
        rights::{self, Ruling, Who},
        session::{self, Actor},
    },
};

/// The headers by which a proxy makes itself known. Anyone can send them; here they only ever take rights away.
const PROXY_MARKS: [&str; 6] =
    ["forwarded", "x-forwarded-for", "x-forwarded-host", "x-forwarded-proto", "x-real-ip", "via"];

/// Where customers come from, and whose word on it is believed.
#[derive(Debug)]
pub struct Access {
    pub(super) public_address: Option<PublicAddress>,
    pub(super) trusted_proxies: Vec<IpAddr>,
}

/// Who asks, as far as the request shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Audience {
    /// Someone on this machine.
    Shop,
    /// Someone at the public address.
    Public,
    /// Someone who asked for a name that is not ours.
    Stranger,
}

impl Access {
    /// Who sent this request.
    pub fn audience(&self, uri: &Uri, headers: &HeaderMap) -> Audience {
        let Some(host) = host_asked(uri, headers) else { return Audience::Stranger };
        let is_public = self.public_address.as_ref().is_some_and(|address| address.is_host(&host));
        let came_by_proxy = PROXY_MARKS.iter().any(|mark| headers.contains_key(*mark));
        match (is_public, came_by_proxy || !is_loopback(&host)) {
            (true, _) => Audience::Public,
            (false, true) => Audience::Stranger,
            (false, false) => Audience::Shop,
        }
    }

    /// The visitor's address: the peer's, or what a trusted proxy says about it. Of a chain the nearest address counts
    /// that is not itself a trusted proxy, because whatever stands before it could be invented by the visitor.
    pub fn visitor(&self, headers: &HeaderMap, extensions: &Extensions) -> Option<IpAddr> {
        let ConnectInfo(peer) = extensions.get::<ConnectInfo<SocketAddr>>()?;
        let mut nearest = peer.ip().to_canonical();
        let lines = headers.get_all("x-forwarded-for").iter().filter_map(|line| line.to_str().ok());
        let chain: Vec<&str> = lines.flat_map(|line| line.split(',')).map(str::trim).collect();
        for hop in chain.iter().rev() {
            if !self.trusted_proxies.contains(&nearest) {
                break;
            }
            let Ok(address) = hop.parse::<IpAddr>() else { break };
            nearest = address.to_canonical();
        }
        Some(nearest)
    }
}

/// The one name that the request asks for; none where it names no host, or two different ones.
fn host_asked(uri: &Uri, headers: &HeaderMap) -> Option<Authority> {
    let mut named = headers.get_all(header::HOST).iter().map(|host| host.to_str().ok()?.parse::<Authority>().ok());
    let host = named.next()??;
    let agrees = named.next().is_none()
        && !host.as_str().contains('@')
        && uri.authority().is_none_or(|target| target.as_str().eq_ignore_ascii_case(host.as_str()));
    agrees.then_some(host)
}

fn is_loopback(host: &Authority) -> bool {
    let name = host.host();
    let address = name.strip_prefix('[').and_then(|name| name.strip_suffix(']')).unwrap_or(name);
    name.eq_ignore_ascii_case("localhost") || address.parse::<IpAddr>().is_ok_and(|address| address.is_loopback())
}

/// Lets a request through to the pages that its sender may see. Who it is goes along with the request, and comes back with
/// the answer for the error page.
pub(super) async fn admit(State(state): State<AppState>, mut request: Request, next: Next) -> Response {
    let audience = state.access.audience(request.uri(), request.headers());
    let route = request.extensions().get::<MatchedPath>().map(|path| path.as_str().to_owned());
    let ruling = route.as_deref().map(|route| rights::ruling(route, request.method()));
    let is_open = matches!(ruling, Some(Ruling::For(Who::Anyone | Who::Customer)));
    let actor = match is_open || audience != Audience::Shop {
        true => None,
        false => match session::recognise(&state, audience, request.headers()).await {
            Ok(actor) => actor,
            Err(error) => return error.into_response(),
        },
    };
    let refusal = match (audience, ruling) {
        (_, Some(Ruling::For(Who::Anyone))) => None,
        (Audience::Stranger, _) => Some(Error::WrongHost.into_response()),
        (Audience::Shop, Some(Ruling::For(Who::Customer))) => None,
        (Audience::Public, Some(Ruling::For(Who::Customer))) => {
            let visitor = state.access.visitor(request.headers(), request.extensions());
            let sends = request.method() == Method::POST;
            state.limit.take(visitor, sends).err().map(|wait| Error::TooOften(wait).into_response())
        }
        (Audience::Public, _) => Some(Error::NotFound(NOT_PUBLIC).into_response()),
        (Audience::Shop, None) => Some(Error::NO_PAGE.into_response()),
        (Audience::Shop, Some(Ruling::For(Who::Visitor))) => None,
        (Audience::Shop, Some(Ruling::For(Who::People(roles)))) => match &actor {
            None => Some(sign_in_first(&request)),
            Some(actor) if roles.contains(&actor.role) => None,
            Some(actor) => Some(Error::NotYours(not_yours(actor, roles)).into_response()),
        },
        (Audience::Shop, Some(Ruling::WrongMethod)) => {
            let allowed = rights::methods(route.as_deref().unwrap_or_default());
            Some(([(header::ALLOW, allowed)], Error::WrongMethod).into_response())
        }
        (Audience::Shop, Some(Ruling::Unlisted)) => Some(Error::NotYours(UNLISTED.into()).into_response()),
    };
    let mut answer = match refusal {
        Some(refusal) => refusal,
        None => {
            if let Some(actor) = &actor {
                request.extensions_mut().insert(actor.clone());
            }
            next.run(request).await
        }
    };
    if let Some(actor) = actor {
        answer.extensions_mut().insert(actor);
    }
    answer
}

/// A page that was asked for comes after the sign-in; what was sent is not thrown away by leading elsewhere.
fn sign_in_first(request: &Request) -> Response {
    let is_page =
        [Method::GET, Method::HEAD].contains(request.method()) && !request.headers().contains_key("hx-request");
    if is_page {
        let here = request.uri().path_and_query().map_or(paths::START, |path| path.as_str());
        Redirect::to(&paths::sign_in_for(here)).into_response()
    } else {
        Error::SignedOut.into_response()
    }
}

fn not_yours(actor: &Actor, roles: &[Role]) -> String {
    let roles: Vec<&str> = roles.iter().map(|role| role.word()).collect();
    format!(
        "This is for {}; you are signed in as {} ({}). Nothing was changed. Ask the owner if you need it.",
        roles.join(" and "),
        actor.name(),
        actor.role
    )
}

const UNLISTED: &str = "Nobody said yet who may use this address, so it is closed.";

const NOT_PUBLIC: &str = "Only quotes are shown at this address. Please open the link that you were sent, whole.";

/// The address that a visitor comes from, if the connection has one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Visitor(pub Option<IpAddr>);

impl axum::extract::FromRequestParts<AppState> for Visitor {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, state: &AppState) -> std::result::Result<Self, Self::Rejection> {
        Ok(Self(state.access.visitor(&parts.headers, &parts.extensions)))
    }
}

impl axum::extract::FromRequestParts<AppState> for Audience {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, state: &AppState) -> std::result::Result<Self, Self::Rejection> {
        Ok(state.access.audience(&parts.uri, &parts.headers))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn access() -> Access {
        Access {
            public_address: Some("https://quotes.example.com".parse().expect("an address")),
            trusted_proxies: vec!["127.0.0.1".parse().expect("an address")],
        }
    }

    fn headers(lines: &[(&'static str, &str)]) -> HeaderMap {
        lines.iter().map(|(name, value)| (name.parse().expect("a name"), value.parse().expect("a value"))).collect()
    }

    fn check(lines: &[(&'static str, &str)], expected: Audience) {
        let uri = Uri::from_static("/jobs");
        assert_eq!(access().audience(&uri, &headers(lines)), expected, "{lines:?}");
    }

    #[test]
    fn the_shop_is_whoever_asks_for_a_loopback_name_without_a_proxy() {
        for host in ["127.0.0.1:4717", "127.0.0.1", "localhost:4717", "LocalHost", "[::1]:4717", "127.8.8.8:1"] {
            check(&[("host", host)], Audience::Shop);
        }
    }

    #[test]
    fn a_foreign_or_missing_name_is_a_strangers() {
        for host in
            ["evil.example", "evil.example:4717", "192.168.1.5:4717", "localhost.evil.example", "a@127.0.0.1", ""]
        {
            check(&[("host", host)], Audience::Stranger);
        }
        check(&[], Audience::Stranger);
    }

    #[test]
    fn the_public_name_is_never_the_shop() {
        check(&[("host", "quotes.example.com")], Audience::Public);
        check(&[("host", "QUOTES.example.com:443"), ("x-forwarded-for", "203.0.113.9")], Audience::Public);
    }

    #[test]
    fn a_proxy_that_rewrites_the_name_to_loopback_does_not_reach_the_shop() {
        for mark in PROXY_MARKS {
            check(&[("host", "127.0.0.1:4717"), (mark, "203.0.113.9")], Audience::Stranger);
        }
    }

    #[test]
    fn a_request_for_two_names_is_a_strangers() {
        let uri: Uri = "http://evil.example/jobs".parse().expect("a target");
        assert_eq!(access().audience(&uri, &headers(&[("host", "127.0.0.1")])), Audience::Stranger);
        let mut two = headers(&[("host", "127.0.0.1")]);
        two.append("host", "evil.example".parse().expect("a value"));
        assert_eq!(access().audience(&Uri::from_static("/"), &two), Audience::Stranger);
    }

    #[test]
    fn a_forwarded_address_is_believed_only_from_a_trusted_proxy() {
        let visitor = |peer: &str, chain: &str| {
            let mut extensions = Extensions::new();
            let peer: SocketAddr = peer.parse().expect("a peer");
            extensions.insert(ConnectInfo(peer));
            access().visitor(&headers(&[("x-forwarded-for", chain)]), &extensions).map(|address| address.to_string())
        };
        assert_eq!(visitor("127.0.0.1:5000", "203.0.113.9").as_deref(), Some("203.0.113.9"));
        assert_eq!(visitor("127.0.0.1:5000", "198.51.100.1, 203.0.113.9").as_deref(), Some("203.0.113.9"));
        assert_eq!(visitor("127.0.0.1:5000", "203.0.113.9, 127.0.0.1").as_deref(), Some("203.0.113.9"));
        assert_eq!(visitor("127.0.0.2:5000", "203.0.113.9").as_deref(), Some("127.0.0.2"));
        assert_eq!(visitor("127.0.0.1:5000", "nonsense").as_deref(), Some("127.0.0.1"));
    }
}
