//! The choice of a question: the dearest way to the end costs as little as it can, by dynamic programming over what
//! answers leave. Where that has too many ways the cheapest question is chosen, and of those the one that settles most.

use super::residual::{How, NONE, Residuals};
use super::{Askable, MOST_PLACES, Question, Step, short};
use crate::diagram::TooLarge;
use crate::diagram::forest::Node;
use crate::diagram::kernel::Compiled;
use crate::diagram::level::{Sample, Var};
use crate::diagram::space::Space;
use crate::diagram::words::{describe, or_list};
use crate::program::{FactRef, Verdict};
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// The most questions of a vehicle for which the best order is looked for.
const MOST_OPEN: usize = 12;
/// The most residual diagrams that are looked at for it.
const MOST_RESIDUALS: usize = 600;
/// The most ways that the answers to one question may lead.
const MOST_ANSWERS: usize = 32;

/// Classes of the levels of a question, together: one way to answer it.
type Cube = BTreeMap<usize, BTreeSet<usize>>;

/// What answers to a question leave, each with the answers that leave it.
type Answers = Vec<(Node, Vec<Cube>)>;

/// What is known of the best way on from a residual.
#[derive(Debug, Clone, Copy)]
pub(super) struct Best {
    /// What the dearest way costs.
    cost: u32,
    /// How many questions the longest way of it has at most.
    pub(super) depth: usize,
    /// The question to ask: its place in the list.
    pub(super) question: Option<usize>,
    /// Whether nothing is cheaper.
    is_exact: bool,
}

pub(super) struct Policy<'a> {
    space: &'a Space,
    askable: &'a [Askable],
    residuals: Residuals<'a>,
    best: BTreeMap<Node, Best>,
    plain: BTreeMap<Node, Node>,
    left: usize,
    is_best: bool,
}

impl<'a> Policy<'a> {
    pub(super) fn new(compiled: &'a mut Compiled, askable: &'a [Askable]) -> Policy<'a> {
        let compiler = &mut compiled.compiler;
        Policy {
            space: &compiler.space,
            askable,
            residuals: Residuals::new(&mut compiler.forest),
            best: BTreeMap::new(),
            plain: BTreeMap::new(),
            left: 0,
            is_best: true,
        }
    }

    /// Whether every choice so far was the best there is.
    pub(super) fn is_best(&self) -> bool {
        self.is_best
    }

    /// The sets of verdicts over what can be asked; the rest stays unknown.
    pub(super) fn start(&mut self, ruled: Node) -> Result<Node, TooLarge> {
        let sets = self.residuals.sets_of(ruled)?;
        let asked: BTreeSet<usize> = self.askable.iter().flat_map(|question| question.levels.iter().copied()).collect();
        let unknown = (0..self.space.levels.len()).filter(|level| !asked.contains(level)).collect();
        Ok(self.residuals.forget(sets, &unknown, How::Unite)?.unwrap_or(NONE))
    }

    pub(super) fn verdicts(&self, node: Node) -> BTreeSet<Verdict> {
        self.residuals.verdicts(node)
    }

    /// The questions on which a residual depends.
    fn open(&self, node: Node) -> Vec<usize> {
        let support = self.residuals.forest.support(node);
        let places = self.askable.iter().enumerate();
        places.filter(|(_, question)| !question.levels.is_disjoint(&support)).map(|(place, _)| place).collect()
    }

    /// How many facts the questions on which a residual depends ask for.
    pub(super) fn facts_of(&self, node: Node) -> usize {
        self.open(node).iter().filter_map(|place| self.askable.get(*place)).map(|question| question.facts.len()).sum()
    }

    /// Those facts.
    pub(super) fn open_facts(&self, node: Node) -> BTreeSet<FactRef<usize>> {
        let open = self.open(node);
        open.iter().filter_map(|place| self.askable.get(*place)).flat_map(|question| question.facts.clone()).collect()
    }

    /// The residual without questions whose answers change no set, the dearest first: of facts that tell each other, the
    /// cheapest is left.
    pub(super) fn plain(&mut self, node: Node) -> Result<Node, TooLarge> {
        if let Some(done) = self.plain.get(&node) {
            return Ok(*done);
        }
        let mut plain = node;
        // Where every combination left is a vehicle, a reduced diagram depends on nothing that does not matter.
        if self.residuals.forest.reach(node).contains(&0) {
            for place in self.open(node).into_iter().rev() {
                if let Some(question) = self.askable.get(place) {
                    plain = self.residuals.forget(plain, &question.levels, How::Agree)?.unwrap_or(plain);
                }
            }
        }
        self.plain.insert(node, plain);
        Ok(plain)
    }

    /// What each answer to a question leaves, with the answers that leave it; `None` where there are too many.
    fn answers(&mut self, node: Node, question: usize) -> Result<Option<Answers>, TooLarge> {
        let Some(reached) = self.reached(node, question)? else {
            return Ok(None);
        };
        let mut plain = Answers::new();
        for (child, cubes) in reached {
            let child = self.plain(child)?;
            self.put(&mut plain, child, cubes);
        }
        // In the order of the values, so that the answers stand as a person expects them.
        plain.sort_by(|(_, one), (_, other)| one.iter().min().cmp(&other.iter().min()));
        Ok((plain.len() <= MOST_ANSWERS).then_some(plain))
    }

    /// The same before questions that do not matter any more are left away.
    fn reached(&mut self, node: Node, question: usize) -> Result<Option<Answers>, TooLarge> {
        let Some(levels) = self.askable.get(question).map(|question| question.levels.clone()) else {
            return Ok(None);
        };
        let mut reached: Answers = vec![(node, vec![Cube::new()])];
        for level in levels {
            let mut next = Answers::new();
            for (at, cubes) in reached {
                let mut below: BTreeMap<Node, BTreeSet<usize>> = BTreeMap::new();
                for class in 0..self.residuals.forest.children_width(level) {
                    let child = self.residuals.forest.fix(at, &BTreeMap::from([(level, class)]))?;
                    if child != NONE {
                        below.entry(child).or_default().insert(class);
                    }
                }
                let is_free = below.len() == 1 && below.values().all(|classes| classes.len() == self.width(level));
                for (child, classes) in below {
                    let cubes = cubes.iter().cloned().map(|mut cube| {
                        if !is_free {
                            cube.insert(level, classes.clone());
                        }
                        cube
                    });
                    let cubes = cubes.collect();
                    self.put(&mut next, child, cubes);
                }
            }
            if next.len() > MOST_ANSWERS * 4 {
                return Ok(None);
            }
            reached = next;
        }
        Ok(Some(reached))
    }

    fn width(&self, level: usize) -> usize {
        self.residuals.forest.children_width(level)
    }

    /// The best way on from a residual that [`Policy::plain`] made.
    pub(super) fn best(&mut self, node: Node) -> Result<Best, TooLarge> {
        if let Some(best) = self.best.get(&node) {
            return Ok(*best);
        }
        let open = self.open(node);
        if open.len() <= MOST_OPEN {
            self.left = MOST_RESIDUALS;
            // A spent budget ends the search for the best, not the answer.
            if let Ok(Some(best)) = self.exact(node) {
                return Ok(best);
            }
        }
        let best = self.quick(node, &open)?;
        self.best.insert(node, best);
        Ok(best)
    }

    fn exact(&mut self, node: Node) -> Result<Option<Best>, TooLarge> {
        if let Some(best) = self.best.get(&node).filter(|best| best.is_exact) {
            return Ok(Some(*best));
        }
        let open = self.open(node);
        let mut best = Best { cost: 0, depth: 0, question: None, is_exact: true };
        if !open.is_empty() {
            if self.left == 0 {
                return Ok(None);
            }
            self.left -= 1;
            best.cost = u32::MAX;
        }
        for place in open {
            let own = self.askable.get(place).map_or(0, |question| question.cost);
            let facts = self.askable.get(place).map_or(0, |question| question.facts.len());
            let Some(answers) = self.answers(node, place)? else {
                continue;
            };
            let (mut dearest, mut depth) = (0, 0);
            for (below, _) in answers {
                if own.saturating_add(dearest) >= best.cost {
                    break;
                }
                let Some(found) = self.exact(below)? else {
                    return Ok(None);
                };
                dearest = dearest.max(found.cost);
                depth = depth.max(found.depth);
            }
            if own.saturating_add(dearest) < best.cost {
                let cost = own.saturating_add(dearest);
                best = Best { cost, depth: facts + depth, question: Some(place), is_exact: true };
            }
        }
        if best.cost == u32::MAX {
            return Ok(None);
        }
        self.best.insert(node, best);
        Ok(Some(best))
    }

    /// The cheapest question; of those, the one after whose answers the fewest facts still matter.
    fn quick(&mut self, node: Node, open: &[usize]) -> Result<Best, TooLarge> {
        self.is_best = false;
        let mut chosen: Option<((u32, usize, usize, usize), usize)> = None;
        for place in open.iter().copied() {
            let cost = self.askable.get(place).map_or(0, |question| question.cost);
            if chosen.is_some_and(|((least, ..), _)| least < cost) {
                break;
            }
            let Some(answers) = self.reached(node, place)? else {
                continue;
            };
            let undecided = answers.iter().filter(|(below, _)| below.value().is_none()).count();
            let facts = answers.iter().map(|(below, _)| self.told_apart(*below)).max().unwrap_or(0);
            let size = answers.iter().map(|(below, _)| self.residuals.forest.size(*below)).sum();
            let rank = (cost, facts, undecided, size);
            if chosen.is_none_or(|(least, _)| rank < least) {
                chosen = Some((rank, place));
            }
        }
        let question = chosen.map(|(_, place)| place).or(open.first().copied());
        let cost = open.iter().filter_map(|place| self.askable.get(*place)).map(|question| question.cost).sum();
        Ok(Best { cost, depth: self.facts_of(node), question, is_exact: false })
    }

    /// How many levels still tell vehicles apart: some node of theirs leads to two places where there are vehicles.
    fn told_apart(&self, node: Node) -> usize {
        let forest = &self.residuals.forest;
        let (mut levels, mut seen, mut waiting) = (BTreeSet::new(), BTreeSet::new(), vec![node]);
        while let Some(node) = waiting.pop() {
            if node.value().is_none() && seen.insert(node) {
                let live: BTreeSet<Node> =
                    forest.children(node).iter().copied().filter(|child| *child != NONE).collect();
                if live.len() > 1 {
                    levels.insert(forest.level(node));
                }
                waiting.extend(live);
            }
        }
        levels.len()
    }

    /// Where a residual leads, with a place in the tree for the question that it needs.
    pub(super) fn step(&self, node: Node, places: &mut BTreeMap<Node, usize>, waiting: &mut VecDeque<Node>) -> Step {
        if node.value().is_some() {
            return Step::Done(self.verdicts(node));
        }
        let next = places.len();
        match places.get(&node) {
            Some(place) => Step::Ask(*place),
            None if next < MOST_PLACES => {
                places.insert(node, next);
                waiting.push_back(node);
                Step::Ask(next)
            }
            None => Step::Cut(self.verdicts(node)),
        }
    }

    /// The question that a residual needs, with what follows each answer.
    pub(super) fn question(
        &mut self,
        node: Node,
        askable: &[Askable],
        places: &mut BTreeMap<Node, usize>,
        waiting: &mut VecDeque<Node>,
    ) -> Result<Question, TooLarge> {
        let best = self.best(node)?;
        let place = best.question.unwrap_or(0);
        let asked = askable.get(place).cloned();
        let facts = asked.as_ref().map(|asked| asked.facts.clone()).unwrap_or_default();
        let answers = match self.answers(node, place)? {
            Some(answers) => {
                let first = facts.first().filter(|_| facts.len() == 1);
                let told = |(below, cubes): (Node, Vec<Cube>)| (self.words(first, &cubes), below);
                let told: Vec<(String, Node)> = answers.into_iter().map(told).collect();
                told.into_iter().map(|(words, below)| (words, self.step(below, places, waiting))).collect()
            }
            None => vec![("any answer".to_owned(), Step::Cut(self.verdicts(node)))],
        };
        Ok(Question { facts, cost: asked.map_or(0, |asked| asked.cost), answers, at_most: best.depth })
    }

    fn words(&self, fact: Option<&FactRef<usize>>, cubes: &[Cube]) -> String {
        let one = |cube: &Cube| {
            let parts: Vec<String> = cube
                .iter()
                .filter(|(level, classes)| !self.goes_without_saying(**level, classes, cube))
                .map(|(level, classes)| self.part(fact, *level, classes))
                .collect();
            if parts.is_empty() { "any".to_owned() } else { parts.join(" and ") }
        };
        or_list(&cubes.iter().map(one).collect::<Vec<_>>())
    }

    fn part(&self, fact: Option<&FactRef<usize>>, level: usize, classes: &BTreeSet<usize>) -> String {
        if let Some(Var::Holds(list, _)) = self.var(level)
            && self.space.atoms.get(list).is_some_and(|atoms| atoms.atoms.len() == 1)
        {
            return if self.is(level, classes, true) { "one or more" } else { "none" }.to_owned();
        }
        short(fact, &describe(self.space, level, classes))
    }

    fn is(&self, level: usize, classes: &BTreeSet<usize>, truth: bool) -> bool {
        let all = self.space.levels.get(level).map_or(&[][..], |level| level.classes.as_slice());
        classes.iter().all(|class| all.get(*class).is_some_and(|class| class.sample == Sample::Truth(truth)))
    }

    fn var(&self, level: usize) -> Option<&Var> {
        self.space.levels.get(level).map(|level| &level.var)
    }

    /// That a list is on the vehicle, where its codes are told; that it holds none, where there is no list.
    fn goes_without_saying(&self, level: usize, classes: &BTreeSet<usize>, cube: &Cube) -> bool {
        match self.var(level) {
            Some(Var::Present(list)) => {
                self.is(level, classes, true)
                    && cube.keys().any(|other| matches!(self.var(*other), Some(Var::Holds(of, _)) if of == list))
            }
            Some(Var::Holds(list, _)) => cube.iter().any(|(other, classes)| {
                matches!(self.var(*other), Some(Var::Present(of)) if of == list) && self.is(*other, classes, false)
            }),
            _ => false,
        }
    }

    /// Adds ways to answer that leave a residual. Two that differ in one level become one, which says nothing of the level
    /// where that is all of its classes; that there is no list is an answer of its own.
    fn put(&self, list: &mut Answers, node: Node, cubes: Vec<Cube>) {
        let Some((_, known)) = list.iter_mut().find(|(known, _)| *known == node) else {
            list.push((node, cubes));
            return;
        };
        for mut cube in cubes {
            let mut place = known.len();
            // What two became may be like a third.
            while let Some((at, level)) = self.alike(known, &cube) {
                let mut other = known.remove(at);
                let classes = other.entry(level).or_default();
                classes.extend(cube.get(&level).into_iter().flatten());
                if classes.len() == self.width(level) {
                    other.remove(&level);
                }
                (cube, place) = (other, at);
            }
            known.insert(place, cube);
        }
    }

    /// The first of the ways that differs in one level alone, and the level.
    fn alike(&self, ways: &[Cube], cube: &Cube) -> Option<(usize, usize)> {
        let is_of_presence = |level: usize| matches!(self.var(level), Some(Var::Present(_)));
        ways.iter().enumerate().find_map(|(at, other)| {
            let differing: Vec<usize> =
                cube.keys().filter(|level| other.get(level) != cube.get(level)).copied().collect();
            match differing.as_slice() {
                [level] if other.len() == cube.len() && other.contains_key(level) && !is_of_presence(*level) => {
                    Some((at, *level))
                }
                _ => None,
            }
        })
    }
}
