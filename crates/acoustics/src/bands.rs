//! Octave and third-octave bands: their labels, exact mid-bands and edges, and levels by band.
//!
//! Bands are named by their nominal label and computed at the exact base-ten frequency. Filters that split a recording
//! into bands live in [`filters`](crate::filters); ratings over bands in [`ratings`](crate::ratings).

use std::fmt;

use crate::NotFinite;

/// How wide a band is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fraction {
    /// One octave.
    Octave,
    /// A third of an octave.
    Third,
}

impl Fraction {
    /// Bands to an octave: the b of IEC 61260-1.
    pub fn per_octave(self) -> u8 {
        match self {
            Self::Octave => 1,
            Self::Third => 3,
        }
    }

    /// The labels known here, from the lowest band up, and the index of the first.
    fn labels(self) -> (i8, &'static [f64]) {
        match self {
            Self::Octave => (-6, OCTAVES_HZ),
            Self::Third => (-20, THIRDS_HZ),
        }
    }
}

impl fmt::Display for Fraction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Octave => "octave",
            Self::Third => "third octave",
        })
    }
}

/// Nominal mid-bands of the octaves, Hz. IEC 61260-1 Annex E.
const OCTAVES_HZ: &[f64] = &[16.0, 31.5, 63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, 16_000.0];

/// Nominal mid-bands of the third octaves, Hz. IEC 61260-1 Annex E.
#[rustfmt::skip]
const THIRDS_HZ: &[f64] = &[
    10.0, 12.5, 16.0, 20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0,
    500.0, 630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3150.0, 4000.0, 5000.0, 6300.0, 8000.0, 10_000.0,
    12_500.0, 16_000.0, 20_000.0,
];

/// One band. Ordered by frequency within a fraction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Band {
    fraction: Fraction,
    /// Steps from the band at 1 kHz.
    index: i8,
}

/// A frequency that is no band's label.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{hz} Hz is not the mid-band of a known {fraction} band")]
pub struct UnknownBand {
    /// What came in, Hz.
    pub hz: f64,
    /// What it was looked for in.
    pub fraction: Fraction,
}

impl Band {
    /// Finds the band of a label, Hz: 160 is 158.489 Hz.
    ///
    /// # Errors
    /// [`UnknownBand`] for a frequency that is no label: octaves go from 16 to 16,000 Hz, thirds from 10 to 20,000.
    ///
    /// # Source
    /// IEC 61260-1, nominal mid-band frequencies.
    pub fn nominal(fraction: Fraction, hz: f64) -> Result<Self, UnknownBand> {
        let (first, labels) = fraction.labels();
        let place =
            labels.iter().position(|label| (label - hz).abs() < 1e-9).ok_or(UnknownBand { hz, fraction })?;
        Ok(Self { fraction, index: first + i8::try_from(place).expect("there are fewer than 128 labels") })
    }

    /// Every band known here, lowest first.
    pub fn all(fraction: Fraction) -> impl DoubleEndedIterator<Item = Self> + Clone {
        let (first, labels) = fraction.labels();
        let count = i8::try_from(labels.len()).expect("there are fewer than 128 labels");
        (first..first + count).map(move |index| Self { fraction, index })
    }

    /// Bands from one label to another, both included, Hz.
    ///
    /// # Errors
    /// [`UnknownBand`] for either label.
    pub fn range(fraction: Fraction, from_hz: f64, to_hz: f64) -> Result<Vec<Self>, UnknownBand> {
        let (from, to) = (Self::nominal(fraction, from_hz)?, Self::nominal(fraction, to_hz)?);
        Ok((from.index..=to.index).map(|index| Self { fraction, index }).collect())
    }

    /// How wide it is.
    pub fn fraction(self) -> Fraction {
        self.fraction
    }

    /// Steps from the band at 1 kHz: negative below.
    pub fn index(self) -> i8 {
        self.index
    }

    /// The label, Hz.
    pub fn nominal_hz(self) -> f64 {
        let (first, labels) = self.fraction.labels();
        labels[usize::try_from(self.index - first).expect("a band is not below the first label")]
    }

    /// The exact mid-band `1000·10^(3n/10b)`, Hz. IEC 61260-1, base ten.
    pub fn exact_hz(self) -> f64 {
        1000.0 * 10f64.powf(f64::from(self.index) * 0.3 / f64::from(self.fraction.per_octave()))
    }

    /// The lower band edge, Hz: half a band below the exact mid-band.
    pub fn lower_hz(self) -> f64 {
        self.exact_hz() / self.half_width()
    }

    /// The upper band edge, Hz.
    pub fn upper_hz(self) -> f64 {
        self.exact_hz() * self.half_width()
    }

    /// Upper less lower edge, Hz.
    pub fn width_hz(self) -> f64 {
        self.upper_hz() - self.lower_hz()
    }

    fn half_width(self) -> f64 {
        10f64.powf(0.15 / f64::from(self.fraction.per_octave()))
    }
}

/// The label with its unit, `125 Hz` or `3.15 kHz`.
impl fmt::Display for Band {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let hz = self.nominal_hz();
        if hz < 1000.0 { write!(f, "{hz} Hz") } else { write!(f, "{} kHz", hz / 1000.0) }
    }
}

/// One number for each of several bands, lowest band first, each band once. Always finite.
#[derive(Debug, Clone, PartialEq)]
pub struct Spectrum {
    fraction: Fraction,
    values: Vec<(Band, f64)>,
}

/// Why numbers make no spectrum.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[expect(missing_docs, reason = "the fields are named in the message")]
pub enum SpectrumError {
    /// Give at least one band.
    #[error("no bands were given")]
    Empty,
    /// Each band needs one value.
    #[error("{bands} bands came with {values} values")]
    UnequalLengths { bands: usize, values: usize },
    /// A label that is not in the series.
    #[error(transparent)]
    Unknown(#[from] UnknownBand),
    /// Octaves and thirds are two spectra.
    #[error("octave and third octave bands are mixed")]
    Mixed,
    /// Put the bands in order, or leave one out.
    #[error("{band} does not come after {before}: give the bands from low to high, each once")]
    NotAscending { band: Band, before: Band },
    /// A value that is no number.
    #[error("the value at {band} is not a finite number")]
    NotFinite { band: Band },
}

impl Spectrum {
    /// Takes labels in Hz, ascending, with a value for each.
    ///
    /// # Errors
    /// [`SpectrumError`].
    pub fn new(fraction: Fraction, nominal_hz: &[f64], values: &[f64]) -> Result<Self, SpectrumError> {
        if nominal_hz.len() != values.len() {
            return Err(SpectrumError::UnequalLengths { bands: nominal_hz.len(), values: values.len() });
        }
        let bands = nominal_hz.iter().map(|hz| Band::nominal(fraction, *hz));
        let pairs: Result<Vec<_>, UnknownBand> =
            bands.zip(values).map(|(band, value)| Ok((band?, *value))).collect();
        Self::of(pairs?)
    }

    /// Takes bands, ascending, with a value for each.
    ///
    /// # Errors
    /// [`SpectrumError`].
    pub fn of(values: Vec<(Band, f64)>) -> Result<Self, SpectrumError> {
        let fraction = values.first().ok_or(SpectrumError::Empty)?.0.fraction();
        for (index, (band, value)) in values.iter().enumerate() {
            if band.fraction() != fraction {
                return Err(SpectrumError::Mixed);
            }
            if index > 0 && *band <= values[index - 1].0 {
                return Err(SpectrumError::NotAscending { band: *band, before: values[index - 1].0 });
            }
            if !value.is_finite() {
                return Err(SpectrumError::NotFinite { band: *band });
            }
        }
        Ok(Self { fraction, values })
    }

    /// How wide its bands are.
    pub fn fraction(&self) -> Fraction {
        self.fraction
    }

    /// Bands with their values, lowest first; never empty.
    pub fn values(&self) -> &[(Band, f64)] {
        &self.values
    }

    /// The value of one band.
    pub fn get(&self, band: Band) -> Option<f64> {
        self.values.iter().find(|(its, _)| *its == band).map(|(_, value)| *value)
    }

    /// The values of all of `bands`, in that order.
    ///
    /// # Errors
    /// The bands that are not there, so that a person can be told which.
    pub fn pick(&self, bands: &[Band]) -> Result<Vec<f64>, Vec<Band>> {
        let missing: Vec<Band> = bands.iter().copied().filter(|band| self.get(*band).is_none()).collect();
        if missing.is_empty() {
            Ok(bands.iter().filter_map(|band| self.get(*band)).collect())
        } else {
            Err(missing)
        }
    }

    /// Combines the bands that both spectra have; `None` where they have none in common.
    ///
    /// # Errors
    /// [`NotFinite`] when `f` gives a number that is not.
    pub fn zip(&self, other: &Self, f: impl Fn(f64, f64) -> f64) -> Result<Option<Self>, NotFinite> {
        let mut values = Vec::new();
        for (band, value) in &self.values {
            if let Some(theirs) = other.get(*band) {
                values.push((*band, crate::finite(f(*value, theirs))?));
            }
        }
        Ok((!values.is_empty()).then_some(Self { fraction: self.fraction, values }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_frequencies_and_edges_match() {
        // Mid-bands as tabulated in IEC 61260-1:2014 Annex E; edges computed independently with mpmath 1.4.
        let rows = [
            (Fraction::Third, 160.0, 158.489319, 141.253754, 177.827941),
            (Fraction::Octave, 250.0, 251.188643, 177.827941, 354.813389),
            (Fraction::Third, 1000.0, 1000.0, 891.250938, 1122.018454),
            (Fraction::Third, 3150.0, 3162.277660, 2818.382931, 3548.133892),
            (Fraction::Octave, 16.0, 15.848932, 11.220185, 22.387211),
            (Fraction::Third, 10.0, 10.0, 8.912509, 11.220185),
            (Fraction::Third, 20_000.0, 19_952.623150, 17_782.794100, 22_387.211386),
        ];
        for (fraction, hz, exact, lower, upper) in rows {
            let band = Band::nominal(fraction, hz).unwrap();
            for (got, expected) in
                [(band.exact_hz(), exact), (band.lower_hz(), lower), (band.upper_hz(), upper)]
            {
                assert!((got / expected - 1.0).abs() < 1e-7, "{fraction} {hz}: {got}, not {expected}");
            }
            assert_eq!(band.nominal_hz(), hz);
        }
    }

    #[test]
    fn every_label_lies_near_its_exact_frequency() {
        // The labels are the exact values rounded to the R10 series of ISO 266: never more than 2 % away.
        for fraction in [Fraction::Octave, Fraction::Third] {
            let bands: Vec<Band> = Band::all(fraction).collect();
            assert_eq!(bands.len(), if fraction == Fraction::Octave { 11 } else { 34 });
            for band in bands {
                assert!((band.nominal_hz() / band.exact_hz() - 1.0).abs() < 0.02, "{band}");
                assert_eq!(Band::nominal(fraction, band.nominal_hz()), Ok(band));
            }
        }
    }

    #[test]
    fn neighbours_share_an_edge() {
        for fraction in [Fraction::Octave, Fraction::Third] {
            let bands: Vec<Band> = Band::all(fraction).collect();
            for pair in bands.windows(2) {
                assert!((pair[0].upper_hz() / pair[1].lower_hz() - 1.0).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn what_is_no_label_is_refused() {
        let third = |hz| Band::nominal(Fraction::Third, hz);
        assert_eq!(third(31.0), Err(UnknownBand { hz: 31.0, fraction: Fraction::Third }));
        assert_eq!(third(158.489), Err(UnknownBand { hz: 158.489, fraction: Fraction::Third }));
        assert!(third(f64::NAN).is_err());
        assert!(Band::nominal(Fraction::Octave, 160.0).is_err());
        assert_eq!(third(3150.0).unwrap().to_string(), "3.15 kHz");
        assert_eq!(third(125.0).unwrap().to_string(), "125 Hz");
    }

    #[test]
    fn spectra_are_ordered_whole_and_finite() {
        let new = |hz: &[f64], values: &[f64]| Spectrum::new(Fraction::Third, hz, values);
        let third = |hz: f64| Band::nominal(Fraction::Third, hz).unwrap();
        assert_eq!(new(&[], &[]), Err(SpectrumError::Empty));
        assert_eq!(new(&[100.0], &[1.0, 2.0]), Err(SpectrumError::UnequalLengths { bands: 1, values: 2 }));
        assert_eq!(
            new(&[125.0, 100.0], &[1.0, 2.0]),
            Err(SpectrumError::NotAscending { band: third(100.0), before: third(125.0) })
        );
        let twice = SpectrumError::NotAscending { band: third(100.0), before: third(100.0) };
        assert_eq!(
            twice.to_string(),
            "100 Hz does not come after 100 Hz: give the bands from low to high, each once"
        );
        assert_eq!(new(&[100.0, 100.0], &[1.0, 2.0]), Err(twice));
        assert!(matches!(new(&[100.0], &[f64::NAN]), Err(SpectrumError::NotFinite { .. })));
        assert!(matches!(new(&[101.0], &[1.0]), Err(SpectrumError::Unknown(_))));
        let octave = Band::nominal(Fraction::Octave, 125.0).unwrap();
        let third = Band::nominal(Fraction::Third, 160.0).unwrap();
        assert_eq!(Spectrum::of(vec![(octave, 1.0), (third, 1.0)]), Err(SpectrumError::Mixed));
    }

    #[test]
    fn bands_are_picked_by_label() {
        let spectrum = Spectrum::new(Fraction::Third, &[100.0, 125.0, 160.0], &[1.0, 2.0, 3.0]).unwrap();
        let bands = Band::range(Fraction::Third, 125.0, 200.0).unwrap();
        assert_eq!(spectrum.pick(&bands[..2]), Ok(vec![2.0, 3.0]));
        assert_eq!(spectrum.pick(&bands), Err(vec![bands[2]]));
        let other = Spectrum::new(Fraction::Third, &[125.0, 200.0], &[0.5, 1.0]).unwrap();
        let difference = spectrum.zip(&other, |a, b| a - b).unwrap().unwrap();
        assert_eq!(difference.values(), &[(bands[0], 1.5)]);
    }
}
