//! The coverage matrix and the matrix of limits in `policies/README.md` are the ones that the program files give.
//! `WHEREFORE_BLESS=1` renews them.

use crate::every;
use std::fs;
use wherefore::internals::report::firmness::{deciding_parts, limits_matrix, matrix};

// Design, section 4, number 7: every topic is a clause, *silent* or *unread*; anything else is a gap and shown as one.
#[test]
fn the_matrices_are_up_to_date() {
    let path = format!("{}/policies/README.md", env!("CARGO_MANIFEST_DIR"));
    let programs: Vec<_> = every::entries().iter().filter_map(|entry| entry.program.clone()).collect();
    assert!(programs.len() > 40, "only {} programs", programs.len());
    let all = || programs.iter().map(|program| &**program);
    for (name, made) in [("coverage", matrix(all())), ("limits", limits_matrix(all()))] {
        let text = fs::read_to_string(&path).unwrap();
        let (begins, ends) = (format!("<!-- {name} begins -->\n"), format!("<!-- {name} ends -->"));
        let (before, rest) = text.split_once(&begins).expect("the marker where the matrix begins");
        let (_, after) = rest.split_once(&ends).expect("the marker where it ends");
        let made = format!("{before}{begins}\n{made}\n{ends}{after}");
        if std::env::var_os("WHEREFORE_BLESS").is_some() {
            fs::write(&path, &made).unwrap();
        }
        assert!(fs::read_to_string(&path).unwrap() == made, "{name}: run this test with WHEREFORE_BLESS=1");
    }
}

// Counted by hand in this small file: dates in force, covers, count, two rows of the limit (one not read), two lines of the
// clause, a silence on two topics, an unread topic: ten parts.
#[test]
fn every_part_that_decides_is_counted() {
    let text = "program p \"P\"\n  authority \"A\"\n  language 1\n  standing checked\n\
        source r \"1 EX 2\" law, read 2026-11-25\nsource m \"recollection\" memory\n\
        in force from 2002-01-01\n  per r \"(a)\"\noutcomes pass, reject, fail\n\
        covers where every vehicle\n  per m\ncounts supported monitors\n  per r \"(b)\"\n\
        limit\n  - model year 2000 or earlier: at most 2\n    per m\n  - model year 2001 or later: not read\n  per r \"(c)\"\n\
        clause one on readiness\n  per r \"(d)\"\n  - fail where over the limit\n  - reject where over the limit and hybrid\n    per m\n\
        silent on lamp, connector\n  per r, by absence\nunread on identity\n  per r \"(e)\"\n";
    let program = crate::check::read("p", text, &()).1.program.expect("a program without errors");
    let mut parts = deciding_parts(&program);
    parts.sort();
    let law = "law, read".to_owned();
    let memory = "memory, from memory".to_owned();
    let absence = "law, by absence".to_owned();
    let unread = "not read".to_owned();
    let expected = [
        absence.clone(),
        absence,
        law.clone(),
        law.clone(),
        law,
        memory.clone(),
        memory.clone(),
        memory,
        unread.clone(),
        unread,
    ];
    assert_eq!(parts, expected);
}
