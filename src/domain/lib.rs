//! Floor 0, in reading order: each module uses only those above it.

/// The macro that declares plain choices.
mod choice;
/// Lengths, masses and money: types, reading what people type, and the only rounding.
pub mod measure;
/// Everything that a customer reads, by language, and how figures are written there.
pub mod words;
/// What must be minded, wherever figures stand.
pub mod cautions;
/// A shown calculation, and a check.
pub mod working;
/// Formulas of workings: read, with values put in, worked out again.
pub mod formula;
/// Sections, grades, gauges: properties from geometry.
pub mod steel;
/// Fields of a form as data: reading and writing what people type.
pub mod form;
/// Who works in the shop: their roles and names.
pub mod people;
/// What is a password.
pub mod passwords;
/// Every permitted range of a spec.
pub mod limits;
/// What the shop knows: rate book, stock lengths, norms, policies.
pub mod shop;
/// The ledger of the rack: which movement a piece may make, and that sawing makes no steel.
pub mod rack;
/// Road rules by region as data, and what they say about a set of facts.
pub mod road;
/// Plugs by ways and region: what sits on which pin.
pub mod plugs;
/// What is asked, and the trailer that is built from it.
pub mod trailer;
/// Mass, centre of gravity, coupling load; the axle's place.
pub mod weights;
/// What the road rules make of the built trailer.
pub mod roadworthy;
/// Circuits, currents, cores and pins of the built trailer.
pub mod electrics;
/// Whether frame, towing parts, running gear, deck, ramp and lashings bear what is asked of them.
pub mod strength;

/// Cutting plans of bars and panels, proven where the budget allows, and a verifier of them.
pub mod nesting;
/// Operations to hours.
pub mod labour;
/// Cost to price: the build-up, and what the customer sees of it.
pub mod pricing;
/// The one pipeline: from a spec and the shop's books to everything that follows.
pub mod estimate;
/// What the customer may choose: every combination of options, worked out and judged.
pub mod options;
/// Workings of the figures at the head of a job's pages.
mod figures;
/// What an issued revision freezes.
pub mod issued;
/// An issued quote at other prices.
pub mod reprice;
/// What the shop has to buy for its jobs, and from whom.
pub mod buying;
/// What changed from one issued revision to another.
pub mod changed;
/// A quote's life: the stages of a job, frozen revisions, and what waits for whom.
pub mod quote;
