//! Frames of the buses before CAN: SAE J1850 VPW and PWM, ISO 9141-2, ISO 14230-4.
//!
//! Checks header and checksum and cuts the payload out. Form: obd-data.md section 3.3; the CRC
//! parameters (polynomial 1D, start FF, final FF) are stated there and checked on real frames.

use super::line::LineProblem;

/// A frame whose checksum fits.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum LegacyFrame<'a> {
    /// An answer: source address of the ECU and payload, service byte first.
    Answer { source: u8, payload: &'a [u8] },
    /// A request of a tester.
    Request { payload: &'a [u8] },
}

/// The CRC-8 of SAE J1850.
pub(super) fn crc8(bytes: &[u8]) -> u8 {
    let mut crc = 0xFFu8;
    for byte in bytes {
        crc ^= byte;
        for _ in 0..8 {
            let carry = crc & 0x80 != 0;
            crc <<= 1;
            if carry {
                crc ^= 0x1D;
            }
        }
    }
    !crc
}

/// The sum, modulo 256, of ISO 9141-2 and ISO 14230.
pub(super) fn sum8(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte))
}

/// Reads a frame from header to checksum.
pub(super) fn read(frame: &[u8]) -> Result<LegacyFrame<'_>, LineProblem> {
    let (body, check) = match frame {
        [body @ .., check] => (body, *check),
        [] => return Err(LineProblem::NoBytes),
    };
    let [header, target, source, payload @ ..] = body else {
        return Err(LineProblem::CutShort);
    };
    // Bits 7 and 6 of a format byte of ISO 14230: 10 physical, 11 functional addressing.
    let (by_crc, by_sum, answer) = match (*header, *target) {
        // J1850 VPW and ISO 9141-2 share these headers; the checksum tells them apart.
        (0x48, 0x6B) => (true, true, true),
        (0x68, 0x6A) => (true, true, false),
        (0x41, 0x6B) => (true, false, true),
        (0x61, 0x6A) => (true, false, false),
        (0x80..=0xBF, 0xF1) => (false, true, true),
        (0xC0..=0xFF, 0x33) => (false, true, false),
        _ => return Err(LineProblem::BadHeader),
    };
    if !(by_crc && crc8(body) == check || by_sum && sum8(body) == check) {
        return Err(LineProblem::BadChecksum);
    }
    if *header >= 0x80 && usize::from(header & 0x3F) != payload.len() {
        return Err(LineProblem::CutShort);
    }
    if payload.is_empty() {
        return Err(LineProblem::NoBytes);
    }
    Ok(if answer { LegacyFrame::Answer { source: *source, payload } } else { LegacyFrame::Request { payload } })
}
