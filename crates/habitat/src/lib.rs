//! habitat
