//! Reassembly of messages from CAN frames (ISO-TP, ISO 15765-2, classical CAN, normal addressing).
//!
//! Rules and the reasons for them: obd-data.md section 3.2. One [`Reassembly`] serves one CAN id.
//! Gives bytes no meaning beyond framing.

use super::line::LONGEST_PAYLOAD;

/// Why a frame or a message in progress is not used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fault {
    /// A single frame with length 0 or above 7.
    SingleLength,
    /// Fewer bytes than the single frame announces.
    ShortSingle,
    /// A first frame that announces 7 bytes or fewer, or has not 8 bytes.
    FirstLength,
    /// A consecutive frame that no first frame belongs to.
    Stray,
    /// A consecutive frame with another number than expected.
    Sequence { expected: u8, found: u8 },
    /// A consecutive frame with fewer bytes than are still to come.
    ShortConsecutive,
    /// No data, or a frame type that ISO-TP does not have.
    Unknown,
}

impl Fault {
    pub(super) fn explain(self) -> String {
        match self {
            Self::SingleLength => "a single frame has a length of 1 to 7".into(),
            Self::ShortSingle => "the frame has fewer bytes than its length byte says".into(),
            Self::FirstLength => "a first frame has 8 bytes and announces more than 7".into(),
            Self::Stray => "a consecutive frame without a first frame".into(),
            Self::Sequence { expected, found } => {
                format!("frame number {found:X} came where {expected:X} was expected; the whole answer is discarded")
            }
            Self::ShortConsecutive => {
                "a consecutive frame is shorter than the bytes still to come; the whole answer is discarded".into()
            }
            Self::Unknown => "not a frame type of ISO-TP".into(),
        }
    }
}

/// A message that was begun and not finished.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Unfinished {
    /// The bytes that came, in order and without a gap.
    pub bytes: Vec<u8>,
    /// The length that the first frame announced.
    pub announced: usize,
    /// The line of the first frame.
    pub line: usize,
}

/// What one frame leads to.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Step {
    /// Nothing yet.
    Waiting,
    /// A whole message, and the line on which it began.
    Message { bytes: Vec<u8>, line: usize },
    /// A flow control frame: no data.
    FlowControl,
    /// Not usable.
    Fault(Fault),
}

/// What one frame leads to, and the message in progress that it put an end to.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Outcome {
    pub step: Step,
    /// Aborted by a new message, or discarded with the fault.
    pub ended: Option<Unfinished>,
}

#[derive(Debug)]
struct Progress {
    message: Unfinished,
    next: u8,
}

/// The state of one CAN id.
#[derive(Debug, Default)]
pub(super) struct Reassembly {
    progress: Option<Progress>,
}

impl Reassembly {
    /// Whether a message is begun and not finished.
    pub(super) fn busy(&self) -> bool {
        self.progress.is_some()
    }

    /// Takes what is left at the end of the input.
    pub(super) fn finish(&mut self) -> Option<Unfinished> {
        self.progress.take().map(|p| p.message)
    }

    /// Takes the next frame of this id.
    pub(super) fn frame(&mut self, data: &[u8], line: usize) -> Outcome {
        let alone = |step| Outcome { step, ended: None };
        let (kind, low) = match data {
            [first, ..] => (first >> 4, first & 0x0F),
            [] => return alone(Step::Fault(Fault::Unknown)),
        };
        match (kind, data) {
            (0, [_, rest @ ..]) => self.single(usize::from(low), rest, line),
            (1, [_, low_length, rest @ ..]) => {
                let announced = usize::from(low) << 8 | usize::from(*low_length);
                self.first(announced, rest, line)
            }
            (1, _) => alone(Step::Fault(Fault::FirstLength)),
            (2, [_, rest @ ..]) => self.consecutive(low, rest),
            (3, _) => alone(Step::FlowControl),
            _ => alone(Step::Fault(Fault::Unknown)),
        }
    }

    fn single(&mut self, length: usize, rest: &[u8], line: usize) -> Outcome {
        if length == 0 || length > 7 {
            return Outcome { step: Step::Fault(Fault::SingleLength), ended: None };
        }
        match rest.get(..length) {
            Some(bytes) => Outcome { step: Step::Message { bytes: bytes.to_vec(), line }, ended: self.finish() },
            None => Outcome { step: Step::Fault(Fault::ShortSingle), ended: None },
        }
    }

    fn first(&mut self, announced: usize, rest: &[u8], line: usize) -> Outcome {
        if announced <= 7 || announced > LONGEST_PAYLOAD || rest.len() != 6 {
            return Outcome { step: Step::Fault(Fault::FirstLength), ended: None };
        }
        let ended = self.finish();
        let message = Unfinished { bytes: rest.to_vec(), announced, line };
        self.progress = Some(Progress { message, next: 1 });
        Outcome { step: Step::Waiting, ended }
    }

    fn consecutive(&mut self, number: u8, rest: &[u8]) -> Outcome {
        let Some(mut progress) = self.progress.take() else {
            return Outcome { step: Step::Fault(Fault::Stray), ended: None };
        };
        if number != progress.next {
            let fault = Fault::Sequence { expected: progress.next, found: number };
            return Outcome { step: Step::Fault(fault), ended: Some(progress.message) };
        }
        let missing = progress.message.announced.saturating_sub(progress.message.bytes.len());
        let wanted = missing.min(7);
        let Some(bytes) = rest.get(..wanted) else {
            return Outcome { step: Step::Fault(Fault::ShortConsecutive), ended: Some(progress.message) };
        };
        progress.message.bytes.extend_from_slice(bytes);
        if wanted == missing {
            let Unfinished { bytes, line, .. } = progress.message;
            return Outcome { step: Step::Message { bytes, line }, ended: None };
        }
        progress.next = (progress.next + 1) & 0x0F;
        self.progress = Some(progress);
        Outcome { step: Step::Waiting, ended: None }
    }
}
