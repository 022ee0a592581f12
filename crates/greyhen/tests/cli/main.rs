//! The program run as people run it. One suite, so that its slow parts share the cores.

mod ahead;
mod birds;
mod counts;
mod docs;
mod handed_over;
mod journeys;
mod kill_import;
mod options;
mod real_ground;
mod program;
mod schema;
mod suggest;
