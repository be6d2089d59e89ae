//! What the server is told from outside: the doc comments are the `--help` text.

use std::{
    fmt,
    net::{IpAddr, SocketAddr},
    path::PathBuf,
    str::FromStr,
};

use axum::http::{Uri, uri::Authority};

/// Where the server keeps its data, where it listens and what it believes.
#[derive(Clone, Debug, clap::Args)]
pub struct ServeArgs {
    /// The shop's database file; it is created when it does not exist
    #[arg(long, value_name = "FILE", env = "HITCHWRIGHT_DATABASE", default_value = "hitchwright.sqlite")]
    pub database: PathBuf,

    /// Where to listen; the address must be a loopback address, because passwords are not sent without TLS (port 0: any free port)
    #[arg(long, value_name = "ADDRESS:PORT", env = "HITCHWRIGHT_LISTEN", default_value = "127.0.0.1:4717", value_parser = listen_address)]
    pub listen: SocketAddr,

    /// The address under which customers reach their copy, e.g. https://quotes.example.com; a reverse proxy on this
    /// machine must serve it. It stands in links and QR codes; only customers' copies answer there
    #[arg(long, value_name = "https://HOST", env = "HITCHWRIGHT_PUBLIC_ADDRESS")]
    pub public_address: Option<PublicAddress>,

    /// The address of a reverse proxy whose word on the visitor's address is believed; may be given several times
    #[arg(long, value_name = "ADDRESS", env = "HITCHWRIGHT_TRUSTED_PROXY", value_delimiter = ',')]
    pub trusted_proxy: Vec<IpAddr>,

    /// The folder into which a copy of the database goes each night, best on another disk; one folder for each shop. The owner
    /// says on the shop's pages at which hour and how many are kept. Without it the server makes no copies
    #[arg(long, value_name = "FOLDER", env = "HITCHWRIGHT_BACKUPS")]
    pub backups: Option<PathBuf>,

    /// How much work the plan of an issued revision may take for each section or sheet that is not proven sooner, in millions
    /// of counted steps (20 take about a fifth of a second); the same number gives the same plan on any machine
    #[arg(long, value_name = "MILLIONS", env = "HITCHWRIGHT_PLANNING_WORK", default_value = "20", value_parser = clap::value_parser!(u64).range(20..=20_000))]
    pub planning_work: u64,

    /// Leave a new database empty instead of filling it with the demo shop
    #[arg(long, env = "HITCHWRIGHT_NO_DEMO", value_parser = clap::builder::FalseyValueParser::new())]
    pub no_demo: bool,
}

/// Reads `127.0.0.1:4717`, `[::1]:4717` or `localhost:4717`.
fn listen_address(text: &str) -> Result<SocketAddr, &'static str> {
    let numeric = match text.split_once(':') {
        Some((name, port)) if name.eq_ignore_ascii_case("localhost") => format!("127.0.0.1:{port}"),
        _ => text.to_owned(),
    };
    numeric.parse().map_err(|_| "give an address and a port, like 127.0.0.1:4717")
}

/// An `https` address without a path: what stands before the path in a link that is sent to a customer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PublicAddress {
    authority: Authority,
}

/// Why an address cannot be the public one; says what would do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PublicAddressError {
    #[error("this is not an address; give one like https://quotes.example.com")]
    NotAnAddress,
    #[error("customers' copies are served over https only; give an address like https://quotes.example.com")]
    NotHttps,
    #[error("give the address without a path, like https://quotes.example.com")]
    HasPath,
}

impl PublicAddress {
    /// The full link to a page of ours.
    pub fn link(&self, path: &str) -> String {
        format!("{self}{path}")
    }

    /// Whether a request's `Host` header names this address. The default port may be left out on either side.
    pub fn is_host(&self, host: &Authority) -> bool {
        let port = |authority: &Authority| authority.port_u16().unwrap_or(443);
        self.authority.host().eq_ignore_ascii_case(host.host()) && port(&self.authority) == port(host)
    }
}

impl fmt::Display for PublicAddress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "https://{}", self.authority)
    }
}

impl FromStr for PublicAddress {
    type Err = PublicAddressError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let uri: Uri = text.trim().parse().map_err(|_| PublicAddressError::NotAnAddress)?;
        let parts = uri.into_parts();
        let (Some(scheme), Some(authority)) = (parts.scheme, parts.authority) else {
            return Err(PublicAddressError::NotAnAddress);
        };
        if scheme != axum::http::uri::Scheme::HTTPS {
            return Err(PublicAddressError::NotHttps);
        }
        if parts.path_and_query.is_some_and(|path| path != "/") {
            return Err(PublicAddressError::HasPath);
        }
        if authority.as_str().contains('@') || authority.host().is_empty() {
            return Err(PublicAddressError::NotAnAddress);
        }
        Ok(Self { authority })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_to_listen_on_has_a_port() {
        for (text, expected) in [
            ("127.0.0.1:4717", Some("127.0.0.1:4717")),
            ("[::1]:80", Some("[::1]:80")),
            ("localhost:0", Some("127.0.0.1:0")),
            ("4717", None),
            ("127.0.0.1", None),
            ("example.com:80", None),
            ("127.0.0.1:99999", None),
        ] {
            let read = listen_address(text).map(|address| address.to_string()).ok();
            assert_eq!(read.as_deref(), expected, "{text:?}");
        }
    }

    #[test]
    fn a_public_address_is_https_without_a_path() {
        for (text, expected) in [
            ("https://quotes.example.com", Ok("https://quotes.example.com")),
            ("https://quotes.example.com/", Ok("https://quotes.example.com")),
            ("https://quotes.example.com:8443", Ok("https://quotes.example.com:8443")),
            ("http://quotes.example.com", Err(PublicAddressError::NotHttps)),
            ("https://quotes.example.com/shop", Err(PublicAddressError::HasPath)),
            ("quotes.example.com", Err(PublicAddressError::NotAnAddress)),
            ("https://someone@quotes.example.com", Err(PublicAddressError::NotAnAddress)),
            ("", Err(PublicAddressError::NotAnAddress)),
        ] {
            let read = text.parse::<PublicAddress>().map(|address| address.to_string());
            assert_eq!(read, expected.map(str::to_owned), "{text:?}");
        }
    }

    #[test]
    fn a_host_header_matches_with_and_without_the_default_port_and_in_any_case() {
        let public: PublicAddress = "https://quotes.example.com".parse().expect("an address");
        for (host, same) in [
            ("quotes.example.com", true),
            ("Quotes.Example.COM:443", true),
            ("quotes.example.com:80", false),
            ("example.com", false),
            ("quotes.example.com.evil.example", false),
        ] {
            assert_eq!(public.is_host(&host.parse().expect("a host")), same, "{host}");
        }
        assert_eq!(public.link("/q/abc"), "https://quotes.example.com/q/abc");
    }
}
