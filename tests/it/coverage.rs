//! The coverage matrix in `policies/README.md` is the one that the program files give. `WHEREFORE_BLESS=1` renews it.

use std::fs;
use wherefore::catalog::{BuiltIn, Catalog};
use wherefore::report::overview::matrix;

const BEGINS: &str = "<!-- coverage begins -->\n";
const ENDS: &str = "<!-- coverage ends -->";

// Design, section 4, number 7: every topic is a clause, *silent* or *unread*; anything else is a gap and shown as one.
#[test]
fn the_coverage_matrix_is_up_to_date() {
    let path = format!("{}/policies/README.md", env!("CARGO_MANIFEST_DIR"));
    let text = fs::read_to_string(&path).unwrap();
    let (before, rest) = text.split_once(BEGINS).expect("the marker where the matrix begins");
    let (_, after) = rest.split_once(ENDS).expect("the marker where it ends");
    let catalog = Catalog::new(vec![&BuiltIn]);
    let programs: Vec<_> = catalog.ids().into_iter().filter_map(|id| catalog.find(&id).ok()?.program.clone()).collect();
    let made = format!("{before}{BEGINS}\n{}\n{ENDS}{after}", matrix(programs.iter().map(|program| &**program)));
    assert!(programs.len() > 40, "only {} programs", programs.len());
    if std::env::var_os("WHEREFORE_BLESS").is_some() {
        fs::write(&path, &made).unwrap();
    }
    assert!(fs::read_to_string(&path).unwrap() == made, "run this test with WHEREFORE_BLESS=1");
}
