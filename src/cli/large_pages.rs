//! Large pages of memory for the speech model.
//!
//! A model of a hundred megabytes is read from end to end for every piece of a word, and where
//! memory comes in pages of 4 KiB, a tenth of the time of hearing goes into finding them. Kernels
//! that give large pages to programs that ask (`madvise`) are asked by the C library, which is
//! told to only when a program begins: so the program begins again, once.

/// Starts this program again with large pages, where that helps. Comes back where it does not.
///
/// To be called before anything else is done.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
pub fn begin_with_large_pages() {
    use std::os::unix::process::CommandExt;

    /// Read by the C library (GNU libc manual, "Tunables", `glibc.malloc.hugetlb`). With large pages a
    /// block that is given back leaves more behind: blocks of a megabyte go back to the system whole,
    /// always (`glibc.malloc.mmap_threshold`, which would otherwise grow).
    const TUNABLES: &str = "GLIBC_TUNABLES";
    const LARGE: &str = "glibc.malloc.hugetlb=1:glibc.malloc.mmap_threshold=1048576";

    // Only hearing gains by it: nothing else looks any further.
    if !std::env::args_os().any(|word| word == "ingest") {
        return;
    }
    let tunables = std::env::var(TUNABLES).unwrap_or_default();
    let on_request = std::fs::read_to_string("/sys/kernel/mm/transparent_hugepage/enabled")
        .is_ok_and(|modes| modes.contains("[madvise]"));
    if !on_request || tunables.contains("glibc.malloc.hugetlb") {
        return;
    }
    let Ok(this) = std::env::current_exe() else { return };
    let tunables = if tunables.is_empty() { LARGE.to_owned() } else { format!("{tunables}:{LARGE}") };
    let mut args = std::env::args_os();
    let mut again = std::process::Command::new(this);
    if let Some(name) = args.next() {
        again.arg0(name);
    }
    // Only returns when it failed; hearing is slower then, and right all the same.
    let _ = again.args(args).env(TUNABLES, tunables).exec();
}

/// Elsewhere there is nothing to do.
#[cfg(not(all(target_os = "linux", target_env = "gnu")))]
pub fn begin_with_large_pages() {}
