-- Version 4. How rolls were developed, taken out of their remarks, where it stood
-- as one text; what was said of a frame beside its settings.

CREATE TABLE developing (
    roll        INTEGER PRIMARY KEY REFERENCES rolls (id) ON DELETE CASCADE,
    developer   INTEGER REFERENCES names (id),
    dilution    TEXT,
    time        TEXT,
    temperature TEXT,
    agitation   TEXT,
    date        TEXT,
    sleeve      TEXT COLLATE NOCASE,
    remark      TEXT
) STRICT;

INSERT OR IGNORE INTO names (kind, text)
SELECT 'developer', developing_part(j.value, 'developer') FROM rolls r, json_each(r.remarks) j
WHERE developing_part(j.value, 'developer') IS NOT NULL;

INSERT OR IGNORE INTO developing
SELECT r.id,
       (SELECT id FROM names WHERE kind = 'developer' AND text = developing_part(j.value, 'developer')),
       developing_part(j.value, 'dilution'), developing_part(j.value, 'time'),
       developing_part(j.value, 'temperature'), developing_part(j.value, 'agitation'),
       developing_part(j.value, 'date'), developing_part(j.value, 'sleeve'), developing_part(j.value, 'remark')
FROM rolls r, json_each(r.remarks) j
WHERE developing_part(j.value, '') IS NOT NULL;

UPDATE rolls SET remarks =
    (SELECT json_group_array(j.value) FROM json_each(rolls.remarks) j WHERE developing_part(j.value, '') IS NULL)
WHERE id IN (SELECT roll FROM developing);

CREATE INDEX developing_developer ON developing (developer);
CREATE INDEX developing_sleeve ON developing (sleeve);

ALTER TABLE details ADD COLUMN extras TEXT;      -- flash, converter and so on, joined by +
ALTER TABLE details ADD COLUMN extra_stops REAL; -- light lost to converter and bellows
ALTER TABLE details ADD COLUMN focus_m TEXT;     -- metres, or infinity

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
       d.alternatives, d.extras, d.extra_stops, d.focus_m, f.rating, d.remark,
       (SELECT text FROM names WHERE id = v.developer) AS developer,
       v.dilution, v.time AS dev_time, v.temperature, v.agitation, v.date AS developed, v.sleeve,
       v.remark AS dev_remark,
       t.key AS trip_key, f.place_no, r.key AS roll_key, r.camera AS roll_camera, r.film AS roll_film, r.ei AS roll_ei,
       r.process AS roll_process, r.capacity, r.remarks AS roll_remarks
FROM frames f
JOIN details d ON d.frame = f.id
JOIN rolls r ON r.id = f.roll
JOIN trips t ON t.id = f.trip
LEFT JOIN developing v ON v.roll = f.roll;
