//! Findings kept from question to question: a new record works out anew what depends on it, and nothing else.
