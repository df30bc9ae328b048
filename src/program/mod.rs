//! What a program *is* after checking: typed blocks with their dates, questions and bases ([`Program`]), and the one
//! flat program that a date selects from them ([`Flat`]). Nothing unresolved can be written here. This layer knows
//! neither the text it came from nor how it is evaluated.

pub mod announced;
pub mod announced_alone;
pub mod areas;
pub mod basis;
pub mod block;
pub mod condition;
pub mod declared;
pub mod dump;
#[cfg(test)]
pub(crate) mod examples;
pub mod flat;
pub mod given;
pub mod outcome;
pub mod select;
#[cfg(test)]
mod tests;
mod told;
pub mod unread;
pub mod walk;

pub use announced_alone::announced_alone;
pub use areas::Areas;
pub use basis::{Citation, Currency, Kind, Seen, Source};
pub use block::{Block, Item, Origin, Program, Under, Window};
pub use condition::{Condition, Dated, FactRef, How, Quantifier, Refer, Test};
pub use dump::dump;
pub use flat::{Flat, InForce};
pub use given::{Given, GivenError, Verdict};
pub use outcome::{Class, Outcome, Topic};
pub use select::{Epoch, HORIZON_YEAR, Selection, SelectionError, Variant, epochs, select, variant_of};
