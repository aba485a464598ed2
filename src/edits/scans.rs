//! Scan cells: paths below `scans/`, joined by `|`.

/// The paths, sorted.
pub(super) fn names(cell: &str) -> Vec<String> {
    let mut names: Vec<String> =
        cell.split('|').map(|n| n.trim().replace('\\', "/")).filter(|n| !n.is_empty()).collect();
    names.sort();
    names.dedup();
    names
}

/// The cell in the table's own form; none when a path leads out of `scans/`.
pub(super) fn joined(cell: &str) -> Option<String> {
    let names = names(cell);
    let inside = |n: &String| !n.starts_with('/') && n.split('/').all(|part| !matches!(part, "" | "." | ".."));
    names.iter().all(inside).then(|| names.join("|"))
}
