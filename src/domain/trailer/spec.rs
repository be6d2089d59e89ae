//! What is asked: the [`Need`] (one per job), the [`Design`] (one per variant) and the [`Offer`] (what is agreed by hand).
//!
//! Every struct has defaults, so that a spec file names only what differs. Lengths are millimetres and masses kilograms
//! in JSON. Choices keep the fields of the forms not chosen, so that nothing typed is lost when a form is tried and left.

mod design;
mod need;
mod offer;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use design::*;
pub use need::*;
pub use offer::*;

/// Need, design and offer together: all that [`crate::estimate`] takes besides the shop's own books.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Spec {
    pub need: Need,
    pub design: Design,
    pub offer: Offer,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_empty_file_is_the_default_spec() {
        assert_eq!(serde_json::from_str::<Spec>("{}").unwrap(), Spec::default());
    }

    #[test]
    fn a_spec_survives_json() {
        let spec = Spec::default();
        let text = serde_json::to_string(&spec).unwrap();
        assert_eq!(serde_json::from_str::<Spec>(&text).unwrap(), spec);
    }

    #[test]
    fn an_unknown_field_is_refused() {
        let fault = serde_json::from_str::<Spec>(r#"{"design":{"bed":{"lenght":2400}}}"#).unwrap_err();
        assert!(fault.to_string().contains("lenght"), "{fault}");
    }
}
