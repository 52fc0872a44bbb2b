//! What a rating may be called: the name follows from what the bands are.
//!
//! Only a laboratory's transmission loss gives an STC, and a difference of A-weighted levels gives none of these.

/// A quantity by bands that ISO 717-1 rates.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Quantity {
    /// R, the sound reduction index of a laboratory.
    R,
    /// R′, the apparent sound reduction index of a building, with flanking.
    RPrime,
    /// D, the level difference.
    D,
    /// Dn, the normalized level difference.
    Dn,
    /// DnT, the standardized level difference.
    DnT,
}

impl Quantity {
    /// Its symbol: `R'`.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::R => "R",
            Self::RPrime => "R'",
            Self::D => "D",
            Self::Dn => "Dn",
            Self::DnT => "DnT",
        }
    }

    /// The name of its rating: `R'w`. ISO 717-1:2020 Tables 1 and 2.
    pub fn weighted_name(self) -> &'static str {
        match self {
            Self::R => "Rw",
            Self::RPrime => "R'w",
            Self::D => "Dw",
            Self::Dn => "Dn,w",
            Self::DnT => "DnT,w",
        }
    }

    /// The quantity of ASTM that is made the same way; Dn has none.
    pub fn astm(self) -> Option<AstmQuantity> {
        match self {
            Self::R => Some(AstmQuantity::TransmissionLoss),
            Self::RPrime => Some(AstmQuantity::ApparentTransmissionLoss),
            Self::D => Some(AstmQuantity::NoiseReduction),
            Self::Dn => None,
            Self::DnT => Some(AstmQuantity::NormalizedNoiseReduction),
        }
    }
}

/// A quantity by bands that ASTM E413 classes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum AstmQuantity {
    /// TL, of a laboratory by ASTM E90.
    TransmissionLoss,
    /// ATL, of a building by ASTM E336, with flanking.
    ApparentTransmissionLoss,
    /// NR, the level difference.
    NoiseReduction,
    /// NNR, the level difference brought to a decay time of 0.5 s.
    NormalizedNoiseReduction,
}

impl AstmQuantity {
    /// Its symbol: `ATL`.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::TransmissionLoss => "TL",
            Self::ApparentTransmissionLoss => "ATL",
            Self::NoiseReduction => "NR",
            Self::NormalizedNoiseReduction => "NNR",
        }
    }

    /// The name of its class: `ASTC`. ASTM E413, scope.
    pub fn class_name(self) -> &'static str {
        match self {
            Self::TransmissionLoss => "STC",
            Self::ApparentTransmissionLoss => "ASTC",
            Self::NoiseReduction => "NIC",
            Self::NormalizedNoiseReduction => "NNIC",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_laboratory_gives_stc() {
        // ASTM E413, scope: STC from E90 transmission loss, ASTC, NIC and NNIC from E336.
        let all = [Quantity::R, Quantity::RPrime, Quantity::D, Quantity::Dn, Quantity::DnT];
        let names: Vec<_> =
            all.iter().map(|quantity| quantity.astm().map(AstmQuantity::class_name)).collect();
        assert_eq!(names, [Some("STC"), Some("ASTC"), Some("NIC"), None, Some("NNIC")]);
        let names: Vec<_> = all.iter().map(|quantity| quantity.weighted_name()).collect();
        assert_eq!(names, ["Rw", "R'w", "Dw", "Dn,w", "DnT,w"]);
        let symbols: Vec<_> = all.iter().map(|quantity| quantity.symbol()).collect();
        assert_eq!(symbols, ["R", "R'", "D", "Dn", "DnT"]);
        let symbols: Vec<_> = all.iter().filter_map(|its| its.astm().map(AstmQuantity::symbol)).collect();
        assert_eq!(symbols, ["TL", "ATL", "NR", "NNR"]);
    }
}
