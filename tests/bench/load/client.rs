//! A visitor with a browser's habits: one kept connection, a cookie, forms sent whole.

use std::{net::SocketAddr, time::Instant};

use axum::body::Bytes;
use http_body_util::{BodyExt, Full};
use hyper::{Method, Request, StatusCode, client::conn::http1, header};
use hyper_util::rt::TokioIo;
use scraper::Html;
use tokio::net::TcpStream;

use crate::{
    html::{self, Fields, selector},
    tally::Tally,
};

pub struct Client {
    address: SocketAddr,
    connection: http1::SendRequest<Full<Bytes>>,
    pub cookie: String,
    pub tally: Tally,
}

pub struct Answer {
    pub status: StatusCode,
    /// Where it leads (`Location`), or nothing.
    pub location: String,
    pub cookie: Option<String>,
    pub text: String,
}

impl Client {
    pub async fn connect(address: SocketAddr, cookie: &str) -> Self {
        let stream = TcpStream::connect(address).await.expect("the server listens");
        stream.set_nodelay(true).expect("an option of a socket");
        let (connection, driver) = http1::handshake(TokioIo::new(stream)).await.expect("a connection");
        tokio::spawn(driver);
        Self { address, connection, cookie: cookie.to_owned(), tally: Tally::default() }
    }

    pub async fn get(&mut self, route: &'static str, path: &str) -> Answer {
        self.ask(route, Method::GET, path, String::new()).await
    }

    pub async fn post(&mut self, route: &'static str, path: &str, fields: &Fields) -> Answer {
        let body = html::encoded(fields.iter().map(|(name, value)| (name.as_str(), value.as_str())));
        self.ask(route, Method::POST, path, body).await
    }

    async fn ask(&mut self, route: &'static str, method: Method, path: &str, body: String) -> Answer {
        let request = Request::builder()
            .method(method)
            .uri(path)
            .header(header::HOST, self.address.to_string())
            .header(header::COOKIE, &self.cookie)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header("sec-fetch-site", "same-origin")
            .body(Full::from(body))
            .expect("a request");
        let began = Instant::now();
        self.connection.ready().await.expect("the connection is kept");
        let answer = self.connection.send_request(request).await.expect("an answer");
        let (head, body) = answer.into_parts();
        let body = body.collect().await.expect("a whole body").to_bytes();
        self.tally.took(route, began.elapsed());
        let told = |name| head.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default().to_owned();
        let cookie = Some(told(header::SET_COOKIE)).filter(|text| !text.is_empty());
        Answer {
            status: head.status,
            location: told(header::LOCATION),
            cookie: cookie.map(|text| text.split(';').next().unwrap_or_default().to_owned()),
            text: String::from_utf8_lossy(&body).into_owned(),
        }
    }
}

/// Where the rows of a table that say `words` lead.
pub fn rows_links(page: &str, words: &str) -> Vec<String> {
    let page = Html::parse_document(page);
    let rows =
        page.select(&selector("tr")).filter(|row| row.text().collect::<String>().contains(words)).collect::<Vec<_>>();
    rows.iter().filter_map(|row| row.select(&selector("a[href]")).next()?.attr("href").map(str::to_owned)).collect()
}
