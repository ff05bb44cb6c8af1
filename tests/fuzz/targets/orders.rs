//! A text as an order's file: it is refused in words, or the shop takes it in.

use dwell::shell::profiles::order_from;
use dwell::shop::facts::fact::Fact;
use dwell::shop::rules::command::Command;

use super::bench::{Bench, SIZES, check_said, shipped};

pub fn run(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let form = match order_from("order.ron".as_ref(), &text, &shipped().recipes) {
        Ok(form) => form,
        Err(wrong) => {
            check_said(&wrong.to_string());
            check_said(&wrong.in_one_line());
            return;
        }
    };
    let mut bench = Bench::new(shipped());
    // What the file's reading passes, the shop takes: they check by the same rule.
    bench.must(&Command::TakeOrder { form, file: Some("order".into()) });
    let taken = bench.past.last().expect("an order makes a fact");
    let body = taken.fact.body().expect("an order can be stored");
    let back = Fact::read(taken.fact.kind(), &body);
    assert_eq!(back.as_ref().ok(), Some(&taken.fact), "what is stored reads back: {body}");
    let mut ui = bench.screen();
    bench.draw_all(&mut ui, SIZES[0]);
    bench.check_places();
}
