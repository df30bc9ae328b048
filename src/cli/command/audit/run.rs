//! Jobs handed out to threads and their pieces taken back in order. How many threads there are changes nothing but the
//! time: what is added up does not depend on order, and what is written is in the order of the records.

use super::input::Input;
use super::source::{Job, jobs};
use super::work::{Hand, Piece, Plan};
use crate::audit::Tally;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};

/// Pieces of one job that wait to be taken, at most.
const WAITING: usize = 4;

/// What takes pieces, in the order of the records.
pub(super) trait Sink {
    fn take(&mut self, piece: Piece) -> Result<(), String>;
}

/// Runs through all files. Gives the tallies by program.
pub(super) fn run(
    plan: &Plan,
    inputs: &[Input],
    threads: usize,
    read: &Arc<AtomicU64>,
    sink: &mut dyn Sink,
) -> Result<Vec<Tally>, String> {
    let hands = if threads <= 1 {
        vec![alone(plan, inputs, read, sink)?]
    } else {
        together(plan, inputs, threads, read, sink)?
    };
    let mut all: Vec<Tally> = plan.programs.iter().map(|_| Tally::default()).collect();
    for hand in hands {
        for (sum, tally) in all.iter_mut().zip(hand.tallies()) {
            sum.join(&tally);
        }
    }
    Ok(all)
}

fn alone(plan: &Plan, inputs: &[Input], read: &Arc<AtomicU64>, sink: &mut dyn Sink) -> Result<Hand, String> {
    let mut hand = Hand::new(plan);
    let mut fault = None;
    jobs(inputs, &plan.mapping, read, &mut |job| {
        let mut give = |piece| match sink.take(piece) {
            Ok(()) => true,
            Err(message) => {
                fault.get_or_insert(message);
                false
            }
        };
        if let Err(message) = hand.work(plan, job, &mut give) {
            fault.get_or_insert(message);
        }
        fault.is_none()
    })?;
    fault.map_or(Ok(hand), Err)
}

type Pieces = Result<Piece, String>;

fn together(
    plan: &Plan,
    inputs: &[Input],
    threads: usize,
    read: &Arc<AtomicU64>,
    sink: &mut dyn Sink,
) -> Result<Vec<Hand>, String> {
    let (to_hands, from_source) = sync_channel::<(Job, SyncSender<Pieces>)>(threads);
    let (to_sink, in_order) = sync_channel::<Receiver<Pieces>>(2 * threads);
    let from_source = Mutex::new(from_source);
    let (faults, source_faults): (Sender<String>, Receiver<String>) = channel();
    let halt = AtomicBool::new(false);
    let goes_on = || !halt.load(Ordering::Relaxed);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let (to_hands, to_sink, faults) = (to_hands, to_sink, faults);
            let done = jobs(inputs, &plan.mapping, read, &mut |job| {
                let (give, take) = sync_channel(WAITING);
                goes_on() && to_sink.send(take).is_ok() && to_hands.send((job, give)).is_ok()
            });
            if let Err(message) = done {
                let _ = faults.send(message);
            }
        });
        let workers: Vec<_> = (0..threads)
            .map(|_| {
                scope.spawn(|| {
                    let mut hand = Hand::new(plan);
                    loop {
                        let next = from_source.lock().unwrap_or_else(PoisonError::into_inner).recv();
                        let Ok((job, give)) = next else { return hand };
                        if !goes_on() {
                            continue;
                        }
                        let done = hand.work(plan, job, &mut |piece| give.send(Ok(piece)).is_ok() && goes_on());
                        if let Err(message) = done {
                            let _ = give.send(Err(message));
                        }
                    }
                })
            })
            .collect();
        let mut fault = None;
        'all: for pieces in &in_order {
            for piece in pieces {
                if let Err(message) = piece.and_then(|piece| sink.take(piece)) {
                    fault = Some(message);
                    break 'all;
                }
            }
        }
        halt.store(true, Ordering::Relaxed);
        drop(in_order);
        let hands: Vec<Hand> = workers.into_iter().filter_map(|worker| worker.join().ok()).collect();
        let fault = fault.or_else(|| source_faults.try_recv().ok());
        match fault {
            Some(message) => Err(message),
            None if hands.len() < threads => Err("a thread came to an unexpected end".to_owned()),
            None => Ok(hands),
        }
    })
}
