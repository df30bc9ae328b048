//! Files with other texts over some of them: those that an editor has open, or one that is being rewritten.

use super::Files;
use std::collections::BTreeMap;

/// Files, some of them with another text.
pub struct Over<'s> {
    /// The files beneath.
    pub under: &'s dyn Files,
    /// Texts that stand in place of theirs, by name; a name may be new.
    pub texts: BTreeMap<&'s str, &'s str>,
}

impl std::fmt::Debug for Over<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Over").field("texts", &self.texts.len()).finish_non_exhaustive()
    }
}

impl Files for Over<'_> {
    fn names(&self) -> Vec<String> {
        let under = self.under.names().into_iter().filter(|name| !self.texts.contains_key(name.as_str()));
        self.texts.keys().map(|name| (*name).to_owned()).chain(under).collect()
    }

    fn text(&self, name: &str) -> Result<String, String> {
        match self.texts.get(name) {
            Some(text) => Ok((*text).to_owned()),
            None => self.under.text(name),
        }
    }

    fn beside(&self, name: &str, table: &str) -> Option<String> {
        self.under.beside(name, table)
    }

    fn tables(&self, name: &str) -> Vec<String> {
        self.under.tables(name)
    }
}
