//! The pages of a long list.

/// Which page of a list is shown, and the way to its neighbours.
#[derive(Clone, Debug)]
pub struct Pager {
    /// The list's path with its query, without a page.
    pub path: String,
    /// From 1.
    pub page: u64,
    pub of: u64,
}

impl Pager {
    pub fn is_needed(&self) -> bool {
        self.of > 1
    }

    pub fn before(&self) -> Option<String> {
        (self.page > 1).then(|| self.path_of(self.page.saturating_sub(1)))
    }

    pub fn after(&self) -> Option<String> {
        (self.page < self.of).then(|| self.path_of(self.page.saturating_add(1)))
    }

    fn path_of(&self, page: u64) -> String {
        let joint = if self.path.contains('?') { '&' } else { '?' };
        format!("{}{joint}page={page}", self.path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ends_have_one_neighbour() {
        let pager = |page| Pager { path: "/jobs?stage=quoted".into(), page, of: 2 };
        assert_eq!(pager(1).before(), None);
        assert_eq!(pager(1).after().as_deref(), Some("/jobs?stage=quoted&page=2"));
        assert_eq!(pager(2).after(), None);
        assert_eq!(pager(2).before().as_deref(), Some("/jobs?stage=quoted&page=1"));
    }
}
