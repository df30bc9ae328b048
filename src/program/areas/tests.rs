//! Tests of what names of areas mean to a program. Expected values follow from the rules in `grammar/language.md`.

use super::{Area, Areas, Meant};
use crate::model::county::State;

fn area(name: &str, also: &[&str], partly: &[&str]) -> Area {
    let own = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect();
    Area { name: name.to_owned(), also: own(also), partly: own(partly) }
}

fn texas() -> Areas {
    let areas = vec![area("Harris", &[], &["City of Houston"]), area("El Paso", &["West Texas"], &[])];
    Areas::declared(areas, State::named("Texas"))
}

fn known(name: &str) -> Meant {
    Meant::Known(name.to_owned())
}

#[test]
fn a_declared_county_however_written() {
    for name in ["Harris", "HARRIS", " harris county ", "Harris Co., TX", "harris"] {
        assert_eq!(texas().place(name), known("harris"), "{name}");
    }
    assert_eq!(texas().place("west texas"), known("el paso"));
    assert_eq!(texas().place("ELPASO COUNTY"), known("el paso"));
}

#[test]
fn another_county_of_the_state_is_outside_and_elsewhere_too() {
    assert_eq!(texas().place("Anderson County"), known("anderson"));
    assert_eq!(texas().place("Elsewhere"), known("elsewhere"));
}

#[test]
fn what_nothing_knows_is_a_stranger() {
    for name in ["Haris", "Philadelphia", "", "Harris, Georgia", "another"] {
        assert_eq!(texas().place(name), Meant::Stranger, "{name}");
    }
}

/// There is a Houston County far from the city of Houston: the plain name may mean either.
#[test]
fn a_place_that_lies_in_part_in_an_area() {
    assert_eq!(texas().place("Houston"), Meant::Partly("Harris".to_owned()));
    assert_eq!(texas().place("Houston County"), known("houston"));
    let oregon = Areas::declared(vec![area("Portland", &[], &["Multnomah"])], State::named("Oregon"));
    assert_eq!(oregon.place("Multnomah County"), Meant::Partly("Portland".to_owned()));
    assert_eq!(oregon.place("Lane"), known("lane"));
}

#[test]
fn a_city_and_a_county_of_one_name() {
    let both = vec![area("Fairfax County", &[], &[]), area("Fairfax City", &[], &[])];
    let virginia = Areas::declared(both, State::named("Virginia"));
    assert!(matches!(virginia.place("Fairfax"), Meant::Several(names) if names.len() == 2));
    assert_eq!(virginia.place("City of Fairfax"), known("fairfax city"));
    // Both outside: it does not matter which.
    assert!(matches!(virginia.place("Richmond"), Meant::Known(_)));
    let one = Areas::declared(vec![area("Fairfax County", &[], &[])], State::named("Virginia"));
    assert!(matches!(one.place("Fairfax"), Meant::Several(_)));
    assert_eq!(one.place("Fairfax City"), known("fairfax city"));
}

#[test]
fn without_a_list_only_what_is_named_is_known() {
    let named = Areas::implied(["puebla".to_owned()].into());
    assert_eq!(named.place("PUEBLA"), known("puebla"));
    assert_eq!(named.place("Jalisco"), Meant::Stranger);
    assert_eq!(Areas::default().place("Anything"), known("anything"));
}
