//! Storing and finding, over a small trip.

use super::samples::{everything, harbour, key, stored};
use super::{Archive, ArchiveError, Query};

fn found(archive: &Archive, query: &str) -> Vec<String> {
    let query = Query::parse(query).unwrap_or_else(|e| panic!("{e}"));
    let mut frames: Vec<String> =
        archive.find(&query, 100).unwrap().frames.iter().map(|f| format!("{}/{}", f.roll, f.frame)).collect();
    frames.sort();
    frames
}

#[test]
fn words_and_conditions_combine() {
    let a = stored();
    let cases: &[(&str, &[&str])] = &[
        ("slipway", &["7/1"]),
        ("orange filter slipway", &["7/1"]),
        ("SLIPWAY vagar", &["7/1"]),
        ("slip", &[]),
        ("slip*", &["7/1"]),
        ("\"low water\"", &["7/1"]),
        ("\"water low\"", &[]),
        ("subject:slipway", &["7/1"]),
        ("place:slipway", &[]),
        ("remark:print", &["7/1"]),
        ("film:\"Merrow Pan 100\" aperture<=5.6", &["7/1"]),
        ("film:merrow", &["7/1", "7/2", "7/3"]),
        ("film=merrow", &[]),
        ("film!=\"gull 400\" has:film", &["7/1", "7/2", "7/3"]),
        ("-film:merrow has:film", &["A3/1"]),
        ("aperture<5.6", &["A3/1"]),
        ("f:16", &["7/3"]),
        ("shutter>=1/60", &["7/2", "7/3"]),
        ("shutter>1/60", &["7/3"]),
        ("shutter:1/125", &["7/1"]),
        ("shutter:45s", &["7/3"]),
        ("shutter:1/500..1/100", &["7/1", "A3/1"]),
        ("ev>12", &["7/1", "7/2", "A3/1"]),
        ("ev>12.24 orange", &["7/1"]),
        ("focal:80 ei:80 iso:100", &["7/1", "7/2", "7/3", "A3/1"]),
        ("taken:2025", &["7/1", "7/2"]),
        ("taken:2025-06", &["7/1"]),
        ("taken:2025-06..2025-07", &["7/1", "7/2"]),
        ("taken:2025-06-18T09:15", &["7/1"]),
        ("taken>2025-06-18", &["7/2"]),
        ("taken<=2025-06-18", &["7/1"]),
        ("taken:..2025-06 slipway", &["7/1"]),
        ("taken:2025-07.. slipway", &[]),
        ("trip:water roll:R07 frame:12A", &["7/12A"]),
        ("roll:a03", &["A3/1"]),
        ("frame:00", &["7/00"]),
        ("flag:unsure", &["7/2"]),
        ("flag:unsure:shutter", &["7/2"]),
        ("flag:unsure:film", &[]),
        ("flag:shake", &["7/3"]),
        ("flag:odd -flag:shake", &[]),
        ("status:wasted", &["7/12A"]),
        ("status:ok slipway", &["7/1"]),
        ("near:54.1,-9.21,5km", &["7/1"]),
        ("near:54.1,-9.21,500m", &[]),
        ("rating>=4", &["7/1"]),
        ("has:rating", &["7/1"]),
        ("-has:lens", &["7/00", "7/12A"]),
        ("light:\"open shade\" filter:none", &["7/2", "A3/1"]),
        ("filter:polariser", &["7/3"]),
        ("comp:+1", &["7/12A"]),
        ("filter_stops>=2", &["7/1"]),
        ("rule<-2", &["7/1"]),
        ("rule>4", &["7/3"]),
        ("rule:0.0", &[]),
        ("-slipway film:merrow", &["7/2", "7/3"]),
        ("eight -boats", &[]),
        ("boats -eight", &[]),
        ("boats -slipway", &["7/2"]),
        ("confidence<0.9", &[]),
        ("", &["7/00", "7/1", "7/12A", "7/2", "7/3", "A3/1"]),
    ];
    for (query, frames) in cases {
        assert_eq!(found(&a, query), *frames, "{query}");
    }
}

#[test]
fn rolls_are_found_by_how_they_were_developed() {
    let a = everything();
    let seven = ["7/00", "7/1", "7/12A", "7/2", "7/3"];
    for query in ["developer:halc", "developer=HALCYON", "sleeve:14", "has:developer", "has:sleeve -roll:A3"] {
        assert_eq!(found(&a, query), seven, "{query}");
    }
    assert_eq!(found(&a, "developer:halcyon slipway"), ["7/1"]);
    assert_eq!(found(&a, "-developer:halcyon"), ["A3/1"]);
    for query in ["developer:tarn", "developer=halc", "sleeve:1", "developer:halcyon roll:A3"] {
        assert_eq!(found(&a, query), [] as [&str; 0], "{query}");
    }
    let rolls = |query: &str| {
        let rolls = a.rolls_with(&Query::parse(query).unwrap()).unwrap();
        rolls.into_iter().map(|r| (r.roll, r.developer, r.sleeve)).collect::<Vec<_>>()
    };
    assert_eq!(rolls("developer:halcyon"), [("7".to_owned(), Some("Halcyon".to_owned()), Some("14".to_owned()))]);
    assert_eq!(rolls("-has:sleeve"), [("A3".to_owned(), None, None)]);
}

#[test]
fn newest_come_first_and_the_limit_says_so() {
    let a = stored();
    let page = a.find(&Query::parse("taken:2025").unwrap(), 1).unwrap();
    assert_eq!((page.frames.len(), page.more, page.frames[0].frame.as_str()), (1, true, "2"));
    let page = a.find(&Query::parse("taken:2025").unwrap(), 2).unwrap();
    assert!(!page.more);
}

#[test]
fn a_found_frame_tells_all_that_was_stored() {
    let a = stored();
    let page = a.find(&Query::parse("slipway").unwrap(), 9).unwrap();
    let json = serde_json::to_value(&page.frames[0]).unwrap();
    assert_eq!(
        json,
        serde_json::json!({
            "trip": "Low Water", "roll": "7", "frame": "1", "status": "ok", "scan": "roll-07/0001.tif",
            "taken": "2025-06-18T09:15:02+01:00", "known_by": "container", "camera": "six-four-five", "lens": "80", "film": "Merrow Pan 100",
            "focal_mm": 80.0, "box_iso": 100, "ei": 80, "shutter": "1/125", "aperture": 5.6, "filter": "orange",
            "filter_stops": 2.0, "ev100": 12.258566, "rule_stops": -2.258566, "light": "open shade", "subject": "slipway",
            "place": "Vágar harbour", "lat": 54.1, "lon": -9.2, "source": "voice", "confidence": 0.95,
            "said": "the slipway at low water, one twenty-fifth at five six", "clip": "001.m4a", "at_s": 3.5,
            "rating": 4, "remark": "print this",
        })
    );
    let page = a.find(&Query::parse("boats").unwrap(), 9).unwrap();
    let json = serde_json::to_value(&page.frames[0]).unwrap();
    assert_eq!(json["alternatives"]["shutter"][0]["value"], "1/50");
    assert_eq!(json["flags"], "unsure:shutter");
}

#[test]
fn storing_again_replaces_and_leaves_other_trips() {
    let mut a = stored();
    a.store(&harbour(), &key("another")).unwrap();
    let mut trip = harbour();
    trip.rolls[0].frames.remove(1);
    trip.rolls[1].frames[0].said[0].text = "rewritten words".into();
    a.store(&trip, &key("low-water")).unwrap();
    assert_eq!(found(&a, "slipway"), ["7/1"]);
    assert_eq!(found(&a, "rewritten"), ["A3/1"]);
    assert_eq!(found(&a, "\"net loft\""), ["A3/1"]);
    assert_eq!(found(&a, "").len(), 6 + 5);
    a.forget("another").unwrap();
    assert_eq!(found(&a, "slipway"), [] as [&str; 0]);
    assert_eq!(found(&a, "").len(), 5);
    let orphans: i64 =
        a.db.query_row(
            "SELECT (SELECT count(*) FROM details) + (SELECT count(*) FROM frame_flags) + (SELECT count(*) FROM rolls)",
            [],
            |r| r.get(0),
        )
        .unwrap();
    assert_eq!(orphans, 5 + 3 + 2);
}

#[test]
fn a_store_that_fails_changes_nothing() {
    let mut a = stored();
    a.db.execute_batch(
        "CREATE TRIGGER full BEFORE INSERT ON frames WHEN new.frame = '3' BEGIN SELECT raise(ABORT, 'disk full'); END",
    )
    .unwrap();
    assert!(matches!(a.store(&harbour(), &key("low-water")), Err(ArchiveError::Database(_))));
    assert_eq!(found(&a, "").len(), 6);
    assert_eq!(found(&a, "slipway"), ["7/1"]);
}

#[test]
fn hostile_terms_are_only_words() {
    let a = stored();
    for hostile in [
        "'; DROP TABLE frames; --",
        "\"a\" OR \"b\"",
        "slipway NEAR boats",
        "film:\"x' OR 1=1 --\"",
        "said:slipway\u{0}boats",
        "NOT AND OR (slipway)",
        "place:^x",
        "{said}",
        "trip:%",
        "flag:shake' --",
        "*a",
        "-",
        "x\u{202e}y",
        "subject:\"a\"\"b\"",
    ] {
        match Query::parse(hostile) {
            Ok(query) => {
                a.find(&query, 10).unwrap_or_else(|e| panic!("{hostile}: {e}"));
            }
            Err(e) => assert!(!e.why.is_empty()),
        }
    }
    assert_eq!(found(&a, "\"DROP TABLE frames\""), ["A3/1"]);
    assert_eq!(found(&a, "trip:%"), [] as [&str; 0]);
    assert_eq!(found(&a, "").len(), 6);
}

#[test]
fn errors_point_at_the_term() {
    let cases = [
        ("orange apertur<=5.6 x", "did you mean 'aperture'", "         ^^^^^^^^^^^^"),
        ("ev>high", "no number", "  ^^^^^^^"),
        ("é taken:June", "no date", "    ^^^^^^^^^^"),
        ("film>3", "not a number", "  ^^^^^^"),
        ("film:", "needs a value", "  ^^^^^"),
        ("status:lost", "no status", "  ^^^^^^^^^^^"),
        ("flag:wrong", "no flag", "  ^^^^^^^^^^"),
        ("near:91,0", "no place", "  ^^^^^^^^^"),
        ("frame:x", "no frame number", "  ^^^^^^^"),
        ("has:trip", "no field", "  ^^^^^^^^"),
        ("boats \"low water", "closing", "        ^^^^^^^^^^"),
        ("...", "no word", "  ^^^"),
        ("ev:1..x", "no number", "  ^^^^^^^"),
        ("aperture>1..2", "no number", "  ^^^^^^^^^^^^^"),
    ];
    for (query, why, mark) in cases {
        let e = Query::parse(query).unwrap_err().to_string();
        assert!(e.contains(why), "{e}");
        assert_eq!(e.lines().last(), Some(mark), "{e}");
    }
}

#[test]
fn arguments_keep_what_the_shell_unquoted() {
    let of = |args: &[&str]| Query::from_args(args).unwrap();
    assert_eq!(of(&["film:Merrow Pan 100", "boats"]), Query::parse("film:\"Merrow Pan 100\" boats").unwrap());
    assert_eq!(of(&["low water", "boats"]), Query::parse("\"low water\" boats").unwrap());
    assert_eq!(of(&["orange boats ev>12"]), Query::parse("orange boats ev>12").unwrap());
}
