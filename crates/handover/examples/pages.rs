//! Writes the hand-over of the small test holding into a folder, to look at.
#[path = "../tests/common/mod.rs"]
mod common;

fn main() {
    let folder = std::path::PathBuf::from(std::env::args().nth(1).expect("a folder"));
    let show = std::env::args().nth(2).is_some();
    std::fs::create_dir_all(&folder).expect("a folder");
    for output in common::parts().write(show) {
        std::fs::write(folder.join(&output.name), &output.bytes).expect("a file");
    }
}
