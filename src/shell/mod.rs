//! Everything that touches the world: clocks, files, the terminal, signals, the loop.

pub mod board;
pub mod clock;
pub mod inbox;
mod ink;
pub mod input;
pub mod journal;
mod keyboard;
pub mod log;
mod mishap;
mod painter;
pub mod paths;
pub mod picture;
pub mod private;
pub mod profiles;
pub mod replay;
pub mod rescue;
pub mod run;
pub mod sounder;
pub mod story;
pub mod terminal;
