//! Many records at once: what their columns mean, how the recorded results differ from the program, and what an auditor
//! counts. Pure: readers and writers of files are the front end's business; drawing the summary is `report`'s.

pub mod invent;
pub mod mapping;
