//! WAV in and out, streaming, over any reader or writer.
