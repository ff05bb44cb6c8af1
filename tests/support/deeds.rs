//! Random deeds at a small station, most of them such as a person at the bench might do, some of them not.

use std::sync::Arc;

use dwell::figures::fastness::Grade;
use dwell::figures::units::{Grams, Temperature};
use dwell::shop::Shop;
use dwell::shop::facts::bottle::Contents;
use dwell::shop::facts::fact::{Leaves, LotRegistered, NewDue, SprayerFilled, Washed};
use dwell::shop::facts::ids::{PressNo, SheetNo, Tag};
use dwell::shop::facts::moment::Moment;
use dwell::shop::facts::order::OrderLine;
use dwell::shop::facts::outage::OutOfUse;
use dwell::shop::facts::rank::Rank;
use dwell::shop::facts::station::{PressProfile, Station};
use dwell::shop::facts::step::{Pressure, Step};
use dwell::shop::facts::trouble::{Outcome, Trouble};
use dwell::shop::rules::command::{By, Command, OrderChange, Which};
use dwell::shop::rules::offer::{Choice, OfferedAct};
use dwell::shop::rules::questions::Answer;
use proptest::prelude::*;

use crate::world::{self, line, order, own};

/// What is done; numbers pick among what there is at that moment.
#[derive(Debug, Clone)]
pub enum Deed {
    /// The key of a press: what the board offers there.
    PressKey(u8),
    ShutCandidate(u8, usize, By),
    /// On any garment, wherever it is.
    ShutAny(u8, usize, By),
    Open(u8),
    Steam(u8),
    Sprayed(WhichOne),
    Printed(WhichOne),
    Store(WhichOne),
    Clean(u32),
    Swap(u8),
    OutOfUse(u8, OutOfUse),
    Back(u8),
    Dial(u8, bool, Pressure),
    Trouble(usize, Trouble, Outcome),
    Correct(Option<u32>),
    /// Of the acts whose times can be corrected, one.
    CorrectOf(usize, Option<u32>),
    Answer(usize, Answer),
    Underbase(u32, usize, bool),
    Order(u32, u32, bool, Option<bool>),
    File(u32),
    /// Of an order: its rank, whether it is due and on which day of March, so many garments more.
    Change(u32, Option<u8>, Option<u32>, Option<u32>),
    Cancel(u32, Option<u32>, Leaves),
    /// The garment that the board wants weighed, or any; in tenths of a gram above 150 g.
    Weigh(Option<usize>, u16),
    Probe(u8, bool),
    Stack(u8),
    Disturb(u8),
    Renew(usize),
    Lot(u8, u8, u8),
    Fill(u8, u16),
    Flush,
    Sign(u8),
    CloseShift,
    Sample(usize),
    Washed(usize, u32),
    Strips(u8, [bool; 4]),
    /// A recipe's file was edited: what starts from now on is pressed a little longer.
    Recipe(u64),
    Undo,
    Wait(u32),
}

#[derive(Debug, Clone, Copy)]
pub enum WhichOne {
    First(u16),
    All,
    Any(usize),
}

fn which() -> impl Strategy<Value = WhichOne> {
    prop_oneof![
        4 => (0u16..4).prop_map(WhichOne::First),
        1 => Just(WhichOne::All),
        2 => (0usize..40).prop_map(WhichOne::Any),
    ]
}

fn by() -> impl Strategy<Value = By> {
    prop_oneof![Just(By::Suggestion), Just(By::Choice), Just(By::Scan)]
}

fn trouble() -> impl Strategy<Value = (Trouble, Outcome)> {
    let troubles: Vec<Trouble> = Trouble::ALL.to_vec();
    let outcomes = Outcome::CHOICES.into_iter().chain([Outcome::NotNoted]).collect::<Vec<_>>();
    (proptest::sample::select(troubles), proptest::sample::select(outcomes))
}

/// One deed.
pub fn deed() -> impl Strategy<Value = Deed> {
    let press = 0u8..5;
    let reason = || {
        let all = [OutOfUse::HeatingUp, OutOfUse::BeingCleaned, OutOfUse::Broken];
        proptest::sample::select(all.to_vec())
    };
    let pressure = [Pressure::Light, Pressure::Medium, Pressure::Firm].to_vec();
    let answer = [Answer::Yes, Answer::No, Answer::NotSeen].to_vec();
    prop_oneof![
        24 => press.clone().prop_map(Deed::PressKey),
        6 => (press.clone(), 0usize..40, by()).prop_map(|(p, n, b)| Deed::ShutCandidate(p, n, b)),
        2 => (press.clone(), 0usize..40, by()).prop_map(|(p, n, b)| Deed::ShutAny(p, n, b)),
        3 => press.clone().prop_map(Deed::Open),
        3 => press.clone().prop_map(Deed::Steam),
        8 => which().prop_map(Deed::Sprayed),
        8 => which().prop_map(Deed::Printed),
        3 => which().prop_map(Deed::Store),
        3 => (0u32..6).prop_map(Deed::Clean),
        2 => press.clone().prop_map(Deed::Swap),
        1 => (press.clone(), reason()).prop_map(|(p, r)| Deed::OutOfUse(p, r)),
        2 => press.clone().prop_map(Deed::Back),
        6 => (proptest::option::weighted(0.2, 0usize..40), 0u16..500)
            .prop_map(|(n, tenths)| Deed::Weigh(n, tenths)),
        1 => (press.clone(), any::<bool>()).prop_map(|(p, hot)| Deed::Probe(p, hot)),
        1 => (0u8..3).prop_map(Deed::Stack),
        1 => (0u8..3).prop_map(Deed::Disturb),
        2 => (0usize..40).prop_map(Deed::Renew),
        1 => (0u8..4, 0u8..3, 0u8..4).prop_map(|(lot, what, place)| Deed::Lot(lot, what, place)),
        2 => (0u8..4, 1u16..900).prop_map(|(lot, grams)| Deed::Fill(lot, grams)),
        1 => Just(Deed::Flush),
        1 => (0u8..4).prop_map(Deed::Sign),
        1 => Just(Deed::CloseShift),
        1 => (0usize..40).prop_map(Deed::Sample),
        1 => (0usize..40, 0u32..9).prop_map(|(n, cycles)| Deed::Washed(n, cycles)),
        1 => (press.clone(), any::<[bool; 4]>()).prop_map(|(p, held)| Deed::Strips(p, held)),
        2 => (press, any::<bool>(), proptest::sample::select(pressure))
            .prop_map(|(p, hot, pressure)| Deed::Dial(p, hot, pressure)),
        4 => (0usize..40, trouble()).prop_map(|(n, (t, o))| Deed::Trouble(n, t, o)),
        3 => proptest::option::of(0u32..60).prop_map(Deed::Correct),
        3 => (0usize..12, proptest::option::of(0u32..60)).prop_map(|(n, a)| Deed::CorrectOf(n, a)),
        4 => (0usize..3, proptest::sample::select(answer)).prop_map(|(n, a)| Deed::Answer(n, a)),
        1 => (0u32..5, 0usize..3, any::<bool>()).prop_map(|(o, l, u)| Deed::Underbase(o, l, u)),
        2 => (0u32..4, 1u32..4, any::<bool>(), any::<Option<bool>>())
            .prop_map(|(dark, light, twice, base)| Deed::Order(dark, light, twice, base)),
        1 => (0u32..4).prop_map(Deed::File),
        2 => (
            1u32..4,
            proptest::option::of(1u8..4),
            proptest::option::of(1u32..29),
            proptest::option::weighted(0.3, 0u32..3),
        )
            .prop_map(|(order, rank, day, more)| Deed::Change(order, rank, day, more)),
        1 => (
            1u32..4,
            proptest::option::weighted(0.7, 1u32..4),
            proptest::sample::select(Leaves::CHOICES.to_vec()),
        )
            .prop_map(|(order, fewer, leaves)| Deed::Cancel(order, fewer, leaves)),
        1 => (0u64..4).prop_map(Deed::Recipe),
        7 => Just(Deed::Undo),
        14 => (1u32..50).prop_map(Deed::Wait),
    ]
}

/// Three presses of which each is another kind: one for all, a small one, one that opens by itself and does
/// not dry.
pub fn three_presses() -> Station {
    let mut station = world::station(3);
    station.presses[1] =
        PressProfile { size: Some("30 cm x 30 cm".parse().unwrap()), ..station.presses[1].clone() };
    station.presses[2] = PressProfile {
        uses: vec![Step::PrePress, Step::Cure],
        opens_itself: true,
        ..station.presses[2].clone()
    };
    station.sheet.wipe_at = 2;
    station.sheet.wipe_by = 3;
    station
}

impl Deed {
    /// The command that it comes to in this shop; None where there is nothing to say.
    pub fn command(&self, shop: &Shop, now: Moment) -> Option<Command> {
        Some(match self {
            Deed::PressKey(press) => press_key(shop, PressNo(*press), now)?,
            Deed::ShutCandidate(press, n, by) => {
                let there = shop.candidates();
                let garment = *there.get(n % there.len().max(1))?;
                Command::Shut { press: PressNo(*press), garment, by: *by }
            }
            Deed::ShutAny(press, n, by) => {
                Command::Shut { press: PressNo(*press), garment: any_tag(shop, *n)?, by: *by }
            }
            Deed::Open(press) => Command::Open { press: PressNo(*press) },
            Deed::Steam(press) => Command::SteamStopped { press: PressNo(*press) },
            Deed::Sprayed(one) => Command::HandworkDone(one.of(shop)?),
            Deed::Printed(one) => Command::Printed(one.of(shop)?),
            Deed::Store(one) => Command::Store(one.of(shop)?),
            Deed::Clean(sheet) => Command::CleanSheet(SheetNo(*sheet)),
            Deed::Swap(press) => Command::SwapSheet { press: PressNo(*press) },
            Deed::OutOfUse(press, reason) => {
                Command::OutOfUse { press: PressNo(*press), reason: *reason }
            }
            Deed::Back(press) => Command::BackInUse { press: PressNo(*press) },
            Deed::Dial(press, hot, pressure) => {
                let dial = Temperature::fahrenheit(if *hot { 340.0 } else { 310.5 });
                Command::SetDial { press: PressNo(*press), dial, pressure: *pressure }
            }
            Deed::Trouble(n, trouble, outcome) => Command::NoteTrouble {
                garment: any_tag(shop, *n)?,
                trouble: *trouble,
                outcome: *outcome,
            },
            Deed::Correct(ago) => Command::CorrectTime { ago: ago.map(f64::from) },
            Deed::CorrectOf(n, ago) => {
                let ago = ago.map(f64::from);
                Command::CorrectTimeOf { act: shop.correctables().nth(*n)?.act, ago }
            }
            Deed::Answer(n, answer) => shop.questions().get(*n)?.answered(*answer)?,
            Deed::Underbase(order, line, underbase) => {
                Command::DecideUnderbase { order: own(*order), line: *line, underbase: *underbase }
            }
            Deed::Order(dark, light, twice, base) => order(lines(*dark, *light, *twice, *base)),
            Deed::File(n) => {
                let Command::TakeOrder { form, .. } = order(vec![line(1, "blend")]) else {
                    return None;
                };
                Command::TakeOrder { form, file: Some(format!("file {n}")) }
            }
            Deed::Change(order, rank, day, more) => {
                let due = |day: u32| match day {
                    28 => NewDue::Never,
                    day => NewDue::At(format!("2026-03-{day:02}T12:00").parse().unwrap()),
                };
                Command::ChangeOrder(OrderChange {
                    order: own(*order),
                    rank: rank.and_then(|rank| Rank::try_from(rank).ok()),
                    due: day.map(due),
                    more: more.map(|more| (0, more)),
                })
            }
            Deed::Cancel(order, fewer, leaves) => Command::CancelOrder {
                order: own(*order),
                fewer: fewer.map(|fewer| (0, fewer)),
                leaves: *leaves,
            },
            Deed::Weigh(one, tenths) => {
                let garment = match one {
                    Some(n) => any_tag(shop, *n)?,
                    None => shop.to_weigh(None)?.garment,
                };
                Command::Weigh { garment, grams: Grams(150.0 + f64::from(*tenths) / 10.0) }
            }
            Deed::Probe(press, hot) => {
                let reading = Temperature::fahrenheit(if *hot { 341.3 } else { 333.7 });
                let mut readings = vec![vec![reading; 3]; 3];
                readings[2][1] = Temperature::celsius(168.25);
                Command::CheckPress { press: PressNo(*press), readings, held: None }
            }
            Deed::Stack(n) => Command::NameStack(format!("stack {n}")),
            Deed::Disturb(n) => Command::DisturbStack(format!("stack {n}")),
            Deed::Renew(n) => Command::Renew(any_tag(shop, *n)?),
            Deed::Lot(lot, what, place) => {
                let all = [Contents::PretreatmentFluid, Contents::Ink, Contents::Cleaner];
                Command::RegisterLot(LotRegistered {
                    lot: format!("L{lot}"),
                    contents: all[usize::from(*what)],
                    best_before: (*lot == 2).then(|| "2026-03-02".parse().unwrap()),
                    place: format!("place {place}"),
                })
            }
            Deed::Fill(lot, grams) => Command::FillSprayer(SprayerFilled {
                lot: format!("L{lot}"),
                grams: Grams(f64::from(*grams) / 7.0),
                scanned: false,
                over: None,
                fluid: None,
            }),
            Deed::Flush => Command::FlushSprayer,
            Deed::Sign(n) => Command::Sign(format!("p{n}")),
            Deed::CloseShift => Command::CloseShift,
            Deed::Sample(n) => Command::SampleForWash(any_tag(shop, *n)?),
            Deed::Washed(n, cycles) => Command::NoteWash(Washed {
                garment: any_tag(shop, *n)?,
                cycles: *cycles,
                grade: Grade::of(f64::from(*cycles)),
                delta_e: Some(1.0 / f64::from(*cycles)),
                file: None,
            }),
            Deed::Strips(press, held) => Command::CheckPress {
                press: PressNo(*press),
                readings: Vec::new(),
                held: Some(*held),
            },
            Deed::Recipe(more) => {
                let (name, _, recipe) =
                    shop.recipes().in_force().find(|(name, ..)| *name == "dark-cotton")?;
                let mut recipe = dwell::shop::facts::recipe::Recipe::clone(recipe);
                recipe.dry.target = dwell::figures::units::Span::seconds(40 + more);
                recipe.weigh_every = 1 + u32::try_from(*more).unwrap_or(0);
                // Every other edit makes it a cooler one.
                let degrees = if more % 2 == 0 { 340.0 } else { 310.5 };
                recipe.set_point = Temperature::fahrenheit(degrees);
                Command::KeepRecipe { name: name.to_owned(), recipe: Arc::new(recipe) }
            }
            Deed::Undo => Command::Undo,
            Deed::Wait(_) => return None,
        })
    }
}

impl WhichOne {
    fn of(self, shop: &Shop) -> Option<Which> {
        Some(match self {
            WhichOne::First(n) => Which::First(n),
            WhichOne::All => Which::All,
            WhichOne::Any(n) => Which::Tagged(any_tag(shop, n)?),
        })
    }
}

fn lines(dark: u32, light: u32, twice: bool, base: Option<bool>) -> Vec<OrderLine> {
    let places = |n: usize| ["front", "back"].iter().take(n).map(|p| (*p).to_owned()).collect();
    let dark_line = OrderLine {
        places: places(if twice { 2 } else { 1 }),
        underbase: base,
        print: twice.then(|| "12 in x 14 in".parse().unwrap()),
        ..line(dark, "dark-cotton")
    };
    let light_line = OrderLine { underbase: None, ..line(light, "light-cotton") };
    [dark_line, light_line].into_iter().filter(|line| line.count > 0).collect()
}

fn press_key(shop: &Shop, press: PressNo, now: Moment) -> Option<Command> {
    let offers = shop.offers(&Choice::default(), now);
    match offers.iter().find(|offer| offer.press == press)?.act {
        OfferedAct::Open { .. } => Some(Command::Open { press }),
        OfferedAct::Shut { garment, by, .. } => Some(Command::Shut { press, garment, by }),
        OfferedAct::None(_) => None,
    }
}

fn any_tag(shop: &Shop, n: usize) -> Option<Tag> {
    let count = shop.floor().all().count();
    shop.floor().all().nth(n % count.max(1)).map(|garment| garment.tag)
}
