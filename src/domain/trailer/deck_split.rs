//! Into which sheets a deck is split.

/// A size that the deck's sheet can be bought in, grain along the length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SheetStock {
    pub length_mm: f64,
    pub width_mm: f64,
}

impl SheetStock {
    /// 8 × 4 ft, the size stocked everywhere.
    pub const USUAL: Self = Self { length_mm: 2440.0, width_mm: 1220.0 };
}

/// Equal parts along and across the bed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DeckSplit {
    pub along: usize,
    pub across: usize,
    /// The stock sheet's length lies across the bed.
    pub turned: bool,
}

/// No more parts than this each way: beyond it the sheets are not sheets.
const MOST: f64 = 40.0;

/// The fewest joints along the bed (nothing bears them between cross-members), then the least sheet bought, then the fewest
/// parts. Boards run along the bed, beside one another. A list without a usable size splits for the usual one.
pub fn split_deck(length_mm: f64, width_mm: f64, stock: &[SheetStock], boards: bool) -> DeckSplit {
    let usable = |sheet: &&SheetStock| sheet.length_mm >= 100.0 && sheet.width_mm >= 50.0;
    let usual = [SheetStock::USUAL];
    let stock = if stock.iter().any(|sheet| usable(&sheet)) { stock } else { &usual };
    let mut best: Option<(DeckSplit, (usize, f64, usize))> = None;
    for sheet in stock.iter().filter(usable) {
        for turned in [false, true].into_iter().filter(|turned| !(boards && *turned)) {
            let (along_mm, across_mm) =
                if turned { (sheet.width_mm, sheet.length_mm) } else { (sheet.length_mm, sheet.width_mm) };
            let split = DeckSplit { along: parts(length_mm, along_mm), across: parts(width_mm, across_mm), turned };
            let count = split.along * split.across;
            let cost = (split.across, count as f64 * along_mm * across_mm, count);
            if best.as_ref().is_none_or(|(_, least)| cost < *least) {
                best = Some((split, cost));
            }
        }
    }
    best.map_or(DeckSplit { along: 1, across: 1, turned: false }, |(split, _)| split)
}

fn parts(whole_mm: f64, sheet_mm: f64) -> usize {
    let parts = (whole_mm / sheet_mm - 1e-9).ceil();
    // Not-a-number counts as one.
    if parts > 1.0 { parts.min(MOST) as usize } else { 1 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn split(length: f64, width: f64) -> (usize, usize, bool) {
        let split = split_deck(length, width, &[SheetStock::USUAL], false);
        (split.along, split.across, split.turned)
    }

    #[test]
    fn one_sheet_covers_a_small_bed() {
        assert_eq!(split(2400.0, 1200.0), (1, 1, false));
        assert_eq!(split(1220.0, 2000.0), (1, 1, true));
    }

    /// 1300 mm is wider than the sheet: two halves of 1200 mm with the sheet across, no joint along the bed.
    #[test]
    fn a_wide_bed_is_decked_across() {
        assert_eq!(split(2400.0, 1300.0), (2, 1, true));
    }

    #[test]
    fn a_larger_sheet_saves_the_joint() {
        let stock = [SheetStock::USUAL, SheetStock { length_mm: 2500.0, width_mm: 1500.0 }];
        assert_eq!(split_deck(2400.0, 1300.0, &stock, false), DeckSplit { along: 1, across: 1, turned: false });
    }

    #[test]
    fn boards_lie_along_the_bed() {
        let boards = [SheetStock { length_mm: 3000.0, width_mm: 145.0 }];
        assert_eq!(split_deck(2400.0, 1300.0, &boards, true), DeckSplit { along: 1, across: 9, turned: false });
    }

    #[test]
    fn odd_sizes_do_no_harm() {
        assert_eq!(split(f64::NAN, 0.0), (1, 1, false));
        assert_eq!(split_deck(2400.0, 1200.0, &[SheetStock { length_mm: 0.0, width_mm: 0.0 }], false).along, 1);
    }
}
