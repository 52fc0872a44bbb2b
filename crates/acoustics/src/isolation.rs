//! Isolation quantities per band: from levels, background and the receiving room to D, DnT, Dn, R', NR, NNR, ATL.
