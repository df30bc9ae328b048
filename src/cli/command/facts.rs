//! `wherefore facts`: the vocabulary, and the schemas made from it.

use crate::cli::args::{Facts, FactsFormat};
use crate::cli::{Exit, print};
use crate::{document, report};

pub(crate) fn run(args: &Facts) -> Exit {
    let pretty = |node: &document::Node| serde_json::to_string_pretty(node).unwrap_or_default() + "\n";
    print::data(&match args.format {
        FactsFormat::Text => report::facts::text(),
        FactsFormat::Json => report::facts::json(),
        FactsFormat::Schema => pretty(&document::schema()),
        FactsFormat::RulingSchema => pretty(&crate::record::schema::schema()),
        FactsFormat::PlansSchema => pretty(&crate::record::schema::plans()),
        FactsFormat::QuizSchema => pretty(&report::exercise::schema()),
    });
    Exit::Good
}
