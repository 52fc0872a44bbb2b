//! Single numbers from bands: ISO 717-1, ASTM E413 and ASTM E1332, with the bands that decide them.
