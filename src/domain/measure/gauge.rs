//! Gauge numbers. "10 gauge" alone is anything from 2.59 to 3.42 mm, so a gauge always names its table.

use std::{fmt, sync::LazyLock};

use serde::{Deserialize, Serialize};

use super::Length;

/// Which table a gauge number is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "UPPERCASE")]
pub enum GaugeTable {
    /// Imperial standard wire gauge.
    Swg,
    /// Birmingham gauge, for strip and tube walls.
    Bwg,
    /// Manufacturers' standard gauge, for uncoated steel sheet.
    Msg,
    /// Brown & Sharpe gauge, for aluminium and copper sheet.
    Awg,
}

impl GaugeTable {
    pub const ALL: [Self; 4] = [Self::Swg, Self::Bwg, Self::Msg, Self::Awg];

    pub const fn name(self) -> &'static str {
        match self {
            Self::Swg => "SWG",
            Self::Bwg => "BWG",
            Self::Msg => "MSG",
            Self::Awg => "AWG",
        }
    }

    /// Where the table is used; common practice.
    pub const fn used_for(self) -> &'static str {
        match self {
            Self::Swg => "British and Indian sheet and wire",
            Self::Bwg => "tube wall and strip",
            Self::Msg => "US steel sheet",
            Self::Awg => "aluminium sheet",
        }
    }

    /// The table that a word names, any case.
    pub fn named(word: &str) -> Option<Self> {
        match word.to_ascii_lowercase().as_str() {
            "swg" => Some(Self::Swg),
            "bwg" => Some(Self::Bwg),
            "msg" => Some(Self::Msg),
            "awg" | "b&s" => Some(Self::Awg),
            _ => None,
        }
    }
}

impl fmt::Display for GaugeTable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// The gauge numbers that the table holds, first and last.
pub fn gauge_range() -> (u32, u32) {
    (TABLE.first().map_or(0, |row| row.gauge), TABLE.last().map_or(0, |row| row.gauge))
}

/// The thickness of a gauge number, or none where the table does not hold it.
pub fn gauge_thickness(table: GaugeTable, gauge: u32) -> Option<Length> {
    TABLE.iter().find(|row| row.gauge == gauge).map(|row| row.thickness[table as usize])
}

/// The gauge whose thickness differs least, with the difference; for labelling a thickness that is kept in millimetres.
pub fn nearest_gauge(table: GaugeTable, thickness: Length) -> Option<(u32, Length)> {
    TABLE
        .iter()
        .map(|row| (row.gauge, row.thickness[table as usize] - thickness))
        .min_by_key(|(_, difference)| difference.nm().unsigned_abs())
}

struct Row {
    gauge: u32,
    thickness: [Length; 4],
}

/// `seed-data/gauges.csv`, with its sources. A row that cannot be read is left out; a test counts them.
static TABLE: LazyLock<Vec<Row>> =
    LazyLock::new(|| include_str!("../../../seed-data/gauges.csv").lines().filter_map(row).collect());

fn row(line: &str) -> Option<Row> {
    let mut cells = line.split(',');
    let gauge = cells.next()?.parse().ok()?;
    let mut next = || Some(Length::from_mm(cells.next()?.parse::<f64>().ok()? * 25.4));
    Some(Row { gauge, thickness: [next()?, next()?, next()?, next()?] })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_the_table_is_read() {
        assert_eq!(TABLE.len(), 15);
        assert_eq!(gauge_range(), (6, 20));
        for table in GaugeTable::ALL {
            assert!(TABLE.windows(2).all(|pair| pair[0].thickness[table as usize] > pair[1].thickness[table as usize]));
        }
    }

    /// Source: gauge chart at icrank.com, inches × 25.4; the four meanings of "10 gauge".
    #[test]
    fn ten_gauge_differs_by_table() {
        let mm = |table| gauge_thickness(table, 10).unwrap().mm();
        assert_eq!(mm(GaugeTable::Swg), 3.2512);
        assert_eq!(mm(GaugeTable::Bwg), 3.4036);
        assert_eq!(mm(GaugeTable::Msg), 3.4163);
        assert_eq!(mm(GaugeTable::Awg), 2.58826);
    }

    /// Source: the defining formula of AWG, 0.005 in × 92^((36 − n)/39), to the four decimals printed.
    #[test]
    fn the_awg_column_follows_its_formula() {
        for row in TABLE.iter() {
            let inches = 0.005 * 92f64.powf((36.0 - f64::from(row.gauge)) / 39.0);
            assert!((row.thickness[GaugeTable::Awg as usize].mm() / 25.4 - inches).abs() < 0.000_06, "{}", row.gauge);
        }
    }

    #[test]
    fn a_thickness_finds_its_gauge() {
        for table in GaugeTable::ALL {
            for row in TABLE.iter() {
                assert_eq!(nearest_gauge(table, row.thickness[table as usize]), Some((row.gauge, Length::default())));
            }
        }
    }
}
