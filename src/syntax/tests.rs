//! Tests of the grammar against the tables it repeats, and of limits and decoding.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "tests may stop at the first wrong thing")]

use super::ast::{AssignmentKind, Item, Kind, PropertyKind, Test};
use super::{decode_text, limits, parse, words};
use crate::model::{FactType, Monitor, Unit, table};
use crate::source::Source;

fn messages(text: &str) -> Vec<(&'static str, String)> {
    parse(&Source::new("file", text)).diagnostics.into_iter().map(|one| (one.code, one.message)).collect()
}

fn one_item(text: &str) -> Item {
    let parsed = parse(&Source::new("file", text));
    assert_eq!(parsed.diagnostics, [], "{text}");
    assert_eq!(parsed.file.items.len(), 1, "{text}");
    parsed.file.items.into_iter().next().unwrap()
}

fn one_test(text: &str) -> Test {
    let Kind::Covers(condition) = one_item(&format!("covers where {text}")).kind else { panic!("{text}") };
    assert_eq!(condition.tests.len(), 1, "{text}");
    condition.tests.into_iter().next().unwrap().node
}

/// Every fact of the table is a fact of the grammar under its own name (the tree has the words as one), and yes/no
/// facts in their two phrases.
#[test]
fn facts_of_the_table_are_words_of_the_grammar() {
    for row in table::FACTS {
        let item = one_item(&format!("ordinary {} not known", row.name));
        let Kind::Ordinary(facts) = item.kind else { panic!("{}", row.name) };
        let kind = facts.into_iter().next().unwrap().kind;
        assert!(matches!(&kind, AssignmentKind::NotKnown { subject } if subject.node == row.name), "{kind:?}");
        match row.kind {
            FactType::YesNo { yes, no } => {
                assert_eq!(one_test(yes), Test::Phrase(yes.to_owned()));
                assert_eq!(one_test(no), Test::Phrase(no.to_owned()));
            }
            FactType::Words(list) => {
                for word in list {
                    let test = one_test(&format!("{} is {word}", row.name));
                    assert!(matches!(&test, Test::Is { subject, .. } if subject.node == row.name), "{test:?}");
                }
            }
            FactType::Number { unit, .. } => {
                let test = one_test(&format!("{} at least 2 {}", row.name, unit.word()));
                assert!(matches!(&test, Test::Number { subject, .. } if subject.node == row.name), "{test:?}");
            }
            FactType::Date => {
                let test = one_test(&format!("{} 2006-01-01 or later", row.name));
                assert!(matches!(&test, Test::Number { subject, .. } if subject.node == row.name), "{test:?}");
            }
            FactType::Text => {
                let test = one_test(&format!("{} is \"A\"", row.name));
                assert!(matches!(&test, Test::IsText { subject, .. } if subject.node == row.name), "{test:?}");
            }
            FactType::Codes => {
                let test = one_test(&format!("any {}", row.name));
                assert!(matches!(&test, Test::Codes { list, .. } if list.node == row.name), "{test:?}");
            }
            FactType::Monitors => {
                let item = one_item(&format!("ordinary {}: catalyst", row.name));
                let Kind::Ordinary(facts) = item.kind else { panic!("{}", row.name) };
                let kind = facts.into_iter().next().unwrap().kind;
                assert!(matches!(&kind, AssignmentKind::Monitors { what, .. } if what.node == row.name), "{kind:?}");
            }
        }
    }
}

/// A word of several words, or a phrase, that is in the grammar and in no table would be a fact that nothing can test.
#[test]
fn the_grammar_has_no_facts_or_monitors_of_its_own() {
    let grammar = include_str!("../../grammar/words.pest");
    let listed = |rule: &str| -> Vec<String> {
        let body = grammar.split(&format!("\n{rule} = @{{")).nth(1).unwrap().split("\n}").next().unwrap();
        // The first letters by which the words are grouped, `&"e" ~ (`, are no words.
        let body: String = body
            .split("&\"")
            .map(|part| part.get(1..).and_then(|it| it.strip_prefix("\" ~ (")).unwrap_or(part))
            .collect();
        let words = |alternative: &str| alternative.split('"').skip(1).step_by(2).collect::<Vec<_>>().join(" ");
        let mut listed: Vec<String> = body.split('|').map(words).collect();
        listed.sort();
        listed
    };
    let sorted = |mut names: Vec<&str>| -> Vec<String> {
        names.sort_unstable();
        names.into_iter().map(str::to_owned).collect()
    };
    assert_eq!(listed("fact"), sorted(table::FACTS.iter().map(|row| row.name).collect()));
    assert_eq!(listed("monitor"), sorted(Monitor::all().map(Monitor::name).collect()));
    let phrases = table::FACTS.iter().filter_map(|row| match row.kind {
        FactType::YesNo { yes, no } => Some([yes, no]),
        FactType::Words(_)
        | FactType::Number { .. }
        | FactType::Date
        | FactType::Text
        | FactType::Monitors
        | FactType::Codes => None,
    });
    assert_eq!(listed("phrase"), sorted(phrases.flatten().collect()));
}

#[test]
fn monitors_of_the_table_are_words_of_the_grammar() {
    for monitor in Monitor::all() {
        let test = one_test(&format!("{} is incomplete", monitor.name()));
        assert!(matches!(&test, Test::Monitor { monitor: word, .. } if word.node == monitor.name()), "{test:?}");
        one_item(&format!("advice on {}", monitor.name()));
    }
}

#[test]
fn words_of_the_lists_are_words_of_the_grammar() {
    for topic in words::TOPICS {
        one_item(&format!("silent on {topic}"));
    }
    for kind in words::SOURCE_KINDS {
        one_item(&format!("source r1 \"t\" {kind}"));
    }
    for seen in words::SEEN {
        one_item(&format!("source r1 \"t\" law, {seen} 2026-11-25"));
        one_item(&format!("silent on lamp\n  per r1 \"(a)\", {seen}"));
    }
    for class in words::CLASSES {
        one_item(&format!("outcomes a ({class})"));
    }
    for kind in words::CONSEQUENCE_KINDS {
        one_item(&format!("consequence {kind} after fail \"t\""));
    }
    for standing in words::STANDINGS {
        one_item(&format!("program a \"t\"\n  standing {standing}"));
    }
    for observer in words::OBSERVERS {
        one_item(&format!("fact a: yes or no\n  observed by {observer}"));
    }
    for unit in words::UNITS {
        assert_eq!(Unit::named(unit).map(Unit::word), Some(*unit), "units are listed as the table spells them");
        one_test(&format!("odometer at least 2 {unit}"));
        one_test(&format!("odometer at least 1 {}", unit.trim_end_matches('s')));
    }
    for observer in [table::Observer::Reader, table::Observer::Look, table::Observer::Papers, table::Observer::Visit] {
        assert!(words::OBSERVERS.contains(&observer.word()));
    }
}

/// Each keyword's example is of that keyword and can be read; each rule of the grammar that begins an item or a
/// property is in the list.
#[test]
fn keywords_have_examples_that_parse() {
    for item in words::ITEMS {
        assert!(item.example.starts_with(item.word), "{}", item.word);
        one_item(item.example);
    }
    for property in words::PROPERTIES {
        assert!(property.example.starts_with(property.word), "{}", property.word);
        let item = one_item(&format!("clause lamp on lamp\n  {}", property.example));
        // What a case expects carries its law on the same line, which is a property too.
        let read = if property.word == "expect" { 2 } else { 1 };
        assert_eq!(item.properties.len(), read, "{}", property.word);
    }
    let grammar = include_str!("../../grammar/wherefore.pest");
    let alternatives = |rule: &str| -> usize {
        let body = grammar.split(&format!("\n{rule} = {{")).nth(1).unwrap().split("\n}").next().unwrap();
        let words = body.split(|c: char| !(c.is_ascii_lowercase() || c == '_' || c == '"'));
        words.filter(|word| !word.is_empty() && !word.contains('"')).collect::<std::collections::BTreeSet<_>>().len()
    };
    // `replaces` stands before items. A message and `CLAUSE gives way to` begin with no keyword of their own, a line
    // only where it is `requires`; `follows from` is another word for `per`.
    // Dates in force are said in three ways beside `from` and `through`, and `left open` beside `taken`; `in` is of those.
    assert_eq!(words::ITEMS.len(), alternatives("head") + 1);
    assert_eq!(words::PROPERTIES.len(), alternatives("property") - 2 + 1 + 3);
    // What is older has words today.
    for (older, today) in words::OLDER {
        let known = words::ITEMS.iter().chain(words::PROPERTIES);
        assert!(known.clone().any(|keyword| keyword.word == *today), "{today}");
        assert!(!known.clone().any(|keyword| keyword.word == *older), "{older}");
    }
}

#[test]
fn every_rule_of_the_grammar_has_an_example() {
    for grammar in [include_str!("../../grammar/wherefore.pest"), include_str!("../../grammar/words.pest")] {
        let mut above = "";
        let mut rules = 0;
        for line in grammar.lines() {
            let is_rule = line.contains(" = ") && line.contains('{') && !line.starts_with([' ', '/', '}']);
            if is_rule {
                rules += 1;
                let groups = line.contains("= _{") && above.starts_with("// ");
                let shown = above.starts_with("/// ") && above.matches('`').count() >= 2;
                assert!(groups || shown, "no example above {line}");
            }
            above = line;
        }
        assert!(rules > 100, "{rules}");
    }
}

#[test]
fn properties_belong_to_the_bullet_they_are_indented_under() {
    let item = one_item(
        "clause a on lamp\n\t- fail where hybrid\n\t\tper r1\n\t\"m\"\n\t- pass where plug-in per r2\n\tdraft",
    );
    let shown: Vec<(bool, usize)> = item
        .properties
        .iter()
        .map(|property| match &property.kind {
            PropertyKind::Bullet(bullet) => (true, bullet.properties.len()),
            _ => (false, 0),
        })
        .collect();
    assert_eq!(shown, [(true, 1), (false, 0), (true, 1), (false, 0)]);
}

/// Words that begin the next property are never read as the end of the one before.
#[test]
fn a_property_does_not_take_in_the_next() {
    let item =
        one_item("clause a on lamp\n  concerns over the limit\n  reject where hybrid\n  per r1\n  \"A message.\"");
    assert_eq!(item.properties.len(), 4);
    let item = one_item("covers where first registered is 2006-01-01\n  through 2019-12-31");
    assert!(matches!(item.properties.first().unwrap().kind, PropertyKind::Through(_)));
    let item = one_item("adopts us-model as amended\n  strikes limit\n  their reject is our fail");
    assert_eq!(item.properties.len(), 2);
}

#[test]
fn line_ends_and_a_mark_at_the_beginning_change_nothing() {
    let plain = "covers where hybrid # c\n  per r1 \"(a)\"\ndue where plug-in\n";
    let expected = parse(&Source::new("file", plain)).file;
    assert_eq!(expected.items.len(), 2);
    let shape = |text: &str| {
        let parsed = parse(&Source::new("file", text));
        assert_eq!(parsed.diagnostics, [], "{text:?}");
        let items: Vec<_> = parsed.file.items.iter().map(|item| item.properties.len()).collect();
        (items, parsed.file.comments.iter().map(|word| word.node.clone()).collect::<Vec<_>>())
    };
    assert_eq!(shape(plain), (vec![1, 0], vec!["# c".to_owned()]));
    assert_eq!(shape(&plain.replace('\n', "\r\n")), shape(plain));
    assert_eq!(shape(&format!("\u{feff}{plain}")), shape(plain));
    assert_eq!(shape(&plain.replace(' ', "\t").replace("#\tc", "# c")), shape(plain));
}

#[test]
fn bytes_that_are_no_text_are_refused_at_the_first_one() {
    let error = decode_text(b"covers\nwhere \xff\xfe").unwrap_err();
    assert_eq!((error.byte, error.value, error.line), (13, 0xff, 2));
    assert_eq!(error.to_string(), "line 2, byte 13: 0xFF is not UTF-8; save the file as plain text in UTF-8");
    assert_eq!(decode_text("\u{feff}é".as_bytes()).unwrap(), "é");
}

#[test]
fn limits_are_told_one_over_and_not_at_the_limit() {
    let items = |count: usize| {
        let mut diagnostics = Vec::new();
        let chunks = super::layout::split(&mut "due\n".repeat(count).into_bytes(), 0, &mut diagnostics);
        (chunks.len(), diagnostics.first().map(|one| one.code))
    };
    assert_eq!(items(limits::ITEMS), (limits::ITEMS, None));
    assert_eq!(items(limits::ITEMS + 5), (limits::ITEMS, Some("limit/items")));
    let bullets = |count: usize| format!("limit\n{}", "  - every vehicle: none\n".repeat(count));
    assert_eq!(messages(&bullets(limits::BULLETS)), []);
    assert_eq!(messages(&bullets(limits::BULLETS + 1)).first().unwrap().0, "limit/bullets");
    let text = |count: usize| format!("case \"{}\"", "é".repeat(count));
    assert_eq!(messages(&text(limits::TEXT_CHARACTERS)), []);
    assert_eq!(messages(&text(limits::TEXT_CHARACTERS + 1)).first().unwrap().0, "limit/text");
    let name = |count: usize| format!("table {}", "a".repeat(count));
    assert_eq!(messages(&name(limits::NAME_CHARACTERS)), []);
    assert_eq!(messages(&name(limits::NAME_CHARACTERS + 1)).first().unwrap().0, "limit/name");
    let number = |number: &str| format!("covers where odometer at least {number} km");
    assert_eq!(messages(&number("9223372036854775807")), []);
    assert_eq!(messages(&number("9223372036854775808")).first().unwrap().0, "limit/number");
    let file = |bytes: usize| format!("#{}", " ".repeat(bytes - 1));
    assert_eq!(messages(&file(limits::FILE_BYTES)), []);
    assert_eq!(messages(&file(limits::FILE_BYTES + 1)).first().unwrap().0, "limit/file");
    let depth = |count: usize| (1..=count).map(|at| format!("{}- a\n", " ".repeat(at))).collect::<String>();
    let codes = |count| messages(&format!("limit\n{}", depth(count)));
    assert_ne!(codes(limits::DEPTH).first().unwrap().0, "limit/depth");
    assert_eq!(codes(limits::DEPTH + 1).first().unwrap().0, "limit/depth");
}

/// Errors beyond the limit are not told, and the items after them are still read.
#[test]
fn errors_are_told_up_to_the_limit() {
    let text = format!("{}due where hybrid\n", "x\n".repeat(limits::ERRORS));
    let parsed = parse(&Source::new("file", &text));
    assert_eq!((parsed.diagnostics.len(), parsed.file.items.len()), (limits::ERRORS, 1));
    let parsed = parse(&Source::new("file", &format!("x\n{text}")));
    assert_eq!((parsed.diagnostics.len(), parsed.file.items.len()), (limits::ERRORS + 1, 1));
    assert_eq!(parsed.diagnostics.last().unwrap().code, "limit/errors");
}
