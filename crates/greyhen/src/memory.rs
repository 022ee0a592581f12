//! How memory that is let go comes back to the machine.

/// Give buffers of a megabyte and more back as soon as they are let go. By itself the system's allocator learns to keep them, one hoard a
/// thread: after five hundred edits of the demonstration a desk then holds 840 MB, and so 270 to 400. Comes before any thread.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
#[allow(unsafe_code)]
pub fn give_back() {
    // SAFETY: sets one number of the allocator, and no other thread is there yet. Where it is refused nothing changes.
    unsafe { libc::mallopt(libc::M_MMAP_THRESHOLD, 1 << 20) };
}

/// Other allocators are left as they are.
#[cfg(not(all(target_os = "linux", target_env = "gnu")))]
pub fn give_back() {}
