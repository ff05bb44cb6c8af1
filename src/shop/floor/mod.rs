//! What is where: garments in their queues, presses and what they are shut on, sheets, the shelf, the sprayer, people.

mod clock;
pub mod cloth;
pub mod counts;
pub mod fluid;
pub mod garment;
pub mod kept;
pub mod kinds;
pub mod labelled;
pub mod places;
pub mod platens;
pub mod press;
pub mod shared;
pub mod sheets;
pub mod shelf;
pub mod shelved;
pub mod taken;
pub mod trial;
pub mod waiting;
pub mod wash;
pub mod whereabouts;
