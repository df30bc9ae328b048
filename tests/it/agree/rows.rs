//! Random programs as rows: against the interpreter, the diagrams of one vehicle and (in [`super::reference`]) the naive
//! evaluator. What the row engine does not take is counted: it is refused with a reason, never answered otherwise.

use super::{program, seeds};
use crate::bulk::days;
use crate::bulk::records::Dice;
use crate::bulk::rows::{Counts, try_days};
use crate::every;
use wherefore::internals::bulk::{Engine, Options, RowEngine};
use wherefore::internals::model::day_number;

#[test]
fn rows_of_random_programs() {
    let seeds: Vec<u64> = seeds(60).collect();
    let came = every::side_by_side(&seeds, |seed| {
        let Ok((program, text)) = program(*seed) else { return (Counts::default(), 0, 0) };
        let days = days(&program, &mut Dice(*seed + 31));
        let engine = Engine::new(&program, Options::default()).unwrap();
        let (taken, refused): (Vec<_>, Vec<_>) =
            days[..3].iter().copied().partition(|day| RowEngine::of(&engine.rules(day_number(*day)).unwrap()).is_ok());
        println!("seed {seed}");
        let counts = std::panic::catch_unwind(|| try_days(&program, &taken, *seed, 4, true));
        (counts.unwrap_or_else(|_| panic!("seed {seed}\n{text}")), taken.len(), refused.len())
    });
    let all = came.iter().fold(Counts::default(), |all, one| all.add(one.0));
    let (taken, refused) = came.iter().fold((0, 0), |all, one| (all.0 + one.1, all.1 + one.2));
    println!("{all:?}; {taken} taken, {refused} refused");
    assert!(taken > 20 * refused, "{taken} taken, {refused} refused");
    assert!(all.judged > seeds.len() * 10 && all.settled > 300 && all.open > 100 && all.presumed > 30, "{all:?}");
}
