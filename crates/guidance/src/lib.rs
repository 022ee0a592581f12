//! guidance
