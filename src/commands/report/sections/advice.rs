//! What to do on the next working day, in plain words: what held the work back and what an hour of it is worth, what cost
//! most, and what to do about both. What is to be done about a bottleneck is common practice, no source.

use crate::commands::report::section::{Datum, Part};
use crate::commands::report::words::{amount, tenths};
use crate::shop::books::shift_report::{
    HANDS, HeldBack, LossRow, PRESSES, PRINTERS, Report, Resource,
};
use crate::shop::facts::words::counted;

/// Where nothing was at work for a greater share of its time than this, nothing of it held the work back (our own choice).
const BUSY: f64 = 0.5;

/// The sentences, and their figures.
pub fn parts(report: &Report) -> Vec<Part> {
    let Some(held) = &report.held_back else {
        return vec![Part::Says(vec![
            "Nothing was done in this time: there is nothing to say.".into(),
        ])];
    };
    let mut says = vec![bottleneck(report, held)];
    if held.share >= BUSY {
        says.push(worth(report, held));
    }
    says.push(costliest(report));
    says.extend(beside_idle(report, held));
    says.push(format!("Next time: {}", remedy(report, held)));
    vec![Part::Says(says), Part::Data(data(report, held))]
}

/// "the printer", "the 2 printers", "the presses", "the hands".
fn name(report: &Report, what: &str) -> String {
    match (what, report.printer.printers) {
        (PRINTERS, 1) => "the printer".to_owned(),
        (PRINTERS, count) => format!("the {count} printers"),
        (PRESSES, _) if report.presses.len() == 1 => "the press".to_owned(),
        (what, _) => format!("the {what}"),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn per_cent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

fn bottleneck(report: &Report, held: &HeldBack) -> String {
    let others = held.all.iter().filter(|one| one.what != held.what);
    let told = |one: &Resource| format!("{} {}", name(report, one.what), per_cent(one.share));
    let others: Vec<String> = others.map(told).collect();
    let at_work = format!(
        "at work {} of {} h ({})",
        tenths(held.busy_hours),
        tenths(held.hours),
        per_cent(held.share)
    );
    let what = name(report, held.what);
    match held.share >= BUSY {
        true => format!("{} held the work back: {at_work}; {}.", capital(&what), others.join(", ")),
        false => format!(
            "Neither machine nor hands held the work back: even {what} was {at_work}; {}.",
            others.join(", ")
        ),
    }
}

fn worth(report: &Report, held: &HeldBack) -> String {
    let Some(garments) = held.garments_an_hour else {
        return "Nothing came out of it yet: what an hour of it is worth cannot be said."
            .to_owned();
    };
    let bill = report.bill.as_ref();
    let in_money = |hours: f64| {
        let worth = bill.and_then(|bill| Some((bill.hour_worth? * hours, &bill.money)));
        worth.map_or_else(String::new, |(sum, money)| format!(", {}", amount(sum, money)))
    };
    let less = match bill.and_then(|bill| Some((bill, bill.sale?))) {
        Some((bill, sale)) => {
            let material = bill.material.map_or_else(
                || "; no price of the material".to_owned(),
                |sum| format!(", less {} of material", amount(sum, &bill.money)),
            );
            format!(" (each sold at {}{material})", amount(sale, &bill.money))
        }
        None if bill.is_some() => " (no price of a sale)".to_owned(),
        None => String::new(),
    };
    format!(
        "An hour of it is worth {} garments{}{less}. It stood idle for {} h: {} garments{}.",
        tenths(garments),
        in_money(1.0),
        tenths(held.idle_hours),
        tenths(garments * held.idle_hours),
        in_money(held.idle_hours)
    )
}

/// The loss that cost most: in money where it has prices, else in time, else in garments.
fn most(report: &Report) -> Option<&LossRow> {
    let by = |row: &&LossRow| (row.cost.at_least.unwrap_or(0.0), row.minutes, row.garments);
    report.losses.iter().max_by(|one, other| {
        let ((a, b, c), (d, e, f)) = (by(one), by(other));
        a.total_cmp(&d).then(b.total_cmp(&e)).then(c.cmp(&f))
    })
}

fn costliest(report: &Report) -> String {
    let Some(loss) = most(report) else {
        return "No loss was noted.".to_owned();
    };
    let rejects = match loss.out {
        0 => String::new(),
        out => format!(", {}", counted(out, "reject")),
    };
    let money = report.bill.as_ref().map_or_else(String::new, |bill| match &loss.cost {
        cost if cost.cost.is_some() => {
            format!(", {}", amount(cost.cost.unwrap_or(0.0), &bill.money))
        }
        cost => match cost.at_least {
            Some(sum) => format!(
                ", at least {} (no price: {})",
                amount(sum, &bill.money),
                cost.no_price.join(", ")
            ),
            None => format!(", no price ({})", cost.no_price.join(", ")),
        },
    });
    format!(
        "What cost most: {}, {}{rejects}, {} min{money}. Do: {}.",
        loss.cause,
        counted(loss.garments, "garment"),
        tenths(loss.minutes),
        loss.remedy
    )
}

/// Why minutes lost look small.
fn beside_idle(report: &Report, held: &HeldBack) -> Option<String> {
    let (idle, lost) = (held.idle_hours * 60.0, report.output.lost_minutes);
    (held.share >= BUSY && idle > lost).then(|| {
        format!(
            "All losses together took {} min of presses and hands; that {} stood idle for {} min \
             cost more.",
            tenths(lost),
            name(report, held.what),
            tenths(idle)
        )
    })
}

fn remedy(report: &Report, held: &HeldBack) -> String {
    let sum = |of: fn(&crate::shop::books::shift_report::PressRow) -> f64| {
        report.presses.iter().map(of).sum::<f64>()
    };
    match held.what {
        _ if held.share < BUSY => {
            "look for what the bench waited for: orders, blanks, artwork, or \
             somebody to do it."
                .to_owned()
        }
        PRINTERS => {
            "never let a printer wait. Keep two dry garments beside it, take out and lay in as \
             soon as a print ends, and pre-press and dry while it prints."
                .to_owned()
        }
        PRESSES => format!(
            "never leave a press open with a garment at hand, nor shut past its time: they stood idle \
             {} min and past their target {} min.",
            tenths(sum(|row| row.idle_minutes)),
            tenths(sum(|row| row.past_target_minutes))
        ),
        HANDS => {
            "take work off the hands at the bench: wipe and fill in a pause, bring blanks and \
             stacks ready sorted, or add somebody for the full hours."
                .to_owned()
        }
        _ => String::new(),
    }
}

fn data(report: &Report, held: &HeldBack) -> Vec<Datum> {
    let mut data = vec![Datum::of("held back", "", "by", held.what, "")];
    for one in &held.all {
        data.extend([
            Datum::of("held back", one.what, "there", one.hours, "h"),
            Datum::of("held back", one.what, "at work", one.busy_hours, "h"),
            Datum::of("held back", one.what, "share", one.share, "share"),
        ]);
    }
    data.push(Datum::figure("held back", "an hour is worth", held.garments_an_hour, "garments"));
    if let Some(bill) = &report.bill {
        data.push(Datum::figure("held back", "an hour brings", bill.hour_worth, "money"));
    }
    data
}
