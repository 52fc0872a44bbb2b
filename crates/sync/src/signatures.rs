//! Which signatures go along: as few as the log allows, for each is 64 bytes that nothing compresses.

use std::collections::BTreeMap;

use storypole_journal::log::SIGNATURE_EVERY;
use storypole_journal::{DeviceId, SeriesSignature, Vector};

/// Returns of every series the last signature within `reach` that was not sent yet, and more only where changes
/// between `from` and `reach` would go without one for [`SIGNATURE_EVERY`].
///
/// `sent` says up to where signatures were sent before.
pub(crate) fn fewest(
    signatures: &[SeriesSignature],
    sent: &BTreeMap<DeviceId, u64>,
    from: &Vector,
    reach: &Vector,
) -> Vec<SeriesSignature> {
    let mut by_series: BTreeMap<DeviceId, BTreeMap<u64, &SeriesSignature>> = BTreeMap::new();
    for signature in signatures {
        let after = sent.get(&signature.device).copied().unwrap_or(0);
        if signature.count > after && signature.count <= reach.count(signature.device) {
            by_series.entry(signature.device).or_default().insert(signature.count, signature);
        }
    }
    let mut fewest = Vec::new();
    for (device, series) in by_series {
        let begun = fewest.len();
        let mut at = from.count(device);
        while let Some((last, signature)) = next(&series, at) {
            fewest.push(*signature);
            at = last;
        }
        if fewest.len() == begun {
            // Its changes are there, and this may have been lost on the way.
            fewest.extend(series.last_key_value().map(|(_, signature)| **signature));
        }
    }
    fewest
}

/// The farthest signature over at most [`SIGNATURE_EVERY`] changes from `at` on, else the nearest.
fn next<'a>(series: &BTreeMap<u64, &'a SeriesSignature>, at: u64) -> Option<(u64, &'a SeriesSignature)> {
    let beyond = at.saturating_add(1);
    let near = series.range(beyond..=at.saturating_add(SIGNATURE_EVERY)).next_back();
    near.or_else(|| series.range(beyond..).next()).map(|(count, signature)| (*count, *signature))
}

#[cfg(test)]
mod tests {
    use storypole_journal::{ChangeHash, Entry};

    use super::*;

    fn device(number: u8) -> DeviceId {
        DeviceId::from_bytes([number; 16])
    }

    fn vector(entries: &[(u8, u64)]) -> Vector {
        let hash = ChangeHash([0; 32]);
        entries.iter().map(|(of, count)| (device(*of), Entry { count: *count, hash })).collect()
    }

    /// Cases worked out by hand from the rule of one signature per 1,000 changes.
    #[test]
    fn the_last_goes_and_one_for_every_thousand_changes() {
        let signed = |counts: &[u64]| -> Vec<SeriesSignature> {
            let hash = ChangeHash([0; 32]);
            counts
                .iter()
                .map(|count| SeriesSignature { device: device(1), count: *count, hash, bytes: [0; 64] })
                .collect()
        };
        let every_ten: Vec<u64> = (1..=250).map(|at| 10 * at).collect();
        for (held, sent, from, reach, expected) in [
            (&[5, 9][..], 0, 0, 9, &[9][..]),
            (&every_ten, 0, 0, 2_500, &[1_000, 2_000, 2_500]),
            (&every_ten, 0, 1_205, 2_500, &[2_200, 2_500]),
            (&every_ten, 0, 0, 995, &[990]),
            (&[3_000, 9_000], 0, 0, 9_000, &[3_000, 9_000]),
            (&[9], 0, 9, 9, &[9]),
            (&[5, 9], 0, 9, 9, &[9]),
            (&[9], 9, 9, 9, &[]),
            (&[20], 0, 0, 9, &[]),
        ] {
            let sent = BTreeMap::from([(device(1), sent)]);
            let chosen = fewest(&signed(held), &sent, &vector(&[(1, from)]), &vector(&[(1, reach)]));
            let counts: Vec<u64> = chosen.iter().map(|signature| signature.count).collect();
            assert_eq!(counts, expected, "held {} from {from} to {reach}", held.len());
        }
    }
}
