//! Trouble codes: bytes to text, and lists that know whether they are whole.
//!
//! Two-byte form of SAE J2012, three-byte form with failure type, and the SPN / FMI form of
//! SAE J1939-73: obd-data.md sections 1.6, 2.1 and 2.3.

/// `P0420` from its two bytes; `None` for `00 00`, which is no code.
pub(super) fn two_bytes(high: u8, low: u8) -> Option<String> {
    if high == 0 && low == 0 {
        return None;
    }
    let system = match high >> 6 {
        0 => 'P',
        1 => 'C',
        2 => 'B',
        _ => 'U',
    };
    Some(format!("{system}{:X}{:X}{low:02X}", high >> 4 & 0x03, high & 0x0F))
}

/// `P0420-11` from its three bytes; `None` for `00 00 00`.
pub(super) fn three_bytes(high: u8, low: u8, failure: u8) -> Option<String> {
    two_bytes(high, low).map(|code| format!("{code}-{failure:02X}"))
}

/// What four bytes of a J1939 diagnostic message say.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum SpnCode {
    /// No code: SPN 0 or 524287 (obd-data.md 2.3).
    None,
    /// A code in the house form `SPN 1076 FMI 5`.
    Code(String),
    /// The conversion bit is set: the SPN is laid out in an older way that is not read here.
    OtherLayout,
}

/// A trouble code of SAE J1939-73 from its four bytes.
pub(super) fn spn(bytes: [u8; 4]) -> SpnCode {
    let [low, middle, high, last] = bytes;
    let number = u32::from(low) | u32::from(middle) << 8 | u32::from(high >> 5) << 16;
    match number {
        0 | 524_287 => SpnCode::None,
        _ if last & 0x80 != 0 => SpnCode::OtherLayout,
        _ => SpnCode::Code(format!("SPN {number} FMI {}", high & 0x1F)),
    }
}

/// More codes than one list joined from several messages can hold: PID $01 counts to 127, so a
/// list of this length is no answer of one ECU and never whole.
const MOST_CODES: usize = 256;

/// One message that a code list was read from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CodeSource {
    /// The payload.
    pub bytes: Vec<u8>,
    /// The line on which it began.
    pub line: usize,
}

/// The trouble codes that one ECU gave for one service.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CodeList {
    /// The codes in the order of the answer, as often as they came.
    pub codes: Vec<String>,
    /// Whether the answer came whole; if not, there may be more codes than these.
    pub whole: bool,
    /// The messages that the list was read from.
    pub sources: Vec<CodeSource>,
}

/// What a later answer did to a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Joined {
    /// There was none before, or it says the same.
    Same,
    /// It says something else, and stands in the place of the one before.
    Changed,
    /// It did not come whole and contradicts nothing: the list of this line is told.
    Kept(usize),
}

impl CodeList {
    /// The line of the last message that it was read from.
    pub(super) fn line(&self) -> usize {
        self.sources.iter().map(|source| source.line).max().unwrap_or(0)
    }

    /// Whether two lists hold the same codes, in any order.
    fn agrees(&self, other: &Self) -> bool {
        self.codes.iter().all(|code| other.codes.contains(code))
            && other.codes.iter().all(|code| self.codes.contains(code))
    }

    /// Joins a later answer of the same ECU to the same question. A whole one takes the place of what there was. One
    /// that did not come whole adds to another such; a whole list it replaces where it names another code or announces
    /// another number of them.
    pub(super) fn update(slot: &mut Option<Self>, later: Self, announced: Option<usize>) -> Joined {
        let Some(known) = slot else {
            *slot = Some(later);
            return Joined::Same;
        };
        if later.whole {
            let same =
                known.codes.iter().all(|code| later.codes.contains(code)) && (!known.whole || known.agrees(&later));
            *slot = Some(later);
            return if same { Joined::Same } else { Joined::Changed };
        }
        if !known.whole {
            known.add(later.codes, later.sources);
            return Joined::Same;
        }
        let same_number = announced.is_none_or(|count| count == known.codes.len());
        if same_number && later.codes.iter().all(|code| known.codes.contains(code)) {
            return Joined::Kept(known.line());
        }
        *slot = Some(later);
        Joined::Changed
    }

    /// Joins a further message of a legacy answer, which comes in several. After one with a free slot, or after a new
    /// request (`asked` is the line of the last), another answer begins.
    pub(super) fn extend(slot: &mut Option<Self>, further: Self, asked: Option<usize>) -> Joined {
        let mut joined = Joined::Same;
        match slot {
            Some(known) if known.whole || asked.is_some_and(|line| line > known.line()) => {
                // A first message of three repeats the beginning of what is known.
                let repeats = further.codes.iter().all(|code| known.codes.contains(code));
                if !repeats || further.whole && !known.agrees(&further) {
                    joined = Joined::Changed;
                }
                *slot = Some(further);
            }
            Some(known) => {
                known.add(further.codes, further.sources);
                known.whole |= further.whole;
            }
            None => *slot = Some(further),
        }
        if let Some(list) = slot {
            list.whole &= list.codes.len() < MOST_CODES;
        }
        joined
    }

    /// Adds the codes that are not in the list yet, and the sources if there was any.
    fn add(&mut self, codes: Vec<String>, sources: Vec<CodeSource>) -> bool {
        let before = self.codes.len();
        for code in codes {
            // The length first: a full list must not be searched for every line of a large input.
            if self.codes.len() < MOST_CODES && !self.codes.contains(&code) {
                self.codes.push(code);
            }
        }
        let added = self.codes.len() > before;
        if added {
            self.sources.extend(sources);
        }
        added
    }
}
