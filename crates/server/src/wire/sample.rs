//! The invented example that a new notebook may be filled with.

answers! {
    /// What filling came to.
    struct ExampleTaken {
        /// Rows that are in.
        rows: u64,
    }
}
