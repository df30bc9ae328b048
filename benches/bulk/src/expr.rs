//! Requirements as a tree, and the same in the words of each engine.

use serde_json::{Value, json};

/// A condition.
#[derive(Debug, Clone)]
pub enum Cond {
    Is(&'static str, Num, Num),
    All(Vec<Cond>),
    Any(Vec<Cond>),
}

/// A number.
#[derive(Debug, Clone)]
pub enum Num {
    Fact(&'static str),
    Whole(i64),
    /// How many hold.
    Count(Vec<Cond>),
    If(Box<Cond>, i64, i64),
}

/// A fact compared with a number.
pub fn is(fact: &'static str, compared: &'static str, number: i64) -> Cond {
    Cond::Is(compared, Num::Fact(fact), Num::Whole(number))
}

/// How an engine writes.
pub struct Dialect {
    pub and: &'static str,
    pub or: &'static str,
    pub choose: fn(&str, &str, &str) -> String,
}

impl Cond {
    pub fn text(&self, words: &Dialect) -> String {
        let join = |parts: &[Cond], with: &str| {
            let parts: Vec<String> = parts.iter().map(|part| format!("({})", part.text(words))).collect();
            parts.join(with)
        };
        match self {
            Cond::Is(compared, one, other) => format!("{} {compared} {}", one.text(words), other.text(words)),
            Cond::All(parts) => join(parts, words.and),
            Cond::Any(parts) => join(parts, words.or),
        }
    }

    pub fn json(&self) -> Value {
        let list = |parts: &[Cond]| Value::Array(parts.iter().map(Cond::json).collect());
        match self {
            Cond::Is(compared, one, other) => json!({ *compared: [one.json(), other.json()] }),
            Cond::All(parts) => json!({ "and": list(parts) }),
            Cond::Any(parts) => json!({ "or": list(parts) }),
        }
    }

    /// Bodies of a rule, one of which holds, each as statements.
    pub fn bodies(&self) -> Vec<Vec<String>> {
        match self {
            Cond::Is(compared, one, Num::If(when, yes, no)) => {
                let at = |number: i64| Cond::Is(compared, one.clone(), Num::Whole(number));
                let (first, second) = (at(*yes), at(*no));
                let not = when.opposite();
                Cond::Any(vec![Cond::All(vec![(**when).clone(), first]), Cond::All(vec![not, second])]).bodies()
            }
            Cond::Is(compared, one, other) => vec![vec![format!("{} {compared} {}", one.rego(), other.rego())]],
            Cond::Any(parts) => parts.iter().flat_map(Cond::bodies).collect(),
            Cond::All(parts) => parts.iter().fold(vec![Vec::new()], |all, part| {
                let with = part.bodies();
                all.iter().flat_map(|one| with.iter().map(|more| [one.clone(), more.clone()].concat())).collect()
            }),
        }
    }

    fn opposite(&self) -> Cond {
        match self {
            Cond::Is("<=", one, other) => Cond::Is(">", one.clone(), other.clone()),
            other => panic!("{other:?} is not turned round"),
        }
    }
}

impl Num {
    fn text(&self, words: &Dialect) -> String {
        match self {
            Num::Fact(name) => (*name).to_owned(),
            Num::Whole(number) => number.to_string(),
            Num::Count(parts) => {
                let one = |part: &Cond| (words.choose)(&part.text(words), "1", "0");
                format!("({})", parts.iter().map(one).collect::<Vec<_>>().join(" + "))
            }
            Num::If(when, yes, no) => (words.choose)(&when.text(words), &yes.to_string(), &no.to_string()),
        }
    }

    fn json(&self) -> Value {
        match self {
            Num::Fact(name) => json!({ "var": name }),
            Num::Whole(number) => json!(number),
            Num::Count(parts) => {
                let each: Vec<Value> = parts.iter().map(|part| json!({ "if": [part.json(), 1, 0] })).collect();
                json!({ "+": each })
            }
            Num::If(when, yes, no) => json!({ "if": [when.json(), yes, no] }),
        }
    }

    fn rego(&self) -> String {
        match self {
            Num::Fact(name) => format!("input.{name}"),
            Num::Whole(number) => number.to_string(),
            Num::Count(parts) => {
                let facts: Vec<String> = parts
                    .iter()
                    .map(|part| match part {
                        Cond::Is("==", Num::Fact(name), Num::Whole(2)) => format!("input.{name}"),
                        other => panic!("{other:?} is not counted"),
                    })
                    .collect();
                format!("count([1 | some one in [{}]; one == 2])", facts.join(", "))
            }
            Num::If(..) => panic!("a choice is written as two bodies"),
        }
    }
}
