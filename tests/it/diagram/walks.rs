//! Walks over diagrams against the same said of every assignment, one by one: the definitions, no outside source.

use proptest::prelude::*;
use wherefore::internals::diagram::walk::Weights;
use wherefore::internals::diagram::{Forest, Node};

const WIDTHS: [usize; 4] = [2, 3, 2, 3];
const NOBODY: u32 = 9;

/// Every assignment, the last level fastest: the order of the table.
fn assignments() -> Vec<Vec<usize>> {
    let mut all = vec![Vec::new()];
    for width in WIDTHS {
        all = all
            .into_iter()
            .flat_map(|path| (0..width).map(move |class| [path.clone(), vec![class]].concat()))
            .collect();
    }
    all
}

fn built(forest: &mut Forest, level: usize, table: &[u32]) -> Node {
    let Some(width) = WIDTHS.get(level) else {
        return Node::terminal(table[0]);
    };
    let children: Vec<Node> = table.chunks(table.len() / width).map(|part| built(forest, level + 1, part)).collect();
    forest.branch(level, &children).unwrap()
}

fn forest() -> Forest {
    Forest::new(WIDTHS.iter().map(|width| u32::try_from(*width).unwrap()).collect(), 10_000)
}

fn table() -> impl Strategy<Value = Vec<u32>> {
    prop::collection::vec(prop_oneof![0..4u32, Just(NOBODY)], WIDTHS.iter().product::<usize>())
}

/// The same of few terminals, so that many levels are skipped.
fn plain_table() -> impl Strategy<Value = Vec<u32>> {
    prop::collection::vec(0..2u32, WIDTHS.iter().product::<usize>())
}

/// Sizes from 1 to 3 and costs from 0 to 3 of every class.
fn weights() -> impl Strategy<Value = Weights> {
    let sizes: Vec<_> = WIDTHS.iter().map(|width| prop::collection::vec(1..4u64, *width)).collect();
    let costs: Vec<_> = WIDTHS.iter().map(|width| prop::collection::vec(0..4u32, *width)).collect();
    (sizes, costs).prop_map(|(sizes, costs)| Weights { sizes, costs })
}

proptest! {
    // The plainest assignment costs as little as any that leads there, levels that the diagram skips included.
    #[test]
    fn the_plainest_assignment_is_the_least_unusual_of_all(table in prop_oneof![table(), plain_table()], weights in weights()) {
        let mut forest = forest();
        let root = built(&mut forest, 0, &table);
        let cost = |path: &[usize]| path.iter().zip(&weights.costs).map(|(class, costs)| costs[*class]).sum::<u32>();
        for wanted in 0..4 {
            let there = assignments().into_iter().zip(&table).filter(|(_, terminal)| **terminal == wanted);
            let least = there.map(|(path, _)| cost(&path)).min();
            let found = forest.example(root, &weights, |terminal| terminal == wanted);
            prop_assert_eq!(found.as_deref().map(cost), least);
            if let Some(path) = found {
                prop_assert_eq!(path.len(), WIDTHS.len());
                prop_assert_eq!(forest.follow(root, &path), wanted);
            }
        }
    }

    // A count is the sum, over the assignments that lead there, of the products of their classes' sizes.
    #[test]
    fn a_count_is_of_every_value_of_every_assignment(table in prop_oneof![table(), plain_table()], weights in weights()) {
        let mut forest = forest();
        let root = built(&mut forest, 0, &table);
        let size = |path: &[usize]| path.iter().zip(&weights.sizes).map(|(class, sizes)| sizes[*class]).product::<u64>();
        for wanted in 0..4 {
            let there = assignments().into_iter().zip(&table).filter(|(_, terminal)| **terminal == wanted);
            let expected = there.map(|(path, _)| size(&path)).sum::<u64>();
            let found = forest.count(root, &weights, |terminal| terminal == wanted);
            prop_assert_eq!(found.to_string().replace(',', ""), expected.to_string());
        }
    }

    #[test]
    fn a_rise_is_a_greater_terminal_after_the_step(table in table(), level in 0..WIDTHS.len(), ends in (0..3usize, 0..3usize)) {
        let (from, to) = (ends.0 % WIDTHS[level], ends.1 % WIDTHS[level]);
        let mut forest = forest();
        let root = built(&mut forest, 0, &table);
        let risen = forest.rises(root, level, (from, to), NOBODY).unwrap();
        for path in assignments() {
            let mut after = path.clone();
            after[level] = to;
            let (one, other) = (forest.follow(root, &path), forest.follow(root, &after));
            let compared = ![0, NOBODY].contains(&one) && ![0, NOBODY].contains(&other);
            prop_assert_eq!(forest.follow(risen, &path) == 1, path[level] == from && compared && other > one);
        }
    }

    #[test]
    fn without_what_cannot_exist_vehicles_keep_their_terminals(table in table()) {
        let mut forest = forest();
        let root = built(&mut forest, 0, &table);
        let plain = forest.without(root, NOBODY).unwrap();
        prop_assert!(forest.size(plain) <= forest.size(root));
        for (path, terminal) in assignments().into_iter().zip(&table) {
            prop_assert_eq!(forest.follow(root, &path), *terminal);
            prop_assert!(*terminal == NOBODY || forest.follow(plain, &path) == *terminal);
        }
    }
}
