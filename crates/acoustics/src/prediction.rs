//! What a wall should give: mass law, coincidence, resonance, double leaves with ties, slits and linings.
