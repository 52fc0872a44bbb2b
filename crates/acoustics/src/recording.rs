//! Recordings of any kept format as blocks of samples: WAV by ourselves, FLAC, MP3 and AAC by a library.
