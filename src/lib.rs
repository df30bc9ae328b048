//! Vehicle emissions inspection programs as data: the on-board-diagnostic part. A program file says who is tested, which
//! readiness monitors count, how many may be incomplete, what a lit lamp, a code or a dead connector lead to; the
//! library rules on a vehicle's snapshot and shows why: the clause, the facts, the law, what would change it.
//!
//! ```
//! use wherefore::{Date, Fuel, Monitor, MonitorState, Programs, Snapshot, VehicleClass};
//!
//! let programs = Programs::built_in();
//! let snapshot = Snapshot::builder()
//!     .visit_date(Date::constant(2026, 11, 28))
//!     .model_year(2016)
//!     .fuel(Fuel::Gasoline)
//!     .class(VehicleClass::LightDuty)
//!     .lamp_commanded(false)
//!     .monitor(Monitor::Catalyst, MonitorState::Incomplete)
//!     .monitor(Monitor::OxygenSensor, MonitorState::Incomplete)
//!     .build();
//! let ruling = programs.get("us-il")?.judge(&snapshot)?;
//! println!("{ruling}");
//! let possible: Vec<&str> = ruling.possible().map(|verdict| verdict.name()).collect();
//! assert!(!possible.is_empty());
//! # Ok::<(), wherefore::Error>(())
//! ```
//!
//! What is not set is *not known*, never false or zero: with few facts known a ruling is the exact set of
//! verdicts that vehicles with these facts get. A ruling is advice; the official inspection decides.
//!
//! * [`Programs`] and [`Program`]: programs by id, from the built-in files or from texts of your own.
//! * [`Snapshot`]: from JSON, from diagnostic messages, or built in code.
//! * [`Ruling`]: the verdict or the exact set, the reasons with their law, as text and as JSON.
//! * [`Error`]: everything that is refused, with every error of a program text or a snapshot and its place.
//!
//! Everything here is pure: no input or output, no clock, no floating point in a decision.
//!
//! Dates are [`jiff::civil::Date`], by choice: the calendar's rules are that library's work. Rulings and snapshots
//! implement `serde`'s `Serialize`; with the feature `arrow`, record batches are those of `arrow_array`. No other type
//! of another crate stands in a signature.
#![forbid(unsafe_code)]

// The derive of pest without its `std` (which would measure the stack at every rule) names `alloc` from the root.
extern crate alloc;

#[doc(hidden)]
pub mod internals;
pub(crate) use internals::*;

mod front;
pub use front::*;
