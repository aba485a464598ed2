//! Distances on the earth, taken as a sphere (error under 0.6 %).

use rusqlite::Connection;
use rusqlite::functions::FunctionFlags;

use crate::facts::Position;

/// Mean radius of the earth, km. Source: IUGG, R1 = 6371.0088 km.
const EARTH_KM: f64 = 6371.0088;

/// Great-circle distance in km (haversine formula, R. W. Sinnott, 1984).
pub fn km_between(a: Position, b: Position) -> f64 {
    let (lat_a, lat_b) = (a.lat.to_radians(), b.lat.to_radians());
    let half = |x: f64| (x / 2.0).sin().powi(2);
    let h = half(lat_b - lat_a) + lat_a.cos() * lat_b.cos() * half((b.lon - a.lon).to_radians());
    2.0 * EARTH_KM * h.sqrt().min(1.0).asin()
}

/// Degrees that hold a circle. West is greater than east across the date line;
/// none of both where the circle holds a pole.
pub(super) struct Bounds {
    pub south: f64,
    pub north: f64,
    pub west_east: Option<(f64, f64)>,
}

impl Bounds {
    /// Around a circle of `km` about `place`, a little wider than needed.
    pub fn around(place: Position, km: f64) -> Self {
        let reach = (km / EARTH_KM * 1.000_001).min(std::f64::consts::PI);
        let (south, north) = (place.lat - reach.to_degrees(), place.lat + reach.to_degrees());
        let west_east = (south > -90.0 && north < 90.0).then(|| {
            // Widest where a meridian touches the circle: sin Δλ = sin r / cos φ.
            let wide = (reach.sin() / place.lat.to_radians().cos()).min(1.0).asin().to_degrees();
            let turned = |lon: f64| {
                if lon < -180.0 {
                    lon + 360.0
                } else if lon > 180.0 {
                    lon - 360.0
                } else {
                    lon
                }
            };
            (turned(place.lon - wide), turned(place.lon + wide))
        });
        Self { south, north, west_east }
    }
}

/// Makes `km_between(lat, lon, lat, lon)` known to `db`.
pub(super) fn teach(db: &Connection) -> rusqlite::Result<()> {
    let flags = FunctionFlags::SQLITE_DETERMINISTIC | FunctionFlags::SQLITE_UTF8;
    db.create_scalar_function("km_between", 4, flags, |ctx| {
        let place = |i| Ok::<_, rusqlite::Error>(Position { lat: ctx.get(i)?, lon: ctx.get(i + 1)? });
        Ok(km_between(place(0)?, place(2)?))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_degree_of_a_meridian() {
        // 111.195 km on the IUGG sphere: 2πR / 360.
        let km = km_between(Position { lat: 54.0, lon: -9.0 }, Position { lat: 55.0, lon: -9.0 });
        assert!((km - 111.195).abs() < 0.001, "{km}");
    }

    #[test]
    fn known_distances() {
        // Source: worked example of the haversine formula at movable-type.co.uk
        // ("Calculate distance, bearing and more"): 50°03′59″N 5°42′53″W to
        // 58°38′38″N 3°04′12″W is 968.9 km.
        let a = Position { lat: 50.0 + 3.0 / 60.0 + 59.0 / 3600.0, lon: -(5.0 + 42.0 / 60.0 + 53.0 / 3600.0) };
        let b = Position { lat: 58.0 + 38.0 / 60.0 + 38.0 / 3600.0, lon: -(3.0 + 4.0 / 60.0 + 12.0 / 3600.0) };
        assert!((km_between(a, b) - 968.9).abs() < 0.1);
    }

    #[test]
    fn bounds_hold_their_circle() {
        for (lat, lon) in [(54.1, -9.2), (-17.0, 179.99), (0.0, -180.0), (71.0, 25.0), (89.9, 10.0), (-90.0, 0.0)] {
            let place = Position { lat, lon };
            let b = Bounds::around(place, 25.0);
            for i in 0..72 {
                let turn = f64::from(i) * 5.0_f64.to_radians();
                let r = 24.99 / EARTH_KM;
                let phi = lat.to_radians();
                let lat2 = (phi.sin() * r.cos() + phi.cos() * r.sin() * turn.cos()).asin();
                let dl = (turn.sin() * r.sin() * phi.cos()).atan2(r.cos() - phi.sin() * lat2.sin());
                let lon2 = (lon + dl.to_degrees() + 540.0).rem_euclid(360.0) - 180.0;
                assert!((b.south..=b.north).contains(&lat2.to_degrees()));
                if let Some((w, e)) = b.west_east {
                    assert!(
                        if w <= e { (w..=e).contains(&lon2) } else { lon2 >= w || lon2 <= e },
                        "{lat} {lon} {lon2}"
                    );
                }
            }
        }
    }
}
