//! The interpreter: walks a flat program over what is known of a vehicle.
