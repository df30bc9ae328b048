//! What comes back: rulings, plans, questions, comparisons. Each is written as the command line's text and gives its JSON.

use crate::Snapshot;
use crate::given::{refused, value};
use js_sys::{Error, Object, Reflect};
use wasm_bindgen::prelude::*;

/// An object of pairs.
fn object(pairs: impl IntoIterator<Item = (&'static str, JsValue)>) -> Object {
    let made = Object::new();
    for (key, value) in pairs {
        // Setting a key of an object of our own cannot be refused.
        let _ = Reflect::set(&made, &key.into(), &value);
    }
    made
}

fn verdict(verdict: wherefore::Verdict<'_>) -> Object {
    object([("name", verdict.name().into()), ("class", verdict.class().word().into())])
}

/// A ruling: advice with its reasons. The official inspection decides.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Ruling {
    inner: wherefore::Ruling,
}

impl Ruling {
    pub(crate) fn of(inner: wherefore::Ruling) -> Ruling {
        Ruling { inner }
    }
}

#[wasm_bindgen]
impl Ruling {
    /// Id of the program.
    #[wasm_bindgen(getter)]
    pub fn program(&self) -> String {
        self.inner.program().to_owned()
    }

    /// The one possible verdict; `undecided` where several are.
    #[wasm_bindgen(getter, unchecked_return_type = "Verdict")]
    pub fn verdict(&self) -> Object {
        verdict(self.inner.verdict())
    }

    /// Every verdict that some existing vehicle with these facts gets.
    #[wasm_bindgen(getter, unchecked_return_type = "Verdict[]")]
    pub fn possible(&self) -> Vec<Object> {
        self.inner.possible().map(verdict).collect()
    }

    /// What stands against the vehicle, the gravest first.
    #[wasm_bindgen(getter, unchecked_return_type = "Reason[]")]
    pub fn reasons(&self) -> Vec<Object> {
        let reason = |it: wherefore::Reason<'_>| {
            let citations: Vec<String> = it.citations().collect();
            object([
                ("clause", it.clause().into()),
                ("message", it.message().into()),
                ("outcome", it.outcome().into()),
                ("citations", citations.into()),
            ])
        };
        self.inner.reasons().map(reason).collect()
    }

    /// The ruling as one line of JSON (`wherefore-ruling/1`), byte for byte what `wherefore judge --format json` prints.
    pub fn json(&self) -> String {
        self.inner.to_json()
    }

    /// The ruling as an object.
    #[wasm_bindgen(js_name = toJSON, unchecked_return_type = "Record<string, unknown>")]
    pub fn to_object(&self) -> Result<JsValue, Error> {
        value(&self.inner.to_json())
    }

    /// The answer in brief, the sentences that the short text is made of.
    #[wasm_bindgen(unchecked_return_type = "Brief")]
    pub fn brief(&self) -> Result<JsValue, Error> {
        value(&self.inner.brief_json())
    }

    /// The text with every clause and why it is met, unmet or set aside.
    pub fn trace(&self) -> String {
        self.inner.to_text_with_trace()
    }

    /// A self-contained page to print.
    pub fn html(&self) -> Result<String, Error> {
        self.inner.to_html().map_err(|error| refused(&error))
    }

    /// The short text of the command line.
    #[wasm_bindgen(js_name = toString)]
    pub fn to_text(&self) -> String {
        self.inner.to_string()
    }
}

/// The least that leads to a class of outcome.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Plan {
    inner: wherefore::Plan,
}

impl Plan {
    pub(crate) fn of(inner: wherefore::Plan) -> Plan {
        Plan { inner }
    }
}

#[wasm_bindgen]
impl Plan {
    /// `passes-already`, `plans`, `none`, `other-test`, `not-asked`, `by-case` or `facts-missing`.
    #[wasm_bindgen(getter)]
    pub fn state(&self) -> String {
        self.inner.state().to_owned()
    }

    /// As one line of JSON (`wherefore-plans/2`).
    pub fn json(&self) -> String {
        self.inner.to_json()
    }

    /// As an object.
    #[wasm_bindgen(js_name = toJSON, unchecked_return_type = "Record<string, unknown>")]
    pub fn to_object(&self) -> Result<JsValue, Error> {
        value(&self.inner.to_json())
    }

    /// The plan in brief, the sentences that the text is made of.
    #[wasm_bindgen(unchecked_return_type = "Brief")]
    pub fn brief(&self) -> Result<JsValue, Error> {
        value(&self.inner.brief_json())
    }

    /// The text of `wherefore next --full`: every plan, how each step is usually done and what must hold first.
    #[wasm_bindgen(js_name = inFull)]
    pub fn in_full(&self) -> String {
        self.inner.to_text_in_full()
    }

    /// The text of `wherefore next`.
    #[wasm_bindgen(js_name = toString)]
    pub fn to_text(&self) -> String {
        self.inner.to_string()
    }
}

/// Two programs compared.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Comparison {
    inner: wherefore::Comparison,
}

impl Comparison {
    pub(crate) fn of(inner: wherefore::Comparison) -> Comparison {
        Comparison { inner }
    }
}

#[wasm_bindgen]
impl Comparison {
    /// Whether the two are proven to rule alike on every day looked at.
    #[wasm_bindgen(getter)]
    pub fn equal(&self) -> bool {
        self.inner.is_equal()
    }

    /// As JSON (`wherefore-compare/1`).
    pub fn json(&self) -> String {
        self.inner.to_json()
    }

    /// As an object.
    #[wasm_bindgen(js_name = toJSON, unchecked_return_type = "Record<string, unknown>")]
    pub fn to_object(&self) -> Result<JsValue, Error> {
        value(&self.inner.to_json())
    }

    /// The text of `wherefore compare`.
    #[wasm_bindgen(js_name = toString)]
    pub fn to_text(&self) -> String {
        self.inner.to_string()
    }
}

/// Questions about one vehicle, one after the other.
#[wasm_bindgen]
#[derive(Debug)]
pub struct Questions {
    inner: wherefore::Questions,
}

impl Questions {
    pub(crate) fn of(inner: wherefore::Questions) -> Questions {
        Questions { inner }
    }
}

#[wasm_bindgen]
impl Questions {
    /// The question to put; nothing where nothing that can be asked would change the answer.
    #[wasm_bindgen(unchecked_return_type = "Question | undefined")]
    pub fn question(&self) -> Result<JsValue, Error> {
        let put = self.inner.question().map_err(|error| refused(&error))?;
        Ok(put.map_or(JsValue::UNDEFINED, |it| {
            let at_most = u32::try_from(it.at_most).unwrap_or(u32::MAX);
            let pairs = [("key", it.key), ("text", it.text), ("toldBy", it.told_by), ("answers", it.answers)];
            let pairs = pairs.map(|(key, text)| (key, JsValue::from(text)));
            object(pairs.into_iter().chain([("atMost", at_most.into())])).into()
        }))
    }

    /// Takes the answer to the question: a word or the beginning of one, a number, a date. Throws where it is no answer; the
    /// question then stands.
    pub fn answer(&mut self, answer: &str) -> Result<(), Error> {
        self.inner.answer(answer).map_err(|error| refused(&error))
    }

    /// Goes on without an answer: nobody knows.
    #[wasm_bindgen(js_name = notKnown)]
    pub fn not_known(&mut self) -> Result<(), Error> {
        self.inner.not_known().map_err(|error| refused(&error))
    }

    /// What is known by now.
    #[wasm_bindgen(getter)]
    pub fn snapshot(&self) -> Snapshot {
        Snapshot::of(self.inner.snapshot())
    }
}
