//! What a shift came to: losses, what the presses were doing, and the report in all its forms.

mod losses;
mod spans;
#[path = "../laws/world.rs"]
mod world;
