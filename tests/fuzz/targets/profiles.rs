//! A text in place of the station's profile, or of a recipe: it is refused in words, or a shop runs under it.

use dwell::shell::profiles::{order_from, read_texts};
use dwell::shop::facts::fact::Fact;
use dwell::shop::rules::command::Command;

use super::bench::{Bench, ORDER, SIZES, check_said, texts};

/// The first byte says which of the shipped texts gives way.
pub fn run(bytes: &[u8]) {
    let Some((first, text)) = bytes.split_first() else { return };
    let mut texts = texts();
    let place = usize::from(*first) % texts.len();
    texts[place].1 = String::from_utf8_lossy(text).into_owned();
    let profiles = match read_texts(&texts, None) {
        Ok(profiles) => profiles,
        Err(wrong) => {
            check_said(&wrong.to_string());
            check_said(&wrong.in_one_line());
            return;
        }
    };
    let mut bench = Bench::new(&profiles);
    for event in &bench.past {
        let body = event.fact.body().expect("a profile can be stored");
        let back = Fact::read(event.fact.kind(), &body);
        assert_eq!(back.as_ref().ok(), Some(&event.fact), "what is stored reads back: {body}");
    }
    if let Ok(form) = order_from("order.ron".as_ref(), ORDER, &profiles.recipes) {
        bench.must(&Command::TakeOrder { form, file: None });
    }
    for press in bench.shop.press_numbers() {
        for garment in bench.shop.candidates().into_iter().take(1) {
            let by = dwell::shop::rules::command::By::Choice;
            drop(bench.say(&Command::Shut { press, garment, by }));
        }
    }
    bench.wait(45);
    let mut ui = bench.screen();
    bench.draw_all(&mut ui, SIZES[1]);
    bench.check_places();
}
