//! Windows that somebody has signed, beside the files of their recipes.
//!
//! A signed window stands on what it was measured with. A file that changes nothing of that leaves it in force; one that
//! does, or that has a window of its own now, is gone by, and whoever signed is told what to do.

use std::sync::Arc;

use super::{BeforeSigned, Recipes};
use crate::shop::facts::ids::RecipeHash;
use crate::shop::facts::measured::as_filed;
use crate::shop::facts::recipe::Recipe;

/// A signed window that is not in force.
#[derive(Debug, Clone, PartialEq)]
pub struct SetAside {
    /// The recipe's title.
    pub title: String,
    /// Why.
    pub why: Why,
}

/// Why a signed window is not in force.
#[derive(Debug, Clone, PartialEq)]
pub enum Why {
    /// The file has another window than at the signing.
    OtherWindow {
        /// The signed one, as the file would have it.
        signed: String,
        /// Who confirmed it.
        confirmed: String,
    },
    /// What the window stands on has changed, in words.
    Measured(Vec<String>),
}

impl SetAside {
    /// In a word, for the message line.
    pub fn in_short(&self) -> String {
        format!("{}: its signed window is not in force; see the Coat screen", self.title)
    }

    /// In words, with what to do.
    pub fn in_words(&self) -> String {
        let title = &self.title;
        match &self.why {
            Why::OtherWindow { signed, confirmed } => format!(
                "{title}: the signed window is not in force, the file has another one now. To keep the signed one, write \
                 {signed}, confirmed: Some(\"{confirmed}\") into the file"
            ),
            Why::Measured(changed) => format!(
                "{title}: the signed window is not in force. Changed since it was measured: {}. Find it again with a \
                 trial, or put that back in the file",
                changed.join(", ")
            ),
        }
    }
}

impl Recipes {
    /// A recipe as it is to be in force here: as its file has it, with the window that somebody has signed for it where
    /// that still stands.
    pub fn as_signed(&self, name: &str, filed: &Arc<Recipe>) -> Arc<Recipe> {
        match self.signed_texts(name) {
            Some((then, trial))
                if filed.says_same_window(then)
                    && filed.measured_otherwise(then, trial).is_empty() =>
            {
                Arc::new(filed.with_window_of(trial))
            }
            _ => Arc::clone(filed),
        }
    }

    /// Whether what is in force is what a recipe's file comes to here.
    pub fn stands_for(&self, name: &str, filed: &Arc<Recipe>) -> bool {
        self.hash_of(name) == Some(&self.as_signed(name, filed).hash())
    }

    /// The recipe that a window was signed for, and as it was signed.
    fn signed_texts(&self, name: &str) -> Option<(&Recipe, &Recipe)> {
        let signed = self.signed.get(name)?;
        Some((self.get(&signed.of)?, self.get(&signed.hash)?))
    }

    /// Why the window that somebody has signed for a recipe is not in force; None where it is, or none was signed.
    pub fn set_aside(&self, name: &str) -> Option<SetAside> {
        let (then, trial) = self.signed_texts(name)?;
        let now = self.named(name)?;
        if now.says_same_window(trial) {
            return None;
        }
        let why = if now.says_same_window(then) {
            let changed = now.measured_otherwise(then, trial);
            // It is in force again with the next start.
            if changed.is_empty() {
                return None;
            }
            Why::Measured(changed)
        } else {
            let confirmed = trial.confirmed.clone().unwrap_or_default();
            Why::OtherWindow { signed: as_filed(trial), confirmed }
        };
        Some(SetAside { title: now.title.clone(), why })
    }

    /// All signed windows that are not in force.
    pub fn all_set_aside(&self) -> impl Iterator<Item = SetAside> {
        self.signed.keys().filter_map(|name| self.set_aside(name))
    }

    /// Those of them whose recipe goes by figures that nobody has confirmed.
    pub fn set_aside_unconfirmed(&self) -> impl Iterator<Item = SetAside> {
        let unconfirmed =
            |name: &&String| self.named(name).is_some_and(|recipe| recipe.confirmed.is_none());
        self.signed.keys().filter(unconfirmed).filter_map(|name| self.set_aside(name))
    }

    /// What a window that is signed now stands on: the recipe in force, or, where that has a signed window already, the
    /// one that its file had then.
    pub(in crate::shop) fn signed_upon(&self, name: &str) -> Option<RecipeHash> {
        let (then, trial) = match self.signed_texts(name) {
            Some(texts) => texts,
            None => return self.hash_of(name).copied(),
        };
        let now = self.named(name)?;
        if now.says_same_window(trial) && !then.says_same_window(trial) {
            return self.signed.get(name).map(|signed| signed.of);
        }
        self.hash_of(name).copied()
    }

    /// A signature is taken back: the recipe is what it was before, unless its file has changed since.
    pub(in crate::shop) fn unsign(&mut self, before: BeforeSigned) {
        let BeforeSigned { recipe, was, hash, was_known, signed } = before;
        let then = was.and_then(|was| self.get(&was).cloned());
        let trial = self.get(&hash).cloned();
        let now = self.named(&recipe).cloned();
        if let (Some(now), Some(then), Some(trial)) = (now, then, trial)
            && now.says_same_window(&trial)
        {
            // The same file as now, as it would stand without the signature.
            let without = now.with_window_of(&then);
            if now.hash() != hash {
                self.texts.remove(&now.hash());
            }
            self.names.insert(recipe.clone(), without.hash());
            self.texts.entry(without.hash()).or_insert_with(|| Arc::new(without));
        }
        if !was_known {
            self.texts.remove(&hash);
        }
        match signed {
            Some(signed) => drop(self.signed.insert(recipe, signed)),
            None => drop(self.signed.remove(&recipe)),
        }
    }
}
