//! SocketCAN frames from packet captures: pcap and pcapng of link type 227 (CAN_SOCKETCAN).
//!
//! The layout of the files is pcap-parser's business; that of a packet is the open description of the link type: four
//! bytes of id and marks (big-endian), the length, the marks of CAN FD, two bytes that are not used, the data.

use pcap_parser::pcapng::Block;
use pcap_parser::{
    PcapBlockOwned, PcapNGSlice, parse_pcap_frame, parse_pcap_frame_be, parse_pcap_header, traits::PcapNGPacketBlock,
};

use super::error::DecodeError;
use super::line::{CanId, Frame, Line, LineProblem};

/// Link type of SocketCAN.
const SOCKET_CAN: i32 = 227;
/// Marks in the upper bits of the id.
const EXTENDED: u32 = 1 << 31;
const REMOTE: u32 = 1 << 30;
const ERROR: u32 = 1 << 29;

/// First bytes of the two formats, in either byte order; of pcap also with nanoseconds.
pub(super) fn is_capture(input: &[u8]) -> bool {
    matches!(
        input,
        [0xA1, 0xB2, 0xC3, 0xD4, ..]
            | [0xD4, 0xC3, 0xB2, 0xA1, ..]
            | [0xA1, 0xB2, 0x3C, 0x4D, ..]
            | [0x4D, 0x3C, 0xB2, 0xA1, ..]
            | [0x0A, 0x0D, 0x0D, 0x0A, ..]
    )
}

/// Takes every packet in turn, with its number from 1; gives the seconds since 1970 of the first. A capture that is
/// cut off ends with a packet that is told as cut short.
pub(super) fn each(input: &[u8], mut take: impl FnMut(usize, Line<'_>)) -> Result<Option<i64>, DecodeError> {
    if input.starts_with(&[0x0A, 0x0D, 0x0D, 0x0A]) {
        next_generation(input, &mut take)
    } else {
        classic(input, &mut take)
    }
}

fn classic(input: &[u8], take: &mut impl FnMut(usize, Line<'_>)) -> Result<Option<i64>, DecodeError> {
    let Ok((mut rest, header)) = parse_pcap_header(input) else {
        return Err(DecodeError::DamagedCapture { packet: 0 });
    };
    link(header.network.0)?;
    let (mut number, mut first) = (0usize, None);
    while !rest.is_empty() {
        number = number.saturating_add(1);
        let read = if header.is_bigendian() { parse_pcap_frame_be(rest) } else { parse_pcap_frame(rest) };
        let Ok((after, packet)) = read else {
            take(number, Line::Refused(LineProblem::CutShort));
            break;
        };
        rest = after;
        first.get_or_insert(i64::from(packet.ts_sec));
        take(number, frame(packet.data));
    }
    Ok(first)
}

fn next_generation(input: &[u8], take: &mut impl FnMut(usize, Line<'_>)) -> Result<Option<i64>, DecodeError> {
    let Ok(blocks) = PcapNGSlice::from_slice(input) else {
        return Err(DecodeError::DamagedCapture { packet: 0 });
    };
    // Of each interface of the section: its link type, the offset of its clock, units a second.
    let mut interfaces: Vec<(i32, u64, u64)> = Vec::new();
    let (mut number, mut first, mut other, mut any) = (0usize, None, None, false);
    for block in blocks {
        let Ok(PcapBlockOwned::NG(block)) = block else {
            take(number.saturating_add(1), Line::Refused(LineProblem::CutShort));
            break;
        };
        match block {
            Block::SectionHeader(_) => interfaces.clear(),
            Block::InterfaceDescription(it) => {
                let offset = u64::try_from(it.if_tsoffset).unwrap_or(0);
                interfaces.push((it.linktype.0, offset, it.ts_resolution().unwrap_or(1_000_000)));
            }
            Block::EnhancedPacket(packet) => {
                number = number.saturating_add(1);
                let interface = usize::try_from(packet.if_id).ok().and_then(|at| interfaces.get(at)).copied();
                match interface {
                    Some((SOCKET_CAN, offset, resolution)) => {
                        any = true;
                        if resolution > 0 {
                            first.get_or_insert_with(|| i64::from(packet.decode_ts(offset, resolution).0));
                        }
                        take(number, frame(packet.packet_data()));
                    }
                    found => other = other.or(found.map(|(link, _, _)| link)),
                }
            }
            Block::SimplePacket(packet) => {
                number = number.saturating_add(1);
                match interfaces.first() {
                    Some((SOCKET_CAN, _, _)) => {
                        any = true;
                        take(number, frame(packet.packet_data()));
                    }
                    found => other = other.or(found.map(|(link, _, _)| *link)),
                }
            }
            _ => {}
        }
    }
    match (any, other.or(interfaces.first().map(|(link, _, _)| *link))) {
        (false, Some(number)) => link(number).map(|()| first),
        (_, _) => Ok(first),
    }
}

/// Whether packets of a link type are read.
fn link(number: i32) -> Result<(), DecodeError> {
    if number == SOCKET_CAN { Ok(()) } else { Err(DecodeError::OtherLink { link: number }) }
}

fn frame(packet: &[u8]) -> Line<'static> {
    let [a, b, c, d, length, _, _, _, data @ ..] = packet else {
        return Line::Refused(LineProblem::CutShort);
    };
    let id = u32::from_be_bytes([*a, *b, *c, *d]);
    if id & (REMOTE | ERROR) != 0 {
        return Line::NoData;
    }
    let extended = id & EXTENDED != 0;
    let value = id & 0x1FFF_FFFF;
    if !extended && value > 0x7FF {
        return Line::Refused(LineProblem::BadIdentifier);
    }
    // The mark of CAN FD says nothing more: what it allows is a length beyond eight.
    let fd = *length > 8;
    let Some(data) = data.get(..usize::from(*length)) else {
        return Line::Refused(LineProblem::CutShort);
    };
    let mut frame = Frame::new(CanId { extended, value }, fd);
    if data.iter().all(|byte| frame.push(*byte)) {
        Line::Frame(frame)
    } else {
        Line::Refused(LineProblem::TooManyBytes)
    }
}
