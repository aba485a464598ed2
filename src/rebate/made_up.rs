//! The made-up kit that the tests of this room share.

/// One camera, three lenses, two films.
pub(super) const KIT: &str = r#"
[[camera]]
name = "box six"
format = "6x4.5"
shutters = ["30s", "1/1000"]

[[lens]]
name = "80"
focal_mm = 80
widest = 2.8
smallest = 22

[[lens]]
name = "120"
focal_mm = 120
widest = 4
smallest = 32

[[lens]]
name = "200"
focal_mm = 200
widest = 4
smallest = 32

[[film]]
name = "Sallow 100"
iso = 100
ei = 80

[[film]]
name = "Sallow 400"
iso = 400
"#;
