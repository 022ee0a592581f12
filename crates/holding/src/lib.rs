//! holding
