//! An independent oracle for the diagrams: flat programs interpreted symbolically over Boolean variables of a BDD crate,
//! and the project's diagrams turned into the same, node by node, so that both are compared by root. Written from the
//! comments of `program::flat` and `program::condition`; it shares no code with `diagram`, and takes the values of facts
//! on both sides of every threshold instead of the classes that `diagram::cuts` makes.

mod convert;
mod meaning;
mod world;

use biodivine_lib_bdd::Bdd;
use meaning::Meaning;
use wherefore::internals::diagram::kernel::{NOBODY, terminal_of};
use wherefore::internals::diagram::{Compiled, Node};
use wherefore::internals::program::{Flat, Verdict};
use world::World;

/// Compares everything that the diagrams of a program say with its symbolic meaning.
///
/// # Errors
/// What differs, in words.
pub fn agree(flat: &Flat) -> Result<(), String> {
    let compiled = Compiled::whole(flat).map_err(|error| error.to_string())?;
    agree_with(flat, compiled)
}

/// The same for diagrams that are there already.
///
/// # Errors
/// What differs, in words.
pub fn agree_with(flat: &Flat, mut compiled: Compiled) -> Result<(), String> {
    let world = World::of(flat);
    let exist = world.existing();
    let mut meaning = Meaning::of(flat, &world);
    let nodes = compiled.first().cloned().ok_or("nothing was compiled")?;
    let verdicts: Vec<(u32, Node)> = std::iter::once(Verdict::NotSubject)
        .chain((0..flat.outcomes.len()).map(Verdict::Outcome))
        .map(terminal_of)
        .chain([NOBODY])
        .map(|value| Ok((value, compiled.compiler.forest.where_value(nodes.ruled, |other| other == value)?)))
        .collect::<Result<_, wherefore::internals::diagram::TooLarge>>()
        .map_err(|error| error.to_string())?;
    let mut turned = convert::Turned::of(flat, &world, &compiled)?;
    let mut same = |what: String, node: Node, mine: &Bdd| -> Result<(), String> {
        let theirs = turned.node(node);
        if mine.and(&exist) == theirs.and(&exist) { Ok(()) } else { Err(format!("{what} differs")) }
    };
    let kernel = meaning.kernel();
    same("what is covered".to_owned(), nodes.covered, &kernel.covered)?;
    for (place, (node, mine)) in nodes.left_out.iter().zip(&kernel.left_out).enumerate() {
        same(format!("left-out row {place}"), *node, mine)?;
    }
    for place in 0..flat.lines.len() {
        same(format!("whom line {place} concerns"), nodes.concerned[place], &kernel.concerned[place])?;
        same(format!("where line {place} is unmet"), nodes.unmet[place], &kernel.unmet[place])?;
        same(format!("where line {place} stands"), nodes.standing[place], &kernel.standing[place])?;
    }
    for (value, node) in verdicts {
        let mine = match value {
            NOBODY => exist.not(),
            0 => kernel.not_subject.clone(),
            value => kernel.verdicts[value as usize - 1].clone(),
        };
        same(format!("where the verdict is terminal {value}"), node, &mine)?;
    }
    // Vehicles that can exist, as far as the program's own facts tell: all other facts forgotten.
    let mine = world.forgetting(&exist, &turned.keys());
    if turned.node(compiled.exist) != mine {
        return Err("which vehicles can exist differs".to_owned());
    }
    Ok(())
}
