//! Row ids that cannot be taken for each other.

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => { $(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub i64);

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }

        impl std::str::FromStr for $name {
            type Err = std::num::ParseIntError;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                text.parse().map(Self)
            }
        }
    )+ };
}

ids! {
    CustomerId,
    JobId,
    VariantId,
    RevisionId,
    /// A link to a customer's copy; not the secret token in it.
    LinkId,
    MessageId,
    /// A bar, offcut or sheet of the rack.
    PieceId,
    /// An order to a supplier.
    OrderId,
    /// A line of such an order.
    LineId,
    PersonId,
    SessionId,
    AuditId,
    /// Counts the saves of one thing; a save names the version it was read at.
    Version,
}

impl Version {
    /// Of a thing that was just made.
    pub const FIRST: Self = Self(1);

    pub(super) fn next(self) -> Self {
        Self(self.0.saturating_add(1))
    }
}
