//! The program run as people run it. One suite, so that its slow parts share the cores.

mod ahead;
mod birds;
mod counts;
mod counts_after;
mod counts_found;
mod counts_in;
mod dawns;
mod desk;
mod docs;
mod handed_over;
mod journeys;
mod kill_import;
mod options;
mod pack;
mod real_ground;
mod program;
mod schema;
mod suggest;
mod works;
