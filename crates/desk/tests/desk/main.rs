//! The desk asked as a browser and a program ask it: over a socket of this machine. One suite, so that it is linked once.

mod document;
mod edits;
mod kill;
mod live;
mod moved;
mod safety;
mod server;
mod windows;
