//! A tree of questions as a picture that stands alone: a card a question, its answers on it, each with the ruling it
//! leads to or the number of the next card. Black on white, states in words, nothing from outside. Layout only.

use super::draw::escaped;
use super::questions::{at_most, leads_to, question_for, remarks, told_by, verdicts};
use crate::analysis::ask::{Question, Step, Tree};
use crate::program::Flat;
use std::fmt::Write;

/// Cards side by side.
const ACROSS: usize = 3;
/// Width of a card, and the space beside and above it.
const WIDTH: i64 = 340;
const GAP: i64 = 24;
const ABOVE: i64 = 34;
/// How far down a line is drawn.
const FAR: i64 = 420;
/// Height of a line of text, and how many characters stand on one.
const LINE: i64 = 17;
const CHARACTERS: usize = 46;

const STYLE: &str = "svg{background:#fff}text{font:13px system-ui,sans-serif;fill:#111}\
    .title{font-size:17px;font-weight:600}.small{fill:#333}.number{font-weight:700}.question{font-weight:600}\
    .ends{font-weight:700}.card{fill:#fff;stroke:#111}.edge{stroke:#888;fill:none}\
    .rule{stroke:#bbb}";

/// A line of text on a card.
struct Written {
    class: &'static str,
    indent: i64,
    words: String,
}

struct Card {
    lines: Vec<Written>,
    x: i64,
    y: i64,
    height: i64,
}

/// The picture.
#[must_use]
pub fn svg(flat: &Flat, tree: &Tree) -> String {
    let width = GAP + (WIDTH + GAP) * count(ACROSS);
    let mut head = vec![format!("{}; law of {}; {}", flat.title, flat.as_of, at_most(tree.depth()))];
    if let Step::Done(left) = &tree.start {
        head.push(format!("The ruling: {}.", verdicts(flat, left)));
    }
    for remark in remarks(tree) {
        head.extend(broken(&remark, 150));
    }
    head.push(
        "A ruling is advice. The official inspection decides; local rules and licensed practice come first.".into(),
    );
    let (cards, height) = placed(flat, tree, 44 + LINE * count(head.len()));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" \
         height=\"{height}\" role=\"img\"><title>Questions that settle a ruling: {}</title><style>{STYLE}</style>",
        escaped(&flat.program)
    );
    text(&mut out, GAP, 28, "title", &flat.program);
    for (place, line) in head.iter().enumerate() {
        text(&mut out, GAP, 50 + LINE * count(place), "small", line);
    }
    for (from, question) in tree.questions.iter().enumerate() {
        for (place, to) in followers(question).into_iter().enumerate() {
            // A line to a card far below would only cross others; its number is on the card.
            if let (Some(from), Some(to)) = (cards.get(from), cards.get(to))
                && to.y - from.y < FAR
            {
                edge(&mut out, from, to, place);
            }
        }
    }
    cards.iter().for_each(|card| draw(&mut out, card));
    out.push_str("</svg>\n");
    out
}

fn count(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(0)
}

fn text(out: &mut String, x: i64, y: i64, class: &str, words: &str) {
    let _ = write!(out, "<text x=\"{x}\" y=\"{y}\" class=\"{class}\">{}</text>", escaped(words));
}

/// The questions that answers lead to, each once.
fn followers(question: &Question) -> Vec<usize> {
    let mut places: Vec<usize> = question
        .answers
        .iter()
        .filter_map(|(_, step)| match step {
            Step::Ask(place) => Some(*place),
            Step::Done(_) | Step::Cut(_) => None,
        })
        .collect();
    places.sort_unstable();
    places.dedup();
    places
}

/// The row of every card: below all cards that lead to it. Answers never lead back, so this ends.
fn rows(tree: &Tree) -> Vec<usize> {
    let mut rows = vec![0; tree.questions.len()];
    for _ in 0..tree.questions.len() {
        let mut moved = false;
        for (from, question) in tree.questions.iter().enumerate() {
            let below = rows.get(from).map_or(0, |row| row + 1);
            for to in followers(question) {
                if let Some(row) = rows.get_mut(to).filter(|row| **row < below) {
                    *row = below;
                    moved = true;
                }
            }
        }
        if !moved {
            break;
        }
    }
    rows
}

/// The cards with their places, and the height of the whole.
fn placed(flat: &Flat, tree: &Tree, top: i64) -> (Vec<Card>, i64) {
    let rows = rows(tree);
    let mut cards: Vec<Card> = tree.questions.iter().enumerate().map(|(place, it)| card(flat, place, it)).collect();
    let mut y = top;
    for row in 0..rows.iter().max().map_or(0, |last| last + 1) {
        let of_row: Vec<usize> = (0..cards.len()).filter(|place| rows.get(*place) == Some(&row)).collect();
        for some in of_row.chunks(ACROSS) {
            let mut tallest = 0;
            // A card alone stands in the middle.
            let free = (WIDTH + GAP) * (count(ACROSS) - count(some.len())) / 2;
            for (column, place) in some.iter().enumerate() {
                if let Some(card) = cards.get_mut(*place) {
                    (card.x, card.y) = (GAP + free + (WIDTH + GAP) * count(column), y);
                    tallest = tallest.max(card.height);
                }
            }
            y += tallest + ABOVE;
        }
    }
    (cards, y)
}

fn card(flat: &Flat, place: usize, asked: &Question) -> Card {
    let mut lines = Vec::new();
    let by = asked.facts.first().map_or("", |fact| told_by(flat, fact));
    let question = format!("{}  {} ({by})", place + 1, question_for(flat, &asked.facts));
    lines.extend(broken(&question, CHARACTERS - 2).into_iter().map(|words| Written {
        class: "question",
        indent: 0,
        words,
    }));
    for (answer, step) in &asked.answers {
        let class = if matches!(step, Step::Ask(_)) { "answer" } else { "ends" };
        let leads = leads_to(flat, step);
        let mut of_answer = broken(answer, CHARACTERS - 2);
        let fits = of_answer.last().is_some_and(|last| last.chars().count() + leads.chars().count() + 3 < CHARACTERS);
        if let Some(last) = of_answer.last_mut().filter(|_| fits && class == "answer") {
            let _ = write!(last, ": {leads}");
        }
        lines.extend(of_answer.into_iter().map(|words| Written { class: "answer", indent: 10, words }));
        if !fits || class != "answer" {
            let all = broken(&format!("= {leads}"), CHARACTERS - 4);
            lines.extend(all.into_iter().map(|words| Written { class, indent: 24, words }));
        }
    }
    let height = 16 + LINE * count(lines.len());
    Card { lines, x: 0, y: 0, height }
}

fn draw(out: &mut String, card: &Card) {
    let Card { x, y, height, .. } = card;
    let _ = write!(out, "<rect x=\"{x}\" y=\"{y}\" width=\"{WIDTH}\" height=\"{height}\" rx=\"3\" class=\"card\"/>");
    for (place, line) in card.lines.iter().enumerate() {
        text(out, x + 10 + line.indent, y + 20 + LINE * count(place), line.class, &line.words);
    }
}

/// A line from below one card to above another; lines that begin at one card begin apart.
fn edge(out: &mut String, from: &Card, to: &Card, place: usize) {
    let begin = from.x + 40 + 30 * (count(place) % 9);
    let (start, end) = (from.y + from.height, to.y);
    let x = to.x + WIDTH / 2;
    let _ = write!(
        out,
        "<path d=\"M{begin} {start}C{begin} {} {x} {} {x} {}\" class=\"edge\"/><path d=\"M{} {}L{x} {end}L{} {}\" \
         class=\"edge\"/>",
        start + 26,
        end - 26,
        end - 1,
        x - 4,
        end - 7,
        x + 4,
        end - 7
    );
}

/// A text in lines of at most so many characters.
fn broken(words: &str, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = vec![String::new()];
    for word in words.split_whitespace() {
        let Some(line) = lines.last_mut() else { break };
        if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > most {
            lines.push(word.to_owned());
            continue;
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    lines
}
