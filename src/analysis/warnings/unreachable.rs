//! Why a condition is unreachable: its parts exclude each other, or the program does not cover the vehicles that meet it,
//! leaves them out, or asks nothing of them. With the vehicles that come nearest to being reached.

use super::{Near, Study};
use crate::diagram::compile::Of;
use crate::diagram::cubes::Describer;
use crate::diagram::forest::{Node, TooLarge};
use crate::program::Condition;

/// More descriptions than these are no help to a reader.
const FEW: usize = 3;

impl Study<'_> {
    /// Of a condition that reaches no vehicle that the program deals with (or that anything asks about): the vehicles that
    /// meet it all the same, or all of it but one part; and why they are not reached.
    pub(super) fn nearest_of(&mut self, condition: &Condition<usize>) -> Result<Near, TooLarge> {
        let flat = self.flat;
        let meeting = self.condition(condition)?;
        if meeting == Node::FALSE {
            return self.contradiction(condition);
        }
        let dealt = self.both(meeting, self.dealt)?;
        if dealt != Node::FALSE {
            let notes = vec!["no clause that asks it concerns them".to_owned()];
            return Ok(Near { vehicles: dealt, counted: "its condition holds for".to_owned(), notes });
        }
        let mut uncovered = meeting;
        let mut notes = Vec::new();
        for (row, taken) in flat.left_out.iter().zip(self.nodes.left_out.clone()) {
            let taken = self.both(meeting, taken)?;
            if taken != Node::FALSE {
                notes.push(format!("{} of them are left out: \"{}\"", self.count(taken), row.why));
                uncovered = self.but_not(uncovered, taken)?;
            }
        }
        if uncovered != Node::FALSE {
            notes.insert(0, format!("{} of them are not covered", self.count(uncovered)));
        }
        Ok(Near { vehicles: meeting, counted: "its condition holds for".to_owned(), notes })
    }

    /// Parts of a condition that no vehicle that can exist meets together, none of which can be spared; and the vehicles
    /// that meet all of these but the last.
    fn contradiction(&mut self, condition: &Condition<usize>) -> Result<Near, TooLarge> {
        // Of several conditions that are each met by nobody, the first tells as much as any.
        let first = match condition {
            Condition::Any(several) => several.first(),
            _ => None,
        };
        let mut parts = parts_of(first.unwrap_or(condition));
        let mut at = 0;
        while at < parts.len() {
            let mut fewer = parts.clone();
            fewer.remove(at);
            if self.condition(&Condition::All(fewer.iter().map(|part| (*part).clone()).collect()))? == Node::FALSE {
                parts = fewer;
            } else {
                at += 1;
            }
        }
        let mut words = Vec::new();
        for part in &parts {
            words.push(self.in_words(part)?);
        }
        let Some(last) = parts.pop().filter(|_| !parts.is_empty()) else {
            let notes = vec!["no vehicle that can exist meets its condition".to_owned()];
            return Ok(Near { vehicles: Node::FALSE, counted: String::new(), notes });
        };
        let all_but = Condition::All(parts.into_iter().cloned().collect());
        let vehicles = self.condition(&all_but)?;
        let last = self.in_words(last)?;
        let notes = vec![format!(
            "its condition contradicts itself: no vehicle that can exist meets all of: {}",
            words.join("; ")
        )];
        Ok(Near { vehicles, counted: format!("but for the part \"{last}\" its condition holds for"), notes })
    }

    /// A condition in the words of program files, where few will do.
    fn in_words(&mut self, condition: &Condition<usize>) -> Result<String, TooLarge> {
        let node = self.compiled.compiler.condition(&mut Of::new(self.flat, &self.given), condition)?;
        let node = self.both(node, self.compiled.exist)?;
        let cover = Describer::new(&mut self.compiled, &[(self.flat, &self.given)])?.cover(node);
        if !cover.rest.is_zero() || cover.cubes.is_empty() || cover.cubes.len() > FEW {
            return Ok("what takes many words".to_owned());
        }
        let cubes: Vec<String> = cover.cubes.iter().map(|cube| cube.conditions.join(" and ")).collect();
        Ok(cubes.join(", or "))
    }
}

/// The parts that must all hold.
fn parts_of(condition: &Condition<usize>) -> Vec<&Condition<usize>> {
    match condition {
        Condition::All(parts) => parts.iter().flat_map(parts_of).collect(),
        other => vec![other],
    }
}
