//! Laws and everything that goes through storage or HTTP, in one test binary.

mod measure_laws;
