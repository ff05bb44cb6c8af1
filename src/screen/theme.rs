//! Colours by what they mean: red is harm, yellow is out of the ordinary, blue is an act that is due, green
//! runs as it should, the rest is neutral (after IEC 60073). A colour never stands alone: a word says the same.
//!
//! Only the sixteen named colours are used, as pairs that stay legible on a console and without colour.

use ratatui::style::{Color, Modifier, Style};

use super::faces::Ink;

/// What a piece of the screen means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    Plain,
    Strong,
    /// Lines between things.
    Frame,
    /// The bar at the top.
    Bar,
    /// The chosen screen, field or row.
    Chosen,
    /// Dots of a running press's figures.
    RunningDot,
    /// The word for a running press.
    Running,
    /// An act is due.
    Due,
    /// Dots of figures on the ground of `Due`.
    DueDot,
    /// Harm is being done.
    Danger,
    DangerDot,
    /// Out of the ordinary.
    Abnormal,
    /// A mark that something is as it should be.
    Good,
}

/// All roles, for the checks of contrast.
pub const ROLES: [Role; 13] = [
    Role::Plain,
    Role::Strong,
    Role::Frame,
    Role::Bar,
    Role::Chosen,
    Role::RunningDot,
    Role::Running,
    Role::Due,
    Role::DueDot,
    Role::Danger,
    Role::DangerDot,
    Role::Abnormal,
    Role::Good,
];

/// How roles are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Theme {
    pub colour: bool,
    /// Whether the terminal's font has half blocks: the Linux console's fonts lack them.
    pub halves: bool,
}

impl Theme {
    /// The colours of a role, foreground and background; None for the neutral ones without a ground.
    pub fn pair(role: Role) -> (Color, Color) {
        match role {
            Role::Plain | Role::Frame => (Color::Gray, Color::Black),
            Role::Strong => (Color::White, Color::Black),
            Role::Bar => (Color::Black, Color::Gray),
            Role::Chosen => (Color::Black, Color::White),
            Role::RunningDot | Role::Running => (Color::Black, Color::Green),
            Role::Due => (Color::White, Color::Blue),
            Role::Danger => (Color::White, Color::Red),
            Role::DueDot | Role::DangerDot => (Color::Black, Color::White),
            Role::Abnormal => (Color::LightYellow, Color::Black),
            Role::Good => (Color::Green, Color::Black),
        }
    }

    /// How to draw a role.
    pub fn style(self, role: Role) -> Style {
        if self.colour {
            let (fg, bg) = Self::pair(role);
            let style = Style::new().fg(fg);
            // The neutral ground is the terminal's own.
            return if bg == Color::Black { style } else { style.bg(bg) };
        }
        match role {
            Role::Plain | Role::Frame | Role::Good | Role::DueDot | Role::DangerDot => Style::new(),
            Role::Strong | Role::Abnormal => Style::new().add_modifier(Modifier::BOLD),
            Role::Bar | Role::Chosen | Role::RunningDot | Role::Running | Role::Due => {
                Style::new().add_modifier(Modifier::REVERSED)
            }
            Role::Danger => Style::new().add_modifier(Modifier::REVERSED | Modifier::BOLD),
        }
    }

    /// How the dots of big letters are drawn. Those of `DueDot` and `DangerDot` stand on a filled ground: without
    /// colour they are holes in it.
    pub fn ink(self, role: Role) -> Ink {
        if self.colour {
            let (fg, bg) = Self::pair(role);
            // A half dot is a glyph, so it takes the colour that a whole one has as its ground.
            let dot = if bg == Color::Black { fg } else { bg };
            return Ink { symbol: " ", full: Style::new().bg(dot), half: Style::new().fg(dot) };
        }
        match role {
            Role::DueDot | Role::DangerDot => Ink {
                symbol: " ",
                full: Style::new().remove_modifier(Modifier::REVERSED | Modifier::BOLD),
                half: Style::new(),
            },
            Role::Strong | Role::Abnormal => Ink {
                symbol: " ",
                full: Style::new().add_modifier(Modifier::REVERSED),
                half: Style::new().add_modifier(Modifier::BOLD),
            },
            _ => Ink {
                symbol: " ",
                full: Style::new().add_modifier(Modifier::REVERSED),
                half: Style::new(),
            },
        }
    }

    /// The same for the number of a press: of another grain where no colour tells it from the seconds.
    pub fn number_ink(self, role: Role) -> Ink {
        let ink = self.ink(role);
        if self.colour { ink } else { Ink { symbol: "▒", full: Style::new(), ..ink } }
    }
}
