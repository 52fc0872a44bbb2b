//! Why the index could not do it.

use std::path::PathBuf;

use storypole_store::StoreError;
use tantivy::TantivyError;

/// A failure of the index. Nothing is lost with it: it is made from the tables.
#[derive(Debug, thiserror::Error)]
pub enum SearchError {
    /// The folder cannot be made, locked or emptied.
    #[error(
        "the search index in {path} could not be read or written: check the folder's permissions and the free space"
    )]
    Folder { path: PathBuf, source: std::io::Error },
    /// The index itself failed.
    #[error("the search index failed: delete its folder, it is made anew at the next search")]
    Index { source: TantivyError },
    /// A document of the index lacks what every document has.
    #[error(
        "the search index holds a document that cannot be read: delete its folder, it is made anew at the next search"
    )]
    Unreadable,
    /// The tables could not be read.
    #[error("the records to search could not be read")]
    Store { source: StoreError },
}

impl From<TantivyError> for SearchError {
    fn from(source: TantivyError) -> Self {
        Self::Index { source }
    }
}

impl From<StoreError> for SearchError {
    fn from(source: StoreError) -> Self {
        Self::Store { source }
    }
}
