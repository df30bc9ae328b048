//! Tests of names of areas. Expected values: names as the Census Bureau's list has them, and how people write them.

#![allow(clippy::expect_used, reason = "tests may stop at the first wrong thing")]

use super::{County, CountyKind, State, may_be_same, said};

fn county(state: &str, name: &str, kind: CountyKind) -> (&'static State, &'static County) {
    let state = State::named(state).expect("a state");
    let found = state.counties.iter().find(|county| county.name == name && county.kind == kind);
    (state, found.expect("a county"))
}

/// The counties of a state that a name may mean.
fn meant(state: &str, name: &str) -> Vec<String> {
    let state = State::named(state).expect("a state");
    let said = said(name, Some(state));
    let found = state.counties.iter().filter(|county| may_be_same(&said, &county.said));
    found.map(|county| county.full_name(state)).collect()
}

#[test]
fn the_list_has_every_state() {
    assert_eq!(State::all().len(), 51, "fifty states and the District of Columbia");
    let of = |name: &str| State::named(name).map_or(0, |state| state.counties.len());
    // Numbers of counties as the Census Bureau tells them.
    assert_eq!([of("Texas"), of("Georgia"), of("Virginia"), of("Delaware")], [254, 159, 133, 3]);
    assert_eq!(State::all().iter().map(|state| state.counties.len()).sum::<usize>(), 3142);
}

#[test]
fn every_county_is_found_by_its_own_name_and_no_other_is() {
    for state in State::all() {
        for county in &state.counties {
            let full = county.full_name(state);
            assert_eq!(meant(state.name, &full), std::slice::from_ref(&full), "{}", state.name);
        }
    }
}

#[test]
fn names_as_people_write_them() {
    for name in
        ["Harris", " harris ", "HARRIS COUNTY", "Harris Co.", "County of Harris", "Harris County, TX", "harris, texas"]
    {
        assert_eq!(meant("Texas", name), ["Harris"], "{name}");
    }
    for name in ["Ft. Bend", "FORT BEND", "Fort-Bend county", "FortBend"] {
        assert_eq!(meant("Texas", name), ["Fort Bend"], "{name}");
    }
    assert_eq!(meant("Georgia", "De Kalb"), ["DeKalb"]);
    assert_eq!(meant("Maryland", "Prince Georges"), ["Prince George's"]);
    assert_eq!(meant("Maryland", "Saint Mary’s County"), ["St. Mary's"]);
    assert_eq!(meant("New Mexico", "Dona Ana"), ["Doña Ana"]);
    assert_eq!(meant("Louisiana", "Orleans Parish"), ["Orleans"]);
    assert_eq!(meant("Nevada", "Carson"), ["Carson City"]);
    assert_eq!(meant("Virginia", "James City"), ["James City"]);
    assert_eq!(meant("Virginia", "Charles City County"), ["Charles City"]);
}

#[test]
fn a_city_and_a_county_of_one_name_are_told_apart_by_the_word_alone() {
    assert_eq!(meant("Virginia", "Fairfax"), ["Fairfax County", "Fairfax City"]);
    assert_eq!(meant("Virginia", "City of Fairfax"), ["Fairfax City"]);
    assert_eq!(meant("Maryland", "Baltimore Co"), ["Baltimore County"]);
    assert_eq!(meant("Missouri", "St Louis city"), ["St. Louis City"]);
    let (state, city) = county("Maryland", "Baltimore", CountyKind::City);
    assert_eq!(city.full_name(state), "Baltimore City");
}

#[test]
fn what_is_no_county_of_the_state_is_none() {
    for name in ["Philadelpia", "", " ", "?", "Harris County, Georgia", "Harris, GA", "Harris City", "Haris", "n"] {
        assert!(meant("Texas", name).is_empty(), "{name}");
    }
}
