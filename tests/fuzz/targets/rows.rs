//! Lines as rows of a journal: what reads as a fact is applied to a shop at work and drawn, whatever it says.
//!
//! A line is a kind, a blank, and the body. The sums of the chain are not asked: a row that somebody has written
//! with a right sum is still a row from outside.

use dwell::shop::facts::fact::{Event, Fact};
use dwell::shop::facts::ids::ActNo;
use dwell::shop::rules::command::Command;

use super::bench::{Bench, SIZES};

/// The first byte says at which size it is drawn.
pub fn run(bytes: &[u8]) {
    let Some((first, rows)) = bytes.split_first() else { return };
    let text = String::from_utf8_lossy(rows);
    let mut bench = Bench::at_work();
    for row in text.lines().take(200) {
        let Some((kind, body)) = row.split_once(' ') else { continue };
        let Ok(fact) = Fact::read(kind, body) else { continue };
        bench.wait(3);
        let seq = bench.shop.seq() + 1;
        let station = bench.past[0].station;
        let event = Event { station, seq, act: ActNo(seq), moment: bench.now, fact };
        bench.shop.apply(&event);
        // It is told, and stored anew by whoever restores a journal.
        drop(event.fact.in_words());
        drop(event.fact.body());
        bench.past.push(event);
    }
    let mut ui = bench.screen();
    bench.draw_all(&mut ui, SIZES[usize::from(*first) % SIZES.len()]);
    drop((bench.shop.questions(), bench.shop.candidates(), bench.shop.next_deadline(bench.now)));
    // And the next acts are decided on what it has become.
    for press in bench.shop.press_numbers() {
        drop(bench.say(&Command::Open { press }));
    }
    drop(bench.say(&Command::Undo));
    bench.draw(&ui, SIZES[0]);
}
