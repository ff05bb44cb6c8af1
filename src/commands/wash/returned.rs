//! A garment that a customer brought back.

use serde_json::{Value, json};

use super::{Options, moment, tag};
use crate::commands::trace::records;
use crate::commands::{Failure, Places, Read, output, read};
use crate::figures::fastness::Grade;
use crate::shell::journal::{JournalError, Reader};
use crate::shell::recall::{self, NoRecall, Recall, Taken};
use crate::shell::{inbox, private};
use crate::shop::facts::fact::{Complaint, ReturnAsked, Returned};
use crate::shop::facts::ids::OrderId;
use crate::shop::facts::words::clean;
use crate::shop::rules::command::Command;

/// Says which garments it may be, and lays what was said in the inbox.
pub fn run(
    places: &Places,
    options: &Options,
    complaint: Complaint,
    (grade, delta_e): (Option<Grade>, Option<f64>),
) -> Result<(), Failure> {
    let data = places.data()?;
    let known = read(&data)?;
    let reader = Reader::of(&data)?;
    let asked = match &options.order {
        None => {
            let tag = tag(options)?;
            ReturnAsked { order: tag.order_id(), garment: Some(tag), size: String::new() }
        }
        Some(text) => ReturnAsked {
            order: order(&recall::orders(&reader)?, text, &known)?,
            garment: None,
            size: options.size.as_deref().map(|size| clean(size, 8)).unwrap_or_default(),
        },
    };
    let found = recall::of(&reader, &asked).map_err(|wrong| match wrong {
        NoRecall::Journal(wrong) => Failure::from(wrong),
        wrong => Failure::Input(wrong.to_string()),
    })?;
    let said = said(&asked, &found, complaint);
    let said = Returned { cycles: options.cycles, grade, delta_e, ..said };
    let command = Command::NoteReturn(said.clone());
    let refused = known.shop.decide(&command, known.now);
    refused.map_err(|refusal| Failure::Input(refusal.to_string()))?;
    let mut id = None;
    if !options.look {
        let fault = |reason| JournalError::Directory { path: data.clone(), reason };
        private::directory(&data).map_err(fault)?;
        id = Some(inbox::lay_return(&data, &moment(), &said).map_err(fault)?);
    }
    if options.json {
        return output::json(&as_json(&said, &found, id));
    }
    let told = match id {
        Some(_) => format!("{}. It is queued for the board.", said.in_words()),
        None => "only looked up: nothing is recorded".to_owned(),
    };
    output::lines(found.lines(&known.zone).into_iter().chain([told]))
}

/// What is recorded: with what is known of the garment, where only one can be meant.
fn said(asked: &ReturnAsked, found: &Recall, complaint: Complaint) -> Returned {
    let only = match found.candidates.as_slice() {
        [only] => Some(only),
        _ => None,
    };
    let said = Returned::of(asked.order.no, only.map(|only| only.tag), complaint);
    let coat = only.and_then(|only| only.coat);
    Returned {
        size: only.map_or_else(|| asked.size.clone(), |only| only.size.clone()),
        recipe: only.and_then(|only| only.recipe.clone()),
        coat: coat.map(|(coat, _)| coat),
        estimated: coat.is_some_and(|(_, estimated)| estimated),
        ..said
    }
}

/// The order that a text names: by its name, else by its number.
fn order(orders: &[Taken], text: &str, known: &Read) -> Result<OrderId, Failure> {
    let called: Vec<&Taken> =
        orders.iter().filter(|order| order.name.eq_ignore_ascii_case(text.trim())).collect();
    match called.as_slice() {
        [only] => Ok(only.id),
        [] => OrderId::read(text, known.shop.id()).ok_or_else(|| {
            let text = clean(text, 40);
            Failure::Input(format!(
                "no order is called \"{text}\": expected its name, or its number such as A3"
            ))
        }),
        several => {
            let each: Vec<String> = several.iter().map(|order| order.dated(&known.zone)).collect();
            let text = clean(text, 40);
            let text = format!(
                "several orders are called \"{text}\": name one by its number: {}",
                each.join("; ")
            );
            Err(Failure::Input(text))
        }
    }
}

fn as_json(said: &Returned, found: &Recall, id: Option<String>) -> Value {
    let candidates: Vec<Value> = found.candidates.iter().map(records::as_json).collect();
    let at_risk: Vec<Value> = found
        .at_risk
        .iter()
        .map(|one| {
            let mut record = records::as_json(&one.record);
            record["shares"] = json!(one.shares);
            record
        })
        .collect();
    let elsewhere: Vec<Value> = found
        .elsewhere
        .iter()
        .map(
            |(lot, garments, orders)| json!({ "lot": lot, "garments": garments, "orders": orders }),
        )
        .collect();
    json!({
        "returned": records::returned(said), "id": id, "name": found.order.name,
        "candidates": candidates, "at_risk": at_risk, "others": found.others, "elsewhere": elsewhere,
        "again": found.again.iter().map(|(order, of)| json!({ "order": order, "for": of })).collect::<Vec<_>>(),
        "cost": found.cost.as_ref().map(|cost| json!({
            "refund": cost.refund, "again": cost.again, "no_price": cost.no_price, "money": cost.money,
        })),
    })
}
