//! Wherefore for JavaScript: a thin layer over the front door of the Rust library. No logic of its own: names, conversions,
//! errors. Values come and go as JSON; `package` says the types.

mod given;
mod ruling;

pub use ruling::{Comparison, Plan, Questions, Ruling};

use given::{bytes, class, date, refused, request, text, value};
use js_sys::{Error, JsString, Object};
use wasm_bindgen::prelude::*;
use wherefore::Vehicles;

#[wasm_bindgen(typescript_custom_section)]
const TYPES: &str = include_str!("types.d.ts");

/// What is known of one vehicle at one visit. What is not there is not known, never false or zero.
#[wasm_bindgen]
#[derive(Debug, Clone)]
pub struct Snapshot {
    inner: wherefore::Snapshot,
}

#[wasm_bindgen]
impl Snapshot {
    /// Of an object or JSON text. An object need not name its format.
    #[wasm_bindgen(constructor)]
    pub fn new(
        #[wasm_bindgen(unchecked_param_type = "Vehicle | string")] document: &JsValue,
    ) -> Result<Snapshot, Error> {
        snapshot(document)
    }

    /// Decodes what a vehicle sent: candump text, an identifier and its bytes a line, and the other forms that
    /// `wherefore decode` reads.
    #[wasm_bindgen(js_name = fromMessages)]
    pub fn from_messages(
        #[wasm_bindgen(unchecked_param_type = "string | Uint8Array")] messages: &JsValue,
        #[wasm_bindgen(unchecked_optional_param_type = "Seen")] seen: Option<Object>,
    ) -> Result<Snapshot, Error> {
        let seen = match seen {
            Some(seen) => wherefore::Seen::from_json(&text(&seen)?).map_err(|error| refused(&error))?,
            None => wherefore::Seen::new(),
        };
        let read = wherefore::Snapshot::from_messages(&bytes(messages)?, &seen);
        read.map(|inner| Snapshot { inner }).map_err(|error| refused(&error))
    }

    /// The document as JSON text.
    pub fn json(&self) -> String {
        self.inner.to_json()
    }

    /// The document as an object.
    #[wasm_bindgen(js_name = toJSON, unchecked_return_type = "Vehicle")]
    pub fn to_object(&self) -> Result<JsValue, Error> {
        value(&self.inner.to_json())
    }
}

/// A snapshot of an object or of JSON text. An object that names no format is one of the format there is.
fn snapshot(given: &JsValue) -> Result<Snapshot, Error> {
    let text = match given.dyn_ref::<JsString>() {
        Some(text) => String::from(text),
        None => given::with_format(given)?,
    };
    wherefore::Snapshot::from_json(text.as_bytes()).map(|inner| Snapshot { inner }).map_err(|error| refused(&error))
}

/// The programs at hand: those built in, and before them those of texts that a host gives.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Programs {
    inner: wherefore::Programs,
}

#[wasm_bindgen]
impl Programs {
    /// `texts`: program files and the tables beside them, by file name; without, the built-in programs alone.
    #[wasm_bindgen(constructor)]
    pub fn new(
        #[wasm_bindgen(unchecked_optional_param_type = "Record<string, string>")] texts: Option<Object>,
    ) -> Result<Programs, Error> {
        let inner = match texts {
            Some(texts) => wherefore::Programs::from_texts(given::texts(&texts)?),
            None => wherefore::Programs::built_in(),
        };
        Ok(Programs { inner })
    }

    /// Ids of all programs, sorted.
    pub fn ids(&self) -> Vec<String> {
        self.inner.ids()
    }

    /// The program of an id.
    pub fn get(&self, id: &str) -> Result<Program, Error> {
        self.inner.get(id).map(|inner| Program { inner }).map_err(|error| refused(&error))
    }

    /// Vehicles of a program with the rulings expected of them (`wherefore-conformance/1`), a line of JSON each: its worked
    /// cases, and with `vectors` those too that are calculated to tell it from each program that differs in one place.
    pub fn conformance(&self, id: &str, vectors: Option<bool>) -> Result<String, Error> {
        let vehicles = if vectors.unwrap_or(false) { Vehicles::All } else { Vehicles::Worked };
        self.inner.conformance(id, vehicles).map_err(|error| refused(&error))
    }

    /// A monitor, a topic or a fact in plain words; nothing where there is no such name.
    #[wasm_bindgen(unchecked_return_type = "Explained | undefined")]
    pub fn explain(&self, name: &str) -> Result<JsValue, Error> {
        self.inner.explain_json(name).map_or(Ok(JsValue::UNDEFINED), |text| value(&text))
    }
}

/// One program, read and checked.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Program {
    inner: wherefore::Program,
}

#[wasm_bindgen]
impl Program {
    /// The program of one text. Throws with every error of the text in `faults`.
    #[wasm_bindgen(js_name = fromText)]
    pub fn from_text(text: &str) -> Result<Program, Error> {
        wherefore::Programs::from_text(text).map(|inner| Program { inner }).map_err(|error| refused(&error))
    }

    /// Id, `us-ca`.
    #[wasm_bindgen(getter)]
    pub fn id(&self) -> String {
        self.inner.id().to_owned()
    }

    /// Title.
    #[wasm_bindgen(getter)]
    pub fn title(&self) -> String {
        self.inner.title().to_owned()
    }

    /// Authority that runs it.
    #[wasm_bindgen(getter)]
    pub fn authority(&self) -> String {
        self.inner.authority().to_owned()
    }

    /// What it is and what it asks beside the common vocabulary, for hosts that make forms of it.
    #[wasm_bindgen(js_name = toJSON, unchecked_return_type = "ProgramForm")]
    pub fn to_object(&self) -> Result<JsValue, Error> {
        value(&self.inner.to_json())
    }

    /// Rules on a vehicle.
    pub fn judge(
        &self,
        #[wasm_bindgen(unchecked_param_type = "Vehicle | Snapshot | string")] vehicle: &JsValue,
        #[wasm_bindgen(unchecked_optional_param_type = "Request")] asked: Option<Object>,
    ) -> Result<Ruling, Error> {
        let (snapshot, request) = (snapshot(vehicle)?, request(asked.as_ref())?);
        self.inner.judge_with(&snapshot.inner, &request).map(Ruling::of).map_err(|error| refused(&error))
    }

    /// The least that leads to a pass; `goal` is `pass`, `conditional` or `other-test`. With `by`, the day of a visit, by the law
    /// of that day and with the days backwards from it.
    pub fn next(
        &self,
        #[wasm_bindgen(unchecked_param_type = "Vehicle | Snapshot | string")] vehicle: &JsValue,
        #[wasm_bindgen(unchecked_optional_param_type = "\"pass\" | \"conditional\" | \"other-test\"")] goal: Option<
            String,
        >,
        #[wasm_bindgen(unchecked_optional_param_type = "Request")] asked: Option<Object>,
        #[wasm_bindgen(unchecked_optional_param_type = "string")] by: Option<String>,
    ) -> Result<Plan, Error> {
        let (snapshot, request) = (snapshot(vehicle)?, request(asked.as_ref())?);
        let goal = class(goal.as_deref())?;
        let plan = match by {
            Some(by) => self.inner.next_by(&snapshot.inner, &request, goal, date(&by)?),
            None => self.inner.next(&snapshot.inner, &request, goal),
        };
        plan.map(Plan::of).map_err(|error| refused(&error))
    }

    /// Begins to ask about a vehicle.
    pub fn ask(
        &self,
        #[wasm_bindgen(unchecked_param_type = "Vehicle | Snapshot | string")] vehicle: &JsValue,
        #[wasm_bindgen(unchecked_optional_param_type = "Request")] asked: Option<Object>,
    ) -> Result<Questions, Error> {
        let (snapshot, request) = (snapshot(vehicle)?, request(asked.as_ref())?);
        self.inner.ask(&snapshot.inner, &request).map(Questions::of).map_err(|error| refused(&error))
    }

    /// Compares with another program, on every run of days or on one.
    pub fn compare(&self, other: &Program, on: Option<String>) -> Result<Comparison, Error> {
        let on = on.as_deref().map(date).transpose()?;
        self.inner.compare(&other.inner, on).map(Comparison::of).map_err(|error| refused(&error))
    }
}

/// The vocabulary of facts, as `wherefore facts --format json` prints it.
#[wasm_bindgen(unchecked_return_type = "Vocabulary")]
pub fn facts() -> Result<JsValue, Error> {
    value(&wherefore::facts_json())
}

/// The version of the library.
#[wasm_bindgen]
pub fn version() -> String {
    env!("CARGO_PKG_VERSION").to_owned()
}
