//! What takes the keys over for a moment: forms, lists, the help page.
//!
//! Only these own the digits; each says how to reach a press from it and closes by itself after 20 s without a key, a
//! list of acts after 8 s, so that nobody walks away from a board whose press keys are dead. Enter never means yes:
//! `+` submits.
//!
//! What is alike in all of them is done here, by what an `Entry` says of its fields: Enter goes on, `/` erases, goes
//! back and leaves in the end, `.` opens a field's list, and with NumLock off the keypad's keys are figures all the
//! same.

mod acts;
mod blanks;
mod bottle;
mod cabled;
mod change;
mod dial;
mod digits;
mod entry;
mod fill;
mod help;
mod known;
pub mod labels;
mod leave;
mod listed;
mod lookup;
mod morning;
mod new_sheet;
mod order;
mod order_fields;
mod order_lines;
mod order_lists;
mod outage;
pub mod parts;
mod people;
mod pick;
mod practised;
mod probe;
mod reasons;
mod refused;
mod returned;
mod scale;
mod small;
mod stack;
pub mod strip;
mod take_over;
mod text;
pub mod trial;
mod trouble;

use std::time::Duration;

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::View;
use super::act::{Effect, LookRequest};
use super::art;
use super::cells;
use super::elsewhere::Elsewhere;
use super::input::{Key, KeyCode, Mode};
use super::instrument::{Reading, Readings};
use super::keymap::{Deed, Keymap};
use super::meaning::Sight;
use super::paint::Line;
use super::practised::Practised;
use super::theme::Role;
use super::ui::Tone;
use crate::shop::Correctable;
use crate::shop::Shop;
use crate::shop::books::coats::WeightWanted;
use crate::shop::facts::ids::{PressNo, Tag};
use crate::shop::facts::moment::Moment;
use crate::shop::facts::order::Artwork;
use crate::shop::floor::labelled::Labelled;
use crate::shop::rules::command::Refusal;
use digits::{place, press};
pub use entry::Draft;
use entry::{At, Entry};
use listed::Listed;
pub use pick::open_presses;

/// What a form made of a key.
#[derive(Debug)]
pub enum Typed {
    /// It stays open.
    Open,
    /// It stays open, and something is to be said.
    Said(Tone, String),
    /// It stays open, and something is to be done.
    Effects(Vec<Effect>),
    /// It has done its work, and something may be to be done. It is closed unless the shop refuses that.
    Closed(Vec<Effect>),
    /// It gives way to what is asked before this board is left for the first day.
    FirstDay,
    /// The board is left, once what is to be said before that has been said.
    Leaves,
    /// It is left: a draft is kept.
    Left,
    /// It is closed, and this is done as by its own key.
    Deed(Deed),
    /// It is closed, and a garment is picked for a press.
    Picks(PressNo, Tag),
    /// It gives way to what is asked of a return, of a tag or an order as it was typed.
    Returns(String),
    /// It gives way to what is asked before a garment is taken over.
    TakesOver(Tag),
    /// It is closed, and with it what was picked or scanned is let go of.
    LetsGo,
}

/// An open form.
pub struct Form {
    entry: Box<dyn Entry>,
    /// The list of the field that the cursor is in, where it is open.
    listed: Option<Listed>,
    touched: Moment,
    /// What was said of the last key: it stands in the form, whole, until the next one.
    said: Option<(Tone, String)>,
    /// The key that opened it: it does not take it in as well, unless another came between.
    opener: Option<Key>,
    struck: bool,
}

impl Form {
    fn new(entry: impl Entry + 'static, now: Moment) -> Self {
        let entry = Box::new(entry);
        Self { entry, listed: None, touched: now, said: None, opener: None, struck: false }
    }

    /// The list of all acts.
    pub fn acts(now: Moment) -> Self {
        Self::new(acts::ActList::new(), now)
    }

    /// The list of the garments that could be picked for an open press.
    ///
    /// # Errors
    /// Why there is nothing to pick.
    pub fn pick(sight: &Sight<'_>) -> Result<Self, &'static str> {
        Ok(Self::new(pick::PickList::new(sight)?, sight.now))
    }

    /// The page of keys and cautions.
    pub fn help(now: Moment) -> Self {
        Self::new(help::Help::default(), now)
    }

    /// Asks whether to leave, and where else to write what is not saved.
    pub fn leave(unsaved: bool, now: Moment) -> Self {
        Self::new(leave::Leave::new(unsaved), now)
    }

    /// Asks whether to leave this board for the first day.
    pub fn first_day(now: Moment) -> Self {
        Self::new(leave::ToFirstDay, now)
    }

    /// The page at the end of a practice.
    pub fn practised(came: Practised, now: Moment) -> Self {
        Self::new(practised::PractisedPage::new(came), now)
    }

    /// The form for an order.
    pub fn order(sight: &Sight<'_>) -> Self {
        Self::new(order::OrderEntry::new(sight.shop), sight.now)
    }

    /// The list of what can be wrong with a garment, and what can be done beside; without one, that alone.
    pub fn trouble(tag: Option<Tag>, sight: &Sight<'_>) -> Self {
        Self::new(trouble::TroubleList::new(tag, sight.shop), sight.now)
    }

    /// Whether a new order's form asks what the artwork wants, as it opens.
    pub fn order_asks(shop: &Shop) -> bool {
        order::OrderEntry::new(shop).asks()
    }

    /// Changes or cancels an order.
    pub fn change_order(sight: &Sight<'_>, elsewhere: &Elsewhere) -> Self {
        Self::new(change::ChangeEntry::new(sight.shop, elsewhere), sight.now)
    }

    /// Takes what was counted of a box of blanks; None where no order waits for any.
    pub fn blanks(sight: &Sight<'_>) -> Option<Self> {
        Some(Self::new(blanks::BlanksEntry::new(sight.shop)?, sight.now))
    }

    /// Takes a press out of use, or back.
    pub fn out_of_use(now: Moment) -> Self {
        Self::new(outage::Outage::default(), now)
    }

    /// Asks which PTFE sheet a new one takes the place of; None where none lies in an open press.
    pub fn new_sheet(sight: &Sight<'_>) -> Option<Self> {
        Some(Self::new(new_sheet::NewSheetEntry::new(sight)?, sight.now))
    }

    /// The morning's list.
    pub fn morning(now: Moment) -> Self {
        Self::new(morning::MorningList::default(), now)
    }

    /// Says how a press was set.
    pub fn dial(sight: &Sight<'_>) -> Self {
        Self::new(dial::DialEntry::new(sight), sight.now)
    }

    /// Takes the weight of a garment; a scale with a cable shows this.
    pub fn scale(wanted: WeightWanted, shown: Option<&Reading>, sight: &Sight<'_>) -> Self {
        Self::new(scale::ScaleEntry::new(wanted, shown, sight.shop), sight.now)
    }

    /// Takes what the trial wants next, or begins one; a scale with a cable shows this.
    pub fn trial(shown: Option<&Reading>, sight: &Sight<'_>) -> Self {
        Self::new(trial::TrialEntry::new(shown, sight.shop), sight.now)
    }

    /// Takes what a probe and strips of paper said of a press; None where there is no press.
    pub fn probe(sight: &Sight<'_>) -> Option<Self> {
        Some(Self::new(probe::ProbeEntry::new(sight)?, sight.now))
    }

    /// The page that says why a sheet clings.
    pub fn reasons(tag: Tag, now: Moment) -> Self {
        Self::new(reasons::Reasons(tag), now)
    }

    /// Names the stack that is stored on, or says that one was shifted.
    pub fn stack(sight: &Sight<'_>) -> Self {
        Self::new(stack::StackEntry::new(sight.shop), sight.now)
    }

    /// Looks a garment up by its tag.
    pub fn look_up(tag: Option<Tag>, now: Moment) -> Self {
        Self::new(lookup::LookUp::new(tag), now)
    }

    /// Registers a bottle's lot.
    pub fn lot(now: Moment) -> Self {
        Self::new(bottle::LotEntry::new(), now)
    }

    /// Fills the sprayer.
    pub fn fill(now: Moment) -> Self {
        Self::new(fill::FillEntry::new(), now)
    }

    /// Takes a return, of a tag or an order as it was typed.
    pub fn returned(which: &str, now: Moment) -> Self {
        Self::new(returned::ReturnEntry::new(which), now)
    }

    /// Prints labels: of what is named, or of an order that is asked for.
    pub fn labels(of: Option<Labelled>, sight: &Sight<'_>) -> Self {
        Self::new(labels::LabelsEntry::new(of, sight.shop), sight.now)
    }

    /// Takes over a garment that another station keeps.
    pub fn take_over(tag: Tag, sight: &Sight<'_>, elsewhere: &Elsewhere) -> Self {
        Self::new(take_over::TakeOverEntry::new(tag, sight, elsewhere), sight.now)
    }

    /// Takes garments of an order that all stations share.
    pub fn parts(sight: &Sight<'_>, elsewhere: &Elsewhere) -> Self {
        Self::new(parts::PartsEntry::new(sight.shop, elsewhere), sight.now)
    }

    /// Who is at the bench, and the end of a shift.
    pub fn people(now: Moment) -> Self {
        Self::new(people::People::default(), now)
    }

    /// Stands where a form cannot be opened, and says why: what is typed for it lands nowhere else.
    pub fn refused_to_open(title: &'static str, reason: impl Into<String>, now: Moment) -> Self {
        Self::new(refused::RefusedForm::new(title, reason.into()), now)
    }

    /// Takes a number.
    pub fn count(now: Moment) -> Self {
        Self::new(small::CountEntry::default(), now)
    }

    /// Says when an act really was: of these the `chosen`; None where there is no such act.
    pub fn time(acts: Vec<Correctable>, chosen: usize, now: Moment) -> Option<Self> {
        Some(Self::new(small::TimeEntry::new(acts, chosen)?, now))
    }

    /// What the keys are for in it as it stands.
    pub fn mode(&self) -> Mode {
        if self.listed.is_some() { Mode::Lists } else { self.entry.mode() }
    }

    /// Takes what a scanner read or a scale sent, where the field that the cursor is in asks for that.
    pub fn scan(&mut self, sight: &Sight<'_>, text: &str) -> Typed {
        self.touched = sight.now;
        self.said = None;
        self.struck = true;
        self.entry.scan(sight, text).unwrap_or_else(|wanted| {
            let text = crate::shop::facts::words::clean(text.trim(), 20);
            let text = format!("\"{text}\" was scanned: {wanted}, nothing is changed");
            Typed::Said(Tone::Refused, text)
        })
    }

    /// Takes what instruments with a cable show, where the field that the cursor is in asks for that.
    pub fn reads(&mut self, sight: &Sight<'_>, readings: &Readings) -> Typed {
        let before = self.entry.text().map(|text| text.value().to_owned());
        let typed = self.entry.reads(sight, readings);
        // What is filled in keeps it open; a scale that trembles all day does not.
        if self.entry.text().map(|text| text.value().to_owned()) != before {
            (self.touched, self.said) = (sight.now, None);
        }
        typed
    }

    /// Says which key opened it.
    pub fn opened_by(self, key: Key) -> Self {
        Self { opener: Some(key), ..self }
    }

    /// A key that is about to do what the form is for: whether that is the one that opened it, and none came between.
    pub fn is_asking_key(&self, key: &Key) -> bool {
        !self.struck && self.opener == Some(*key)
    }

    /// A key was struck that is none of its own: it is not idle.
    pub fn touch(&mut self, now: Moment, key: &Key) {
        self.touched = now;
        self.said = None;
        self.took(key);
    }

    /// A key has been taken.
    pub fn took(&mut self, key: &Key) {
        self.struck |= self.opener != Some(*key);
    }

    /// Whether it owns the digits, so that the press keys are dead.
    pub fn owns_digits(&self) -> bool {
        self.entry.owns_digits()
    }

    /// What it is a draft of, where it takes so long to fill in that it is kept when it is left.
    pub fn draft_of(&self) -> Option<Draft> {
        self.entry.draft()
    }

    /// Opens a draft again.
    pub fn reopened(mut self, now: Moment) -> Self {
        self.entry.reopen();
        Self { touched: now, listed: None, said: None, opener: None, struck: false, ..self }
    }

    /// Says something of the last key.
    pub fn say(&mut self, tone: Tone, text: String) {
        self.said = Some((tone, text));
    }

    /// The shop refuses what was filled in: it stays, the cursor where the reason lies as far as that is known.
    pub fn refused(&mut self, refusal: &Refusal) {
        self.say(Tone::Refused, refusal.to_string());
        self.entry.refused(refusal);
    }

    /// Takes one key.
    pub fn key(&mut self, sight: &Sight<'_>, keys: &Keymap, key: &Key) -> Typed {
        self.touched = sight.now;
        self.said = None;
        if key.code == KeyCode::Esc {
            return match self.listed.take() {
                Some(_) => Typed::Open,
                None => Typed::Left,
            };
        }
        if key.ctrl && !self.entry.takes_ctrl(keys, key) {
            return Typed::Said(Tone::Note, format!("{key} does nothing here"));
        }
        let at = At { sight, keys };
        let key = if self.entry.mode() == Mode::Pages { *key } else { key.with_figures() };
        if let Some(listed) = self.listed.take() {
            return self.choose(&at, listed, &key);
        }
        self.entry.common_key(&at, &key).unwrap_or_else(|| self.own_key(&at, &key))
    }

    /// A key that may open the list of a field, or is the form's own.
    fn own_key(&mut self, at: &At<'_>, key: &Key) -> Typed {
        let first = self.entry.text().is_some_and(|text| text.is_fresh());
        if key.code != KeyCode::Char('.') || !first {
            return self.entry.key(at, key);
        }
        match self.entry.list(at.sight) {
            Some(items) if items.is_empty() => {
                Typed::Said(Tone::Note, "nothing to choose from yet: type it".into())
            }
            Some(items) => {
                self.listed = Some(Listed::new(items));
                Typed::Open
            }
            None => self.entry.key(at, key),
        }
    }

    /// A key of the open list.
    fn choose(&mut self, at: &At<'_>, mut listed: Listed, key: &Key) -> Typed {
        match listed.key(key) {
            listed::Chose::Item(text) => {
                if let Some(field) = self.entry.text() {
                    *field = text::Text::given(text);
                }
                self.entry.chose(at)
            }
            listed::Chose::Back => Typed::Open,
            listed::Chose::Nothing(said) => {
                self.listed = Some(listed);
                said.map_or(Typed::Open, |text| Typed::Said(Tone::Note, text))
            }
        }
    }

    /// Takes what was seen of an artwork.
    pub fn looked(&mut self, request: &LookRequest, found: Result<Option<Artwork>, String>) {
        self.entry.looked(request, found);
    }

    /// How long it stays open without a key; nothing once it has been left alone for too long. Where the shop's
    /// clock runs `speed` times as fast as life, so much more of it goes by.
    pub fn time_left(&self, now: Moment, speed: f64) -> Duration {
        self.stays().mul_f64(speed).saturating_sub(now.since(self.touched).span)
    }

    /// Whether it takes the whole screen below the bar: nothing is pressed any more.
    pub fn is_whole(&self) -> bool {
        self.entry.is_whole()
    }

    /// Whether it is the page of the list on which the answers to questions stand.
    pub fn lists_answers(&self) -> bool {
        self.entry.lists_answers()
    }

    /// How long it stays open without a key.
    pub fn stays(&self) -> Duration {
        self.entry.stays()
    }

    /// What a form that is left still states: a trouble that was named is noted, its outcome as not noted.
    pub fn abandoned(self) -> Vec<Effect> {
        self.entry.abandoned()
    }

    /// Draws it into its strip.
    pub fn draw(&self, view: &View<'_>, area: Rect, buf: &mut Buffer) {
        if self.entry.draw(view, area, buf) {
            return;
        }
        let (title, lines) = match &self.listed {
            Some(listed) => listed.lines(self.entry.field_name()),
            None => self.entry.lines(view),
        };
        let inside = strip::open(view, &title, self.owns_digits(), area, buf);
        let beside = strip::draw(view, &lines, &self.said_lines(view, inside.width), inside, buf);
        if let Some(artwork) = self.entry.artwork().filter(|_| self.listed.is_none())
            && art::fitting(beside).is_some()
        {
            art::draw(buf, view.theme, beside, &artwork.sketch);
        }
    }

    /// What was said of the last key, in full; else the board's message, whose own row the strip covers.
    fn said_lines(&self, view: &View<'_>, width: u16) -> Vec<Line> {
        let message = view.ui.message.as_ref().map(|message| (message.tone, &message.text));
        let said = self.said.as_ref().map(|(tone, text)| (*tone, text)).or(message);
        let Some((tone, text)) = said else { return Vec::new() };
        let role = match tone {
            Tone::Stop => Role::Danger,
            Tone::Refused => Role::Abnormal,
            Tone::Done | Tone::Note => Role::Strong,
        };
        let line = |text: String| Line::of(role, text);
        cells::wrapped(&format!("! {text}"), usize::from(width)).into_iter().map(line).collect()
    }
}

/// A row with a name and a value; the chosen one stands out.
fn field(name: &str, value: &str, chosen: bool, hint: &str) -> Line {
    let role = if chosen { Role::Chosen } else { Role::Plain };
    let mut line = Line::default();
    line.add(Role::Plain, format!("{name:<12}"));
    line.add(role, format!(" {value} "));
    if chosen {
        line.add(Role::Plain, format!("  {hint}"));
    }
    line
}
