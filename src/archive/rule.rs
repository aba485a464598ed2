//! How a frame lies against what its light asks for, here and in the database.

use rusqlite::Connection;
use rusqlite::functions::FunctionFlags;

use crate::exposure::{ExposureValue, Light, Stops, scene_ev100};

/// More light than the light asks for, in stops; none where the light has no
/// rule or the settings are not known. Filters and compensation that were not
/// noted count as none.
pub(super) fn over(light: Option<&str>, ev100: Option<f64>, filter: Option<f64>, comp: Option<f64>) -> Option<f64> {
    let light: Light = light?.parse().ok()?;
    let stops = |n: Option<f64>| Stops::new(n.unwrap_or(0.0));
    Some(light.over_rule(scene_ev100(ExposureValue::new(ev100?), stops(filter), stops(comp))).get())
}

/// Makes `over_rule(light, ev100, filter_stops, comp_stops)` known to `db`.
pub(super) fn teach(db: &Connection) -> rusqlite::Result<()> {
    let flags = FunctionFlags::SQLITE_DETERMINISTIC | FunctionFlags::SQLITE_UTF8;
    db.create_scalar_function("over_rule", 4, flags, |ctx| {
        Ok(over(ctx.get::<Option<String>>(0)?.as_deref(), ctx.get(1)?, ctx.get(2)?, ctx.get(3)?))
    })
}
