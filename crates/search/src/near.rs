//! Words of the index near to a word that is not in it, and words that begin like one that is still typed.
