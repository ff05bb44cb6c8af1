//! The recipes of a shop: their texts by fingerprint, which of them each name means now, and the windows that somebody has
//! signed.

pub mod signed;

use std::collections::BTreeMap;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::as_text;
use super::ids::RecipeHash;
use super::recipe::Recipe;

/// All recipes that the journal has told. A garment keeps the one that it began with, so none is let go of.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Recipes {
    #[serde(with = "as_text")]
    texts: BTreeMap<RecipeHash, Arc<Recipe>>,
    /// Which recipe each name means now.
    names: BTreeMap<String, RecipeHash>,
    /// Windows that somebody has signed, by the recipe's name.
    signed: BTreeMap<String, Signed>,
}

/// A recipe as its file has it, and with the window that somebody has signed for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
struct Signed {
    of: RecipeHash,
    hash: RecipeHash,
}

/// A recipe before its window was signed.
#[derive(Debug, Clone)]
pub struct BeforeSigned {
    recipe: String,
    /// Its fingerprint then, and since.
    was: Option<RecipeHash>,
    hash: RecipeHash,
    /// Whether the recipe with that window was known before.
    was_known: bool,
    signed: Option<Signed>,
}

impl Recipes {
    /// A recipe by its fingerprint.
    pub fn get(&self, hash: &RecipeHash) -> Option<&Arc<Recipe>> {
        self.texts.get(hash)
    }

    /// The same with the fingerprint as it is kept here.
    pub fn entry(&self, hash: &RecipeHash) -> Option<(&RecipeHash, &Arc<Recipe>)> {
        self.texts.get_key_value(hash)
    }

    /// The fingerprint of the recipe that a name means now.
    pub fn hash_of(&self, name: &str) -> Option<&RecipeHash> {
        self.names.get(name)
    }

    /// The recipe that a name means now.
    pub fn named(&self, name: &str) -> Option<&Arc<Recipe>> {
        self.texts.get(self.names.get(name)?)
    }

    /// Every name that means a recipe now.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.names.keys().map(String::as_str)
    }

    /// The recipes in force: name, fingerprint, text.
    pub fn in_force(&self) -> impl Iterator<Item = (&str, &RecipeHash, &Arc<Recipe>)> {
        self.names.iter().filter_map(|(name, hash)| {
            let (hash, recipe) = self.texts.get_key_value(hash)?;
            Some((name.as_str(), hash, recipe))
        })
    }

    /// Keeps a text that no name means here.
    pub(in crate::shop) fn keep(&mut self, hash: RecipeHash, text: &Arc<Recipe>) {
        self.texts.insert(hash, Arc::clone(text));
    }

    /// A name means this recipe from now on.
    pub(in crate::shop) fn name(&mut self, name: &str, hash: RecipeHash, text: &Arc<Recipe>) {
        self.keep(hash, text);
        self.names.insert(name.to_owned(), hash);
    }

    /// Somebody has signed the window with which the recipe `of` is `hash`; how it was before.
    pub(in crate::shop) fn sign(
        &mut self,
        name: &str,
        of: RecipeHash,
        hash: RecipeHash,
    ) -> BeforeSigned {
        let (recipe, was) = (name.to_owned(), self.hash_of(name).copied());
        let was_known = self.texts.contains_key(&hash);
        // Older journals say of a second signature that it is upon the first.
        let upon_first = self.signed.get(name).filter(|first| first.hash == of);
        let of = upon_first.map_or(of, |first| first.of);
        let signed = self.signed.insert(recipe.clone(), Signed { of, hash });
        BeforeSigned { recipe, was, hash, was_known, signed }
    }
}
