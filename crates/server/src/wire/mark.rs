//! What a person should look at.

use super::called::Called;

words! {
    /// Which kind of mark.
    enum MarkName {
        /// Lines, tax and printed total of a receipt differ.
        ReceiptDoesNotAddUp = "receipt-does-not-add-up",
        /// More is used than there was.
        StockBelowZero = "stock-below-zero",
        /// More is carried away than there was.
        MoveMoreThanThereIs = "move-more-than-there-is",
        /// Packs are carried away sealed where too few are sealed.
        PacksNotSealed = "packs-not-sealed",
        /// What was counted is not the stock.
        CountDiffers = "count-differs",
        /// Something is used before it was bought.
        UseBeforePurchase = "use-before-purchase",
        /// Money is booked to no job.
        NotBooked = "not-booked",
        /// Something cannot be counted.
        NotCounted = "not-counted",
        /// More hours than a day has.
        HoursOverDay = "hours-over-day",
        /// A condition was found changed.
        ConditionChanged = "condition-changed",
        /// The rooms of a set are not those of its wall.
        SetRoomDiffers = "set-room-differs",
        /// A number that an edition of a write-up printed has changed.
        WriteUpStale = "write-up-stale",
        /// A field has several values.
        Conflict = "conflict",
        /// A field that must be there is missing.
        Incomplete = "incomplete",
    }
}

answers! {
    /// Something computed that a person should look at.
    struct Mark {
        /// Which kind.
        mark: MarkName,
        /// The record it is about.
        about: Called,
        /// What is seen, in words.
        words: String,
        /// What to do next, in words.
        next_step: String,
    }
    /// What to look at in the whole notebook.
    struct Marks {
        /// Mark by mark.
        marks: Vec<Mark>,
    }
}
