//! Searches kept by name.

use rusqlite::OptionalExtension;

use super::{Archive, ArchiveError};

impl Archive {
    /// Keeps the terms of a search under a name, in place of what was there.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn save_search(&self, name: &str, terms: &[String]) -> Result<(), ArchiveError> {
        let terms = serde_json::to_string(terms)?;
        self.db.execute("INSERT OR REPLACE INTO searches (name, terms) VALUES (?1, ?2)", [name, &terms])?;
        Ok(())
    }

    /// The terms kept under a name.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn saved_search(&self, name: &str) -> Result<Option<Vec<String>>, ArchiveError> {
        let terms: Option<String> =
            self.db.query_row("SELECT terms FROM searches WHERE name = ?1", [name], |r| r.get(0)).optional()?;
        Ok(terms.map(|t| serde_json::from_str(&t)).transpose()?)
    }

    /// Every search kept, by name.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn saved_searches(&self) -> Result<Vec<(String, Vec<String>)>, ArchiveError> {
        let mut all = self.db.prepare("SELECT name, terms FROM searches ORDER BY name")?;
        let rows: Vec<(String, String)> =
            all.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?.collect::<Result<_, _>>()?;
        rows.into_iter().map(|(name, terms)| Ok((name, serde_json::from_str(&terms)?))).collect()
    }

    /// Lets a search go; says whether there was one.
    ///
    /// # Errors
    /// A failure of the database.
    pub fn drop_search(&self, name: &str) -> Result<bool, ArchiveError> {
        Ok(self.db.execute("DELETE FROM searches WHERE name = ?1", [name])? > 0)
    }
}
