//! One call from a snapshot and a program to a ruling, as pure data: the verdict, its grounds with the law, what would
//! change it, and what it leans on. Texts, pages and JSON are made of it elsewhere.

mod advice;
mod announced;
mod answers;
pub mod areas;
mod basis;
mod candidates;
mod certificate;
mod coverage;
mod due;
mod exact;
mod excused;
mod follow;
mod grounds;
mod identity;
mod judge;
mod lamp;
mod lean;
mod margin;
mod partial;
mod phrases;
mod prepared;
mod prospect;
mod questions;
mod reasons;
mod record;
mod recorded;
mod show;
mod unread;
pub mod vectors;
mod vehicle;
mod verdict;
mod whole;

pub use advice::{AdviceShown, CAUTIONS, advice_for};
pub use announced::ChangeShown;
pub use answers::{Answers, Deciding, Interpreted, Outlook};
pub use basis::{Basis, Law, laws};
pub use certificate::certificate;
pub use coverage::CoverageShown;
pub use due::{Due, DueShown, NO_START};
pub use exact::Calculated;
pub use excused::ExcusedShown;
pub use follow::{ConsequenceShown, NoteShown, PresumptionShown, Standing};
pub use grounds::{Ground, TraceLine};
pub use identity::{ReadinessShown, identity};
pub use judge::{DOUBTS, JudgeError, judge, judge_briefly, judge_with, unknown_shown};
pub use lamp::LampShown;
pub use lean::{Lean, Part};
pub use margin::Margin;
pub use prepared::Prepared;
pub use prospect::{Against, BranchShown, HeadlineKind, Prospect, ProvisoShown, advice_on, minutes, prospect};
pub use questions::{QuestionShown, ReadingShown};
pub use reasons::one_clause;
pub use record::{Alternative, Provided, Ruling, UnknownShown};
pub use recorded::Follows;
pub use show::FactShown;
pub use vehicle::vehicle;
pub use verdict::VerdictShown;
pub use whole::Shared;

#[cfg(test)]
mod beside_tests;
#[cfg(test)]
mod tests;
