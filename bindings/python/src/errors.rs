//! Exceptions: one for each kind of refusal, with every fault as data in `faults`.

use crate::loads;
use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use pyo3::{create_exception, types::PyType};

create_exception!(
    wherefore,
    WhereforeError,
    PyValueError,
    "Something was refused; `faults` holds every fault as a dict."
);
create_exception!(wherefore, NoSuchProgramError, WhereforeError, "There is no program of that id.");
create_exception!(
    wherefore,
    ProgramTextError,
    WhereforeError,
    "A text of a program file has errors: all are in `faults`."
);
create_exception!(wherefore, SnapshotError, WhereforeError, "A snapshot document is wrong: each fault with its path.");
create_exception!(
    wherefore,
    MappingError,
    WhereforeError,
    "A mapping is wrong, or does not go with the columns there are."
);
create_exception!(wherefore, MessagesError, WhereforeError, "Messages of a vehicle that cannot be used at all.");
create_exception!(wherefore, RulingError, WhereforeError, "The program cannot rule on this.");

/// The exception of a refusal.
pub(crate) fn refused(py: Python<'_>, error: &wherefore::Error) -> PyErr {
    let kind: Bound<'_, PyType> = match error.kind() {
        "no-such-program" => py.get_type::<NoSuchProgramError>(),
        "program-text" => py.get_type::<ProgramTextError>(),
        "snapshot" => py.get_type::<SnapshotError>(),
        "mapping" => py.get_type::<MappingError>(),
        "messages" => py.get_type::<MessagesError>(),
        _ => py.get_type::<RulingError>(),
    };
    let raised = PyErr::from_type(kind, (error.to_string(),));
    let faults = loads(py, &error.to_json()).and_then(|whole| whole.get_item("faults"));
    match faults.and_then(|faults| raised.value(py).setattr("faults", faults)) {
        Ok(()) => raised,
        Err(other) => other,
    }
}
