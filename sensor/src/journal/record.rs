//! Records: bytes with their length, number and checksum, so that what is whole can be told from what isn't.

use flate2::Crc;

/// Every record begins so; it tells where to go on after damage.
const MARKER: [u8; 2] = [0xA7, 0x5C];
const HEAD_BYTES: usize = 12;
/// No record may hold more.
pub(super) const PAYLOAD_BYTES_MAX: usize = u16::MAX as usize;

/// Appends a record: marker, length (u16), number (u32), checksum (u32) of all else, payload.
/// The payload has 1 to [`PAYLOAD_BYTES_MAX`] bytes; a longer one is cut, and its caller has seen to that.
pub(super) fn put(out: &mut Vec<u8>, number: u32, payload: &[u8]) {
    let length = u16::try_from(payload.len()).unwrap_or(u16::MAX);
    let payload = &payload[..usize::from(length)];
    let [l0, l1] = length.to_le_bytes();
    let [n0, n1, n2, n3] = number.to_le_bytes();
    let head = [MARKER[0], MARKER[1], l0, l1, n0, n1, n2, n3];
    out.extend_from_slice(&head);
    out.extend_from_slice(&checksum(&head, payload).to_le_bytes());
    out.extend_from_slice(payload);
}

fn checksum(head: &[u8], payload: &[u8]) -> u32 {
    let mut crc = Crc::new();
    crc.update(head);
    crc.update(payload);
    crc.sum()
}

/// A whole record at the start of some bytes: its number, its payload, and where the next one begins.
fn whole(bytes: &[u8]) -> Option<(u32, &[u8], usize)> {
    let (head, rest) = bytes.split_first_chunk::<HEAD_BYTES>()?;
    let &[m0, m1, l0, l1, n0, n1, n2, n3, c0, c1, c2, c3] = head;
    let length = usize::from(u16::from_le_bytes([l0, l1]));
    if [m0, m1] != MARKER || length == 0 {
        return None;
    }
    let payload = rest.get(..length)?;
    let stated = u32::from_le_bytes([c0, c1, c2, c3]);
    (checksum(&head[..8], payload) == stated).then_some((
        u32::from_le_bytes([n0, n1, n2, n3]),
        payload,
        HEAD_BYTES + length,
    ))
}

/// What lies at a place of a journal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Found<'a> {
    /// A record.
    Whole { at: usize, payload: &'a [u8] },
    /// Bytes that are no record, with more records after them.
    Damaged { at: usize, bytes: usize },
    /// Bytes that are no record, up to the end.
    Torn { bytes: usize },
}

/// Goes through the records of a journal, in order.
#[derive(Clone, Debug)]
pub(super) struct Records<'a> {
    bytes: &'a [u8],
    at: usize,
    /// The least number the next record may have: older ones are leftovers of the disk.
    number: u32,
}

impl<'a> Records<'a> {
    pub(super) const fn new(bytes: &'a [u8], at: usize) -> Self {
        Self {
            bytes,
            at,
            number: 0,
        }
    }

    fn fitting(&self, at: usize) -> Option<(u32, &'a [u8], usize)> {
        whole(self.bytes.get(at..)?).filter(|record| self.number <= record.0)
    }
}

impl<'a> Iterator for Records<'a> {
    type Item = Found<'a>;

    fn next(&mut self) -> Option<Found<'a>> {
        let from = self.at;
        if self.bytes.len() <= from {
            return None;
        }
        if let Some((number, payload, length)) = self.fitting(from) {
            self.at += length;
            self.number = number.saturating_add(1);
            return Some(Found::Whole { at: from, payload });
        }
        // Byte by byte: a length that can't be trusted must not lead past the next good record.
        while self.at < self.bytes.len() {
            self.at += 1;
            if self.bytes[self.at..].starts_with(&MARKER) && self.fitting(self.at).is_some() {
                return Some(Found::Damaged {
                    at: from,
                    bytes: self.at - from,
                });
            }
        }
        Some(Found::Torn {
            bytes: self.bytes.len() - from,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn three() -> Vec<u8> {
        let mut bytes = Vec::new();
        for (number, payload) in [b"one".as_slice(), b"two", b"three"]
            .into_iter()
            .enumerate()
        {
            put(&mut bytes, u32::try_from(number).expect("small"), payload);
        }
        bytes
    }

    #[test]
    fn the_checksum_is_the_known_one() {
        // CRC-32 (ISO-HDLC) of "123456789" is 0xCBF43926: the catalogue of parametrised CRC algorithms.
        assert_eq!(checksum(b"1234", b"56789"), 0xCBF4_3926);
    }

    #[test]
    fn one_bad_byte_costs_one_record() {
        let good = three();
        for at in 0..good.len() {
            let mut bytes = good.clone();
            bytes[at] ^= 0x40;
            let found: Vec<Found<'_>> = Records::new(&bytes, 0).collect();
            let whole = found
                .iter()
                .filter(|f| matches!(f, Found::Whole { .. }))
                .count();
            assert_eq!(whole, 2, "byte {at}");
            assert_eq!(found.len(), 3, "byte {at}: {found:?}");
        }
    }

    #[test]
    fn zeros_and_older_records_at_the_end_are_no_records() {
        let mut bytes = three();
        let length = bytes.len();
        bytes.extend_from_slice(&three());
        bytes.extend_from_slice(&[0; 100]);
        let last = Records::new(&bytes, 0).last();
        assert_eq!(
            last,
            Some(Found::Torn {
                bytes: length + 100
            })
        );
    }
}
