//! What digital full scale means in dB: from a calibrator recording or a stated level; clipping and silence.
