//! Computed numbers, intervals and money. A computed number comes unrounded, with the text people see beside it.

words! {
    /// How the true value stands to a stated number.
    enum Bound {
        /// It is the number.
        Exact = "exact",
        /// It is the number or more.
        AtLeast = "at-least",
        /// It is the number or less.
        AtMost = "at-most",
        /// Nothing can be said, as bounds stand on both sides.
        Undetermined = "undetermined",
    }
}

answers! {
    /// A computed number. Its unit stands with the member that holds it.
    struct Number {
        /// Unrounded, for computing on.
        value: f64,
        /// Rounded, as people see it; a change has its sign.
        printed: String,
    }
    /// A level difference or a change of it, dB.
    struct Estimate {
        /// Unrounded, dB.
        value: f64,
        /// Rounded, as people see it; a change has its sign.
        printed: String,
        /// Whether it is the value or a bound of it.
        bound: Bound,
    }
    /// An interval at 95 %, in the unit of what it belongs to, mostly dB.
    struct Interval {
        /// Lower end, unrounded.
        low: f64,
        /// Upper end, unrounded.
        high: f64,
        /// Both ends, as people see them.
        printed: String,
    }
    /// An amount of money.
    struct Amount {
        /// Digits as text, so that no program rounds them.
        #[schema(pattern = "^-?[0-9]+(\\.[0-9]+)?$", examples("377.28"))]
        amount: String,
        /// ISO 4217 code of the currency.
        #[schema(pattern = "^[A-Z]{3}$", examples("USD"))]
        currency: String,
    }
}
