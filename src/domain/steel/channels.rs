//! Shapes of hot-rolled channels and angles that do not follow from their dimensions: radii and taper.

use std::sync::LazyLock;

use super::section::Section;
use crate::measure::Length;

/// Radii and taper of a rolled shape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rolled {
    /// Inner corner.
    pub root_mm: f64,
    /// Tip of a flange or leg.
    pub toe_mm: f64,
    /// Slope of a flange's inner face.
    pub taper: f64,
    /// Whether the flange's thickness is that at half the outstand beyond the web; else at half the whole width.
    pub at_outstand: bool,
    /// Whether the dimensions were read in a published table.
    pub read: bool,
}

struct Channel {
    name: String,
    section: Section,
    rolled: Rolled,
}

/// The channel of a name, spaces and case aside.
pub fn named_channel(name: &str) -> Option<Section> {
    let name = squeezed(name);
    CHANNELS.iter().find(|channel| channel.name == name).map(|channel| channel.section)
}

/// Radii and taper of a channel: of the table where its dimensions stand there, else as DIN 1026-1 (root = flange, toe half of it,
/// 8 %).
pub fn rolled_channel(section: &Section) -> Rolled {
    let flange = section.flange().mm();
    let din = Rolled { root_mm: flange, toe_mm: flange / 2.0, taper: 0.08, at_outstand: false, read: false };
    CHANNELS.iter().find(|channel| channel.section == *section).map_or(din, |channel| channel.rolled)
}

/// Root radius of an angle: of the table where its legs stand there, else that of the equal angle whose leg is nearest to the mean leg.
/// The flag tells whether the legs stand in the table.
pub fn angle_root_mm(section: &Section) -> (f64, bool) {
    let (larger, smaller) = (section.depth_mm().max(section.width_mm()), section.depth_mm().min(section.width_mm()));
    if let Some(&[_, _, root]) = ANGLES.iter().find(|[a, b, _]| *a == larger && *b == smaller) {
        return (root, true);
    }
    let mean = (larger + smaller) / 2.0;
    let nearest = ANGLES
        .iter()
        .filter(|[a, b, _]| a == b)
        .min_by(|[a, ..], [b, ..]| (a - mean).abs().total_cmp(&(b - mean).abs()))
        .map_or(section.wall_mm(), |[_, _, root]| *root);
    (nearest, false)
}

fn squeezed(name: &str) -> String {
    name.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

static CHANNELS: LazyLock<Vec<Channel>> =
    LazyLock::new(|| include_str!("../../../seed-data/channels.csv").lines().filter_map(channel).collect());

static ANGLES: LazyLock<Vec<[f64; 3]>> =
    LazyLock::new(|| include_str!("../../../seed-data/angle-radii.csv").lines().filter_map(angle).collect());

fn channel(line: &str) -> Option<Channel> {
    let (name, cells) = line.split_once(',')?;
    let (cells, sure) = cells.rsplit_once(',')?;
    let (cells, at) = cells.rsplit_once(',')?;
    let (read, at_outstand) = (sure == "read", at == "outstand");
    let cells: Vec<f64> = cells.split(',').map(str::parse).collect::<Result<_, _>>().ok()?;
    let &[depth, width, web, flange, root_mm, toe_mm, taper] = cells.as_slice() else { return None };
    let [depth, width, web, flange] = [depth, width, web, flange].map(Length::from_mm);
    let section = Section::channel(depth, width, web, flange).ok()?;
    Some(Channel { name: squeezed(name), section, rolled: Rolled { root_mm, toe_mm, taper, at_outstand, read } })
}

fn angle(line: &str) -> Option<[f64; 3]> {
    let cells: Vec<f64> = line.split(',').map(str::parse).collect::<Result<_, _>>().ok()?;
    cells.try_into().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_the_tables_is_read() {
        let rows = |text: &str| text.lines().filter(|line| !line.starts_with('#')).count() - 1;
        assert_eq!(CHANNELS.len(), rows(include_str!("../../../seed-data/channels.csv")));
        assert_eq!(ANGLES.len(), rows(include_str!("../../../seed-data/angle-radii.csv")));
        assert_eq!(CHANNELS.len(), 9);
        assert_eq!(ANGLES.len(), 29);
    }
}
