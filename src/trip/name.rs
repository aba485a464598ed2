//! Names of files as they stand in tables and pages.

use std::path::Path;

/// A path relative to `base`, with `/` between folders. Bytes that are no UTF-8 are written as `%E9`,
/// so that two files never share a name.
pub fn below(path: &Path, base: &Path) -> String {
    let rest = path.strip_prefix(base).unwrap_or(path);
    let part = |c: std::path::Component<'_>| {
        let mut name = String::new();
        for chunk in c.as_os_str().as_encoded_bytes().utf8_chunks() {
            name.push_str(chunk.valid());
            name.extend(chunk.invalid().iter().map(|byte| format!("%{byte:02X}")));
        }
        name
    };
    rest.components().map(part).collect::<Vec<_>>().join("/")
}

/// Whether a path is UTF-8, so that what links to it finds it.
pub fn is_plain(path: &Path) -> bool {
    path.to_str().is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_are_parted_by_slashes() {
        assert_eq!(below(Path::new("/t/notes/day 1/b.m4a"), Path::new("/t/notes")), "day 1/b.m4a");
    }

    #[cfg(unix)]
    #[test]
    fn names_of_old_systems_stay_apart() {
        use std::ffi::OsStr;
        use std::os::unix::ffi::OsStrExt;
        let of = |bytes: &[u8]| below(Path::new(OsStr::from_bytes(bytes)), Path::new(""));
        assert_eq!(
            [of(b"caf\xe9.txt"), of(b"caf\xe8.txt"), of("café.txt".as_bytes())],
            ["caf%E9.txt", "caf%E8.txt", "café.txt"]
        );
        assert!(!is_plain(Path::new(OsStr::from_bytes(b"caf\xe9.txt"))) && is_plain(Path::new("café.txt")));
    }
}
