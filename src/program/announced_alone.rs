//! Programs made of another that tell of many records at once which of them an announced change could turn.

use super::block::{Item, Turn};
use super::{Block, Class, Condition, Outcome, Program};

/// For each announced change its id, and the program with one more outcome: what the change could turn becomes that. A
/// record is touched by the change where that outcome, the last of the ladder, is possible. A change of which several
/// versions are told on different dates comes once; what it could turn of vehicles that are not subject is left out, for
/// no rule relabels them. An outcome that could be turned, and that the program relabels to one that could not, counts too.
#[must_use]
pub fn announced_alone(program: &Program) -> Vec<(String, Program)> {
    let mut ids: Vec<&String> = Vec::new();
    for block in &program.blocks {
        if let Item::Change { id, .. } = &block.item
            && !block.draft
            && !ids.contains(&id)
        {
            ids.push(id);
        }
    }
    ids.sort();
    ids.into_iter().map(|id| (id.clone(), with(program, id))).collect()
}

/// The name of the outcome that a change turns into: no file can have it.
fn name(id: &str) -> String {
    format!("change {id}")
}

fn with(program: &Program, wanted: &str) -> Program {
    let mut made = Program { cases: Vec::new(), advice: Vec::new(), ..program.clone() };
    let turned = made.outcomes.len();
    made.outcomes.push(Outcome { name: name(wanted), class: Class::Fail, label: None });
    for block in &program.blocks {
        let Item::Change { id, turns, .. } = &block.item else { continue };
        if id == wanted && !block.draft {
            for turn in turns {
                made.blocks.extend(relabelled(program, block, turn, turned));
            }
        }
    }
    made
}

/// The relabelling of one turn: of an outcome as it comes of the ladder, and of what already becomes the turned outcome.
fn relabelled<'p>(
    program: &'p Program,
    change: &'p Block,
    turn: &'p Turn<String>,
    turned: usize,
) -> impl Iterator<Item = Block> + use<'p> {
    let is_turned =
        |place: usize| program.outcomes.get(place).is_some_and(|outcome| turn.could_turn.contains(&outcome.name));
    let mut blocks = Vec::new();
    for (from, _) in program.outcomes.iter().enumerate() {
        let rules = program.blocks.iter().filter(|block| !block.draft).filter_map(|block| match &block.item {
            Item::Becomes { from: first, to, condition } if *first == from => Some((block, *to, condition)),
            _ => None,
        });
        if is_turned(from) {
            blocks.push((change, from, turn.concerns.clone()));
        }
        for (rule, to, condition) in rules {
            if is_turned(to) {
                blocks.push((rule, from, Condition::every(vec![condition.clone(), turn.concerns.clone()])));
            }
        }
    }
    let made = blocks.into_iter().map(move |(block, from, condition)| {
        let window = super::Window {
            from: block.window.from.max(change.window.from),
            through: match (block.window.through, change.window.through) {
                (Some(one), Some(other)) => Some(one.min(other)),
                (one, other) => one.or(other),
            },
        };
        let mut under = change.under.clone();
        under.extend(block.under.iter().filter(|one| !change.under.contains(one)).cloned());
        let published = block.published.max(change.published);
        Block { item: Item::Becomes { from, to: turned, condition }, window, under, published, ..change.clone() }
    });
    made.collect::<Vec<_>>().into_iter()
}
