//! Sources of an adopted file in the file that cites them.

use super::client::{Client, Texts, at, cut};
use super::features::{HEATH, MOOR, OTHER, URI, labels, with};
use serde_json::json;
use std::collections::BTreeMap;

#[test]
fn sources_of_an_adopted_file_are_completed_told_found_and_renamed() {
    // A source of the adopted file is cited in the adopter, completed there with its title, and leads to its declaration.
    let citing = MOOR.replace("\n  per text\n", "\n  per text\n  per heath-text\n");
    let heath = HEATH
        .replace("source text", "source heath-text")
        .replace("per text", "per heath-text")
        .replace("follows from text", "per heath-text");
    let files = [
        ("/desk/zz-heath.wherefore".to_owned(), heath.clone()),
        ("/desk/zz-moor.wherefore".to_owned(), citing.clone()),
    ];
    let mut other = Client::new(Texts(BTreeMap::from(files)));
    other.open(OTHER, &citing);
    assert_eq!(other.codes(OTHER), Vec::<String>::new());
    let place = json!({"textDocument": {"uri": OTHER}, "position": at(&citing, "per heath-text", 6)});
    let found = other.ask("textDocument/definition", place.clone()).unwrap();
    assert_eq!((found[0]["uri"].as_str(), cut(&heath, &found[0]["range"]).as_str()), (Some(URI), "heath-text"));
    let told = other.ask("textDocument/hover", place).unwrap();
    assert!(told["contents"]["value"].as_str().unwrap().contains("code 1.2"), "{told}");
    let offered = labels(&mut other, OTHER, &citing, at(&citing, "per heath-text", 4));
    assert!(offered.contains(&"heath-text".to_owned()), "{offered:?}");
    // Renamed where it is declared, it is renamed in both files.
    other.open(URI, &heath);
    let params = with(
        json!({"textDocument": {"uri": URI}, "position": at(&heath, "source heath-text", 8)}),
        json!({"newName": "heath-code"}),
    );
    let edit = other.ask("textDocument/rename", params).unwrap();
    assert_eq!(edit["documentChanges"].as_array().unwrap().len(), 2, "{edit}");
}
