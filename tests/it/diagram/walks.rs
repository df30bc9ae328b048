//! Walks over diagrams against the same said of every assignment, one by one: the definitions, no outside source.

use proptest::prelude::*;
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

proptest! {
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
