//! The routes, one file a group. Each group is a function that gives its `OpenApiRouter<Arc<Desk>>`; `all` puts them together.

pub mod extract;
pub mod features;
