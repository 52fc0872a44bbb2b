//! What kinds of records there are, and what their fields take: enough to make a form.

answers! {
    /// One field of a kind.
    struct FieldKind {
        /// Its name.
        name: String,
        /// What it takes, in a word: `text`, `choice`, `date`, `reference`, ...
        takes: String,
        /// What it is for.
        doc: String,
        /// Whether a record without it is incomplete.
        required: bool,
        /// Whether changing a value that stands needs a reason.
        reason_on_change: bool,
        /// The words it takes, for a choice.
        choices: Option<Vec<String>>,
        /// The kind a reference points to; null where any kind will do.
        of: Option<String>,
        /// Most letters, for a text.
        letters: Option<u64>,
    }
    /// One kind of record.
    struct Kind {
        /// Its name.
        name: String,
        /// What it is.
        doc: String,
        /// Its fields, in the order of a form.
        fields: Vec<FieldKind>,
    }
    /// Every kind of record.
    struct Kinds {
        /// Kind by kind.
        kinds: Vec<Kind>,
    }
}
