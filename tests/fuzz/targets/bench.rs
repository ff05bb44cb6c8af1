//! A shop with a screen in front of it, from the profiles as they are shipped.

use std::path::PathBuf;
use std::sync::{Arc, OnceLock};
use std::time::Duration;

use dwell::forecast::operator::{Operator, Turn};
use dwell::forecast::shift::BEGINS;
use dwell::screen::keymap::Keymap;
use dwell::screen::meaning::Meaning;
use dwell::screen::theme::Theme;
use dwell::screen::ui::{Pane, Standing, Ui};
use dwell::screen::{self, View};
use dwell::shell::profiles::{Profiles, order_from, read_texts};
use dwell::shop::Shop;
use dwell::shop::facts::fact::Event;
use dwell::shop::facts::ids::StationId;
use dwell::shop::facts::moment::Moment;
use dwell::shop::facts::step::Step;
use dwell::shop::floor::garment::Queue;
use dwell::shop::rules::command::{Command, Refusal};
use jiff::tz::TimeZone;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

pub const STATION: &str = include_str!("../../../profiles/station.ron");
pub const RECIPES: [(&str, &str); 4] = [
    ("recipes/dark-cotton.ron", include_str!("../../../profiles/recipes/dark-cotton.ron")),
    ("recipes/light-cotton.ron", include_str!("../../../profiles/recipes/light-cotton.ron")),
    ("recipes/blend.ron", include_str!("../../../profiles/recipes/blend.ron")),
    ("recipes/fleece.ron", include_str!("../../../profiles/recipes/fleece.ron")),
];
pub const ORDER: &str = include_str!("../../../profiles/orders/harbour-choir.ron");

/// Sizes at which the screen takes different forms.
pub const SIZES: [(u16, u16); 6] = [(80, 24), (120, 36), (200, 56), (40, 12), (72, 20), (3, 2)];

/// The shipped profiles, as texts with their paths.
pub fn texts() -> Vec<(PathBuf, String)> {
    let recipes = RECIPES.iter().map(|(path, text)| (PathBuf::from(path), (*text).to_owned()));
    recipes.chain([(PathBuf::from("station.ron"), STATION.to_owned())]).collect()
}

/// The shipped profiles, read.
pub fn shipped() -> &'static Profiles {
    static READ: OnceLock<Profiles> = OnceLock::new();
    READ.get_or_init(|| read_texts(&texts(), None).expect("the shipped profiles read"))
}

/// A shop, its screen, and the present moment.
#[derive(Clone)]
pub struct Bench {
    pub shop: Shop,
    pub now: Moment,
    pub past: Vec<Event>,
}

impl Bench {
    /// A shop under these profiles, before the first order.
    pub fn new(profiles: &Profiles) -> Self {
        let mut bench = Self { shop: Shop::default(), now: BEGINS, past: Vec::new() };
        bench.must(&Command::SetStation(Arc::clone(&profiles.station)));
        for (name, recipe) in &profiles.recipes {
            bench.must(&Command::KeepRecipe { name: name.clone(), recipe: Arc::clone(recipe) });
        }
        bench
    }

    /// The shipped shop some way into its first order, with presses shut and garments in every queue.
    pub fn at_work() -> Self {
        static AT_WORK: OnceLock<Bench> = OnceLock::new();
        AT_WORK.get_or_init(Self::worked).clone()
    }

    fn worked() -> Self {
        let profiles = shipped();
        let mut bench = Self::new(profiles);
        let form = order_from("order.ron".as_ref(), ORDER, &profiles.recipes);
        bench.must(&Command::TakeOrder { form: form.expect("the order reads"), file: None });
        let mut operator = Operator::new(7);
        for _ in 0..400 {
            match operator.turn(&bench.shop, bench.now) {
                Turn::Act(command) => drop(bench.say(&command)),
                Turn::Until(moment) => bench.now = moment,
                Turn::Done => break,
            }
        }
        bench
    }

    /// States a command.
    ///
    /// # Errors
    /// The refusal.
    pub fn say(&mut self, command: &Command) -> Result<(), Refusal> {
        let station = self.shop.station().map_or_else(StationId::default, |station| station.id);
        let events = self.shop.act(station, command, self.now)?;
        self.past.extend(events);
        Ok(())
    }

    /// States a command that cannot be refused.
    pub fn must(&mut self, command: &Command) {
        self.say(command).unwrap_or_else(|refusal| panic!("{command:?}: {refusal}"));
    }

    pub fn wait(&mut self, seconds: u64) {
        self.now = self.now.plus(Duration::from_secs(seconds));
    }

    /// A screen that has seen what happened.
    pub fn screen(&self) -> Ui {
        let keys = self.shop.station().and_then(|station| Keymap::with(&station.keys).ok());
        let keys = Arc::new(keys.unwrap_or_default());
        let mut ui = Ui::new(keys, TimeZone::UTC, Standing::Writes);
        self.past.iter().for_each(|event| ui.remember(event));
        ui
    }

    /// Draws the pane that is open, at a size.
    pub fn draw(&self, ui: &Ui, (columns, rows): (u16, u16)) -> Buffer {
        let meant = Meaning::of(&self.shop, ui, self.now);
        let alarms = self.shop.alarms(self.now);
        let mut cells = Buffer::empty(Rect::new(0, 0, columns, rows));
        let theme = Theme { colour: true, halves: true };
        let view = View::new(&self.shop, ui, (&meant.offers, &alarms), self.now, theme);
        screen::draw(&view, &mut cells);
        let controls = cells.content().iter().any(|cell| cell.symbol().contains(char::is_control));
        assert!(!controls, "a control character would reach the terminal");
        cells
    }

    /// Draws every pane, at a size.
    pub fn draw_all(&self, ui: &mut Ui, size: (u16, u16)) {
        for pane in Pane::ALL {
            ui.pane = pane;
            self.draw(ui, size);
        }
    }

    /// Every garment is in one queue or in one press.
    pub fn check_places(&self) {
        let floor = self.shop.floor();
        let queues = Step::ALL.into_iter().map(Queue::Step);
        let queues = queues.chain([Queue::Undecided, Queue::Shelf, Queue::Finished, Queue::Out]);
        let waiting: usize = queues.map(|queue| floor.count(queue)).sum();
        let pressed = self.shop.loads().count();
        assert_eq!(waiting + pressed, floor.all().count(), "a garment is in two places or in none");
    }
}

/// What is said of bad input must not carry its escape sequences to a terminal.
pub fn check_said(text: &str) {
    let bad = text.chars().find(|c| c.is_control() && *c != '\n');
    assert_eq!(bad, None, "a control character is said: {text:?}");
}
