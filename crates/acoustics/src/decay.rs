//! Reverberation times from decay curves, and decay curves from recordings.
