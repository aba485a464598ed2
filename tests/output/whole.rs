//! The output folder as a whole.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use spooltalk::output::{OutDir, pictures, write_all};

use crate::fixture::{Made, inputs, trip, unusable};

fn files(dir: &Path) -> BTreeMap<String, Vec<u8>> {
    walkdir::WalkDir::new(dir)
        .into_iter()
        .map(Result::unwrap)
        .filter(|e| e.file_type().is_file())
        .map(|e| (e.path().strip_prefix(dir).unwrap().to_string_lossy().into_owned(), fs::read(e.path()).unwrap()))
        .collect()
}

#[test]
fn a_second_run_changes_nothing_and_originals_stay() {
    let made = Made::new();
    if let Ok(keep) = std::env::var("SPOOLTALK_KEEP_PAGES") {
        for (name, bytes) in files(made.dir.path()) {
            let to = Path::new(&keep).join(name);
            fs::create_dir_all(to.parent().unwrap()).unwrap();
            #[allow(clippy::disallowed_methods)]
            fs::write(to, bytes).unwrap();
        }
    }
    let before = files(made.dir.path());
    let out = OutDir::open(&made.out(""), made.dir.path()).unwrap();
    let (pictures, unshown) = pictures(&trip(), made.dir.path(), &out).unwrap();
    assert_eq!(unshown.iter().map(|u| u.path.as_str()).collect::<Vec<_>>(), ["scans/R7/quay_05.jpg"]);
    let again = write_all(&trip(), made.dir.path(), &out, &pictures, &unusable(), &inputs()).unwrap();
    assert_eq!(again.changed, 0);
    drop(out);
    assert!(files(made.dir.path()) == before);
    for name in
        ["rolls/7.csv", "rolls/7.html", "rolls/7.jsonl", "trip.md", "trip.html", "lab.md", "sidecars/7/quay_01.xmp"]
    {
        assert!(before.contains_key(&format!("spooltalk/{name}")), "{name} is missing: {:?}", before.keys());
    }
}
