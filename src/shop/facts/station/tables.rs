//! How the shop's tables of orders are read.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::shop::facts::check::Senseless;

/// How the shop's tables of orders are read.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Tables {
    /// What the shop writes at the head of a column, and which column that is.
    pub columns: BTreeMap<String, String>,
    /// The recipe of rows that name none.
    pub recipe: Option<String>,
    /// Which stands first in a date such as 12/03/2026.
    pub dates: Option<DateOrder>,
    /// A directory of whose files the board takes the orders. None: only what `dwell take` is given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub folder: Option<String>,
}

impl Tables {
    /// Whether the folder is named so that everybody means the same one.
    pub(super) fn check(&self) -> Result<(), Senseless> {
        match self.folder.as_deref() {
            Some(folder) if !folder.starts_with('/') || folder.contains(char::is_control) => {
                let found = crate::shop::facts::words::clean(folder, 60);
                let reason = format!(
                    "found \"{found}\", expected a directory from the root such as \"/srv/orders\""
                );
                Err(Senseless::new("tables.folder", reason))
            }
            _ => Ok(()),
        }
    }
}

/// Which stands first in a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum DateOrder {
    DayFirst,
    MonthFirst,
}

impl DateOrder {
    /// What stands first.
    pub fn word(self) -> &'static str {
        match self {
            Self::DayFirst => "day",
            Self::MonthFirst => "month",
        }
    }
}
