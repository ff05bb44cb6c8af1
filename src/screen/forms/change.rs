//! An order is changed or cancelled: which one, what of it, and what becomes of garments that are under way.

use crate::screen::input::{Key, KeyCode, Mode, Takes};

use super::entry::{At, Entry};
use super::text::Text;
use super::{Typed, place};
use crate::screen::View;
use crate::screen::act::Effect;
use crate::screen::elsewhere::Elsewhere;
use crate::screen::keymap::List;
use crate::screen::meaning::Sight;
use crate::screen::paint::Line;
use crate::screen::theme::Role;
use crate::screen::ui::Tone;
use crate::shop::Shop;
use crate::shop::facts::fact::{Leaves, NewDue};
use crate::shop::facts::ids::OrderId;
use crate::shop::facts::order::{Due, Order, OrderForm, OrderLine};
use crate::shop::facts::rank::Rank;
use crate::shop::facts::typed_due::typed_due;
use crate::shop::rules::command::{Command, OrderChange, Refusal};
use crate::shop::rules::shared::called;

/// Orders or lines on one page of a list: one to each digit.
const PAGE: usize = 9;
/// The same of orders: below them a row says what else is reached from there.
const ORDERS: usize = 8;
/// What stands beside them.
const BESIDE: [&str; 4] = ["0", "-", ".", "Enter"];

/// What is changed, after the three ranks.
const CHOICES: [(&str, What); 4] = [
    ("another due time", What::Due),
    ("more garments", What::More),
    ("fewer garments", What::Fewer),
    ("cancel it", What::Cancel),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    Due,
    More,
    Fewer,
    Cancel,
}

impl What {
    /// Why it cannot be said of an order that all stations share, which has no garments of its own.
    fn not_for_all(self) -> Option<&'static str> {
        match self {
            What::Due | What::Cancel => None,
            What::More => Some("all stations share it: lay another order for more"),
            What::Fewer => {
                Some("its garments are made in parts: take them off the part of a bench")
            }
        }
    }
}

/// What has been said so far.
pub struct ChangeEntry {
    /// The orders as they stood when the list was opened: a digit means the one that was read beside it, whatever comes
    /// meanwhile.
    listed: Vec<OrderId>,
    page: usize,
    order: Option<OrderId>,
    what: Option<What>,
    /// Index of the line, where the order has several.
    line: Option<usize>,
    typed: Text,
    /// How many fewer, once that is said.
    fewer: Option<u32>,
}

/// What is asked for now.
enum Asks {
    Order,
    What,
    Line,
    Due,
    Count,
    Leaves,
}

impl ChangeEntry {
    /// The list of the orders that are open.
    pub fn new(shop: &Shop, elsewhere: &Elsewhere) -> Self {
        let listed = open(shop, elsewhere);
        let typed = Text::default();
        Self { listed, page: 0, order: None, what: None, line: None, typed, fewer: None }
    }

    fn asks(&self, shop: &Shop) -> Asks {
        let lines = self.order.and_then(|no| shop.order(no)).map_or(0, |o| o.form.lines.len());
        match (self.order, self.what) {
            (None, _) => Asks::Order,
            (_, None) => Asks::What,
            (_, Some(What::Due)) => Asks::Due,
            (_, Some(What::Cancel)) => Asks::Leaves,
            (_, Some(What::Fewer)) if self.fewer.is_some() => Asks::Leaves,
            _ if self.line.is_none() && lines > 1 => Asks::Line,
            _ => Asks::Count,
        }
    }

    fn take(&mut self, sight: &Sight<'_>, key: &Key) -> Typed {
        let shop = sight.shop;
        let digit = match key.code {
            KeyCode::Char(letter) => place(letter),
            _ => None,
        };
        match self.asks(shop) {
            Asks::Order => {
                let shown = self.listed.iter().skip(self.page * ORDERS).take(ORDERS);
                match digit.and_then(|n| shown.copied().nth(n)) {
                    Some(order) => (self.order, self.page) = (Some(order), 0),
                    None if key.code == KeyCode::Enter => self.turn(self.listed.len(), ORDERS),
                    None => return wrong(),
                }
            }
            Asks::What => return self.choose(shop, digit),
            Asks::Line => {
                let lines = self.order(shop).map_or(0, |order| order.form.lines.len());
                match digit.map(|n| self.page * PAGE + n).filter(|line| *line < lines) {
                    Some(line) => self.line = Some(line),
                    None if key.code == KeyCode::Enter => self.turn(lines, PAGE),
                    None => return wrong(),
                }
            }
            Asks::Due | Asks::Count if !matches!(key.code, KeyCode::Enter | KeyCode::Char('+')) => {
                self.typed.key(key);
            }
            Asks::Due => return self.due(sight),
            Asks::Count => return self.count(),
            Asks::Leaves if self.is_laid(shop) => {
                if digit != Some(0) {
                    return wrong();
                }
                let (fewer, leaves) = (None, Leaves::Finish);
                return self.close(|order| Command::CancelOrder { order, fewer, leaves });
            }
            Asks::Leaves => {
                let Some(leaves) = digit.and_then(|n| Leaves::CHOICES.get(n)) else {
                    return wrong();
                };
                let fewer = self.fewer.map(|count| (self.line.unwrap_or(0), count));
                return self.close(|order| Command::CancelOrder { order, fewer, leaves: *leaves });
            }
        }
        Typed::Open
    }

    /// Whether a key of the list beside the orders is that here: Enter turns pages, up to the last, and without a hub there
    /// is no shared order behind it.
    fn is_beside(&self, shop: &Shop, key: &Key) -> bool {
        let last = (self.page + 1) * ORDERS >= self.listed.len();
        let shares = shop.station().is_some_and(|station| station.hub.is_some());
        key.code != KeyCode::Enter || (last && shares)
    }

    /// What else is reached from the list of orders, in a row.
    fn beside(&self, view: &View<'_>) -> Line {
        let mut row = Line::default();
        if (self.page + 1) * ORDERS < self.listed.len() {
            row.add(Role::Strong, "Enter shows more   ");
        }
        for key in BESIDE {
            let read = Key::read(key).filter(|read| self.is_beside(view.shop, read));
            let entry = read.and_then(|read| view.ui.keys.listed(List::Change, &read));
            if let Some(entry) = entry {
                row.add(Role::Strong, key).add(Role::Plain, format!(" {}   ", entry.word));
            }
        }
        row
    }

    /// Goes on to the next page of so many rows; behind the last comes the first.
    fn turn(&mut self, rows: usize, page: usize) {
        self.page = (self.page + 1) % rows.div_ceil(page).max(1);
    }

    fn choose(&mut self, shop: &Shop, digit: Option<usize>) -> Typed {
        let Some(digit) = digit else { return wrong() };
        if let Some(rank) = Rank::ALL.get(digit) {
            return self.change(|change| OrderChange { rank: Some(*rank), ..change });
        }
        match CHOICES.get(digit - Rank::ALL.len()) {
            Some((_, what)) => match what.not_for_all().filter(|_| self.is_laid(shop)) {
                Some(reason) => return Typed::Said(Tone::Refused, reason.into()),
                None => self.what = Some(*what),
            },
            None => return wrong(),
        }
        Typed::Open
    }

    fn due(&self, sight: &Sight<'_>) -> Typed {
        let typed = self.typed.trimmed();
        let due = NewDue::try_from(typed.to_owned())
            .or_else(|_| typed_due(typed, sight.now, sight.shop.zone()).map(NewDue::At));
        match due {
            Ok(due) => self.change(|change| OrderChange { due: Some(due), ..change }),
            Err(reason) => Typed::Said(Tone::Refused, format!("due: {reason}, or \"none\"")),
        }
    }

    fn count(&mut self) -> Typed {
        let found = self.typed.trimmed().parse::<u32>().ok().filter(|count| *count > 0);
        let Some(count) = found else {
            let text = format!("found \"{}\", expected a number such as 4", self.typed.trimmed());
            return Typed::Said(Tone::Refused, text);
        };
        let line = self.line.unwrap_or(0);
        if self.what == Some(What::More) {
            return self.change(|change| OrderChange { more: Some((line, count)), ..change });
        }
        self.fewer = Some(count);
        Typed::Open
    }

    fn change(&self, change: impl FnOnce(OrderChange) -> OrderChange) -> Typed {
        self.close(|order| Command::ChangeOrder(change(OrderChange::of(order))))
    }

    fn close(&self, command: impl FnOnce(OrderId) -> Command) -> Typed {
        Typed::Closed(self.order.map(|order| Effect::Do(command(order))).into_iter().collect())
    }

    /// Whether it is one that this station has laid for all stations: it has no garments here.
    fn is_laid(&self, shop: &Shop) -> bool {
        self.order.is_some_and(|order| shop.laid(order).is_some())
    }

    fn order<'a>(&self, shop: &'a Shop) -> Option<&'a Order> {
        shop.order(self.order?)
    }
}

impl Entry for ChangeEntry {
    fn mode(&self) -> Mode {
        match (self.what, self.fewer) {
            (Some(What::Due), _) => Mode::Field(Takes::Text),
            (Some(What::More), _) | (Some(What::Fewer), None) => Mode::Field(Takes::Figures),
            _ => Mode::Lists,
        }
    }

    fn text(&mut self) -> Option<&mut Text> {
        matches!(self.mode(), Mode::Field(_)).then_some(&mut self.typed)
    }

    fn key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        if matches!(self.asks(at.sight.shop), Asks::Order)
            && self.is_beside(at.sight.shop, key)
            && let Some(entry) = at.keys.listed(List::Change, key)
        {
            return Typed::Deed(entry.deed);
        }
        self.take(at.sight, key)
    }

    /// The number is asked for again.
    fn refused(&mut self, _: &Refusal) {
        self.fewer = None;
        self.typed.enter();
    }

    fn lines(&self, view: &View<'_>) -> (String, Vec<Line>) {
        let shop = view.shop;
        let of = match (self.order(shop), self.order) {
            (Some(order), _) => named(order),
            (None, Some(id)) => says(view, id),
            (None, None) => String::new(),
        };
        let row = |(n, text): (usize, String)| {
            Line::of(Role::Strong, (n + 1).to_string()).and(Role::Plain, format!("  {text}"))
        };
        let list =
            |texts: Vec<String>| -> Vec<Line> { texts.into_iter().enumerate().map(row).collect() };
        let typed = |name: &str, hint: &str| {
            let keys = Line::of(Role::Strong, "+ save   * . leaves this");
            vec![self.typed.line(name, true, hint), keys]
        };
        match self.asks(shop) {
            Asks::Order => {
                let page = self.listed.iter().skip(self.page * ORDERS).take(ORDERS);
                let mut lines = list(page.map(|id| says(view, *id)).collect());
                if lines.is_empty() {
                    lines.push(Line::of(Role::Plain, "no order is open"));
                }
                lines.push(self.beside(view));
                ("Which order is changed or cancelled?".into(), lines)
            }
            Asks::What => {
                let ranks = Rank::ALL.iter().map(|rank| format!("{} from now on", rank.words()));
                let others = CHOICES.iter().map(|(words, _)| (*words).to_owned());
                // A digit means the same of every order, so the others keep theirs.
                let can = |n: usize| {
                    let choice = n.checked_sub(Rank::ALL.len()).and_then(|n| CHOICES.get(n));
                    !self.is_laid(shop) || choice.is_none_or(|one| one.1.not_for_all().is_none())
                };
                let rows = ranks.chain(others).enumerate().filter(|(n, _)| can(*n)).map(row);
                ("Change or cancel an order".into(), headed(of, rows.collect()))
            }
            Asks::Line => {
                let lines = self.order(shop).map_or(&[][..], |order| &order.form.lines);
                let page = lines.iter().skip(self.page * PAGE).take(PAGE);
                let rows = list(page.map(|line| line_words(shop, line)).collect());
                let rows = rows.into_iter().chain(more(lines.len())).collect();
                ("Which line of it?".into(), headed(of, rows))
            }
            Asks::Due => {
                let lines = typed("due", "such as 1600, fri 12:00, or none");
                ("When is it due?".into(), headed(of, lines))
            }
            Asks::Count if self.what == Some(What::More) => {
                ("How many more?".into(), headed(of, typed("more", "how many")))
            }
            Asks::Count => {
                let lines = typed("fewer", "how many: those not begun go first");
                ("How many fewer?".into(), headed(of, lines))
            }
            Asks::Leaves if self.is_laid(shop) => {
                let lines =
                    vec!["cancel it for all: each bench says what becomes of its part".to_owned()];
                ("Cancel it for all stations?".into(), headed(of, list(lines)))
            }
            Asks::Leaves => {
                let what = match self.fewer {
                    Some(count) => format!("{of}: {count} fewer"),
                    None => format!("{of}: cancel it"),
                };
                let mut lines =
                    list(Leaves::CHOICES.iter().map(|one| one.words().to_owned()).collect());
                lines.push(Line::of(
                    Role::Plain,
                    "Blanks go back. Wet ones are dried or cured first.",
                ));
                ("And what is under way?".into(), headed(what, lines))
            }
        }
    }
}

/// Rows below the order that they are about: its name may be longer than a title has room for.
fn headed(of: String, rows: Vec<Line>) -> Vec<Line> {
    [Line::of(Role::Strong, of)].into_iter().chain(rows).collect()
}

/// Below a page of so many rows in all: how to come to the others.
fn more(rows: usize) -> Option<Line> {
    (rows > PAGE).then(|| Line::of(Role::Strong, "Enter shows more"))
}

/// "2 dark-cotton navy S".
fn line_words(shop: &Shop, line: &OrderLine) -> String {
    let OrderLine { count, recipe, garment, mark, .. } = line;
    let colour = shop.colour_name(*garment);
    format!("{count} {recipe} {colour} {mark}").trim_end().to_owned()
}

fn wrong() -> Typed {
    Typed::Said(Tone::Note, "a number from the list".into())
}

/// The orders of this station that something is still to be done for, whose turn is first first; then those that it has laid
/// for all stations.
fn open(shop: &Shop, elsewhere: &Elsewhere) -> Vec<OrderId> {
    let own = shop.orders().filter(|order| shop.is_own(order.id));
    let mut open: Vec<&Order> = own.filter(|order| shop.floor().is_open(order.id)).collect();
    open.sort_by_key(|order| (shop.urgency(order.id), order.id));
    let laid = elsewhere.shared.with(shop).laid_by(shop.id());
    open.into_iter().map(|order| order.id).chain(laid).collect()
}

/// One of them, as it stands now.
fn says(view: &View<'_>, id: OrderId) -> String {
    if let Some(order) = view.shop.order(id) {
        return stands(view.shop, order);
    }
    let all = view.ui.elsewhere.shared.with(view.shop);
    match all.laid(id).filter(|_| !all.is_cancelled(id)) {
        Some(form) => shared(id, form),
        None => format!("{}: no longer open", view.shop.called_shared(id)),
    }
}

/// "A17 "Harbour choir", which all stations share, rush".
fn shared(id: OrderId, form: &OrderForm) -> String {
    format!("{}, which all stations share{}", called(id, form), rank_and_due(form.rank, form.due))
}

fn named(order: &Order) -> String {
    format!("order {} \"{}\"", order.id.no, order.form.name)
}

/// "order 3 "Harbour choir": 10 of 24 left, rush, due 2026-12-04T16:00".
fn stands(shop: &Shop, order: &Order) -> String {
    let standing = shop.floor().standing(order);
    let more = rank_and_due(order.form.rank, order.form.due);
    // A part has the name of what it is a part of.
    let of = shop.part_of(order.id).map_or_else(String::new, |part| format!(", of {}", part.of));
    format!("{}{of}: {} of {} left{more}", named(order), standing.left, standing.ordered)
}

/// ", rush, due 2026-12-04T16:00".
pub(super) fn rank_and_due(rank: Rank, due: Option<Due>) -> String {
    let rank = if rank.is_usual() { "" } else { rank.words() };
    let due = due.map_or_else(String::new, |due| format!("due {due}"));
    let more = [rank.to_owned(), due].into_iter().filter(|text| !text.is_empty());
    more.map(|text| format!(", {text}")).collect()
}
