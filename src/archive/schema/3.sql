-- Version 3. Where a trip's results are, so that a found frame leads to its page;
-- the shutter as it was said and as the film edge has it, for how well it was
-- said; searches kept by name.

ALTER TABLE trips ADD COLUMN out TEXT;
ALTER TABLE frames ADD COLUMN said_s REAL; -- seconds, as said
ALTER TABLE frames ADD COLUMN edge_s REAL; -- seconds, as the camera wrote them

CREATE TABLE searches (
    name  TEXT PRIMARY KEY,
    terms TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX frames_edge_s ON frames (edge_s) WHERE edge_s IS NOT NULL AND said_s IS NOT NULL;

DROP VIEW frame_rows;
CREATE VIEW frame_rows AS
SELECT f.id, t.name AS trip, t.root, t.out, r.name AS roll, f.frame, f.status, d.scan,
       f.taken, f.offset_s, d.known_by,
       (SELECT text FROM names WHERE id = f.camera) AS camera,
       (SELECT text FROM names WHERE id = f.lens) AS lens,
       (SELECT text FROM names WHERE id = f.film) AS film,
       f.focal_mm, f.box_iso, f.ei, d.shutter, f.seconds, f.said_s, f.edge_s, f.aperture,
       (SELECT text FROM names WHERE id = f.filter) AS filter,
       f.filter_stops, f.comp_stops, f.ev100, f.rule_stops,
       (SELECT text FROM names WHERE id = f.light) AS light,
       (SELECT text FROM names WHERE id = f.support) AS support,
       d.subject, d.place, f.lat, f.lon,
       (SELECT text FROM names WHERE id = f.process) AS process,
       d.source, f.confidence, d.flags, d.reasons, d.said, d.clip, d.at_s,
       d.alternatives, f.rating, d.remark
FROM frames f
JOIN details d ON d.frame = f.id
JOIN rolls r ON r.id = f.roll
JOIN trips t ON t.id = f.trip;
