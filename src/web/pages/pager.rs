//! The pages of a long list.

/// Which page of a list is shown, and the way to its neighbours.
#[derive(Clone, Debug)]
pub struct Pager {
    /// The list's path with its query, without a page.
    path: String,
    /// From 1.
    pub page: u32,
    pub of: u64,
}

impl Pager {
    pub fn new(path: String, page: u32, total: u64, rows: u32) -> Self {
        Self { path, page, of: total.div_ceil(u64::from(rows.max(1))).max(1) }
    }

    /// How many rows stand on the pages before this one.
    pub fn offset(page: u32, rows: u32) -> u32 {
        page.saturating_sub(1).saturating_mul(rows)
    }

    pub fn is_needed(&self) -> bool {
        self.of > 1
    }

    pub fn before(&self) -> Option<String> {
        (self.page > 1).then(|| self.path_of(self.page.saturating_sub(1)))
    }

    pub fn after(&self) -> Option<String> {
        (u64::from(self.page) < self.of).then(|| self.path_of(self.page.saturating_add(1)))
    }

    fn path_of(&self, page: u32) -> String {
        let joint = if self.path.contains('?') { '&' } else { '?' };
        format!("{}{joint}page={page}", self.path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ends_have_one_neighbour() {
        let pager = |page| Pager::new("/jobs?stage=quoted".into(), page, 51, 50);
        assert_eq!(pager(1).before(), None);
        assert_eq!(pager(1).after().as_deref(), Some("/jobs?stage=quoted&page=2"));
        assert_eq!(pager(2).after(), None);
        assert_eq!(pager(2).before().as_deref(), Some("/jobs?stage=quoted&page=1"));
        assert!(!Pager::new("/jobs".into(), 1, 50, 50).is_needed());
        assert_eq!((Pager::offset(1, 50), Pager::offset(3, 50), Pager::offset(u32::MAX, 50)), (0, 100, u32::MAX));
    }
}
