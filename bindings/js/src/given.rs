//! What JavaScript gives, as the front door takes it, and errors the other way.

use crate::Snapshot;
use js_sys::{Error, JSON, JsString, Object, Reflect, TypeError, Uint8Array};
use wasm_bindgen::prelude::*;
use wherefore::{Class, Date, Request};

/// A refusal as an `Error` with `kind` and `faults`.
pub(crate) fn refused(error: &wherefore::Error) -> Error {
    let thrown = Error::new(&error.to_string());
    thrown.set_name("WhereforeError");
    let faults = JSON::parse(&error.to_json()).and_then(|whole| Reflect::get(&whole, &"faults".into()));
    // Setting a key of an object of our own cannot be refused.
    let _ = Reflect::set(&thrown, &"kind".into(), &error.kind().into());
    let _ = Reflect::set(&thrown, &"faults".into(), &faults.unwrap_or_default());
    thrown
}

pub(crate) fn wrong_type(what: &str) -> Error {
    TypeError::new(what).unchecked_into()
}

/// The JSON text of a value; objects with `toJSON` say what they are.
pub(crate) fn text(given: &JsValue) -> Result<String, Error> {
    let written = JSON::stringify(given).map_err(|thrown| thrown.unchecked_into::<Error>())?;
    // What cannot be written as JSON is written as nothing.
    written.as_string().ok_or_else(|| wrong_type("give an object that JSON can hold, or JSON text"))
}

/// The value of JSON text.
pub(crate) fn value(text: &str) -> Result<JsValue, Error> {
    JSON::parse(text).map_err(|thrown| thrown.unchecked_into())
}

/// The JSON text of a vehicle, which need not name its format.
pub(crate) fn with_format(given: &JsValue) -> Result<String, Error> {
    let whole = value(&text(given)?)?;
    if let Some(object) = whole.dyn_ref::<Object>() {
        let key = JsValue::from("format");
        if !Reflect::has(object, &key).unwrap_or(true) {
            let _ = Reflect::set(object, &key, &"wherefore-snapshot/1".into());
        }
    }
    text(&whole)
}

/// Messages: a text, or bytes.
pub(crate) fn bytes(given: &JsValue) -> Result<Vec<u8>, Error> {
    if let Some(text) = given.dyn_ref::<JsString>() {
        return Ok(String::from(text).into_bytes());
    }
    match given.dyn_ref::<Uint8Array>() {
        Some(array) => Ok(array.to_vec()),
        None => Err(wrong_type("messages are a string or a Uint8Array")),
    }
}

/// Texts by name.
pub(crate) fn texts(given: &Object) -> Result<Vec<(String, String)>, Error> {
    let pairs = Object::entries(given);
    let one = |pair: JsValue| -> Option<(String, String)> {
        let pair: js_sys::Array = pair.dyn_into().ok()?;
        Some((pair.get(0).as_string()?, pair.get(1).as_string()?))
    };
    let all: Option<Vec<(String, String)>> = pairs.iter().map(one).collect();
    all.ok_or_else(|| wrong_type("texts of program files are strings, by file name"))
}

pub(crate) fn request(given: Option<&Object>) -> Result<Request, Error> {
    match given {
        Some(given) => Request::from_json(&text(given)?).map_err(|error| refused(&error)),
        None => Ok(Request::new()),
    }
}

pub(crate) fn date(text: &str) -> Result<Date, Error> {
    text.parse().map_err(|_| wrong_type(&format!("\"{text}\" is no date; write 2026-11-28")))
}

/// The class of outcome that a plan leads to.
pub(crate) fn class(word: Option<&str>) -> Result<Class, Error> {
    let goals = [Class::Pass, Class::Conditional, Class::OtherTest];
    let Some(word) = word else { return Ok(Class::Pass) };
    let words: Vec<&str> = goals.into_iter().map(Class::word).collect();
    let found = goals.into_iter().find(|class| class.word() == word);
    found.ok_or_else(|| wrong_type(&format!("goal is one of {}", words.join(", "))))
}

impl Snapshot {
    /// For results that hold a snapshot.
    pub(crate) fn of(inner: wherefore::Snapshot) -> Snapshot {
        Snapshot { inner }
    }
}
