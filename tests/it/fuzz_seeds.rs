//! The fuzz targets' bodies on their seeds, as ordinary tests: every input that ever broke something stays whole.

#[path = "../../fuzz/bodies/agree.rs"]
mod agree;
#[path = "../../fuzz/bodies/check.rs"]
mod check;
#[path = "../../fuzz/bodies/columns.rs"]
mod columns;
#[path = "../../fuzz/bodies/decode.rs"]
mod decode;
#[path = "../../fuzz/bodies/documents.rs"]
mod documents;
#[path = "../../fuzz/bodies/forms.rs"]
mod forms;
#[path = "../../fuzz/bodies/hostile.rs"]
mod hostile;
#[path = "../../fuzz/bodies/judge.rs"]
mod judge;
#[path = "../../fuzz/bodies/lines.rs"]
mod lines;
#[path = "../../fuzz/bodies/mapping.rs"]
mod mapping;
#[path = "../../fuzz/bodies/parse.rs"]
mod parse;
#[path = "../../fuzz/bodies/replay.rs"]
mod replay;
#[path = "../../fuzz/bodies/rows.rs"]
mod rows;
#[path = "../../fuzz/bodies/typed.rs"]
mod typed;

use rstest::rstest;

#[rstest]
#[case::agree("agree", agree::one)]
#[case::parse("parse", parse::one)]
#[case::check("check", check::one)]
#[case::decode("decode", decode::one)]
#[case::forms("forms", forms::one)]
#[case::hostile("hostile", hostile::one)]
#[case::judge("judge", judge::one)]
#[case::columns("columns", columns::one)]
#[case::documents("documents", documents::one)]
#[case::lines("lines", lines::one)]
#[case::mapping("mapping", mapping::one)]
#[case::replay("replay", replay::one)]
#[case::rows("rows", rows::one)]
#[case::typed("typed", typed::one)]
fn seeds_are_replayed(#[case] target: &str, #[case] one: fn(&[u8])) {
    let folder = format!("{}/fuzz/seeds/{target}", env!("CARGO_MANIFEST_DIR"));
    let mut count = 0;
    for entry in std::fs::read_dir(&folder).unwrap() {
        one(&std::fs::read(entry.unwrap().path()).unwrap());
        count += 1;
    }
    assert!(count > 0, "{folder} is empty");
}

/// Cut at many places, a seed breaks nothing either.
#[rstest]
#[case::agree("agree", agree::one, 29)]
#[case::parse("parse", parse::one, 97)]
#[case::check("check", check::one, 193)]
#[case::decode("decode", decode::one, 7)]
#[case::forms("forms", forms::one, 3)]
#[case::hostile("hostile", hostile::one, 7)]
#[case::judge("judge", judge::one, 61)]
#[case::columns("columns", columns::one, 8)]
#[case::documents("documents", documents::one, 97)]
#[case::lines("lines", lines::one, 61)]
#[case::mapping("mapping", mapping::one, 61)]
#[case::replay("replay", replay::one, 8)]
#[case::rows("rows", rows::one, 61)]
#[case::typed("typed", typed::one, 40)]
fn cut_seeds_break_nothing(#[case] target: &str, #[case] one: fn(&[u8]), #[case] step: usize) {
    let folder = format!("{}/fuzz/seeds/{target}", env!("CARGO_MANIFEST_DIR"));
    for entry in std::fs::read_dir(&folder).unwrap() {
        let bytes = std::fs::read(entry.unwrap().path()).unwrap();
        let mut ends: Vec<usize> = (0..bytes.len()).step_by(step).collect();
        ends.push(bytes.len());
        for end in ends {
            one(&bytes[..end]);
        }
    }
}
