//! What a writer of program files needs: everything that can be told of a file, and texts to begin and go on with. The
//! command line and the language server both stand on it. Pure: texts in, texts and data out.

mod begin;
mod facts;
mod folded;
mod missing;
mod todo;
mod told;
mod upgrade;

pub use begin::{BeginError, begin};
pub use facts::facts;
pub use folded::folded;
pub use missing::{Missing, missing};
pub use todo::todo;
pub use told::{Told, told};
pub use upgrade::{Upgraded, upgraded};
