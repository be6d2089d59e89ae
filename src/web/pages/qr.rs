//! An address as a drawing that a phone reads.

use crate::web::{Error, Result};

/// The SVG of a QR code (ISO/IEC 18004), at least so many pixels wide, its quiet zone included.
pub fn drawn(address: &str, least: u32) -> Result<String> {
    let code = qrcode::QrCode::new(address.as_bytes()).map_err(Error::internal)?;
    let drawn = code.render::<qrcode::render::svg::Color>().min_dimensions(least, least).build();
    // Inside a page the XML declaration is not allowed.
    Ok(drawn.split_once("?>").map_or(drawn.as_str(), |(_, svg)| svg).to_owned())
}
