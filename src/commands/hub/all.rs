//! What the lead asks: all stations, from the hub alone, on a screen or as JSON.

use serde_json::{Map, Value, json};

use super::WhichHub;
use crate::commands::screens::{finish, theme};
use crate::commands::{Failure, Places, output};
use crate::screen::stations::seen::{AllSeen, OrderSeen, StationSeen, alarms, orders};
use crate::screen::stations::shared;
use crate::shell::hub::block_on;
use crate::shell::hub::lead::{Gathering, foresee};
use crate::shell::hub::reading::read_all;
use crate::shell::run::Left;
use crate::shell::{handles, lead};
use crate::shop::books::outlook::Outlook;
use crate::shop::facts::ids::{OrderId, PressNo, StationId};
use crate::shop::facts::moment::rfc3339;
use crate::shop::facts::step::Step;
use crate::shop::floor::garment::Queue;
use crate::shop::floor::press::{Load, Progress};
use crate::shop::rules::alarms::{Alarm, Level};
use crate::shop::rules::shared::{SharedBoard, SharedLine};

/// Shows all stations on a screen.
pub fn show(places: &Places, hub: &WhichHub) -> Result<(), Failure> {
    handles::try_out()?;
    let to = hub.destination(places)?;
    finish(lead::run(to, theme()).map(|()| Left::default())).map(drop)
}

/// Prints all stations as JSON.
pub fn print(places: &Places, hub: &WhichHub) -> Result<(), Failure> {
    let to = hub.destination(places)?;
    let stations = block_on(read_all(&to, |_, _| ()))?;
    let mut all = Gathering::default().gather(&stations);
    for station in &mut all.stations {
        station.outlook = foresee(&station.shop, station.now);
    }
    output::json(&as_json(&all))
}

fn as_json(all: &AllSeen) -> Value {
    let name = |id| crate::screen::stations::seen::called(&all.stations, id);
    let between = all.between.iter().map(|one| {
        json!({
            "garment": one.garment, "from": one.garment.station, "at": one.at,
            "place": one.place_in_words(&all.stations),
        })
    });
    let conflicts = all.conflicts.iter().map(|one| {
        let moves = one.moves.iter().map(
            |(station, row)| json!({ "station": station, "name": name(*station), "move": row }),
        );
        json!({
            "garment": one.garment, "after": one.after, "moves": moves.collect::<Vec<Value>>(),
            "says": one.in_words(&all.stations),
        })
    });
    let board = shared::board(all);
    let shared = shared_orders(&board);
    json!({
        "stations": all.stations.iter().map(station).collect::<Vec<Value>>(),
        "orders": orders(&all.stations).iter().map(order).chain(shared).collect::<Vec<Value>>(),
        "between": between.collect::<Vec<Value>>(),
        "conflicts": conflicts.collect::<Vec<Value>>(),
        "alarms": alarms(&all.stations).iter().map(|seen| alarm(seen.station, seen.alarm)).collect::<Vec<Value>>(),
    })
}

fn station(seen: &StationSeen) -> Value {
    let StationSeen { shop, now, .. } = seen;
    let outlook = seen.outlook.as_ref().ok().and_then(Option::as_ref);
    let presses: Vec<Value> = shop.press_numbers().into_iter().map(|no| press(seen, no)).collect();
    json!({
        "station": seen.id, "name": seen.name, "life": seen.life, "upto": seen.upto,
        "behind": seen.behind, "missing": seen.missing, "left_out": seen.left_out,
        "heard": seen.heard.map(rfc3339), "fault": seen.fault,
        "as_of": (shop.seq() > 0).then(|| rfc3339(now.at)), "people": shop.desk().people,
        "presses": presses, "pace": pace(seen), "ready": outlook.map(ready),
        "unknown": seen.outlook.as_ref().err().map(ToString::to_string),
    })
}

/// What a press does, with the words of a garment's presses in `trace`.
fn press(seen: &StationSeen, no: PressNo) -> Value {
    let shop = &seen.shop;
    let name = shop.press_name(no);
    let Some(load) = shop.load(no) else {
        let out = shop.out_of_use(no).map(|reason| reason.words());
        let state = if out.is_some() { "out of use" } else { "open" };
        return json!({ "press": no, "name": name, "state": state, "reason": out });
    };
    let pressing = shop.pressing(load);
    let seconds = |span: std::time::Duration| span.as_secs_f64();
    json!({
        "press": no, "name": name, "state": state(seen, no, load), "tag": load.garment,
        "step": load.step, "again": load.again, "seconds": load.elapsed(seen.now).seconds(),
        "target_s": pressing.map(|pressing| seconds(pressing.target.0)),
        "longest_s": pressing.map(|pressing| seconds(pressing.longest.0)),
    })
}

fn state(seen: &StationSeen, no: PressNo, load: &Load) -> &'static str {
    let pressing = seen.shop.pressing(load);
    if !load.timed || !load.elapsed(seen.now).sure {
        return "check";
    }
    match pressing.map(|pressing| load.progress(&pressing, seen.now)) {
        Some(Progress::Due) => "due",
        Some(Progress::Overdue) if !seen.shop.opens_itself(no) => "overdue",
        Some(Progress::Overdue) => "due",
        Some(Progress::Young | Progress::Running) | None => "running",
    }
}

/// The figures of today that `dwell pace` tells at the station.
fn pace(seen: &StationSeen) -> Value {
    let StationSeen { shop, now, .. } = seen;
    let from = shop.counted_since(*now);
    let tally = shop.tally(*now, from);
    let floor = shop.floor();
    let waits =
        Step::ALL.map(|step| (step.name().to_owned(), floor.count(Queue::Step(step)).into()));
    let queues: Map<String, Value> = waits.into_iter().collect();
    json!({
        "of": { "what": "today", "from": rfc3339(from), "to": rfc3339(now.at) },
        "finished": tally.finished, "out": tally.out, "second": tally.second,
        "per_hour": tally.per_hour, "per_hour_over_s": shop.rate_over(*now, from).as_secs_f64(),
        "last_hour": tally.last_hour, "in_progress": tally.in_progress,
        "in_presses": shop.loads().count(), "blanks": tally.blanks, "shelf": tally.shelf,
        "queues": queues,
    })
}

fn ready(outlook: &Outlook) -> Value {
    json!({
        "half": rfc3339(outlook.likely), "nine_in_ten": rfc3339(outlook.latest),
        "garments": outlook.garments, "busiest": outlook.busy[0].0,
    })
}

fn order(seen: &OrderSeen<'_>) -> Value {
    let OrderSeen { station, order, standing, due, ready } = seen;
    json!({
        "station": station.id, "order": order.id, "name": order.form.name,
        "part_of": shared::part_of(station, order.id),
        "due": due.map(rfc3339), "rank": order.form.rank, "cancelled": order.cancelled,
        "ordered": standing.ordered, "done": standing.done, "left": standing.left,
        "short": standing.short, "half": ready.map(|ready| rfc3339(ready.likely)),
        "nine_in_ten": ready.map(|ready| rfc3339(ready.latest)),
        "late_s": ready.and_then(|ready| ready.late()),
    })
}

/// Orders that all stations share, each line with who makes how many: their garments stand with the parts.
fn shared_orders(board: &SharedBoard) -> Vec<Value> {
    let mut orders: Vec<Value> = Vec::new();
    let lines = board.lines();
    for of_order in lines.chunk_by(|one, next| one.order == next.order) {
        let [first, ..] = of_order else { continue };
        let left: u32 = of_order.iter().map(SharedLine::left).sum();
        let ordered: u64 = of_order.iter().map(|line| u64::from(line.wanted)).sum();
        orders.push(json!({
            "station": first.order.station, "order": first.order, "name": first.form.name,
            "shared": true, "due": first.form.due, "rank": first.form.rank, "cancelled": first.cancelled,
            "ordered": ordered,
            "untaken": left, "lines": of_order.iter().map(shared_line).collect::<Vec<Value>>(),
        }));
    }
    orders
}

fn shared_line(line: &SharedLine<'_>) -> Value {
    let part = |(order, count): &(OrderId, u32)| json!({ "station": order.station, "order": order, "count": count });
    let granted =
        |(station, count): &(StationId, u32)| json!({ "station": station, "count": count });
    json!({
        "line": line.line + 1, "wanted": line.wanted, "taken": line.taken(),
        "untaken": line.left(), "too_many": line.over(),
        "parts": line.parts.iter().map(part).collect::<Vec<Value>>(),
        "granted": line.granted.iter().map(granted).collect::<Vec<Value>>(),
    })
}

fn alarm(seen: &StationSeen, alarm: Alarm) -> Value {
    let level = match alarm.level() {
        Level::Alarm => "alarm",
        Level::Prompt => "prompt",
    };
    let (kind, tag, sheet) = match alarm {
        Alarm::Shape { lifts: true, .. } => ("lift", None, None),
        Alarm::Shape { .. } => ("close", None, None),
        Alarm::Due { .. } => ("due", None, None),
        Alarm::Overdue { .. } => ("overdue", None, None),
        Alarm::Check { .. } => ("check", None, None),
        Alarm::WetTooLong(tag) => ("wet too long", Some(tag), None),
        Alarm::UncuredTooLong(tag) => ("uncured too long", Some(tag), None),
        Alarm::WipeDue { sheet, .. } => ("wipe due", None, Some(sheet)),
        Alarm::WipeOverdue { sheet, .. } => ("wipe overdue", None, Some(sheet)),
    };
    let press = alarm.press();
    let shut = press.and_then(|press| seen.shop.load(press)).map(|load| load.garment);
    json!({
        "station": seen.id, "level": level, "alarm": kind, "press": press,
        "tag": tag.or(shut.filter(|_| sheet.is_none())), "sheet": sheet,
    })
}
