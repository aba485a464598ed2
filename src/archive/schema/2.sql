-- Version 2. How each frame lies against what its light asks for, for habits;
-- worked out for the frames that are there by the program's own function.

ALTER TABLE frames ADD COLUMN rule_stops REAL;

UPDATE frames SET rule_stops = over_rule(
    (SELECT text FROM names WHERE id = frames.light), ev100, filter_stops, comp_stops
);

CREATE INDEX frames_rule_stops ON frames (rule_stops);
CREATE INDEX frames_ei ON frames (ei);
CREATE INDEX frames_confidence ON frames (confidence);
CREATE INDEX frames_comp_stops ON frames (comp_stops) WHERE comp_stops IS NOT NULL;
CREATE INDEX rolls_key ON rolls (key);

DROP VIEW frame_rows;
CREATE VIEW frame_rows AS
SELECT f.id, t.name AS trip, t.root, r.name AS roll, f.frame, f.status, d.scan,
       f.taken, f.offset_s, d.known_by,
       (SELECT text FROM names WHERE id = f.camera) AS camera,
       (SELECT text FROM names WHERE id = f.lens) AS lens,
       (SELECT text FROM names WHERE id = f.film) AS film,
       f.focal_mm, f.box_iso, f.ei, d.shutter, f.seconds, f.aperture,
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
