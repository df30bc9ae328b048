//! The words of the table of facts as types, so that a host spells none of them. A test holds each list against the table.

/// Makes an enum whose variants are the words of a fact, in the table's order.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$variant_doc:meta])* $variant:ident = $word:literal,)+ }) => {
        $(#[$doc])*
        ///
        /// ```
        $(#[doc = concat!("assert_eq!(wherefore::", stringify!($name), "::", stringify!($variant), ".word(), ", stringify!($word), ");")])+
        /// ```
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[non_exhaustive]
        pub enum $name { $($(#[$variant_doc])* $variant,)+ }

        impl $name {
            /// Every value, in the order of the table of facts.
            pub const ALL: &'static [$name] = &[$($name::$variant,)+];

            /// The word that snapshot documents and program files use.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $($name::$variant => $word,)+ }
            }

            /// Its bit among the words of the fact.
            #[expect(clippy::as_conversions, reason = "a fieldless enum has no other conversion")]
            pub(super) fn bit(self) -> u64 {
                1 << self as u64
            }
        }
    };
}

words! {
    /// Fuel a vehicle is registered for.
    Fuel {
        /// Gasoline.
        Gasoline = "gasoline",
        /// Diesel.
        Diesel = "diesel",
        /// Natural gas, compressed or liquefied.
        NaturalGas = "natural-gas",
        /// Propane, liquefied petroleum gas.
        Propane = "propane",
        /// Ethanol, blends for flexible-fuel vehicles included.
        Ethanol = "ethanol",
        /// Methanol.
        Methanol = "methanol",
        /// Hydrogen.
        Hydrogen = "hydrogen",
        /// Electric alone.
        Electric = "electric",
        /// Any other.
        Other = "other-fuel",
    }
}
words! {
    /// Class of a vehicle, in the federal terms of 40 CFR 86 and the names that states except by.
    VehicleClass {
        /// Light-duty vehicle: a passenger car (40 CFR 86.1803-01).
        LightDuty = "light-duty",
        /// Light-duty truck, rated at 8,500 lb or less (40 CFR 86.1803-01).
        LightTruck = "light-truck",
        /// Medium-duty passenger vehicle (40 CFR 86.1803-01).
        MediumDutyPassenger = "medium-duty-passenger",
        /// Heavy-duty vehicle (40 CFR 86.1803-01).
        HeavyDuty = "heavy-duty",
        /// Motorcycle.
        Motorcycle = "motorcycle",
        /// Bus.
        Bus = "bus",
        /// Motor home.
        MotorHome = "motor-home",
        /// Farm vehicle.
        Farm = "farm",
        /// Historic or antique vehicle, as registered.
        Historic = "historic",
        /// Military vehicle.
        Military = "military",
        /// Emergency vehicle.
        Emergency = "emergency",
        /// Any other.
        Other = "other-class",
    }
}
words! {
    /// Ignition, service $01 PID $01 byte B bit 3.
    Ignition {
        /// Spark ignition.
        Spark = "spark",
        /// Compression ignition.
        Compression = "compression",
    }
}
words! {
    /// Kind of visit.
    VisitKind {
        /// First test of its cycle.
        Initial = "initial",
        /// A test after a failed or rejected one.
        Retest = "retest",
    }
}
words! {
    /// What the certificate is for.
    Purpose {
        /// Renewal of a registration.
        Renewal = "renewal",
        /// Sale, change of owner.
        Sale = "sale",
        /// First registration.
        FirstRegistration = "first-registration",
    }
}
words! {
    /// State of the diagnostic connector (DLC), by look.
    Connector {
        /// In order.
        Intact = "intact",
        /// Missing.
        Missing = "missing",
        /// Tampered with.
        Tampered = "tampered",
        /// Does not work.
        Inoperable = "inoperable",
        /// Cannot be reached.
        Inaccessible = "inaccessible",
    }
}
words! {
    /// Whether the vehicle answered on its connector.
    Communication {
        /// It did not answer.
        None = "none",
        /// It answered.
        Established = "established",
        /// It speaks a protocol that the reader does not.
        UnsupportedProtocol = "unsupported-protocol",
    }
}
words! {
    /// Family of messages the vehicle answers in.
    Protocol {
        /// Services of SAE J1979 over any of its links.
        Classic = "classic",
        /// SAE J1939-73.
        J1939 = "j1939",
        /// SAE J1979-2, on-board diagnostics over UDS.
        ObdOnUds = "obd-on-uds",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Fact;

    #[test]
    fn the_types_have_the_words_of_the_table() {
        fn words<T: Copy>(all: &[T], word: fn(T) -> &'static str) -> Vec<&'static str> {
            all.iter().map(|value| word(*value)).collect()
        }
        assert_eq!(words(Fuel::ALL, Fuel::word), Fact::Fuel.words());
        assert_eq!(words(VehicleClass::ALL, VehicleClass::word), Fact::Class.words());
        assert_eq!(words(Ignition::ALL, Ignition::word), Fact::Ignition.words());
        assert_eq!(words(VisitKind::ALL, VisitKind::word), Fact::Visit.words());
        assert_eq!(words(Purpose::ALL, Purpose::word), Fact::Purpose.words());
        assert_eq!(words(Connector::ALL, Connector::word), Fact::Connector.words());
        assert_eq!(words(Communication::ALL, Communication::word), Fact::Communication.words());
        assert_eq!(words(Protocol::ALL, Protocol::word), Fact::Protocol.words());
    }
}
