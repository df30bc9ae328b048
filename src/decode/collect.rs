//! From lines to what each ECU answered: routes frames and payloads by their ids.
//!
//! Keeps the state of every id and of the requests seen; joins nothing across ECUs.

use std::collections::{BTreeMap, BTreeSet};

use super::asked::{Requests, Target};
use super::ecu::{Cleared, EcuAnswers, EcuId, OtherResponder};
use super::error::DecodeError;
use super::form::Form;
use super::hex;
use super::isotp::{Fault, Reassembly, Step, Unfinished};
use super::j1939::{self, pgn};
use super::legacy::{self, LegacyFrame};
use super::line::{CanId, Frame, Line, LineProblem};
use super::quality::{Flags, LineNumbers};
use super::services::{self, Extent, Message};
use super::{info, line, packets};

/// Lines that were not used, with the reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RefusedLines {
    /// Why.
    pub problem: LineProblem,
    /// Which.
    pub lines: LineNumbers,
}

/// Everything that was read from the lines.
#[derive(Debug, Default)]
pub(super) struct Collected {
    pub ecus: BTreeMap<EcuId, EcuAnswers>,
    pub others: BTreeMap<EcuId, OtherResponder>,
    pub requests: Requests,
    pub refused: BTreeMap<LineProblem, LineNumbers>,
    pub flags: Flags,
    /// Seconds since 1970 of the first packet of a packet capture.
    pub first_second: Option<i64>,
    /// Lines that held a frame, a payload or a legacy frame.
    pub usable: usize,
    /// Lines that held something else than nothing or a remark.
    pub lines: usize,
    /// Frames on diagnostic ids that read as ISO-TP answers forwards, and only backwards.
    pub forwards: usize,
    pub backwards: usize,
    assemblies: BTreeMap<CanId, Reassembly>,
    transport: j1939::Transport,
}

/// What a CAN id is for (ISO 15765-4, obd-data.md section 3.1).
enum Role {
    Answer(EcuId),
    Request(Target),
    /// A request for a parameter group of SAE J1939.
    GroupRequest(Target),
    /// An acknowledgement of SAE J1939, by this address.
    Acknowledgement(u8),
    Diagnostic {
        group: u32,
        source: u8,
    },
    OtherTester,
    Other,
}

#[inline]
fn role(id: CanId) -> Role {
    if !id.extended {
        return match u16::try_from(id.value) {
            Ok(value @ 0x7E8..=0x7EF) => Role::Answer(EcuId::Standard(value)),
            Ok(0x7DF) => Role::Request(Target::Everybody),
            Ok(value @ 0x7E0..=0x7E7) => Role::Request(Target::One(EcuId::Standard(value + 8))),
            _ => Role::Other,
        };
    }
    match id.value.to_be_bytes() {
        [0x18, 0xDA, 0xF1, _] => Role::Answer(EcuId::Extended(id.value)),
        [0x18, 0xDB, 0x33, 0xF1] => Role::Request(Target::Everybody),
        [0x18, 0xDA, ecu, 0xF1] => Role::Request(Target::One(EcuId::Extended(0x18DA_F100 | u32::from(ecu)))),
        [0x18, 0xDB, 0x33, _] | [0x18, 0xDA, 0xF0..=0xFF, _] => Role::OtherTester,
        [_, 0xEA, 0xFF, _] => Role::GroupRequest(Target::Everybody),
        [_, 0xEA, ecu, _] => Role::GroupRequest(Target::One(EcuId::J1939(ecu))),
        [_, 0xE8, _, ecu] => Role::Acknowledgement(ecu),
        _ => match j1939::group(id) {
            Some((group, source)) => Role::Diagnostic { group, source },
            None => Role::Other,
        },
    }
}

fn plain_id(id: CanId) -> EcuId {
    match u16::try_from(id.value) {
        Ok(value) if !id.extended => EcuId::Standard(value),
        _ => EcuId::Extended(id.value),
    }
}

impl Collected {
    /// Reads every line of the input, or every packet.
    pub(super) fn read(input: &[u8], form: &Form) -> Result<Self, DecodeError> {
        let mut all = Self::default();
        let mut scratch = Vec::new();
        match form {
            Form::Lines => line::Lines::new(input).for_each(|(at, text)| all.line(line::read(text, &mut scratch), at)),
            Form::Table(table) => line::Lines::new(input).for_each(|(at, text)| all.line(table.read(at, text), at)),
            Form::Trace(trace) => line::Lines::new(input).for_each(|(at, text)| all.line(trace.read(text), at)),
            Form::Packets => {
                let first = packets::each(input, |at, packet| all.line(packet, at))?;
                all.first_second = first;
            }
        }
        all.finish();
        Ok(all)
    }

    fn line(&mut self, line: Line<'_>, number: usize) {
        self.lines += 1;
        match line {
            Line::Nothing => {
                self.lines -= 1;
                return;
            }
            Line::Frame(frame) => self.frame(&frame, number),
            Line::Payload(id, bytes) => self.payload(id, bytes, number),
            Line::Legacy(bytes) => {
                if !self.legacy(bytes, number) {
                    return;
                }
            }
            Line::FramesDropped => {
                self.flags.at("frames-dropped", "the recorder lost frames here; answers may be missing", number)
            }
            Line::NoData => {}
            Line::Refused(problem) => {
                self.refused.entry(problem).or_default().add(number);
                return;
            }
        }
        self.usable += 1;
    }

    #[inline]
    fn frame(&mut self, frame: &Frame, line: usize) {
        match role(frame.id) {
            Role::Other => self.outside(frame.id, frame.data(), line),
            Role::Answer(ecu) => {
                if frame.overlong() {
                    self.flags.at("can-fd-not-read", "CAN FD frames of more than 8 bytes are not read", line);
                    return;
                }
                self.tally(frame.data());
                self.answer_frame(ecu, frame.id, frame.data(), line);
            }
            Role::Request(target) => {
                // Single frames only: flow control and long requests ask for nothing read here.
                if let [length @ 1..=7, payload @ ..] = frame.data()
                    && let Some(request) = payload.get(..usize::from(*length))
                {
                    self.request(target, request, line);
                }
            }
            Role::GroupRequest(target) => self.group_request(target, frame.data(), line),
            Role::Acknowledgement(ecu) => self.acknowledged(ecu, frame.data(), line),
            Role::Diagnostic { group, source } => {
                self.diagnostic(frame.id, group, source, frame.data(), line);
            }
            Role::OtherTester => self.other_tester(line),
        }
    }

    fn payload(&mut self, id: CanId, bytes: &[u8], line: usize) {
        match role(id) {
            Role::Answer(ecu) => match bytes {
                // No answer starts below 40: these are frames with their length byte.
                [0x00..=0x3F, ..] => {
                    self.flags.at(
                        "frames-in-plain-lines",
                        "plain lines that start with the length byte of a frame are read as frames",
                        line,
                    );
                    self.answer_frame(ecu, id, bytes, line);
                }
                _ => self.message(ecu, bytes, Extent::Whole, line),
            },
            Role::Request(target) => match bytes {
                [length @ 1..=7, payload @ ..]
                    if payload.len() == usize::from(*length) && *length > 1 || payload.len() == 7 =>
                {
                    let request = payload.get(..usize::from(*length)).unwrap_or_default();
                    self.request(target, request, line);
                }
                _ => self.request(target, bytes, line),
            },
            Role::GroupRequest(target) => self.group_request(target, bytes, line),
            Role::Acknowledgement(ecu) => self.acknowledged(ecu, bytes, line),
            Role::Diagnostic { group, source } => self.diagnostic(id, group, source, bytes, line),
            Role::OtherTester => self.other_tester(line),
            Role::Other => self.plain_outside(id, bytes, line),
        }
    }

    /// Takes a legacy frame; false if its line is refused.
    fn legacy(&mut self, frame: &[u8], line: usize) -> bool {
        match legacy::read(frame) {
            Ok(LegacyFrame::Answer { source, payload }) => {
                self.message(EcuId::Legacy(source), payload, Extent::Whole, line);
            }
            Ok(LegacyFrame::Request { payload }) => self.request(Target::Everybody, payload, line),
            Err(problem) => {
                // Bytes that begin as an answer does, and no header that any bus has.
                let is_answer = matches!(frame.first(), Some(0x41 | 0x43 | 0x44 | 0x47 | 0x49 | 0x4A | 0x7F));
                let has_no_header = matches!(problem, LineProblem::BadHeader | LineProblem::CutShort) && is_answer;
                let problem = if has_no_header { LineProblem::NoHeader } else { problem };
                self.refused.entry(problem).or_default().add(line);
                return false;
            }
        }
        true
    }

    fn request(&mut self, target: Target, bytes: &[u8], line: usize) {
        if bytes.is_empty() {
            return;
        }
        if self.assemblies.values().any(Reassembly::busy) {
            self.flags.at(
                "interleaved-testers",
                "a request was sent before an answer in several frames had ended: two testers may \
                 be at work",
                line,
            );
        }
        self.requests.take(target, bytes, line);
    }

    fn group_request(&mut self, target: Target, bytes: &[u8], line: usize) {
        if let [low, middle, high, ..] = bytes {
            self.requests.group(target, u32::from_le_bytes([*low, *middle, *high, 0]), line);
        }
    }

    /// An acknowledgement of SAE J1939-21: control byte, and at its end the parameter group that was asked for. From
    /// memory of the standard; public implementations agree on it (secondary).
    fn acknowledged(&mut self, ecu: u8, bytes: &[u8], line: usize) {
        let &[control, _, _, _, _, low, middle, high] = bytes else {
            return;
        };
        let number = u32::from_le_bytes([low, middle, high, 0]);
        let id = EcuId::J1939(ecu);
        match (control, j1939::clears(number)) {
            (0, Some(cleared)) => {
                let answers = self.ecus.entry(id).or_default();
                answers.forget_cleared(cleared, line);
                services::told_cleared(id, cleared, line, &mut self.flags);
                self.requests.clear_answered(id, line);
            }
            (1..=3, Some(_)) => {
                self.flags.at("clear-refused", format!("{id} refused to clear codes; what it said stands"), line);
                self.requests.clear_answered(id, line);
            }
            _ => {}
        }
    }

    fn answer_frame(&mut self, ecu: EcuId, id: CanId, data: &[u8], line: usize) {
        let outcome = self.assemblies.entry(id).or_default().frame(data, line);
        if let Some(ended) = outcome.ended {
            let discarded = matches!(outcome.step, Step::Fault(_));
            self.unfinished(ecu, &ended, discarded);
        }
        match outcome.step {
            Step::Waiting | Step::FlowControl => {}
            Step::Message { bytes, line } => self.message(ecu, &bytes, Extent::Whole, line),
            Step::Fault(fault) => {
                let slug = match fault {
                    Fault::Stray => "stray-frame",
                    Fault::Sequence { .. } => "wrong-sequence",
                    Fault::SingleLength
                    | Fault::ShortSingle
                    | Fault::FirstLength
                    | Fault::ShortConsecutive
                    | Fault::Unknown => "bad-frame",
                };
                self.flags.at(slug, format!("{ecu}: {}", fault.explain()), line);
            }
        }
    }

    fn unfinished(&mut self, ecu: EcuId, message: &Unfinished, discarded: bool) {
        if discarded {
            let head = message.bytes.get(..2).unwrap_or(&message.bytes);
            self.message(ecu, head, Extent::Discarded, message.line);
            return;
        }
        self.flags.at(
            "truncated-answer",
            format!(
                "{ecu}: an answer ends after {} of {} bytes: {}",
                message.bytes.len(),
                message.announced,
                hex::spaced(message.bytes.get(..8).unwrap_or(&message.bytes))
            ),
            message.line,
        );
        self.message(ecu, &message.bytes, Extent::Beginning(message.announced), message.line);
    }

    fn message(&mut self, ecu: EcuId, bytes: &[u8], extent: Extent, line: usize) {
        let message = Message { ecu, bytes, extent, line, requests: &self.requests };
        if !matches!(bytes.first(), Some(0x40..=0xBF)) {
            self.flags.at(
                "not-an-answer",
                format!("{ecu}: not an answer to any service: {}", hex::spaced(bytes)),
                line,
            );
            return;
        }
        let answers = self.ecus.entry(ecu).or_default();
        services::read(message, answers, &mut self.flags);
        if matches!(bytes, [0x44 | 0x54, ..] | [0x7F, 0x04 | 0x14, 0x00..=0x77 | 0x79.., ..]) {
            self.requests.clear_answered(ecu, line);
        }
        self.unasked(ecu, bytes, line);
    }

    /// An answer to a request that the capture does not show, although it shows others: another
    /// tester may be at work (obd-data.md section 1.9).
    fn unasked(&mut self, ecu: EcuId, bytes: &[u8], line: usize) {
        let (service, detail) = match bytes {
            [service @ (0x41 | 0x49), detail, ..] => (service.wrapping_sub(0x40), Some(*detail)),
            [service @ (0x43 | 0x47 | 0x4A), ..] => (service.wrapping_sub(0x40), None),
            _ => return,
        };
        let asked = &self.requests.asked;
        if asked.is_empty() || asked.contains_key(&(service, detail)) {
            return;
        }
        self.flags.at(
            "answer-without-request",
            format!(
                "{ecu} answered service {service:02X}, which nobody asked for in this input: \
                 another tester may be at work; the answer is used"
            ),
            line,
        );
    }

    fn diagnostic(&mut self, id: CanId, group: u32, source: u8, bytes: &[u8], line: usize) {
        if matches!(group, pgn::TP_CM | pgn::TP_DT) {
            let carried = self.transport.frame(id, group, bytes, line, &mut self.flags);
            if let Some((ecu, carried)) = carried {
                self.carried(ecu, &carried);
            }
            return;
        }
        let ecu = EcuId::J1939(source);
        let carried = j1939::Carried { number: group, bytes: bytes.to_vec(), extent: Extent::Whole, line };
        self.carried(ecu, &carried);
    }

    fn carried(&mut self, ecu: EcuId, carried: &j1939::Carried) {
        let message = Message {
            ecu,
            bytes: &carried.bytes,
            extent: carried.extent,
            line: carried.line,
            requests: &self.requests,
        };
        let answers = self.ecus.entry(ecu).or_default();
        j1939::read(carried.number, message, answers, &mut self.flags);
    }

    fn other_tester(&mut self, line: usize) {
        self.flags.at("interleaved-testers", "frames of another tester address; they are not used", line);
    }

    /// A frame on an id that diagnostics do not use: an answer only if it fits the last request.
    fn plain_outside(&mut self, id: CanId, bytes: &[u8], line: usize) {
        let fits = match (bytes, self.requests.last) {
            ([service, detail @ ..], Some((asked, wanted))) => {
                Some(*service) == asked.checked_add(0x40) && (wanted.is_none() || detail.first().copied() == wanted)
            }
            // Without a request in the input: an answer by its first bytes. Ids of 29 bits carry all kinds of traffic.
            ([0x41 | 0x43 | 0x47 | 0x49 | 0x4A, ..], None) => !id.extended,
            _ => false,
        };
        if fits {
            self.outsider(id, bytes, line);
        }
    }

    #[inline]
    fn outside(&mut self, id: CanId, data: &[u8], line: usize) {
        if let ([length @ 2..=7, payload @ ..], Some((service, detail))) = (data, self.requests.last)
            && payload.first().copied() == service.checked_add(0x40)
            && (detail.is_none() || payload.get(1).copied() == detail)
        {
            let bytes = payload.get(..usize::from(*length)).unwrap_or(payload);
            self.outsider(id, bytes, line);
        }
    }

    fn outsider(&mut self, id: CanId, bytes: &[u8], line: usize) {
        let id = plain_id(id);
        self.flags.at(
            "responder-outside-obd",
            format!("{id} answered, which is no id of on-board diagnostics; it is listed and not joined"),
            line,
        );
        self.others.entry(id).or_insert_with(|| OtherResponder { id, bytes: bytes.to_vec(), line });
    }

    /// Counts whether single frames of answers read forwards or only backwards (`candump -S`).
    fn tally(&mut self, data: &[u8]) {
        let single = |first: u8, second: u8| matches!(first, 2..=7) && matches!(second, 0x40..=0x7F);
        let begins = |first: u8| matches!(first, 0x10..=0x3F);
        match data {
            [first, second, ..] if single(*first, *second) || begins(*first) => self.forwards += 1,
            [.., second, first] if single(*first, *second) => self.backwards += 1,
            _ => {}
        }
    }

    /// Commands to clear without an answer. DM11 to everybody needs no answer (SAE J1939-73, from memory): what was
    /// read before is not used. Of the others it is not known whether they were carried out.
    fn clears_without_answer(&mut self) {
        for ((command, target), line) in &self.requests.clears {
            if *command == pgn::DM11 && *target == Target::Everybody {
                for (id, ecu) in &mut self.ecus {
                    if matches!(id, EcuId::J1939(_)) && !self.requests.has_answered_clear(*id, *line) {
                        ecu.forget_cleared(Cleared::All, *line);
                        services::told_cleared(*id, Cleared::All, *line, &mut self.flags);
                    }
                }
            } else if !self.requests.any_answered_clear(*line) {
                self.flags.at(
                    "clear-not-answered",
                    "a tester asked to clear codes and no controller answered; if it was carried out, what was read \
                     before this line is old",
                    *line,
                );
            } else if *target == Target::Everybody {
                for (id, ecu) in &self.ecus {
                    let before = ecu.line();
                    if !self.requests.has_answered_clear(*id, *line) && before > 0 && before < *line {
                        self.flags.at(
                            "clear-not-answered",
                            format!("{id} did not answer the command to clear codes; what it said before stands"),
                            *line,
                        );
                    }
                }
            }
        }
    }

    fn finish(&mut self) {
        let mut left: Vec<(CanId, Unfinished)> = Vec::new();
        for (id, assembly) in &mut self.assemblies {
            left.extend(assembly.finish().map(|message| (*id, message)));
        }
        for (id, message) in left {
            self.unfinished(plain_id(id), &message, false);
        }
        for (ecu, carried) in self.transport.finish(&mut self.flags) {
            self.carried(ecu, &carried);
        }
        self.clears_without_answer();
        for (id, ecu) in &mut self.ecus {
            info::finish(*id, ecu, &mut self.flags);
        }
        let unused: BTreeSet<EcuId> =
            self.ecus.iter().filter(|(_, answers)| **answers == EcuAnswers::default()).map(|(id, _)| *id).collect();
        self.ecus.retain(|id, _| !unused.contains(id));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 11898-1: an id of 29 bits is another one than that of 11 bits with the same number.
    #[test]
    fn a_short_number_in_29_bits_stays_a_long_id() {
        let id = |extended, value| plain_id(CanId { extended, value });
        assert_eq!(id(false, 0x7E8), EcuId::Standard(0x7E8));
        for value in [0x7E8, 0xFFFF, 0x18DA_F110] {
            assert_eq!(id(true, value), EcuId::Extended(value));
        }
    }
}
