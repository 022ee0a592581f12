//! measures
